"""The answer to "what shall I mix?": whole, whatever part of it fails."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from formulate.answers.judged import JudgedMix
from formulate.answers.mix import mix, will_do_tonight
from formulate.answers.mix_answer import MixOutcome, MixRequest
from formulate.answers.verdict import Judgement, Verdict
from formulate.base.errors import SolverFault
from formulate.blend.elastic import Elastic
from formulate.blend.mix import Mix, Status
from formulate.foods.bands import Band, BandSet, Basis, Read, Role, Standing
from formulate.pantry.pantry import parse_pantry, sample_pantry
from formulate.report.mix import mix_lines, mix_shape


def faulty(*args, **how):
    raise SolverFault("no answer")


def test_a_mix_is_found_even_if_its_reasons_are_not(monkeypatch):
    from formulate.blend.prices import shadow_prices

    monkeypatch.setattr(shadow_prices, "shadow_prices", faulty)
    answer = mix(sample_pantry(), "lamb-replacer", MixRequest(explain=True))
    assert answer.outcome is MixOutcome.MIX
    assert answer.milk is not None
    assert answer.reasons is None
    assert "could not be calculated" in "\n".join(mix_lines(answer))
    assert mix_shape(answer)["status"] == "optimal"


@pytest.mark.parametrize("part", ["nearest", "smallest_conflicts"])
def test_no_mix_is_explained_as_far_as_can_be(part, monkeypatch):
    from formulate.blend import design, explain

    monkeypatch.setattr(design if part == "nearest" else explain, part, faulty)
    answer = mix(sample_pantry(), "ewe-milk")
    assert answer.outcome is MixOutcome.NO_MIX
    text = "\n".join(mix_lines(answer))
    assert "could not be calculated" in text
    assert ("clash" in text) == (part == "nearest" or "clash could not" in text)
    assert mix_shape(answer)["status"] == "infeasible"


def test_help_that_cannot_be_worked_out_costs_no_explanation(monkeypatch):
    from formulate.answers import mix as asking

    monkeypatch.setattr(asking, "would_help", faulty)
    answer = mix(sample_pantry(), "ewe-milk")
    assert answer.additions is None
    assert answer.instead is not None
    assert "clash" in "\n".join(mix_lines(answer))


def test_a_range_of_one_value_has_reasons():
    text = """
name = "Exact"
currency = "USD"
prices_on = 2026-11-02
kitchen = "us"
[foods.whole-milk]
price = 3.89
package = "1 gallon"
[foods.heavy-cream]
price = 3.20
package = "1 pint"
[foods.nonfat-dry-milk]
price = 11
package = "2 lb"
[bands.exact]
title = "Exactly so"

demand = [{ measure = "fat", basis = "as_fed", unit = "g/100 g", low = 4.5, high = 4.5 }]
"""
    answer = mix(parse_pantry(text), "exact", MixRequest(by_gram=True, explain=True))
    assert answer.reasons is not None
    lines = "\n".join(mix_lines(answer))
    assert "less fat would save" in lines
    assert "not possible" not in lines


# --- the nearest mix, in whole measures and for one night ---------------------------------------


def test_the_nearest_mix_comes_in_whole_measures_too():
    answer = mix(sample_pantry(), "ewe-milk")
    assert answer.instead.batch is not None
    assert answer.nearest.batch is None
    assert answer.one_night is True
    by_gram, whole = answer.nearest.mix, answer.instead.mix
    assert {read.band.measure for read in whole.misses} >= {"protein", "lactose"}
    safety = [r for r in whole.reads if r.band.role is Role.SAFETY]
    assert all(read.standing is Standing.INSIDE for read in safety)
    assert Elastic.of(answer.problem).total(whole.grams) >= Elastic.of(answer.problem).total(
        by_gram.grams
    ) - 1e-9  # fmt: skip
    text = "\n".join(mix_lines(answer))
    assert "in whole measures:" in text
    assert "It will do for one night" in text
    assert "By the gram, a little nearer:" in text
    shape = mix_shape(answer)
    assert shape["one_night"] is True
    assert shape["nearest_in_measures"]["measures"]
    assert shape["nearest"]["amounts"][0]["grams"] == pytest.approx(by_gram.grams[0])


def test_by_the_gram_the_nearest_mix_is_told_by_the_gram():
    answer = mix(sample_pantry(), "ewe-milk", MixRequest(by_gram=True))
    assert answer.instead.batch is None
    assert "in whole measures" not in "\n".join(mix_lines(answer))
    assert mix_shape(answer)["nearest_in_measures"] is None


def milk_of(verdict: Verdict, solids: float) -> JudgedMix:
    band = Band("solids", Basis.AS_FED, "g/100 g", low=16.0, high=19.0)
    read = Read(band, solids, Standing.BELOW if solids < 16 else Standing.ABOVE)
    shelf = sample_pantry().shelf()
    bands = BandSet("x", "x", "lamb", (band,))
    made = Mix(Status.NEAREST, shelf, bands, np.ones(len(shelf.ids)), (read,))
    return JudgedMix(made, Judgement(verdict), None)


@pytest.mark.parametrize(
    ("verdict", "solids", "does"),
    [
        (Verdict.OUTSIDE, 15.0, True),
        (Verdict.OUTSIDE, 8.0, True),
        (Verdict.OUTSIDE, 7.99, False),
        (Verdict.OUTSIDE, 38.0, True),
        (Verdict.OUTSIDE, 38.1, False),
        (Verdict.NEVER, 15.0, False),
        (Verdict.VET, 15.0, False),
        (Verdict.UNKNOWN, 15.0, False),
    ],
)
def test_what_will_do_for_one_night(verdict, solids, does):
    assert will_do_tonight(milk_of(verdict, solids)) is does


@pytest.mark.parametrize(
    "bands", ["ewe-milk", "ewe-milk-early", "ewe-milk-lacaune", "ewe-milk-awassi"]
)
def test_whole_measures_are_as_near_as_any(bands, small_pantry):
    """Every combination of counts of three foods."""
    answer = mix(small_pantry, bands, MixRequest(make=300.0))
    assert answer.outcome is MixOutcome.NO_MIX
    kitchen = answer.instead.batch.kitchen_mix
    problem, elastic = answer.problem, Elastic.of(answer.problem)
    step = np.array([s.grams for s in kitchen.steps])
    room = problem.shelf.composition.row("volume")
    tops = (kitchen.most_volume / room / step).astype(int)
    counts = np.array(list(itertools.product(*(range(t + 1) for t in tops))))
    grams = counts * step
    volume = grams @ room
    good = (volume >= kitchen.least_volume) & (volume <= kitchen.most_volume)
    sign = np.where(problem.is_low, 1.0, -1.0)
    kept = np.setdiff1d(np.arange(len(problem.limits)), elastic.ends)
    good &= (sign[kept] * (grams @ problem.rows[kept].T) >= -1e-9).all(axis=1)
    best = min(elastic.total(g) for g in grams[good])
    assert elastic.total(kitchen.mix.grams) <= best * 1.02 + 1e-9


@pytest.fixture
def small_pantry():
    return parse_pantry("""
name = "Small"
currency = "USD"
prices_on = 2026-11-02
kitchen = "us"
[foods.whole-milk]
price = 3.89
package = "1 gallon"
[foods.heavy-cream]
price = 3.20
package = "1 pint"
[foods.nonfat-dry-milk]
price = 11
package = "2 lb"
""")


# --- what being surer would cost ----------------------------------------------------------------


@pytest.mark.parametrize("by_gram", [True, False])
def test_what_holding_each_range_in_19_of_20_batches_costs(by_gram):
    """By two designs of the same shelf."""
    pantry = sample_pantry()
    answer = mix(pantry, "lamb-replacer", MixRequest(by_gram=by_gram))
    sure = mix(pantry, "lamb-replacer", MixRequest(by_gram=True, sure=95.0))
    plain = mix(pantry, "lamb-replacer", MixRequest(by_gram=True))
    extra = sure.milk.mix.cost_per_litre - plain.milk.mix.cost_per_litre
    assert answer.surer.price_of_protection == pytest.approx(extra, rel=1e-4)
    *_, last = [line for line in "\n".join(mix_lines(answer)).split("\n\n") if line]
    assert last.startswith("Holding each range in 19 batches out of 20 would cost 0.08 USD")
    assert mix_shape(answer)["surer"]["extra_per_litre"] == pytest.approx(extra, rel=1e-4)


def test_nothing_is_said_where_each_range_holds_as_surely_or_that_was_asked():
    pantry = sample_pantry()
    sure = mix(pantry, "lamb-replacer", MixRequest(sure=95.0))
    assert sure.surer is None
    assert "Holding each range" not in "\n".join(mix_lines(sure))
    assert mix_shape(sure)["surer"] is None
    wide = BandSet(
        "wide", "Wide", "lamb", (Band("solids", Basis.AS_FED, "g/100 g", low=5.0, high=30.0),)
    )
    assert mix(pantry, wide, MixRequest(by_gram=True)).surer is None


def test_where_no_mix_holds_each_range_so_often_it_is_said():
    narrow = BandSet("narrow", "Narrow", "lamb", (
        Band("solids", Basis.AS_FED, "g/100 g", low=16.0, high=16.4),
        Band("fat", Basis.DRY_MATTER, "g/100 g", low=30.0, high=31.0),
    ))  # fmt: skip
    answer = mix(sample_pantry(), narrow)
    text = " ".join("\n".join(mix_lines(answer)).split())
    assert answer.surer.most < 95
    assert f"one holds each in {answer.surer.most:g} % of them" in text
