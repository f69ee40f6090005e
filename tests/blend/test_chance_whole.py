"""Whole measures that hold with a chance, against every combination there is."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from made_jobs import SureJob, sure_job

from formulate.answers.judged import judged
from formulate.base.errors import InputError, OutOfTime
from formulate.base.units import Kitchen
from formulate.blend.mixed_integer import IntegerOptimal
from formulate.blend.problem import build
from formulate.blend.program import LinearProgram
from formulate.blend.protect.chance import NotSure
from formulate.blend.protect.chance_whole import SureKitchenMix, design_kitchen_sure
from formulate.blend.protect.confidence import confidence_of
from formulate.blend.solve import Infeasible
from formulate.blend.whole import demands
from formulate.blend.whole.demands import solve_demanding
from formulate.blend.whole.steps import kitchen_steps
from formulate.foods.spread import spread_of
from formulate.foods.tables import band_set, default_spreads
from formulate.kitchen.batch import Batch, BatchWishes, make_batch
from formulate.pantry.pantry import sample_pantry
from formulate.report.milk import milk_words

QUART = 946.352946


def ask(job: SureJob, **how):
    problem = build(job.shelf, job.bands, job.least)
    return design_kitchen_sure(
        problem, job.spread, job.sure, job.steps,
        least_volume=job.least, most_volume=job.most, **how,
    )  # fmt: skip


def agrees(job: SureJob, good: np.ndarray, **how) -> None:
    """The cheapest of the good counts is found, or none where there are none."""
    found = ask(job, **how)
    if not len(good):
        assert not isinstance(found, SureKitchenMix)
        return
    assert isinstance(found, SureKitchenMix)
    assert (good == found.kitchen.counts).all(axis=1).any()
    assert found.kitchen.complete
    assert found.kitchen.gap == 0
    assert found.kitchen.mix.cost == pytest.approx(job.cost(good).min(), rel=1e-7, abs=1e-9)
    assert min(found.chances) >= job.sure / 100 - 1e-8


@pytest.mark.parametrize("count", [60, pytest.param(1000, marks=pytest.mark.long)])
def test_every_combination(count):
    done = 0
    for number in range(count):
        job = sure_job(number)
        good = job.counts()
        try:
            agrees(job, good)
        except AssertionError as error:
            raise AssertionError(f"job {number}: {error}") from error
        done += bool(len(good))
    assert count / 3 < done < count * 0.9  # else the jobs tell little


@pytest.mark.parametrize("count", [20, pytest.param(600, marks=pytest.mark.long)])
@pytest.mark.parametrize("wish", ["few foods", "favourite", "stock"])
def test_wishes_come_first(wish, count):
    for number in range(count):
        job = sure_job(5000 + number)
        good = job.counts()
        if not len(good):
            continue
        rng = np.random.default_rng(number)
        ids, n = job.shelf.ids, len(job.shelf.ids)
        step = np.array([s.grams for s in job.steps])
        if wish == "few foods":
            most = int(rng.integers(1, n + 1))
            agrees(job, good[(good > 0).sum(axis=1) <= most], most_foods=most)
        elif wish == "stock":
            j = int(rng.integers(n))
            agrees(job, good[good[:, j] == good[:, j].max()], use_up={ids[j]: 1.0})
        else:
            targets = rng.permutation(good)[0] + rng.integers(0, 2, n) * (good.max(axis=0) > 0)
            kept = good[(good[:, targets > 0] > 0).all(axis=1)]
            changes = np.abs(kept - targets).sum(axis=1)
            nearest = kept[changes == changes.min()] if len(kept) else kept
            recipe = {i: float(t * s) for i, t, s in zip(ids, targets, step, strict=True) if t}
            agrees(job, nearest, favourite=recipe)


def test_a_quart_for_kids_costs_what_it_must():
    """By brute force over every combination: 4 cups of milk and 2 tablespoons of cream."""
    found = make_batch(sample_pantry(), band_set("kid-replacer"), QUART, BatchWishes(sure=95.0))
    assert isinstance(found, Batch)
    assert round(found.kitchen_mix.mix.cost, 2) == 1.18
    assert found.kitchen_mix.complete
    assert min(found.protected.chances) >= 0.95


def test_an_independent_count_gives_the_chance():
    shelf = sample_pantry().shelf()
    spread = spread_of(shelf.composition, default_spreads())
    problem = build(shelf, band_set("lamb-replacer"), 2000.0)
    found = design_kitchen_sure(
        problem, spread, 90.0, kitchen_steps(shelf.foods, Kitchen.US),
        least_volume=2000.0, most_volume=2100.0,
    )  # fmt: skip
    assert isinstance(found, SureKitchenMix)
    assert found.kitchen.rounding_cost >= 0
    counted = confidence_of(found.kitchen.mix, spread, draws=100_000)
    for band in problem.bands.binding:
        assert counted.of(band).chance_inside >= 0.9 - 3 * math.sqrt(0.09 / 100_000)


def test_where_no_mix_by_the_gram_is_so_sure():
    shelf = sample_pantry().shelf()
    spread = spread_of(shelf.composition, default_spreads())
    found = design_kitchen_sure(
        build(shelf, band_set("lamb-replacer"), 2000.0),
        replace(spread, sd=spread.sd * 2.5), 99.0, kitchen_steps(shelf.foods, Kitchen.US),
        least_volume=2000.0, most_volume=2100.0,
    )  # fmt: skip
    assert isinstance(found, NotSure)


@pytest.mark.parametrize("sure", [50.0, 99.99])
def test_chances_from_a_half_to_nearly_all(sure):
    job = replace(sure_job(0), sure=sure)
    agrees(job, job.counts())


@pytest.mark.parametrize("sure", [49.9, 0.0, 100.0, math.nan])
def test_chances_below_half_and_of_everything_are_rejected(sure):
    with pytest.raises(InputError, match="cannot be asked to be"):
        ask(replace(sure_job(0), sure=sure))


def test_a_search_cut_short_reports_its_gap(monkeypatch):
    real = demands.solve_integer

    def stopped(*args, **how):
        answer = real(*args, **how)
        if isinstance(answer, Infeasible):
            return answer
        return replace(answer, complete=False, bound=answer.objective * 0.9)

    monkeypatch.setattr(demands, "solve_integer", stopped)
    pantry = sample_pantry()
    found = make_batch(pantry, band_set("kid-replacer"), QUART, BatchWishes(sure=95.0))
    assert not found.kitchen_mix.complete
    assert found.kitchen_mix.gap == pytest.approx(0.1)
    assert "10.0 %" in milk_words(judged(found), pantry.kitchen).search


def test_no_time_asks_for_more():
    with pytest.raises(OutOfTime, match="Allow more time"):
        ask(sure_job(0), time_limit=1e-9)


# --- the tree, where no row says what is demanded -----------------------------------------------


class EvenSum:
    """That the counts add up to an even number: no row ever helps."""

    def rows(self):
        return np.empty((0, 3))

    def more_rows(self, grams):
        return np.empty((0, 3))

    def met(self, grams):
        return round(grams.sum()) % 2 == 0 and grams[0] != grams[1]


@pytest.mark.parametrize("seed", range(12))
def test_counts_that_no_row_cuts_off_are_branched_away(seed):
    rng = np.random.default_rng(seed)
    program = LinearProgram(
        cost=rng.integers(1, 9, 3).astype(float),
        matrix=rng.integers(1, 5, (1, 3)).astype(float),
        row_lower=np.array([float(rng.integers(3, 14))]),
        row_upper=np.array([float(rng.integers(12, 15))]),
        col_lower=np.zeros(3),
        col_upper=np.full(3, float(rng.integers(1, 4))),
    )
    found = solve_demanding(program, EvenSum(), np.ones(3), np.zeros(3), time_limit=60.0)
    top = int(program.col_upper[0])
    good = [
        program.cost @ x
        for x in itertools.product(range(top + 1), repeat=3)
        if program.row_lower[0] <= program.matrix[0] @ x <= program.row_upper[0]
        and sum(x) % 2 == 0
        and x[0] != x[1]
    ]
    if good:
        assert isinstance(found, IntegerOptimal)
        assert found.objective == pytest.approx(min(good))
        assert found.complete
    else:
        assert isinstance(found, Infeasible)
