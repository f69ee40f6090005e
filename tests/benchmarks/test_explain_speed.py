"""How quick the explaining is, as ratios to one PuLP model a food within the same run.

Run on request only::

    pytest tests/benchmarks/test_explain_speed.py -s
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from statistics import median

import numpy as np
import pulp
import pytest
from second_opinion import pulp_solve

from formulate.blend.additions import Additions, what_would_help
from formulate.blend.design import design
from formulate.blend.explain import smallest_conflicts
from formulate.blend.mix import Mix, optimise
from formulate.blend.prices.ranging import entry_prices, price_ranges
from formulate.blend.prices.shadow_prices import shadow_prices
from formulate.blend.problem import Problem, Shelf, build
from formulate.foods.tables import band_set, food_table

VOLUME = 3785.0
COW = ("whole-milk", "evaporated-milk", "lowfat-buttermilk", "heavy-cream", "nonfat-dry-milk")
PRICE = (0.001, 0.003, 0.0012, 0.006, 0.012)
#: How many times quicker than one PuLP solve a food the whole table must be.
TARGET = 20.0


def race(contestants: Mapping[str, Callable[[], object]], rounds: int) -> dict[str, float]:
    """Median seconds of each, in turns after one warming round."""
    times: dict[str, list[float]] = {name: [] for name in contestants}
    for turn in range(rounds + 1):
        for name, run in contestants.items():
            start = time.perf_counter()
            run()
            if turn:
                times[name].append(time.perf_counter() - start)
    return {name: median(spent) for name, spent in times.items()}


def cow_shelf() -> Shelf:
    return Shelf(tuple(food_table()[name] for name in COW), np.array(PRICE), currency="USD")


def problem_of(bands: str) -> Problem:
    return build(cow_shelf(), band_set(bands), VOLUME)


def ours(problem: Problem, table: Shelf, pairs: bool = False) -> Additions:
    return what_would_help(problem, table, on_request=True, pairs=pairs)


def one_pulp_each(problem: Problem, table: Shelf, additions: list[tuple[str, ...]]) -> set[object]:
    """One PuLP model for each addition; which of them CBC finds a mix with."""
    helps = set()
    for ids in additions:
        added = table.take([table.ids.index(name) for name in ids])
        whole = Shelf(
            problem.shelf.foods + added.foods,
            largest_share=np.concatenate((problem.shelf.largest_share, added.largest_share)),
        )
        program = build(whole, problem.bands, VOLUME).program(
            np.append(problem.shelf.price, np.zeros(len(ids)))
        )
        status, _, _ = pulp_solve(program, None, program.cost)
        if status == pulp.LpStatusOptimal:
            helps.add(ids)
    return helps


@pytest.mark.parametrize("bands", ["ewe-milk", "doe-milk"])
def test_the_whole_table_against_one_pulp_model_a_food(bands: str):
    problem, table = problem_of(bands), Shelf(tuple(food_table().values()))
    found = ours(problem, table)
    each = [(name,) for name in found.tried]
    assert one_pulp_each(problem, table, each) == {help_.ids for help_ in found.singles}
    medians = race(
        {
            "the whole table": lambda: ours(problem, table),
            "one PuLP model a food": lambda: one_pulp_each(problem, table, each),
        },
        rounds=3,
    )
    fast, slow = medians.values()
    print(
        f"\n{bands}, {len(each)} foods: {fast * 1e3:.1f} ms, one PuLP model a food "
        f"{slow * 1e3:.0f} ms: {slow / fast:.0f} times quicker (target {TARGET:.0f})"
    )
    assert slow / fast >= TARGET


def test_pairs_against_one_pulp_model_a_pair():
    """Nothing helps cream alone: every pair of the table; PuLP timed on 60 of them."""
    cream = Shelf((food_table()["heavy-cream"],), np.array([0.006]))
    problem = build(cream, band_set("lamb-replacer"), VOLUME)
    table = Shelf(tuple(food_table().values()))
    found = ours(problem, table, pairs=True)
    assert found.pairs
    tried = found.tried
    every = [(a, b) for i, a in enumerate(tried) for b in tried[i + 1 :]]
    few = every[:: len(every) // 60]
    told = {help_.ids for help_ in found.pairs}
    assert one_pulp_each(problem, table, few) == told & set(few)
    medians = race(
        {
            "all pairs": lambda: ours(problem, table, pairs=True),
            "PuLP, a few": lambda: one_pulp_each(problem, table, few),
        },
        rounds=2,
    )
    fast, slow = medians.values()
    slow *= len(every) / len(few)
    print(
        f"\n{len(every)} pairs: {fast * 1e3:.0f} ms, one PuLP model a pair {slow:.1f} s "
        f"(from {len(few)} of them): {slow / fast:.0f} times quicker (target {TARGET:.0f})"
    )
    assert slow / fast >= TARGET


def test_the_rest_against_one_design():
    """Conflict, limits and prices, as so many plain designs; told, with no target."""
    no_mix, problem = problem_of("ewe-milk"), problem_of("lamb-replacer")
    mix = design(cow_shelf(), band_set("lamb-replacer"), VOLUME)
    assert isinstance(mix, Mix)
    medians = race(
        {
            "one solve": lambda: optimise(problem),
            "smallest conflicts": lambda: smallest_conflicts(no_mix),
            "what limits cost": lambda: shadow_prices(problem, mix),
            "entry prices": lambda: entry_prices(problem, mix),
            "price ranges": lambda: price_ranges(problem, mix),
        },
        rounds=20,
    )
    one = medians["one solve"]
    print()
    for name, seconds in medians.items():
        print(f"  {name:<22}{seconds * 1e3:8.2f} ms  {seconds / one:6.1f} solves")
    assert all(seconds < 1000 * one for seconds in medians.values())
