"""The steps of one price: exact, in order, and those that bisection finds."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from eight_foods import eight_foods
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import Job, jobs

from formulate.base.errors import InputError, UnknownName
from formulate.blend.mix import optimise
from formulate.blend.prices.staircase import Staircase, staircase
from formulate.blend.problem import Problem


def amount_at(problem: Problem, j: int, price: float) -> float:
    """Grams a litre of a food at a price of it."""
    cost = problem.shelf.price.copy()
    cost[j] = price
    found = optimise(problem, cost / cost.max())
    assert found is not None
    return float(found.x[j] * 1e3)


def checked(problem: Problem, j: int, found: Staircase, low: float, high: float) -> None:
    steps = found.steps
    assert steps[0].low == low
    assert steps[-1].high == high
    for step, after in pairwise(steps):
        assert step.high == after.low
        assert step.amount > after.amount
        assert step.cost_high == pytest.approx(after.cost_low, rel=1e-9)
    for step in steps:
        middle = (step.low + step.high) / 2
        cost = problem.shelf.price.copy()
        cost[j] = middle
        alone = optimise(problem, cost / cost.max())
        assert alone is not None
        expected = alone.objective * cost.max() * 1e3
        assert (step.cost_low + step.cost_high) / 2 == pytest.approx(expected, rel=1e-9)
        assert cost @ step.grams / problem.volume * 1e3 == pytest.approx(expected, rel=1e-9)
        assert step.grams[j] / problem.volume * 1e3 == step.amount


@given(jobs(most=7), st.data())
def test_every_step_is_the_optimum(job: Job, data: st.DataObject):
    problem = job.problem()
    j = data.draw(st.integers(0, len(job.shelf.foods) - 1))
    found = staircase(problem, job.shelf.ids[j], 0.0001, 0.03)
    if found is None:
        assert optimise(problem) is None
        return
    checked(problem, j, found, 0.0001, 0.03)


@settings(max_examples=15)
@given(jobs(most=6, stocks=False), st.data())
def test_smallest_amounts_are_kept(job: Job, data: st.DataObject):
    floors = [data.draw(st.sampled_from([0.0, 50.0, 200.0])) for _ in job.shelf.foods]
    job = replace(job, shelf=replace(job.shelf, smallest=np.array(floors)))
    problem = job.problem()
    found = staircase(problem, job.shelf.ids[0], 0.0001, 0.03)
    if found is not None:
        checked(problem, 0, found, 0.0001, 0.03)


@pytest.mark.parametrize(
    ("food", "low", "high"),
    [
        ("whole-milk", 0.0002, 0.004),
        ("heavy-cream", 0.0005, 0.012),
        ("nonfat-dry-milk", 0.001, 0.03),
    ],
)
def test_breakpoints_are_those_of_bisection(food: str, low: float, high: float):
    problem = eight_foods()
    j = problem.shelf.ids.index(food)
    found = staircase(problem, food, low, high)
    assert found is not None
    assert len(found.steps) >= 3
    for before, after in pairwise(found.steps):
        between = (before.amount + after.amount) / 2
        left, right = low, high
        for _ in range(60):
            middle = (left + right) / 2
            if amount_at(problem, j, middle) > between:
                left = middle
            else:
                right = middle
        assert before.high == pytest.approx(left, rel=1e-8)


def test_no_step_lies_between_the_breakpoints():
    problem = eight_foods()
    found = staircase(problem, "whole-milk", 0.0002, 0.004)
    assert found is not None
    for price in np.linspace(0.0002, 0.004, 97):
        (step,) = [s for s in found.steps if s.low < price <= s.high or price == s.low == 0.0002]
        assert amount_at(problem, 0, price) == pytest.approx(step.amount, abs=1e-6)


def test_from_its_last_step_on_a_food_is_left_out():
    problem = eight_foods()
    found = staircase(problem, "whole-milk", 0.0002, 0.004)
    assert found is not None
    gone_at = found.steps[-1].low
    assert found.steps[-1].amount == 0
    assert amount_at(problem, 0, gone_at * 1.0001) == 0
    assert amount_at(problem, 0, gone_at * 0.9999) > 0


def test_what_cannot_be_asked():
    problem = eight_foods()
    with pytest.raises(UnknownName, match="water"):
        staircase(problem, "vater", 1, 2)
    with pytest.raises(InputError, match="cannot run"):
        staircase(problem, "water", 2, 1)
