"""Many prices at once: the same optimum as one by one, whoever does the work."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest
from eight_foods import around, eight_foods
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from second_opinion import by_pulp
from strategies import Job, jobs

from formulate.base.errors import InputError, UnknownName
from formulate.blend.mix import optimise
from formulate.blend.prices.parametric import Sweep, sweep
from formulate.blend.prices.price_map import check_range, price_map
from formulate.blend.problem import Problem, Shelf, build
from formulate.foods.tables import band_set, food_table


def agrees_one_by_one(problem: Problem, prices: np.ndarray, found: Sweep) -> None:
    """Each value is that of a solution of its own, and its recipe costs it and is a mix."""
    for k, price in enumerate(prices):
        alone = optimise(problem, price / price.max())
        assert alone is not None
        value = alone.objective * price.max() * problem.volume
        assert found.values[k] == pytest.approx(value, rel=1e-9)
        grams = found.recipes[found.recipe[k]]
        assert price @ grams == pytest.approx(found.values[k], rel=1e-12)
    program = problem.program(np.zeros(len(problem.shelf.foods)))
    activity = program.matrix @ (found.recipes / problem.volume).T
    assert (activity >= program.row_lower[:, None] - 1e-8).all()
    assert (activity <= program.row_upper[:, None] + 1e-8).all()


@given(jobs(most=8), st.integers(0, 2**32 - 1))
def test_agrees_with_one_by_one(job: Job, seed: int):
    problem = job.problem()
    prices = around(problem, 50, times=4, seed=seed)
    found = sweep(problem, prices)
    if found is None:
        assert optimise(problem, prices[0]) is None
        return
    agrees_one_by_one(problem, prices, found)


@settings(max_examples=10)
@given(jobs(most=8), st.integers(0, 2**32 - 1))
def test_agrees_with_another_solver(job: Job, seed: int):
    problem = job.problem()
    prices = around(problem, 5, times=4, seed=seed)
    found = sweep(problem, prices)
    for k, price in enumerate(prices):
        other = by_pulp(problem.program(price * 1e3))
        if found is None:
            assert other.says == "infeasible"
        else:
            assert found.values[k] == pytest.approx(other.value, rel=1e-6)


@settings(max_examples=25)
@given(jobs(most=6, stocks=False), st.data())
def test_smallest_amounts_are_kept_as_one_by_one(job: Job, data: st.DataObject):
    floors = [data.draw(st.sampled_from([0.0, 0.0, 30.0, 120.0, 400.0])) for _ in job.shelf.foods]
    shelf = replace(job.shelf, smallest=np.array(floors))
    problem = replace(job, shelf=shelf).problem()
    prices = around(problem, 30, times=4, seed=data.draw(st.integers(0, 99)))
    found = sweep(problem, prices, chunk=12)
    if found is None:
        assert optimise(problem, prices[0]) is None
        return
    agrees_one_by_one(problem, prices, found)
    used = found.recipes > 0
    assert (found.recipes[used] >= np.broadcast_to(floors, used.shape)[used] * (1 - 1e-7)).all()


def test_smallest_amounts_change_the_recipes():
    free, held = eight_foods(), eight_foods(nonfat_dry_milk=120.0, heavy_cream=150.0)
    prices = around(free, 400)
    one, other = sweep(free, prices), sweep(held, prices)
    assert one is not None
    assert other is not None
    assert (other.values >= one.values * (1 - 1e-12)).all()
    assert (other.values > one.values * (1 + 1e-6)).any()
    agrees_one_by_one(held, prices[:60], replace(other, recipe=other.recipe[:60]))


def test_recipes_are_named_once_and_in_order_of_use():
    problem = eight_foods()
    found = sweep(problem, around(problem, 5000), chunk=700)
    assert found is not None
    _, first = np.unique(found.recipe, return_index=True)
    assert len(first) == len(found.recipes)
    assert (np.diff(first) > 0).all()
    apart = np.abs(found.recipes[:, None] - found.recipes[None]).max(axis=2)
    assert (apart[np.triu_indices(len(apart), 1)] > 1e-6).all()
    assert found.n_bases >= len(found.recipes) > 5
    assert found.times.sum() == 5000


def test_a_repeated_band_gives_more_bases_but_the_same_recipes():
    once = eight_foods()
    twice = build(
        once.shelf,
        replace(once.bands, bands=(*once.bands.bands, *once.bands.bands)),
        once.volume,
    )
    prices = around(once, 3000)
    one, other = sweep(once, prices), sweep(twice, prices)
    assert one is not None
    assert other is not None
    assert np.array_equal(one.recipe, other.recipe)
    assert other.recipes == pytest.approx(one.recipes, abs=1e-6)
    assert other.values == pytest.approx(one.values, rel=1e-9)


def test_chunks_change_nothing_but_the_last_digits():
    problem = eight_foods()
    prices = around(problem, 4000)
    whole, parts = sweep(problem, prices), sweep(problem, prices, chunk=300)
    assert whole is not None
    assert parts is not None
    assert np.array_equal(whole.recipe, parts.recipe)
    assert parts.values == pytest.approx(whole.values, rel=1e-12)


def test_an_executor_gives_the_same_answer():
    problem = eight_foods()
    prices = around(problem, 3000)
    with ThreadPoolExecutor(3) as pool:
        assert sweep(problem, prices, chunk=400, executor=pool) == sweep(problem, prices, chunk=400)
    assert sweep(problem, prices, chunk=400).n_bases > 1


def test_progress_is_told_to_the_end():
    problem = eight_foods()
    told: list[tuple[int, int]] = []
    sweep(problem, around(problem, 2500), chunk=1000, progress=lambda *now: told.append(now))
    assert told == [(1000, 2500), (2000, 2500), (2500, 2500)]


def test_no_mix_at_any_price():
    foods = tuple(food_table()[name] for name in ("water", "skim-milk"))
    shelf = Shelf(foods, price=np.array([0.0, 0.001]))
    problem = build(shelf, band_set("lamb-replacer"), 1000.0)
    assert sweep(problem, np.array([[0.0, 0.001], [0.0, 0.002]])) is None
    assert price_map(problem, "water", (0, 1), "skim-milk", (0, 1), (3, 3)) is None


def test_free_foods_and_nothing_but_free_foods():
    problem = eight_foods()
    prices = np.zeros((3, 8))
    prices[1, 0] = 1.0
    found = sweep(problem, prices)
    assert found is not None
    assert found.values == pytest.approx([0.0, 0.0, 0.0], abs=1e-12)


@pytest.mark.parametrize(
    "prices",
    [
        np.ones((4, 7)),
        np.ones(8),
        np.empty((0, 8)),
        np.full((2, 8), np.nan),
        np.full((2, 8), np.inf),
        np.full((2, 8), -0.001),
    ],
)
def test_prices_that_are_not_numbers_of_zero_or_more_are_rejected(prices: np.ndarray):
    with pytest.raises(InputError, match="price"):
        sweep(eight_foods(), prices)


def test_a_map_is_a_sweep_of_its_grid():
    problem = eight_foods()
    found = price_map(problem, "whole-milk", (0.0002, 0.004), "heavy-cream", (0.002, 0.012), (7, 5))
    assert found is not None
    assert found.recipe.shape == found.cost_per_litre.shape == (5, 7)
    for i, b in enumerate(found.price_b):
        for j, a in enumerate(found.price_a):
            price = problem.shelf.price.copy()
            price[0], price[1] = a, b
            alone = optimise(problem, price)
            assert alone is not None
            assert found.cost_per_litre[i, j] == pytest.approx(alone.objective * 1e3, rel=1e-9)
            grams = found.sweep.recipes[found.recipe[i, j]]
            assert price @ grams == pytest.approx(alone.objective * problem.volume, rel=1e-9)


def test_a_map_needs_two_foods_of_the_shelf_and_the_other_prices():
    problem = eight_foods()
    good = (0.001, 0.002)
    with pytest.raises(UnknownName, match="whole-milk"):
        price_map(problem, "hole-milk", good, "water", good)
    with pytest.raises(InputError, match="named twice"):
        price_map(problem, "water", good, "water", good)
    price = problem.shelf.price.copy()
    price[4] = np.nan
    gap = replace(problem, shelf=problem.shelf.with_price(price))
    with pytest.raises(InputError, match="greek-yogurt"):
        price_map(gap, "whole-milk", good, "water", good)
    assert price_map(gap, "greek-yogurt", good, "water", good, (3, 3)) is not None


@pytest.mark.parametrize("ends", [(2.0, 1.0), (1.0, 1.0), (-1.0, 1.0), (0.0, np.inf), (np.nan, 1)])
def test_wrong_ranges_are_rejected(ends: tuple[float, float]):
    with pytest.raises(InputError, match="cannot run"):
        check_range("water", ends)


@given(jobs(most=6), st.integers(0, 99))
def test_a_scaled_price_scales_the_cost_and_keeps_the_recipe(job: Job, seed: int):
    problem = job.problem()
    prices = around(problem, 10, seed=seed)
    one = sweep(problem, prices)
    assume(one is not None)
    other = sweep(problem, prices * 1000)
    assert one is not None
    assert other is not None
    assert other.values == pytest.approx(one.values * 1000, rel=1e-9)
