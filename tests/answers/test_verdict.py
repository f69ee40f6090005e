"""The verdict: each threshold on both of its sides, and what must hold of every milk."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.answers.verdict import Verdict, judge
from formulate.blend.mix import Mix, Status
from formulate.blend.problem import Shelf
from formulate.foods.bands import read_all
from formulate.foods.food import Food, Value
from formulate.foods.tables import (
    band_set,
    food_table,
    read_toml,
    safety_bands,
    table_composition,
)
from formulate.pantry.own_food import ingredients_of
from formulate.report.verdict_words import headline, verdict_lines, verdict_shape

#: An invented milk that is inside for lambs: 17 % solids, 375 mOsm/kg, all it needs known.
MADE = {
    "water": 83.0, "protein": 4.2, "fat": 5.6, "carbohydrate": 6.3, "lactose": 6.3, "ash": 0.9,
    "sodium": 50.0, "potassium": 150.0, "copper": 0.02, "vitamin-a": 200.0, "vitamin-d": 20.0,
    "calcium": 150.0, "phosphorus": 110.0,
}  # fmt: skip


def food(name="made-milk", kind="milk", own=False, ingredients="", **per_100_g):
    values = {k: Value(v, "own") for k, v in {**MADE, **per_100_g}.items() if v is not None}
    return Food(name, name, kind, values, own=own, ingredients=ingredients_of(ingredients))


def mixed(foods, grams, against="lamb-replacer"):
    shelf = Shelf(tuple(foods), largest_share=np.ones(len(foods)))
    grams = np.array(grams, dtype=float)
    bands = band_set(against)
    reads = read_all(bands, shelf.composition, grams, table_composition())
    return Mix(Status.CHECKED, shelf, bands, grams, reads)


def verdict(against="lamb-replacer", **per_100_g):
    return judge(mixed([food(**per_100_g)], [1000.0], against)).verdict


def of_dry_matter(value):
    """What 100 g of the made milk have, where a kilogram of its dry matter has `value`."""
    return value * 17.0 / 1000.0


def potassium_for(osmolality):
    """What makes the made milk read so many mOsm/kg of water: molar masses, 2.116 a salt ion."""
    sugar, sodium = 1e3 * 6.3 / 342.30, 2.116 * 50.0 / 22.990
    return (osmolality * 0.083 - sugar - sodium) * 39.098 / 2.116


SALTY = {"carbohydrate": 3.0, "lactose": 3.0, "potassium": 50.0, "fat": 6.3, "protein": 4.5,
         "ash": 3.2}  # fmt: skip
STRONG = {"protein": 6.2, "fat": 9.0, "carbohydrate": 7.0, "lactose": 7.0}

EDGES = [
    # what is read, at the limit, what it is there, past the limit, what it is there
    ("copper 5", {"copper": of_dry_matter(5)}, "inside", {"copper": of_dry_matter(5.01)}, "vet"),
    ("copper 17", {"copper": of_dry_matter(17)}, "vet", {"copper": of_dry_matter(17.1)}, "never"),
    ("sodium 100", {"sodium": 100.0}, "inside", {"sodium": 100.1}, "vet"),
    ("sodium 300", {**SALTY, "sodium": 300.0}, "vet", {**SALTY, "sodium": 300.1}, "never"),
    ("osmolality 520", {"potassium": potassium_for(520)}, "inside",
     {"potassium": potassium_for(521)}, "vet"),
    ("osmolality 600", {"potassium": potassium_for(600)}, "vet",
     {"potassium": potassium_for(601)}, "never"),
    ("vitamin D 10,000", {"vitamin-d": of_dry_matter(10_000)}, "inside",
     {"vitamin-d": of_dry_matter(10_010)}, "vet"),
    ("vitamin D 25,000", {"vitamin-d": of_dry_matter(25_000)}, "vet",
     {"vitamin-d": of_dry_matter(25_010)}, "never"),
    ("vitamin A 66,000", {"vitamin-a": of_dry_matter(66_000)}, "inside",
     {"vitamin-a": of_dry_matter(66_100)}, "vet"),
    ("vitamin A 150,000", {"vitamin-a": of_dry_matter(150_000)}, "vet",
     {"vitamin-a": of_dry_matter(150_100)}, "never"),
    ("sugar 5", {"lactose": 6.3 - 0.85}, "inside", {"lactose": 6.3 - 0.86}, "vet"),
    ("sugar 10", {"lactose": 6.3 - 1.70}, "vet", {"lactose": 6.3 - 1.71}, "never"),
    ("solids 10", {"water": 90.0, "protein": 2.6, "fat": 3.2, "carbohydrate": 3.5, "lactose": 3.5},
     "outside",
     {"water": 90.1, "protein": 2.6, "fat": 3.2, "carbohydrate": 3.5, "lactose": 3.5}, "vet"),
    ("solids 25", {**STRONG, "water": 75.0}, "outside", {**STRONG, "water": 74.9}, "vet"),
    ("protein 18", {"protein": 3.06}, "outside", {"protein": 3.05}, "vet"),
    ("fat 50", {"fat": 8.5}, "outside", {"fat": 8.51}, "vet"),
    ("lactose 50", {"carbohydrate": 8.5, "lactose": 8.5}, "outside",
     {"carbohydrate": 8.51, "lactose": 8.51}, "vet"),
]  # fmt: skip


@pytest.mark.parametrize("species", ["lamb", "kid"])
def test_a_mix_is_designed_under_the_lines_that_ask_for_a_veterinarian(species):
    """Each safety ceiling that no mix is designed over is a line of the verdict's too."""
    lines = {
        (when["measure"], when["basis"], when["unit"]): when["above"]
        for entry in read_toml("cautions.toml")["milk"].values()
        if entry.get("verdict") == "vet" and "above" in (when := entry["when"])
        and "measure" in when
    }  # fmt: skip
    ceilings = {(b.measure, b.basis.value, b.unit): b.high for b in safety_bands(species)}
    assert ceilings == {
        ("osmoles", "per_kg_water", "mOsm/kg"): 520,
        ("copper", "dry_matter", "mg/kg"): 5,
        ("sodium", "as_fed", "mg/100 g"): 100,
    }
    assert {key: lines[key] for key in ceilings} == ceilings


def test_the_made_milk_is_inside():
    assert verdict() is Verdict.INSIDE


@pytest.mark.parametrize(
    ("name", "at", "there", "past", "beyond"), EDGES, ids=lambda x: str(x)[:18]
)
def test_each_threshold_on_both_sides(name, at, there, past, beyond):
    assert (verdict(**at), verdict(**past)) == (there, beyond)


@pytest.mark.parametrize(
    ("kind", "share", "there", "beyond"),
    [("whey", 80, "inside", "vet"), ("soy", 10, "inside", "vet"),
     ("plant-milk", 10, "inside", "vet"), ("sweetened-milk", 15, "inside", "never")],
)  # fmt: skip
def test_each_share_on_both_sides(kind, share, there, beyond):
    """Foods of one composition, so that a share of weight is a share of solids and of protein."""
    pair = [food("one", kind), food("other")]
    at = judge(mixed(pair, [share, 100 - share])).verdict
    past = judge(mixed(pair, [share + 0.1, 99.9 - share])).verdict
    assert (at, past) == (there, beyond)


@pytest.mark.parametrize(
    ("against", "inside", "outside"), [("lamb-replacer", 16.0, 15.9), ("kid-replacer", 12.0, 11.9)]
)
def test_a_demanded_range_decides_too(against, inside, outside):
    def milk(solids):
        scale = solids / 17.0
        parts = {k: MADE[k] * scale for k in ("protein", "fat", "carbohydrate", "lactose", "ash")}
        return {**parts, "water": 100.0 - solids}

    assert verdict(against, **milk(inside)) is Verdict.INSIDE
    assert verdict(against, **milk(outside)) is Verdict.OUTSIDE


# --- what is not known --------------------------------------------------------------------------


def test_a_safety_value_that_no_similar_food_has_is_unknown():
    for lacking in ("copper", "sodium", "potassium"):
        bag = food("bag", "replacer-powder", **{lacking: None})
        found = judge(mixed([bag], [100.0]))
        assert found.verdict is Verdict.UNKNOWN, lacking
        assert "bag has no value for it" in found.reasons[0].text


def test_a_value_borrowed_from_similar_foods_counts_and_is_reported():
    lent = judge(mixed([food(copper=None)], [100.0]))
    assert lent.verdict is Verdict.INSIDE
    assert (
        "made-milk has no value for copper, so the most that similar foods have"
        in {c.id: c.text for c in lent.cautions}["stand-in"]
    )
    salted = food("our-quark", "cultured", sodium=None)  # cultured milks reach 190 mg in 100 g
    assert "sodium-vet" in {reason.id for reason in judge(mixed([salted], [100.0])).reasons}


@pytest.mark.parametrize(
    ("reads", "figure"), [(2990, "about 3,000 mOsm"), (3010, "more than 3,000")]
)
def test_an_osmolality_past_all_sense_is_given_no_figure(reads, figure):
    found = judge(mixed([food(potassium=potassium_for(reads))], [100.0]))
    assert [r.text for r in found.reasons if figure in r.text]
    assert found.verdict is Verdict.NEVER


def test_a_lent_value_asks_for_a_veterinarian_and_never_says_do_not_feed():
    thick = food("our-skyr", "cultured", sodium=None, water=70.0)
    found = judge(mixed([thick], [100.0]))
    assert "osmolality-never" in {reason.id for reason in found.reasons}
    assert found.verdict is Verdict.VET


def test_a_demand_that_cannot_be_read_is_outside_and_said():
    found = judge(mixed([food(protein=None)], [100.0]))
    assert found.verdict is Verdict.OUTSIDE
    assert any("Not known: protein" in reason.text for reason in found.reasons)


# --- who drinks it ------------------------------------------------------------------------------


def test_a_kid_is_not_judged_by_a_lambs_range():
    milk = mixed([food()], [100.0])
    kid = judge(milk, "kid")
    assert judge(milk).verdict is judge(milk, "lamb").verdict is Verdict.INSIDE
    assert kid.verdict is Verdict.OUTSIDE
    assert kid.species == "kid"
    assert kid.reasons[0].text.startswith(
        "Made for a lamb, and too high in solids for a kid: 17.0 % as fed, where 12 to 16 is right"
    )
    assert kid.thinning is not None


# --- what is in it ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("listed", "reason"),
    [
        ("milk, sweetener (xylitol)", "xylitol"),
        ("Cream, RUM 3 %, sugar", "alcohol"),
        ("milk; cocoa powder", "cocoa-coffee"),
        ("milk, sugar", "sugar-by-label"),
        ("water, oats 10 %", "plant-milk-by-label"),
        ("milk, soya lecithin", ""),
        ("milk, alcohol-free vanilla", ""),
        ("milk, sugar-free culture", ""),
        ("milk, crumbs", ""),
    ],
)
def test_ingredients_are_read_as_words(listed, reason):
    found = judge(mixed([food(own=True, ingredients=listed)], [100.0]))
    told = [one.id for one in found.reasons]
    assert (reason in told) if reason else not told


def test_a_drop_of_poison_is_enough_and_none_is_harmless():
    pair = [food(), food("treat", own=True, ingredients="xylitol")]
    assert judge(mixed(pair, [1000.0, 1.0])).verdict is Verdict.NEVER
    assert judge(mixed(pair, [1000.0, 0.0])).verdict is Verdict.INSIDE


# --- of every milk ------------------------------------------------------------------------------

NAMES = (
    "whole-milk", "skim-milk", "evaporated-milk", "heavy-cream", "nonfat-dry-milk", "water",
    "lowfat-buttermilk", "dry-sweet-whey", "whole-egg", "sugar", "cod-liver-oil",
    "sweetened-condensed-milk", "unsweetened-soy-milk", "canola-oil",
)  # fmt: skip
FOODS = [food_table()[name] for name in NAMES]
AMOUNTS = st.lists(
    st.one_of(st.just(0.0), st.floats(1.0, 1000.0)), min_size=len(NAMES), max_size=len(NAMES)
).filter(lambda grams: sum(grams) > 50)


@given(AMOUNTS, st.floats(1e-2, 1e3), st.sampled_from(["lamb-replacer", "kid-replacer"]))
def test_the_size_of_a_batch_changes_nothing(grams, factor, against):
    one = judge(mixed(FOODS, grams, against))
    other = judge(mixed(FOODS, np.array(grams) * factor, against))
    assert one.verdict is other.verdict
    assert [r.id for r in one.reasons] == [r.id for r in other.reasons]
    assert [c.id for c in one.cautions] == [c.id for c in other.cautions]
    assert (one.thinning is None) == (other.thinning is None)


@given(AMOUNTS, st.floats(0.001, 5.0))
def test_a_food_that_is_dangerous_in_any_amount_makes_it_never(grams, more):
    spoilt = [*FOODS, food("treat", own=True, ingredients="xylitol")]
    assert judge(mixed(spoilt, [*grams, more])).verdict is Verdict.NEVER


@given(
    AMOUNTS,
    st.sampled_from(["sugar", "cod-liver-oil", "sweetened-condensed-milk", "table-salt"]),
    st.floats(1.0, 500.0),
    st.floats(1.0, 5.0),
)
def test_more_of_a_dangerous_food_never_improves_the_verdict(grams, name, more, again):
    dangerous = food_table()[name]
    base = [f for f in FOODS if f.id != name]
    kept = [g for f, g in zip(FOODS, grams, strict=True) if f.id != name]
    if sum(kept) < 50:
        kept[0] = 100.0
    first = judge(mixed([*base, dangerous], [*kept, more]))
    second = judge(mixed([*base, dangerous], [*kept, more * again]))
    mine = {
        "sugar": "sugar-never", "cod-liver-oil": "vitamin-d-never",
        "sweetened-condensed-milk": "sweetened-condensed-never", "table-salt": "sodium-never",
    }[name]  # fmt: skip
    if mine in {reason.id for reason in first.reasons}:
        assert second.verdict is Verdict.NEVER
        assert mine in {reason.id for reason in second.reasons}


@given(AMOUNTS)
def test_the_verdict_is_the_worst_of_its_reasons_and_they_come_in_order(grams):
    found = judge(mixed(FOODS, grams))
    ranks = [reason.verdict.rank for reason in found.reasons]
    assert ranks == sorted(ranks)
    assert found.verdict.rank == min(ranks, default=Verdict.INSIDE.rank)
    assert found.may_be_fed == (found.verdict in (Verdict.OUTSIDE, Verdict.INSIDE))


@given(AMOUNTS)
def test_words_and_json_tell_the_same(grams):
    found = judge(mixed(FOODS, grams))
    shape = json.loads(json.dumps(verdict_shape(found)))
    assert shape["verdict"] == found.verdict
    told = " ".join(" ".join(verdict_lines(found)).split())
    assert told.startswith(headline(found))
    for why in shape["verdict_why"]:
        assert why["text"] in told
        assert why["status"] in ("source", "judgement", "memory")


def test_a_judgement_survives_a_frozen_copy():
    found = judge(mixed([food()], [100.0]))
    assert replace(found) == found
