"""How sure a mix is: two ways that agree, and what is said of it."""

import json
import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from strategies import jobs

from formulate.base.errors import InputError
from formulate.blend.design import design
from formulate.blend.mix import Mix, Status
from formulate.blend.problem import Shelf
from formulate.blend.protect.confidence import Way, box_chance, confidence_of
from formulate.foods.bands import Band, BandSet, Basis, Role, read, read_all
from formulate.foods.food import Food, Value
from formulate.foods.spread import spread_of
from formulate.foods.tables import band_set, default_spreads, food_table
from formulate.pantry.pantry import sample_pantry
from formulate.pantry.reading import check
from formulate.pantry.recipe import parse_recipe
from formulate.report.confidence_words import (
    chance_words,
    confidence_lines,
    with_confidence,
)
from formulate.report.shapes import dump, mix_shape


def sample_mix():
    return design(sample_pantry().shelf(), band_set("lamb-replacer"), 2000.0)


def checked(text, against="lamb-replacer"):
    return check(parse_recipe(text, food_table()), band_set(against))


def single(sd, low=-math.inf, high=9.0, mean=4.0):
    """One food whose fat alone varies, and a band on it."""
    amounts = {"water": 88.0, "fat": mean, "protein": 3.0, "carbohydrate": 5.0 - mean + 3, "ash": 1}
    food = Food("one", "One", "milk", {k: Value(float(v), "own") for k, v in amounts.items()})
    band = Band("fat", Basis.AS_FED, "g/100 g", low=low, high=high)
    shelf = Shelf((food,), price=np.array([1e-3]))
    grams = np.array([1000.0])
    bands = BandSet("one", "", "lamb", (band,))
    mix = Mix(Status.CHECKED, shelf, bands, grams, read_all(bands, shelf.composition, grams))
    return mix, spread_of((food,), {}, {"one": {"fat": sd}}), band


@pytest.mark.parametrize(("low", "high"), [(3.7, 4.6), (-math.inf, 4.2), (4.1, math.inf)])
def test_draws_cover_what_the_normal_law_says(low, high):
    # The published law itself: Φ((high − mean)/sd) − Φ((low − mean)/sd).
    mix, spread, band = single(0.3, low, high)
    law = NormalDist(4.0, 0.3)
    exact = (law.cdf(high) if high < math.inf else 1.0) - (law.cdf(low) if low > 0 else 0.0)
    draws = 200_000
    found = confidence_of(mix, spread, draws=draws).of(band)
    assert abs(found.chance_inside - exact) < 3 * math.sqrt(exact * (1 - exact) / draws)
    plain = confidence_of(mix, spread, way=Way.NORMAL).of(band)
    assert plain.chance_inside == pytest.approx(exact, abs=1e-12)
    for one in (found, plain):
        assert one.low95 == pytest.approx(law.inv_cdf(0.025), abs=0.005)
        assert one.high95 == pytest.approx(law.inv_cdf(0.975), abs=0.005)


def test_independent_reads_hold_together_as_the_product_says():
    # Fat as fed and sodium as fed share nothing that varies.
    food = replace(single(0.3)[0].shelf.foods[0])
    food = replace(food, values={**food.values, "sodium": Value(40.0, "own")})
    bands = (
        Band("fat", Basis.AS_FED, "g/100 g", low=3.8, high=4.4),
        Band("sodium", Basis.AS_FED, "mg/100 g", high=44.0, role=Role.SAFETY),
    )
    shelf = Shelf((food,))
    grams = np.array([100.0])
    two = BandSet("two", "", "lamb", bands)
    mix = Mix(Status.CHECKED, shelf, two, grams, read_all(two, shelf.composition, grams))
    spread = spread_of((food,), {}, {"one": {"fat": 0.3, "sodium": 5.0}})
    fat, sodium = NormalDist(4.0, 0.3), NormalDist(40.0, 5.0)
    exact = (fat.cdf(4.4) - fat.cdf(3.8)) * sodium.cdf(44.0)
    draws = 200_000
    found = confidence_of(mix, spread, draws=draws)
    assert abs(found.chance_all_inside - exact) < 3 * math.sqrt(exact * (1 - exact) / draws)
    normal = confidence_of(mix, spread, way=Way.NORMAL)
    assert normal.chance_all_inside == pytest.approx(exact, abs=1e-4)


@pytest.mark.parametrize(
    "mix",
    [
        sample_mix(),
        checked("1 gallon whole-milk"),
        checked("2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk"),
        checked("1 cup goat-milk + 1 cup lowfat-buttermilk + 1 cup evaporated-milk", "ewe-milk"),
    ],
    ids=["sample", "milk", "cream-and-powder", "spread-wide"],
)
def test_the_two_ways_agree(mix):
    draws, normal = confidence_of(mix), confidence_of(mix, way=Way.NORMAL)
    for a, b in zip(draws.reads, normal.reads, strict=True):
        width = b.high95 - b.low95
        assert a.low95 == pytest.approx(b.low95, abs=0.04 * width)
        assert a.high95 == pytest.approx(b.high95, abs=0.04 * width)
        if b.chance_inside is None:
            assert a.chance_inside is None
        else:
            assert a.chance_inside == pytest.approx(b.chance_inside, abs=0.015)
    assert draws.chance_all_inside == pytest.approx(normal.chance_all_inside, abs=0.02)


@given(jobs(least=2, most=5), st.integers(0, 10**6))
@settings(max_examples=20)
def test_the_two_ways_agree_on_random_mixes(job, seed):
    amounts = np.random.default_rng(seed).dirichlet(np.ones(len(job.shelf.foods))) * 1000
    reads = read_all(job.bands, job.shelf.composition, amounts)
    mix = Mix(Status.CHECKED, job.shelf, job.bands, amounts, reads)
    assume(all(r.value is not None for r in reads))
    draws, normal = confidence_of(mix, draws=20_000), confidence_of(mix, way=Way.NORMAL)
    for a, b in zip(draws.reads, normal.reads, strict=True):
        if b.chance_inside is not None:
            assert a.chance_inside == pytest.approx(b.chance_inside, abs=0.05)
    assert draws.chance_all_inside == pytest.approx(normal.chance_all_inside, abs=0.06)


def test_all_together_is_between_the_least_sure_and_what_cannot_be_worse():
    sure = confidence_of(sample_mix())
    chances = [
        s.chance_inside
        for s in sure.reads
        if s.read.band.role is not Role.SHOWN and s.chance_inside is not None
    ]
    assert sure.chance_all_inside <= min(chances)
    assert sure.chance_all_inside >= 1 - sum(1 - c for c in chances) - 1e-12


def test_the_cheapest_mix_of_average_cartons_lies_on_its_edges():
    sure = confidence_of(sample_mix())
    solids = next(s for s in sure.reads if s.read.band.measure == "solids")
    assert solids.chance_inside == pytest.approx(0.5, abs=0.01)
    assert sure.chance_all_inside < 0.35


def test_the_same_seed_gives_the_same_answer_and_another_nearly():
    mix = sample_mix()
    one, two, other = confidence_of(mix), confidence_of(mix), confidence_of(mix, seed=1)
    assert one == two
    assert one != other
    assert one.chance_all_inside == pytest.approx(other.chance_all_inside, abs=0.01)


def test_a_read_that_is_not_known_is_not_sure_of_anything():
    amounts = {"water": 4, "protein": 23, "fat": 29, "ash": 6, "carbohydrate": 38, "lactose": 38}
    powder = Food(
        "p", "P", "replacer-powder", {k: Value(float(v), "own") for k, v in amounts.items()}
    )
    shelf = Shelf((powder, food_table()["water"]))
    grams, bands = np.array([200.0, 800.0]), band_set("lamb-replacer")
    reads = read_all(bands, shelf.composition, grams, shelf.like)
    mix = Mix(Status.CHECKED, shelf, bands, grams, reads)
    for way in Way:
        sure = confidence_of(mix, way=way, draws=2000)
        assert sure.chance_all_inside is None
        sodium = next(s for s in sure.reads if s.read.band.measure == "sodium")
        assert (sodium.low95, sodium.high95, sodium.chance_inside) == (None, None, None)
        solids = next(s for s in sure.reads if s.read.band.measure == "solids")
        assert solids.low95 < solids.read.value < solids.high95


def test_what_stands_in_for_a_missing_value_counts_and_does_not_vary():
    amounts = {"water": 58, "protein": 2.5, "fat": 36, "ash": 0.5, "carbohydrate": 3, "lactose": 3}
    cream = Food("c", "C", "cream", {k: Value(float(v), "own") for k, v in amounts.items()})
    shelf = Shelf((cream, food_table()["whole-milk"]))
    grams, bands = np.array([100.0, 900.0]), band_set("lamb-replacer")
    reads = read_all(bands, shelf.composition, grams, shelf.like)
    mix = Mix(Status.CHECKED, shelf, bands, grams, reads)
    for way in Way:
        sure = confidence_of(mix, way=way, draws=20_000)
        sodium = next(s for s in sure.reads if s.read.band.measure == "sodium")
        assert sodium.read.assumed == ("c",)
        milk = 3.55 * 0.9  # the milk's own spread, 43 ± 3.55 mg/100 g
        assert sodium.high95 - sodium.low95 == pytest.approx(2 * 1.96 * milk, rel=0.05)
        assert (sodium.low95 + sodium.high95) / 2 == pytest.approx(sodium.read.value, rel=0.01)


def test_several_cartons_are_surer():
    mix = checked("2 quarts whole-milk + 1 cup heavy-cream")
    spread = spread_of(mix.shelf.composition, default_spreads())
    one = confidence_of(mix, spread, way=Way.NORMAL)
    four = confidence_of(mix, spread.averaged(np.array([4, 4])), way=Way.NORMAL)
    for a, b in zip(one.reads, four.reads, strict=True):
        assert b.high95 - b.low95 == pytest.approx((a.high95 - a.low95) / 2, rel=0.02)


def test_bad_questions_are_reported():
    mix = sample_mix()
    with pytest.raises(InputError, match="draws are too few"):
        confidence_of(mix, draws=0)
    with pytest.raises(InputError, match="of other foods than"):
        confidence_of(mix, spread_of([food_table()["whole-milk"]], default_spreads()))


def test_a_box_of_a_normal_meets_scipy_and_the_product():
    from scipy.stats import multivariate_normal

    rng = np.random.default_rng(4)
    root = rng.standard_normal((4, 4))
    covariance = root @ root.T + 0.2 * np.eye(4)
    low, high = np.array([-1.0, -np.inf, -2.0, -0.5]), np.array([1.5, 1.0, np.inf, 2.0])
    other = multivariate_normal(np.zeros(4), covariance, seed=1).cdf(high, lower_limit=low)
    assert box_chance(covariance, low, high) == pytest.approx(float(other), abs=2e-4)
    law = NormalDist()
    product = (law.cdf(1.0) - law.cdf(-1.0)) ** 3
    three = np.ones(3)
    assert box_chance(np.eye(3), -three, three) == pytest.approx(product, abs=2e-4)


def test_a_box_of_reads_that_move_as_one():
    same = np.ones((2, 2))
    law = NormalDist()
    found = box_chance(same, np.array([-1.0, -0.5]), np.array([2.0, 1.0]))
    assert found == pytest.approx(law.cdf(1.0) - law.cdf(-0.5), abs=1e-3)
    nothing = np.zeros((2, 2))
    assert box_chance(nothing, np.array([-1.0, -1.0]), np.array([1.0, 1.0])) == 1.0
    assert box_chance(nothing, np.array([0.5, -1.0]), np.array([1.0, 1.0])) == 0.0


def test_it_is_said_in_words():
    lines = confidence_lines(confidence_of(sample_mix()))
    text = "\n".join(lines)
    assert "In 19 batches out of 20 you would get:" in text
    assert "Chance that a batch keeps all ranges at once: " in text
    assert (
        "Within the limit in more than 99.9 % of batches: sugar and salts (osmolality), copper"
        in text
    )
    assert any(line.split()[:1] == ["solids"] and " to 16.5 " in line for line in lines)


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (None, "not known"),
        (0.99999, "above 99.9 %"),
        (0.9949, "99.4 %"),
        (0.9502, "95 %"),
        (0.949, "94 %"),
        (0.0004, "below 0.1 %"),
    ],
)
def test_a_chance_is_never_rounded_up_to_certainty(chance, words):
    assert chance_words(chance) == words


def test_json_gains_four_keys():
    mix = sample_mix()
    shape = json.loads(dump(with_confidence(mix_shape(mix, "us"), confidence_of(mix))))
    assert 0 < shape["chance_all_inside"] < 1
    for one in shape["reads"]:
        assert one["low95"] <= one["value"] <= one["high95"]
        assert (one["chance_inside"] is None) == (one["low"] is None and one["high"] is None)


def test_the_band_on_its_edge_without_spread_is_inside():
    food = single(0.3, 4.0, 5.0)[0].shelf.foods[0]
    mix, _, band = single(0.3, 4.0, 5.0)
    spread = spread_of((food,), {})
    assert read(band, mix.shelf.composition, mix.grams).value == pytest.approx(4.0)
    for way in Way:
        assert confidence_of(mix, spread, way=way, draws=100).of(band).chance_inside == 1.0


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (1.0, "above 99.9 %"),
        (0.9994, "99.9 %"),
        (0.951, "95 %"),
        (0.01, "1 %"),
        (0.0099, "0.9 %"),
        (0.0014, "0.1 %"),
        (0.00099, "below 0.1 %"),
        (0.0, "below 0.1 %"),
    ],
)
def test_a_small_chance_is_never_shown_as_zero(chance, said):
    assert chance_words(chance) == said
