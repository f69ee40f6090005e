"""Without prices: the fewest foods inside, nearest to the middles; against every combination."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from kitchen_cases import QUART, Case, cases, shelf_of
from strategies import VOLUME, jobs

from formulate.base.errors import OutOfTime
from formulate.base.units import Kitchen
from formulate.blend import fewest as by_gram
from formulate.blend.branch import cheapest
from formulate.blend.fewest import Goals, fewest_by_gram
from formulate.blend.goal import deviation
from formulate.blend.mix import optimise
from formulate.blend.problem import Problem, build
from formulate.blend.whole import fewest_whole as whole
from formulate.blend.whole.fewest_whole import FewestMix, fewest_whole
from formulate.blend.whole.kitchen_mix import NoKitchenMix, volume_range
from formulate.blend.whole.steps import kitchen_steps
from formulate.foods.bands import Role
from formulate.foods.tables import band_set

NOTHING = math.nan


def ask(case: Case, **how) -> FewestMix | NoKitchenMix:
    unpriced = case.shelf.with_price(np.full(len(case.steps), NOTHING))
    return fewest_whole(
        build(unpriced, case.bands, case.least),
        case.steps,
        least_volume=case.least,
        most_volume=case.most,
        **how,
    )


def deviations(case: Case, counts: np.ndarray) -> np.ndarray:
    """From the middles, worked out anew."""
    grams, total = case.grams(counts), np.zeros(len(counts))
    for band in case.bands.in_role(Role.DEMANDED):
        n, d = (case.shelf.composition.row(m) for m in (band.measure, band.denominator))
        value = band.scale * (grams @ n) / (grams @ d)
        total += np.abs(value - (band.low + band.high) / 2) / (band.high - band.low)
    return total


def check(case: Case, found: FewestMix | NoKitchenMix, good: np.ndarray) -> None:
    if not len(good):
        assert isinstance(found, NoKitchenMix)
        return
    assert isinstance(found, FewestMix)
    used = (good > 0).sum(axis=1)
    fewest = good[used == used.min()]
    assert found.foods == used.min()
    assert (fewest == found.kitchen.counts).all(axis=1).any()
    assert found.deviation == pytest.approx(deviations(case, fewest).min(), abs=1e-8)
    assert found.kitchen.complete
    assert found.kitchen.rounding_cost is None


@settings(max_examples=60, deadline=None)
@given(cases())
def test_every_combination(case):
    check(case, ask(case), case.good())


@settings(max_examples=40, deadline=None)
@given(cases())
def test_every_combination_where_only_a_few_are_tried_at_once(case):
    """Halving the counts, and leaving parts out by a bound, comes to the same."""
    at_once = whole.AT_ONCE
    whole.AT_ONCE = 1
    try:
        check(case, ask(case), case.good())
    finally:
        whole.AT_ONCE = at_once


@settings(max_examples=40, deadline=None)
@given(jobs())
def test_by_the_gram_no_fewer_foods_will_do(job):
    problem = build(job.shelf, job.bands, VOLUME)
    free = np.zeros(len(job.shelf.foods))
    found = fewest_by_gram(problem)
    if optimise(problem, free) is None:
        assert found is None
        return
    assert found is not None
    assert not found.mix.misses
    assert found.deviation - found.bound <= 1e-6
    used = np.flatnonzero(found.mix.grams)
    for size in range(1, used.size):
        for sets in whole.sets_of((), range(free.size), size):
            for columns in sets:
                fewer = build(job.shelf.take(columns), job.bands, VOLUME)
                assert optimise(fewer, np.zeros(len(columns))) is None


@settings(max_examples=40, deadline=None)
@given(jobs(), st.integers(0, 10_000))
def test_by_the_gram_no_mix_of_those_foods_is_nearer(job, seed):
    problem = build(job.shelf, job.bands, VOLUME)
    found = fewest_by_gram(problem)
    assume(found is not None)
    used = np.flatnonzero(found.mix.grams)
    part: Problem = build(job.shelf.take(used), job.bands, VOLUME)
    random = np.random.default_rng(seed)
    corners = [optimise(part, random.normal(size=used.size)) for _ in range(8)]
    y = random.dirichlet(np.ones(8)) @ np.array([c.x for c in corners if c is not None])
    other = replace(found.mix, shelf=part.shelf, grams=y * VOLUME)
    again = whole.finish(part, other.grams, found.mix.status)
    assert deviation(again) >= found.deviation - 1e-6


@settings(max_examples=20, deadline=None)
@given(jobs())
def test_ranges_over_one_denominator_need_no_search(job):
    """A flat optimum once took hundreds of thousands of nodes, each a little nearer to it."""
    problem = build(job.shelf, job.bands, VOLUME)
    assume(len(Goals.of(problem.bands, problem.shelf.composition).bases) == 1)
    nodes = []

    def counted(root, relax, split, **how):
        def one(node, cost):
            nodes.append(node)
            return relax(node, cost)

        before = len(nodes)
        best = cheapest(root, one, split, **how)
        assert len(nodes) - before <= 1
        return best

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(by_gram, "cheapest", counted)
        fewest_by_gram(problem)


def named(*foods: str, bands: str = "lamb-replacer", volume: float = 2 * QUART, **how):
    shelf = shelf_of(*foods, price=[NOTHING] * len(foods))
    least, most = volume_range(volume)
    return fewest_whole(
        build(shelf, band_set(bands), volume),
        kitchen_steps(shelf.foods, Kitchen.US),
        least_volume=least,
        most_volume=most,
        **how,
    )


def test_two_cans_and_five_cups():
    """By independent sums: 1,220 g of milk and 756 g of evaporated milk."""
    found = named("whole-milk", "evaporated-milk", "lowfat-buttermilk")
    words = [(m.words, m.food) for m in found.kitchen.measures(Kitchen.US)]
    assert words == [("5 cups", "whole-milk"), ("2 cans", "evaporated-milk")]
    solids = (1220 * (100 - 88.13) + 756 * (100 - 74.04)) / (1220 + 756)
    read = next(r for r in found.kitchen.mix.reads if r.band.measure == "solids")
    assert read.value == pytest.approx(solids, abs=0.02)


def test_the_order_of_naming_does_not_matter():
    foods = ["whole-milk", "heavy-cream", "nonfat-dry-milk", "lowfat-buttermilk"]
    one, other = named(*foods), named(*reversed(foods))
    assert dict(zip(one.kitchen.mix.shelf.ids, one.kitchen.counts, strict=True)) == dict(
        zip(other.kitchen.mix.shelf.ids, other.kitchen.counts, strict=True)
    )


def test_too_few_foods_allowed_is_no():
    foods = ["whole-milk", "heavy-cream", "nonfat-dry-milk"]
    assert named(*foods).foods == 3
    assert isinstance(named(*foods, most_foods=2), NoKitchenMix)


def test_a_size_that_whole_measures_cannot_make_offers_another():
    found = named("whole-milk", "evaporated-milk", volume=200.0)
    assert isinstance(found, NoKitchenMix)
    assert found.exact is not None
    assert found.nearest is not None
    assert not found.nearest.mix.misses


def test_no_time_is_reported():
    with pytest.raises(OutOfTime):
        named("whole-milk", "heavy-cream", "nonfat-dry-milk", time_limit=1e-9)
