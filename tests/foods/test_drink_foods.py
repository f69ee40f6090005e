"""Salts, soda and glucose: what they are, and that no milk is ever designed with them."""

from __future__ import annotations

import csv
import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import VOLUME, jobs

from formulate.base.errors import AmbiguousName, InputError
from formulate.base.units import Amount, Kitchen
from formulate.blend.additions import what_would_help
from formulate.blend.design import design
from formulate.blend.goal import Closest, closest
from formulate.blend.mix import Mix, NoMix
from formulate.blend.problem import Shelf, build
from formulate.blend.whole.kitchen_mix import KitchenMix, design_kitchen
from formulate.blend.whole.steps import kitchen_steps
from formulate.foods.food import DRINK_KINDS, Composition
from formulate.foods.tables import band_set, food_table, sources
from formulate.pantry.pantry import parse_pantry, sample_pantry
from nutrient_tables import open_table

TABLE = food_table()
DRINK = tuple(food for food in TABLE.values() if food.drink_only)
TABLES = ("drink/foods", "drink/values", "drink/household", "drink/left_out")
#: IUPAC standard atomic weights [g/mol].
NA, K, CL, C, H, O = 22.990, 39.098, 35.453, 12.011, 1.008, 15.999  # noqa: E741
FORMULAS = {
    "table-salt": {"Na": NA, "Cl": CL},
    "baking-soda": {"Na": NA, "HCO3": H + C + 3 * O},
    "potassium-chloride": {"K": K, "Cl": CL},
    "dextrose": {"glucose": 6 * C + 12 * H + 6 * O, "water": 2 * H + O},
    "glucose-powder": {"glucose": 6 * C + 12 * H + 6 * O},
    "sodium-citrate": {"Na": 3 * NA, "citrate": 6 * C + 5 * H + 7 * O, "water": 2 * (2 * H + O)},
}
NAMES = {"Na": "sodium", "K": "potassium", "Cl": "chloride", "HCO3": "bicarbonate"}


def rows(name: str) -> list[dict[str, str]]:
    with open_table(name) as table:
        return list(csv.DictReader(table))


@pytest.mark.parametrize("table", TABLES)
def test_the_tables_are_sorted_and_whole(table):
    keys = [tuple(row.values())[:2] for row in rows(table)]
    assert all(a < b for a, b in pairwise(keys))
    assert None not in {value for row in rows(table) for value in row.values()}


def test_every_value_has_a_source_and_a_measure():
    assert {row["source"] for row in rows("drink/values")} <= set(sources())
    assert {row["source"] for row in rows("drink/household")} <= set(sources())
    foods = {row["food"] for row in rows("drink/values")}
    assert {food.id for food in DRINK} - {"honey"} <= foods <= set(TABLE)


def test_the_drink_foods_are_these():
    assert {food.id for food in DRINK} == {
        "table-salt", "low-sodium-salt", "potassium-chloride", "baking-soda", "sodium-citrate",
        "dextrose", "glucose-powder", "honey",
    }  # fmt: skip
    assert not any(food.suitable for food in DRINK)
    assert all(food.drink_only for food in TABLE.values() if food.kind in DRINK_KINDS)


@pytest.mark.parametrize("name", FORMULAS)
def test_what_is_in_a_pure_substance_follows_from_its_formula(name):
    """Molar masses from IUPAC weights; SR28's salt and soda are pure within 2 %."""
    parts = FORMULAS[name]
    whole = sum(parts.values())
    for part, mass in parts.items():
        measure = NAMES.get(part, part)
        per_100 = 100 * mass / whole * (1000 if measure not in ("glucose", "water") else 1)
        assert TABLE[name].value(measure) == pytest.approx(per_100, rel=0.02)


@pytest.mark.parametrize("food", [f for f in DRINK if f.kind in ("salt", "alkali")], ids=str)
def test_a_salt_carries_no_charge(food):
    """As many positive ions as negative ones, citrate counting three."""
    value = food.value
    positive = value("sodium") / NA + value("potassium") / K
    negative = value("chloride") / CL + value("bicarbonate") / 61.017 + 3 * value("citrate") / 189.1
    assert positive == pytest.approx(negative, rel=2e-3)


@pytest.mark.parametrize(
    ("food", "grams"),
    [("table-salt", 6.0), ("baking-soda", 4.6), ("low-sodium-salt", 5.8), ("dextrose", 3.06)],
)
def test_what_a_level_us_teaspoon_weighs(food, grams):
    """Salt and soda: SR28's household rows. The others: their label, a page on dextrose."""
    assert TABLE[food].grams(Amount(1, "tsp"), Kitchen.US) == pytest.approx(grams, abs=0.01)


def test_no_milk_has_a_known_chloride():
    """SR28 does not give it, so it is missing: nothing is made up."""
    for food in TABLE.values():
        if food.kind not in (*DRINK_KINDS, "sweetener", "water"):
            assert math.isnan(food.value("chloride")), food.id
            assert math.isnan(Composition.of([food]).row("strong-ion-difference")[0])


def test_glucose_without_more_is_asked_about():
    with pytest.raises(AmbiguousName, match="dextrose, glucose-powder"):
        TABLE.find("glucose")


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("epsom salts", "makes scour worse"),
        ("baking powder", "Not baking soda"),
        ("washing soda", "Never feed it"),
        ("sports drink", "no alkali"),
        ("bouillon", "no figure to trust"),
        ("electrolytes", "follow the bag"),
    ],
)
def test_what_must_not_go_into_a_drink_is_answered_with_its_reason(name, why):
    with pytest.raises(InputError, match=why):
        TABLE.find(name)


def test_an_own_salt_is_for_drinks_only():
    pantry = parse_pantry(
        'currency = "EUR"\nprices_on = 2026-11-02\n'
        '[foods.whole-milk]\nprice = 1\npackage = "1 L"\n'
        '[foods.our-salt]\nprice = 1\npackage = "500 g"\n'
        '[own.our-salt]\nkind = "salt"\n'
        "per_100_g = { water = 0, fat = 0, ash = 100, sodium = 13000, potassium = 34600 }\n"
    )
    assert pantry.item("our-salt").food.drink_only
    assert pantry.shelf().ids == ("whole-milk",)


def test_the_sample_kitchen_has_what_a_drink_needs_and_mixes_without_it():
    pantry = sample_pantry()
    drink = {item.food.id for item in pantry.items if item.food.drink_only}
    assert drink == {"table-salt", "low-sodium-salt", "baking-soda", "dextrose", "honey"}
    assert drink.isdisjoint(pantry.shelf().ids)


# --- never in a milk ---------------------------------------------------------------------------


def with_drink_foods(shelf: Shelf, foods) -> Shelf:
    """The shelf with drink foods put to it that cost nothing and are there without end."""
    return Shelf(
        (*shelf.foods, *foods),
        price=np.append(shelf.price, np.zeros(len(foods))),
        largest_share=np.append(shelf.largest_share, np.ones(len(foods))),
        on_hand=np.append(shelf.on_hand, np.full(len(foods), math.inf)),
        currency=shelf.currency,
    )


some_drink_foods = st.lists(st.sampled_from(DRINK), min_size=1, max_size=4, unique_by=str)


@settings(max_examples=60)
@given(jobs(), some_drink_foods)
def test_no_milk_is_designed_with_a_drink_food(job, foods):
    """Even where a drink food is on the shelf for nothing: by the gram, nearest and closest."""
    shelf = with_drink_foods(job.shelf, foods)
    try:
        found = design(shelf, job.bands, VOLUME)
    except InputError:
        return  # a band needs a value that the drink food lacks
    mixes = [found] if isinstance(found, Mix) else []
    if isinstance(found, NoMix) and found.nearest is not None:
        mixes.append(found.nearest)
    ids = [food.id for food in foods]
    for mix in mixes:
        assert not mix.grams[[mix.shelf.ids.index(name) for name in ids]].any()


@settings(max_examples=15)
@given(st.lists(st.sampled_from([f for f in DRINK if f.id != "honey"]), min_size=1, unique_by=str))
def test_no_kitchen_mix_and_no_closest_mix_holds_a_drink_food(foods):
    """Without honey, whose milk sugar nobody measured: no milk can be designed beside it."""
    pantry, bands = sample_pantry(), band_set("lamb-replacer")
    shelf = with_drink_foods(pantry.shelf(), foods)
    problem = build(shelf, bands, VOLUME)
    columns = [shelf.ids.index(food.id) for food in foods]
    steps = kitchen_steps(shelf.foods, Kitchen.US, "scale")
    made = design_kitchen(problem, steps, least_volume=VOLUME, most_volume=1.05 * VOLUME)
    assert isinstance(made, KitchenMix)
    assert not made.mix.grams[columns].any()
    near = closest(shelf, bands, VOLUME)
    assert isinstance(near, Closest)
    assert not near.mix.grams[columns].any()


@pytest.mark.parametrize("name", ["ewe-milk", "doe-milk"])
def test_what_would_help_never_names_a_drink_food(name):
    """Also asked for everything, and with every drink food offered for nothing."""
    foods = tuple(TABLE[n] for n in ("whole-milk", "evaporated-milk", "lowfat-buttermilk"))
    shelf = Shelf(foods, price=np.full(3, 0.001))
    problem = build(shelf, band_set(name), VOLUME)
    found = what_would_help(problem, Shelf(tuple(TABLE.values())), on_request=True)
    assert {food.id for food in DRINK}.isdisjoint(found.tried)
    assert {food.id for food in DRINK}.isdisjoint(dict(found.unknown))
