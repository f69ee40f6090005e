"""One food in several tables, held against how much its cartons vary."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from formulate.foods.food import Food, Value
from formulate.foods.national import country_foods, nutrient_tables
from formulate.foods.several import SHOWN, differences, same_food_rows
from formulate.foods.spread import VARIES, WORST, spread_of
from formulate.foods.tables import default_spreads, food_table


def one(name: str, measure: str, country: str | None = None):
    table = country_foods(country)
    rows = same_food_rows(table.find(name), table)
    return next(found for found in differences(rows) if found.measure == measure)


def test_goats_milk_has_four_rows_in_three_tables():
    table = food_table()
    rows = same_food_rows(table["goat-milk"], table)
    assert [(row.table, row.record) for row in rows] == [
        ("usda-sr28", "01106"),
        ("cofid-2021", "12-328"),
        ("ciqual-2025", "19200"),
        ("ciqual-2025", "19202"),
    ]
    fat = one("goat-milk", "fat")
    assert fat.values == (4.14, 3.7, 4.02, 3.2)
    assert fat.between == pytest.approx(0.94)


@pytest.mark.parametrize("country", [None, "uk", "fr", "nz"])
def test_the_food_at_hand_comes_first_and_no_row_is_lost(country):
    table = country_foods(country)
    for food in table.values():
        rows = same_food_rows(food, table)
        assert rows[0] is food
        everywhere = [*table.values(), *table.abroad.values()]
        same = [f for f in everywhere if f.same_food == food.same_food]
        assert len(rows) == len(same)
        assert {(f.table, f.record) for f in rows} == {(f.table, f.record) for f in same}


def test_the_carton_is_95_percent_of_its_own_spread():
    milk = food_table()["whole-milk"]
    spread = spread_of([milk], default_spreads())
    rows = (milk, food_table().find("cofid 12-596"))
    found = {d.measure: d for d in differences(rows)}
    half = WORST * spread.sd[0]
    for name in ("fat", "protein", "ash", "sodium"):
        assert found[name].cartons == pytest.approx(half[VARIES.index(name)])
    parts = [VARIES.index(n) for n in ("fat", "protein", "carbohydrate", "ash")]
    assert found["solids"].cartons == pytest.approx(np.sqrt((half[parts] ** 2).sum()))


@pytest.mark.parametrize(("step", "beyond"), [(0.99, False), (1.01, True)])
def test_beyond_is_farther_than_cartons_lie(step, beyond):
    milk = food_table()["whole-milk"]
    width = one("whole-milk", "fat").cartons
    other = replace(milk, values={**milk.values, "fat": Value(3.25 + step * width, "own")})
    fat = next(d for d in differences((milk, other)) if d.measure == "fat")
    assert fat.beyond == (False, beyond)


def test_a_row_without_a_number_shows_its_flag_and_differs_by_nothing():
    copper = one("whole-milk", "copper")
    by_row = dict(zip(copper.values, copper.flags, strict=False))
    assert None in by_row
    assert "Tr" in copper.flags
    assert "<0.0067" in copper.flags
    for value, flag, beyond in zip(copper.values, copper.flags, copper.beyond, strict=True):
        assert value is None or not flag
        assert value is not None or not beyond


def test_a_food_of_ones_own_stands_alone():
    own = Food("my-milk", "My milk", "milk", {"fat": Value(4.0, "own")}, own=True)
    table = food_table().with_own([own])
    assert same_food_rows(own, table) == (own,)


def test_a_measure_that_no_row_knows_is_left_out():
    cream = one("clotted cream", "fat")
    assert cream.values == (63.5,)
    table = food_table()
    found = {d.measure for d in differences((table.find("clotted cream"),))}
    assert found < set(SHOWN)
    assert "selenium" not in found


def test_evaporated_milk_differs_by_more_than_cans_do():
    for measure in ("solids", "protein", "fat"):
        found = one("evaporated-milk", measure)
        british = [
            b
            for b, row in zip(
                found.beyond,
                same_food_rows(food_table()["evaporated-milk"], food_table()),
                strict=True,
            )
            if row.table == "cofid-2021"
        ]
        assert british == [True]
    assert set(nutrient_tables()) == {"usda-sr28", "cofid-2021", "ciqual-2025"}
