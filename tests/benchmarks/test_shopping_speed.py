"""Shopping for a season: how near to the cheapest within its time, and against the textbook form.

Run on request only::

    pytest tests/benchmarks/test_shopping_speed.py -s

Milk for eight weeks with buttermilk and evaporated milk, two sizes of each, trips twice a week
unless said otherwise.
"""

from __future__ import annotations

import resource
import time

import numpy as np
import pytest
from made_lots import season, textbook

from formulate.base.clock import Clock
from formulate.shopping.lot_program import LotProgram
from formulate.shopping.lot_rounding import tightened
from formulate.shopping.lot_solve import solve_lots
from formulate.shopping.lot_start import first_plan
from formulate.shopping.lots import audit

SEASONS = {
    "3 animals": {},
    "3 animals, shop weekly": {"every": (7,)},
    "3 animals, tight refrigerator": {"room": 17.6e3},
    "3 animals, three mixes": {"mixes": 3},
    "100 animals": {"animals": 100},
    "100 animals, tight refrigerator": {"animals": 100, "room": 575e3},
    "100 animals, trips cost 10": {"animals": 100, "trip_cost": 10.0},
    "100 animals, three mixes": {"animals": 100, "mixes": 3},
}


@pytest.mark.parametrize("name", SEASONS)
def test_gap_within_thirty_seconds(name):
    problem = season(**SEASONS[name])
    start = time.perf_counter()
    first = first_plan(problem, Clock(30.0))
    first_seconds = time.perf_counter() - start
    start = time.perf_counter()
    plan = solve_lots(problem)
    seconds = time.perf_counter() - start
    audit(plan)
    sound = "none" if first.plan is None else f"{first.plan.cost:.2f}"
    print(
        f"\n{name}: first sound answer {sound} in {first_seconds:.2f} s; "
        f"{plan.cost:.2f}, bound {plan.bound:.2f}, gap {100 * plan.gap:.3f} % in {seconds:.1f} s"
    )
    assert first.plan is not None
    assert first_seconds <= 1.0
    assert plan.gap <= 0.01
    assert seconds <= 30.0


def test_trips_that_cost_are_harder():
    """Which trips to leave out ties all foods together: the gap is told, and is wider."""
    plan = solve_lots(season(trip_cost=2.0))
    print(f"\n3 animals, trips cost 2: {plan.cost:.2f}, gap {100 * plan.gap:.3f} % in 30 s")
    assert plan.gap <= 0.025


@pytest.mark.parametrize("animals", [3, 100])
@pytest.mark.parametrize("limit", [5.0])
def test_gap_after_equal_time_against_the_textbook_form(animals, limit):
    problem = season(animals)
    start = time.perf_counter()
    plan = solve_lots(problem, clock=Clock(limit), relative_gap=0.0)
    ours_seconds = time.perf_counter() - start
    model = textbook(problem)
    model.setOptionValue("time_limit", limit)
    model.setOptionValue("mip_rel_gap", 0.0)
    model.run()
    info = model.getInfo()
    theirs = 1 - info.mip_dual_bound / info.objective_function_value
    ours = max(plan.gap, 1e-9)
    print(
        f"\n{animals} animals, {limit:g} s: textbook form {info.objective_function_value:.2f}, "
        f"bound {info.mip_dual_bound:.2f}, gap {100 * theirs:.3f} %; "
        f"ours {plan.cost:.2f}, bound {plan.bound:.2f}, gap {100 * plan.gap:.6f} % "
        f"in {ours_seconds:.2f} s; ratio of gaps {theirs / ours:.3g}"
    )
    assert plan.cost <= info.objective_function_value + 1e-6
    assert theirs / ours >= 5


def test_the_search_alone_against_the_textbook_form():
    """The same without single foods' floors and first plan: the program itself."""
    from formulate.blend.mixed_integer import solve_integer

    limit = 10.0
    problem = season()
    start = time.perf_counter()
    lots = LotProgram(problem)
    program = tightened(lots, Clock(30.0))
    spent = time.perf_counter() - start
    answer = solve_integer(program, lots.integer, time_limit=limit - spent)
    model = textbook(problem)
    model.setOptionValue("time_limit", limit)
    model.setOptionValue("mip_rel_gap", 0.0)
    model.run()
    info = model.getInfo()
    theirs = 1 - info.mip_dual_bound / info.objective_function_value
    print(
        f"\nsearch alone, {limit:g} s: textbook gap {100 * theirs:.3f} %, "
        f"ours {100 * answer.gap:.3f} % ({answer.objective:.2f}, bound {answer.bound:.2f}); "
        f"ratio {theirs / max(answer.gap, 1e-9):.3g}"
    )
    assert answer.gap <= theirs


def test_memory_is_flat():
    problem = season(mixes=2)
    peaks = []
    for _ in range(6):
        solve_lots(problem)
        peaks.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
    grown = peaks[-1] - peaks[1]
    print(f"\npeak memory after each of six seasons [MB]: {np.round(peaks, 1).tolist()}")
    assert grown <= 0.05 * peaks[1]


def test_time_grows_less_than_with_animals():
    def seconds(animals: int) -> float:
        problem = season(animals)
        start = time.perf_counter()
        solve_lots(problem)
        return time.perf_counter() - start

    seconds(3)
    few, many = seconds(3), seconds(100)
    print(f"\n3 animals {few:.3f} s, 100 animals {many:.3f} s: {many / few:.1f} times")
    assert many / few <= 33
