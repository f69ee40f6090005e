"""Foods: found by any name, weighed in any kitchen, adding up."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import SUITABLE, mixes, suitable_foods

from formulate.base.errors import AmbiguousName, InputError, UnitError, UnknownName
from formulate.base.units import Amount, Kitchen, UnitKind, unit_size
from formulate.foods.food import KINDS, Composition, Food, Household, Value
from formulate.foods.food_table import FoodTable
from formulate.foods.measures import MEASURES
from formulate.foods.tables import food_table

FOODS = list(food_table().values())
US_CUP = 236.5882365

PROXIMATES = ("water", "protein", "fat", "carbohydrate", "ash")


# Adding up


@given(st.data())
def test_water_and_solids_are_the_weight(data):
    foods = data.draw(st.lists(st.sampled_from(FOODS), min_size=1, max_size=6))
    grams = data.draw(mixes(len(foods)))
    composition = Composition.of(foods)
    whole = {name: float(composition.row(name) @ grams) for name in ("mass", "water", "solids")}
    assert whole["mass"] == pytest.approx(grams.sum())
    assert whole["water"] + whole["solids"] == pytest.approx(whole["mass"])
    if not {"fat", "solids-not-fat"} & composition.gaps:
        fat, rest = (float(composition.row(name) @ grams) for name in ("fat", "solids-not-fat"))
        assert fat + rest == pytest.approx(whole["solids"])


@given(st.data())
def test_the_proximates_of_a_mix_add_up(data):
    """Water, protein, fat, carbohydrate and ash are all there is, within the table's rounding."""
    foods = data.draw(st.lists(suitable_foods(), min_size=1, max_size=6))
    grams = data.draw(mixes(len(foods)))
    composition = Composition.of(foods)
    parts = sum(float(composition.row(name) @ grams) for name in PROXIMATES)
    assert parts == pytest.approx(grams.sum(), rel=1e-3)


@given(st.lists(suitable_foods(), min_size=1, max_size=5, unique_by=lambda food: food.id))
def test_a_matrix_holds_the_foods_own_values(foods):
    composition = Composition.of(foods)
    assert composition.per_gram.shape == (len(MEASURES), len(foods))
    assert composition.ids == tuple(food.id for food in foods)
    for j, food in enumerate(foods):
        for name, value in food.values.items():
            assert composition.row(name)[j] == pytest.approx(value.value / 100)


def test_gaps_are_the_measures_that_some_food_lacks():
    for food in FOODS:
        composition = Composition.of([food])
        expected = {name for name in MEASURES if math.isnan(composition.row(name)[0])}
        assert composition.gaps == expected
    both = Composition.of([food_table()["sheep-milk"], food_table()["whole-milk"]])
    assert both.gaps >= {"vitamin-d", "vitamin-e"}


def test_a_typed_value_of_zero_is_known():
    food = Food("my-oil", "My oil", "oil", {"water": Value(0.0, "label")})
    assert food.value("water") == 0.0
    assert math.isnan(food.value("fat"))


# Names


def test_every_food_is_found_by_its_id_in_any_spelling():
    for food in FOODS:
        for name in (food.id, food.id.replace("-", " "), food.id.upper(), f"  {food.id} "):
            assert food_table().find(name) is food


def test_an_alias_finds_its_one_food_or_asks_which():
    table = food_table()
    shared: dict[str, set[str]] = {}
    for food in FOODS:
        for alias in food.aliases:
            shared.setdefault(alias, set()).add(food.id)
    assert any(len(ids) > 1 for ids in shared.values())
    asked_abroad = {}
    for alias, ids in shared.items():
        if alias.replace(" ", "-") in table:
            continue
        try:
            assert table.find(alias).id in ids
        except AmbiguousName as asked:
            assert ids <= set(asked.choices)
            if ids != set(asked.choices):
                asked_abroad[alias] = set(asked.choices) - ids
    assert asked_abroad == {
        "half cream": {"half-cream-uk"},
        "semi-skimmed milk": {"semi-skimmed-milk-uk"},
    }


def test_milk_is_never_guessed():
    with pytest.raises(AmbiguousName, match="whole-milk"):
        food_table().find("milk")


def test_a_plural_is_understood():
    assert food_table().find("eggs").id == "whole-egg"
    assert food_table().find("duck eggs").id == "duck-egg"


def test_a_mistyped_food_gets_the_nearest():
    with pytest.raises(UnknownName) as caught:
        food_table().find("evaporatd milk")
    assert caught.value.nearest[0] == "evaporated-milk"
    assert "formulate foods" in str(caught.value)


def test_a_food_left_out_says_why():
    table = FoodTable([], lambda: {"Whey protein isolate": "a branded mix"})
    with pytest.raises(InputError, match=r"left out of the table\. a branded mix"):
        table.find("whey-protein-isolate")


def test_ids_are_unique():
    milk = food_table()["whole-milk"]
    with pytest.raises(InputError, match="there twice"):
        FoodTable([milk, milk])
    with pytest.raises(InputError, match="my-whole-milk"):
        food_table().with_own([replace(milk, own=True)])


def test_own_foods_come_first_and_the_table_stays():
    own = replace(food_table()["whole-milk"], id="house-cow", aliases=("bessie's",), own=True)
    table = food_table().with_own([own])
    assert next(iter(table)) == "house-cow"
    assert table.find("Bessie's") is own
    assert "house-cow" not in food_table()
    assert len(table) == len(food_table()) + 1


def test_search():
    assert food_table().search([]) == tuple(FOODS)
    found = food_table().search(["Cream", "fat"])
    assert food_table()["heavy-cream"] in found
    for food in found:
        words = " ".join((food.id, food.name, food.kind, *food.aliases)).lower()
        assert "cream" in words
        assert "fat" in words


# Weighing


@given(st.sampled_from(FOODS), st.sampled_from(list(Kitchen)), st.floats(0.01, 50))
def test_a_measure_of_volume_makes_the_round_trip(food, kitchen, number):
    if food.density is None:
        with pytest.raises(UnitError, match="the density of"):
            food.grams(Amount(number, "cup"), kitchen)
        return
    grams = food.grams(Amount(number, "cup"), kitchen)
    shown = food.kitchen_volume(grams)
    assert shown / unit_size("cup", kitchen) == pytest.approx(number, rel=1e-12)
    spoons = food.grams(Amount(number * 16 if kitchen is Kitchen.US else number, "tbsp"), kitchen)
    if kitchen is Kitchen.US:  # 16 tablespoons to the cup
        assert spoons == pytest.approx(grams)


@given(st.sampled_from(FOODS), st.sampled_from(list(Kitchen)), st.floats(0.01, 50))
def test_a_weight_is_a_weight(food, kitchen, number):
    assert food.grams(Amount(number, "kg"), kitchen) == pytest.approx(number * 1000)
    assert food.grams(Amount(number, "oz weight"), kitchen) == pytest.approx(number * 28.349523125)


def test_ounces_of_a_liquid_are_asked_after():
    milk, powder = food_table()["whole-milk"], food_table()["nonfat-dry-milk"]
    with pytest.raises(UnitError, match='Write "8 fl oz" or "8 oz weight"'):
        milk.grams(Amount(8, "oz"), Kitchen.US)
    assert powder.grams(Amount(8, "oz"), Kitchen.US) == pytest.approx(8 * 28.349523125)
    for food in FOODS:
        assert food.liquid is KINDS[food.kind]


@pytest.mark.parametrize(
    ("food", "amount", "grams"),
    [
        ("whole-milk", Amount(1, "cup"), 244.0),
        ("evaporated-milk", Amount(1, "can"), 378.0),
        ("evaporated-milk", Amount(12, "fl oz"), 378.0),
        ("whole-egg", Amount(2, "egg"), 100.0),
        ("whole-egg", Amount(2, ""), 100.0),
        ("unsalted-butter", Amount(1, "stick"), 113.0),
        ("heavy-cream", Amount(1, "tbsp"), 238 / 16),
        ("nonfat-dry-milk", Amount(1, "tbsp"), 120 / 16),
    ],
)
def test_known_weights(food, amount, grams):
    """USDA SR28 household weights; a powder's spoon is a sixteenth of its cup."""
    assert food_table()[food].grams(amount, Kitchen.US) == pytest.approx(grams)


@pytest.mark.parametrize(
    ("food", "amount", "says"),
    [
        ("whole-milk", Amount(2, "egg"), "not measured by egg. .*weight and volume only"),
        ("whole-milk", Amount(2, ""), "not measured by a number without a unit"),
        ("evaporated-milk", Amount(2, "stick"), "not measured by stick. It is measured by: can"),
    ],
)
def test_what_a_food_is_not_counted_in(food, amount, says):
    with pytest.raises(UnitError, match=says):
        food_table()[food].grams(amount, Kitchen.US)


def test_a_food_without_measures():
    bare = Food("my-powder", "My powder", "dry-milk", {})
    assert bare.density is None
    assert bare.kitchen_volume(100) is None
    with pytest.raises(UnitError, match="the density of"):
        bare.grams(Amount(1, "cup"), Kitchen.US)
    scooped = replace(bare, household=(Household("scoop", 30.0, None, "own"),))
    assert scooped.grams(Amount(2, "scoop"), Kitchen.US) == 60
    assert scooped.grams(Amount(2, ""), Kitchen.US) == 60
    assert Amount(2, "").kind is UnitKind.COUNT


def test_every_shipped_cup_is_one_us_cup():
    for food in FOODS:
        for household in food.household:
            assert household.grams > 0
            if household.millilitres is None:
                assert household.unit in ("can", "egg", "yolk", "white", "stick")
            else:
                assert household.unit == "cup"
                assert household.millilitres == pytest.approx(US_CUP, abs=1e-3)


def test_shares_and_reasons_of_the_shipped_foods():
    for food in FOODS:
        assert food.kind in KINDS
        if food.largest_share is not None:
            assert 0 < food.largest_share < 1
            assert food.share_source
        elif not food.suitable and not food.drink_only:
            pytest.fail(f"{food.id} is used on request only, but nothing limits it")
    assert np.isfinite([Composition.of([food]).row("volume")[0] for food in SUITABLE]).all()
