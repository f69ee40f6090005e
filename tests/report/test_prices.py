"""Rows of the price map, the staircase and the front."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest
from eight_foods import around, eight_foods

from formulate.blend.goal import Front, front
from formulate.blend.prices.parametric import sweep
from formulate.blend.prices.price_map import price_map
from formulate.blend.prices.staircase import staircase
from formulate.report.prices import (
    PricedPackage,
    cost_steps,
    front_rows,
    grams_words,
    letters,
    map_rows,
    recipe_words,
    staircase_rows,
    sweep_rows,
)

GALLON = PricedPackage("1 gallon", 3900.0)


def plain(rows: list[dict[str, float | int | str]]) -> bool:
    """Whether rows are plain values of one set of keys, fit for JSON and a DataFrame."""
    assert json.loads(json.dumps(rows)) == rows
    assert list(pd.DataFrame(rows).columns) == list(rows[0])
    return all(list(row) == list(rows[0]) for row in rows)


def test_recipes_in_words():
    ids, grams = ("whole-milk", "water", "heavy-cream"), np.array([900.0, 0.0, 95.5])
    assert recipe_words(ids, grams) == "whole milk + heavy cream"
    assert grams_words(ids, grams) == "900 g whole milk, 95.5 g heavy cream"


def test_letters_go_by_how_often_a_recipe_is_cheapest():
    problem = eight_foods()
    found = sweep(problem, around(problem, 3000, 4.0))
    assert found is not None
    names = letters(found)
    assert len(set(names)) == len(names) > 26
    assert names[int(found.times.argmax())] == "A"
    by_letter = sorted(range(len(names)), key=lambda k: (int(names[k][1:] or 1), names[k][0]))
    assert (np.diff(found.times[by_letter]) <= 0).all()


def test_sweep_rows_add_up():
    problem = eight_foods()
    found = sweep(problem, around(problem, 2000))
    assert found is not None
    rows = sweep_rows(found)
    assert plain(rows)
    assert sum(row["share of prices"] for row in rows) == pytest.approx(1.0)
    assert rows[0]["recipe"] == "A"
    k = letters(found).index("A")
    assert rows[0]["least cost [USD/L]"] == found.cost_per_litre[found.recipe == k].min()
    grams = found.recipes[k] / problem.volume * 1e3
    for name, amount in zip(problem.shelf.ids, grams, strict=True):
        assert rows[0].get(f"{name} [g/L]", 0.0) == pytest.approx(amount)


def test_map_rows_are_the_grid():
    problem = eight_foods()
    found = price_map(problem, "whole-milk", (0.001, 0.002), "water", (0.0, 0.001), (4, 3))
    assert found is not None
    rows = map_rows(found, GALLON)
    assert plain(rows)
    assert len(rows) == 12
    assert rows[0]["whole-milk [USD/1 gallon]"] == pytest.approx(3.9)
    assert rows[3]["whole-milk [USD/1 gallon]"] == pytest.approx(7.8)
    assert rows[-1]["water [USD/kg]"] == pytest.approx(1.0)
    assert [row["cost [USD/L]"] for row in rows] == found.cost_per_litre.ravel().tolist()


def test_staircase_rows_are_the_steps():
    problem = eight_foods()
    found = staircase(problem, "whole-milk", 0.0002, 0.004)
    assert found is not None
    rows = staircase_rows(found, GALLON)
    assert plain(rows)
    assert len(rows) == len(found.steps)
    assert rows[0]["from [USD/1 gallon]"] == pytest.approx(0.78)
    assert rows[-1]["to [USD/1 gallon]"] == pytest.approx(15.6)
    for row, step in zip(rows, found.steps, strict=True):
        assert row["whole-milk [g/L]"] == pytest.approx(step.amount)
        litre = sum(v for k, v in row.items() if k.endswith("[g/L]"))
        assert litre == pytest.approx(step.grams.sum() / 2)


def test_front_rows_say_what_each_step_bought():
    problem = eight_foods("ewe-milk")
    found = front(problem.shelf, problem.bands, 1000.0)
    assert isinstance(found, Front)
    rows = front_rows(found, 0.1)
    assert plain(rows)
    costs = [row["cost [USD/L]"] for row in rows]
    assert costs[0] == pytest.approx(found.costs[0])
    assert costs[-1] == pytest.approx(found.costs[-1])
    assert np.diff(costs)[:-1] == pytest.approx(0.1)
    assert 0 < np.diff(costs)[-1] <= 0.1 + 1e-9
    bought = sum(row["closer by"] for row in rows)
    assert bought == pytest.approx(found.deviations[0] - found.deviations[-1])


def test_a_front_of_one_point_is_one_row():
    problem = eight_foods("ewe-milk")
    found = front(problem.shelf, problem.bands, 1000.0, worst=0.0)
    assert isinstance(found, Front)
    assert len(found.points) == 1
    assert cost_steps(found, 0.1) == [found.costs[0]]
    assert len(front_rows(found)) == 1
