"""Closeness to a reference, and the front of cost and closeness, against scipy's own programs."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from eight_foods import eight_foods
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from strategies import VOLUME, Job, jobs

from formulate.base.errors import InputError, MissingComposition
from formulate.blend.goal import (
    Closest,
    Front,
    OutOfReach,
    closest,
    deviation,
    deviations,
    front,
)
from formulate.blend.mix import Status, finish
from formulate.blend.problem import Shelf, build
from formulate.foods.bands import Band, BandSet, Basis, Role, Standing
from formulate.foods.tables import band_set, food_table

ONE_BASIS = (Basis.AS_FED,), (Basis.PER_LITRE,), (Basis.DRY_MATTER,)


def least_by_scipy(shelf: Shelf, bands: BandSet, within: float | None) -> float | None:
    """Least deviation, written from the definition for bands that share a denominator.

    Variables: grams y with denominator 1, then a deviation for each demanded band.
    """
    composition = shelf.composition
    goals = bands.in_role(Role.DEMANDED)
    n, k = len(shelf.foods), len(goals)
    (below,) = {band.denominator for band in goals}
    size = composition.row(below)
    rows: list[np.ndarray] = []

    def at_most(food_part: np.ndarray, goal: int | None = None) -> None:
        row = np.zeros(n + k)
        row[:n] = food_part
        if goal is not None:
            row[n + goal] = -1.0
        rows.append(row / np.abs(row).max())

    for i, band in enumerate(goals):
        value = composition.row(band.measure) * band.scale
        open_ended = math.isinf(band.low) or math.isinf(band.high)
        if math.isfinite(band.high):
            end = band.high if open_ended else (band.low + band.high) / 2
            at_most((value - end * size) / band.width, i)
        if math.isfinite(band.low):
            end = band.low if open_ended else (band.low + band.high) / 2
            at_most((end * size - value) / band.width, i)
    for band in bands.in_role(Role.SAFETY):
        value = composition.row(band.measure) * band.scale
        denominator = composition.row(band.denominator)
        if math.isfinite(band.high):
            at_most(value - band.high * denominator)
        if math.isfinite(band.low):
            at_most(band.low * denominator - value)
    for j in range(n):
        if shelf.largest_share[j] < 1:
            at_most(np.eye(n)[j] - shelf.largest_share[j])
        if np.isfinite(shelf.on_hand[j]):
            at_most(np.eye(n)[j] - shelf.on_hand[j] / VOLUME * composition.row("volume"))
    if within is not None:
        at_most(shelf.price - within / 1e3 * composition.row("volume"))
    result = linprog(
        np.append(np.zeros(n), np.ones(k)),
        A_ub=np.array(rows),
        b_ub=np.zeros(len(rows)),
        A_eq=np.append(size, np.zeros(k))[None],
        b_eq=[1.0],
        method="highs-ds",
    )
    return float(result.fun) if result.status == 0 else None


@given(st.sampled_from(ONE_BASIS).flatmap(lambda bases: jobs(most=7, bases=bases)), st.data())
def test_closest_is_least_by_definition(job: Job, data: st.DataObject):
    assume(job.bands.in_role(Role.DEMANDED))
    within = data.draw(st.sampled_from([None, 1.0, 3.0, 8.0]))
    found = closest(job.shelf, job.bands, VOLUME, within)
    expected = least_by_scipy(job.shelf, job.bands, within)
    if expected is None:
        assert isinstance(found, OutOfReach)
        return
    assert isinstance(found, Closest)
    assert found.exact
    assert found.deviation == pytest.approx(expected, rel=1e-6, abs=1e-6)
    assert found.mix.status is Status.CLOSEST
    assert found.mix.volume == pytest.approx(VOLUME)
    if within is not None:
        assert found.mix.cost_per_litre is not None
        assert found.mix.cost_per_litre <= within * (1 + 1e-8)
    kept_what_is_never_missed(job, found)


def kept_what_is_never_missed(job: Job, found: Closest) -> None:
    shelf, grams = job.shelf, found.mix.grams
    assert (grams <= shelf.largest_share * grams.sum() * (1 + 1e-7) + 1e-6).all()
    assert (grams <= shelf.on_hand * (1 + 1e-7) + 1e-6).all()
    for read in found.mix.reads:
        if read.band.role is Role.SAFETY and read.value is not None:
            assert read.miss <= 1e-6 * read.band.width


def test_deviation_by_hand():
    shelf = eight_foods().shelf
    bands = BandSet(
        "two",
        "Two bands",
        "lamb",
        (
            Band("fat", Basis.AS_FED, "g/100 g", low=2.0, high=4.0),
            Band("lactose", Basis.AS_FED, "g/100 g", high=4.0),
            Band("protein", Basis.AS_FED, "g/100 g", low=1.0),
            Band("ash", Basis.AS_FED, "g/100 g", low=50.0, role=Role.SHOWN),
        ),
    )
    problem = build(shelf, bands, 1000.0)
    mix = finish(problem, np.array([1000.0, 0, 0, 0, 0, 0, 0, 0]), Status.CHECKED)
    milk = food_table()["whole-milk"]
    fat, lactose = milk.value("fat"), milk.value("lactose")
    assert lactose > 4.0
    by_band = [away for _, away in deviations(mix)]
    assert by_band == pytest.approx([abs(fat - 3.0) / 2.0, (lactose - 4.0) / 0.4, 0.0])
    assert deviation(mix) == pytest.approx(sum(by_band))


def test_among_equally_close_mixes_the_cheapest():
    """A lone ceiling is met by many mixes at deviation 0."""
    shelf = eight_foods().shelf
    bands = BandSet("one", "One", "lamb", (Band("fat", Basis.AS_FED, "g/100 g", high=5.0),))
    found = closest(shelf, bands, 1000.0)
    assert isinstance(found, Closest)
    assert found.deviation == 0.0
    assert found.mix.grams[-1] == pytest.approx(found.mix.weight)  # water


def test_too_little_money_is_answered_with_the_least_cost():
    shelf = eight_foods().shelf.take([0, 1, 3])
    found = closest(shelf, band_set("ewe-milk"), 1000.0, within_cost=0.5)
    assert isinstance(found, OutOfReach)
    milk = shelf.composition.row("volume")[0]
    assert found.cheapest == pytest.approx(shelf.price[0] / milk * 1e3)  # milk alone
    exactly = closest(shelf, band_set("ewe-milk"), 1000.0, found.cheapest * (1 + 1e-9))
    assert isinstance(exactly, Closest)


def test_limits_that_clash_at_any_cost():
    salty = BandSet(
        "dry",
        "No water",
        "lamb",
        (
            Band("fat", Basis.AS_FED, "g/100 g", low=2.0, high=3.0),
            Band("water", Basis.AS_FED, "g/100 g", high=1.0, role=Role.SAFETY),
        ),
    )
    shelf = eight_foods().shelf.take([0, 1])
    assert closest(shelf, salty, 1000.0) == OutOfReach(None)
    assert closest(shelf, salty, 1000.0, within_cost=99.0) == OutOfReach(None)
    assert front(shelf, salty, 1000.0) == OutOfReach(None)


def test_prices_are_needed_only_for_a_limit_on_the_cost():
    shelf = eight_foods().shelf
    unpriced = shelf.with_price(np.full(8, np.nan))
    found = closest(unpriced, band_set("ewe-milk"), 1000.0)
    priced = closest(shelf, band_set("ewe-milk"), 1000.0)
    assert isinstance(found, Closest)
    assert isinstance(priced, Closest)
    assert found.deviation == pytest.approx(priced.deviation, abs=1e-9)
    with pytest.raises(InputError, match="whole-milk"):
        closest(unpriced, band_set("ewe-milk"), 1000.0, 2.0)
    with pytest.raises(InputError, match="whole-milk"):
        front(unpriced, band_set("ewe-milk"), 1000.0)
    for cost in (-1.0, math.nan):
        with pytest.raises(InputError, match="cannot cost"):
            closest(shelf, band_set("ewe-milk"), 1000.0, cost)


def test_a_missing_value_is_not_zero():
    milk = food_table()["whole-milk"]
    values = {name: value for name, value in milk.values.items() if name != "lactose"}
    shelf = Shelf((replace(milk, values=values),), price=np.array([0.001]))
    with pytest.raises(MissingComposition, match="whole-milk"):
        closest(shelf, band_set("ewe-milk"), 1000.0)


def points_are_a_front(found: Front) -> None:
    for before, after in pairwise(found.points):
        assert before.mix.cost_per_litre is not None
        assert after.mix.cost_per_litre is not None
        assert after.mix.cost_per_litre >= before.mix.cost_per_litre * (1 - 1e-9)
        assert after.deviation <= before.deviation + 1e-9


@settings(max_examples=25)
@given(st.sampled_from(ONE_BASIS).flatmap(lambda bases: jobs(most=6, bases=bases)))
def test_the_front_is_the_closest_at_every_cost(job: Job):
    assume(job.bands.in_role(Role.DEMANDED))
    found = front(job.shelf, job.bands, VOLUME, worst=1e9)
    best = closest(job.shelf, job.bands, VOLUME)
    if isinstance(found, OutOfReach):
        assert isinstance(best, OutOfReach)
        return
    assert found.exact
    assert isinstance(best, Closest)
    points_are_a_front(found)
    assert found.points[-1].deviation == pytest.approx(best.deviation, abs=1e-9)
    assert found.costs[-1] == pytest.approx(best.mix.cost_per_litre, rel=1e-9)
    for cost in np.linspace(found.costs[0], found.costs[-1], 9)[1:]:
        there = found.at(float(cost))
        expected = least_by_scipy(job.shelf, job.bands, float(cost))
        assert there is not None
        assert expected is not None
        assert there.deviation == pytest.approx(expected, rel=1e-5, abs=1e-5)
        assert there.mix.cost_per_litre == pytest.approx(cost, rel=1e-9)


@settings(max_examples=25)
@given(jobs(most=6, bases=(Basis.PER_LITRE,)))
def test_the_front_per_litre_is_convex(job: Job):
    """Cost and deviation are then both per litre, so blends lie on straight lines."""
    assume(job.bands.in_role(Role.DEMANDED))
    found = front(job.shelf, job.bands, VOLUME, worst=1e9)
    assume(isinstance(found, Front))
    assert isinstance(found, Front)
    costs, away = found.costs, found.deviations
    scale = max(float(away.max()), 1.0)
    for i in range(1, len(costs) - 1):
        if costs[i + 1] - costs[i - 1] > 1e-6:
            t = (costs[i] - costs[i - 1]) / (costs[i + 1] - costs[i - 1])
            assert away[i] <= (1 - t) * away[i - 1] + t * away[i + 1] + 1e-8 * scale


@pytest.mark.parametrize("bands", ["ewe-milk", "ewe-milk-breeds", "doe-milk"])
def test_no_blend_beats_the_front(bands: str):
    problem = eight_foods(bands)
    found = front(problem.shelf, problem.bands, 1000.0, worst=50.0)
    assert isinstance(found, Front)
    assert len(found.points) >= 4
    points_are_a_front(found)
    rng = np.random.default_rng(3)
    grams = np.array([point.mix.grams for point in found.points])
    for _ in range(200):
        share = rng.dirichlet(np.full(len(grams), 0.3))
        mix = finish(problem, share @ grams / 1000 * problem.volume, Status.CHECKED)
        assert mix.cost_per_litre is not None
        there = found.at(mix.cost_per_litre)
        assert there is not None
        assert deviation(mix) >= there.deviation - 1e-9


def test_breakpoints_are_where_the_slope_changes():
    """Between breakpoints a third point lies on the blend of both; across one it does not."""
    problem = eight_foods("ewe-milk")
    found = front(problem.shelf, problem.bands, 1000.0)
    assert isinstance(found, Front)
    assert found.points[0].deviation == pytest.approx(2.0, abs=1e-6)  # half a width for each
    for i in range(1, len(found.points) - 1):
        left, middle, right = found.costs[i - 1 : i + 2]
        t = (middle - left) / (right - left)
        blend = (1 - t) * found.points[i - 1].mix.grams + t * found.points[i + 1].mix.grams
        assert np.abs(blend - found.points[i].mix.grams).max() > 1e-3


def test_outside_the_front():
    problem = eight_foods("ewe-milk")
    found = front(problem.shelf, problem.bands, 1000.0)
    assert isinstance(found, Front)
    assert found.at(float(found.costs[0]) - 0.01) is None
    assert found.at(float(found.costs[0])) is found.points[0]
    assert found.at(float(found.costs[-1])) is found.points[-1]
    assert found.at(1e9) is found.points[-1]


@settings(max_examples=20)
@given(jobs(most=6))
def test_on_several_bases_the_front_is_sampled_and_falls(job: Job):
    assume(job.bands.in_role(Role.DEMANDED))
    found = front(job.shelf, job.bands, VOLUME)
    if isinstance(found, OutOfReach):
        return
    points_are_a_front(found)
    for point in found.points:
        kept_what_is_never_missed(job, point)


def test_a_practical_milk_reaches_its_middles():
    """Two bases: solids as fed, the rest of dry matter. Every read comes to its middle."""
    problem = eight_foods("lamb-replacer")
    found = front(problem.shelf, problem.bands, 1000.0)
    assert isinstance(found, Front)
    assert not found.exact
    assert found.points[-1].deviation == pytest.approx(0.0, abs=1e-9)
    assert all(
        read.standing is Standing.INSIDE
        for read in found.points[-1].mix.reads
        if read.band.role is Role.DEMANDED
    )
