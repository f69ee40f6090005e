"""Typed recipes: what is read, and what each fault says."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base.errors import AmbiguousName, InputError, UnitError, UnknownName
from formulate.base.units import Kitchen, unit_size
from formulate.foods.tables import food_table
from formulate.pantry.recipe import parse_recipe

TABLE = food_table()


def grams(text, kitchen=Kitchen.US):
    return dict(parse_recipe(text, TABLE, kitchen).by_food())


def test_the_jug_recipe_is_read_by_its_foods_own_household_measures():
    read = grams("2 quarts whole-milk + 1 can evaporated-milk + 2 cups lowfat-buttermilk")
    # SR28: 244 g a cup of whole milk, 31.5 g a fluid ounce of evaporated, 245 g of buttermilk;
    # a can has 12 fluid ounces.
    assert read == pytest.approx(
        {"whole-milk": 8 * 244.0, "evaporated-milk": 12 * 31.5, "lowfat-buttermilk": 2 * 245.0}
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1 1/2 cups whole milk", {"whole-milk": 366.0}),
        ("1½ cups of whole milk", {"whole-milk": 366.0}),
        (".5 cup whole-milk", {"whole-milk": 122.0}),
        ("2 eggs", {"whole-egg": 100.0}),
        ("2 eggs whole-egg", {"whole-egg": 100.0}),
        ("1 can evaporated milk", {"evaporated-milk": 378.0}),
        ("3 oz nonfat-dry-milk", {"nonfat-dry-milk": 3 * 28.349523125}),
        ("3 oz weight whole-milk", {"whole-milk": 3 * 28.349523125}),
        ("3 oz wt whole-milk", {"whole-milk": 3 * 28.349523125}),
        ("1 lb. water", {"water": 453.59237}),
        ("8 tbsp. nonfat-dry-milk", {"nonfat-dry-milk": 60.0}),
        ("1 cup whole-milk\n+ 1 cup heavy-cream", {"whole-milk": 244.0, "heavy-cream": 238.0}),
        ("1 cup whole-milk\n1 cup heavy-cream", {"whole-milk": 244.0, "heavy-cream": 238.0}),
    ],
)
def test_reads(text, expected):
    assert grams(text) == pytest.approx(expected)


def test_a_plus_at_either_end_harms_nobody():
    assert grams("+ 1 cup water +") == grams("1 cup water")


@pytest.mark.parametrize(
    ("kitchen", "cup"),
    [("us", 236.588), ("metric", 250.0), ("imperial", 284.131), ("uk", 250.0), ("au", 250.0)],
)
def test_the_kitchen_decides_the_size_of_a_cup(kitchen, cup):
    assert grams("1 cup water", Kitchen(kitchen))["water"] == pytest.approx(cup, abs=1e-3)


@pytest.mark.parametrize(
    ("text", "kind", "words"),
    [
        ("1 cup whole-mlk", UnknownName, "whole-milk"),
        ("1 cup buttermilk", AmbiguousName, "lowfat-buttermilk, reduced-fat-buttermilk"),
        ("1 cpu whole-milk", UnknownName, 'no unit called "cpu". Did you mean cup?'),
        ("3 oz whole-milk", UnitError, "3 fl oz"),
        ("3 whole-milk", UnitError, "has no unit"),
        ("1 can whole-milk", UnitError, "not measured by can"),
        ("1 cup", InputError, "the food is missing"),
        ("1 cup water + 2 cups water", InputError, "twice"),
        ("1 cup water + 2 cups drinking water", InputError, "drinking water"),
        ("1 cup water + + 1 cup heavy-cream", InputError, "nothing on one side"),
        ("", InputError, "empty"),
        ("   ", InputError, "empty"),
        ("water", InputError, "does not start with a number"),
        ("-1 cup water", InputError, "below zero"),
        ("0 cups water", InputError, "above zero"),
        ("nan cups water", InputError, "not an amount"),
        ("inf cups water", InputError, "not an amount"),
        ("1e400 cups water", InputError, "too large"),
        ("1e6 gallons water", InputError, "tonnes"),
        ("1,500 g water", InputError, "could be a decimal"),
        ("1/0 cup water", InputError, "divides by zero"),
        ("1 cup casein", InputError, "left out"),
        ("1 cup soy-protein-isolate", UnitError, "no known density"),
    ],
)
def test_faults_say_what_would_be_right(text, kind, words):
    with pytest.raises(kind) as caught:
        grams(text)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


@given(
    number=st.floats(0.01, 1e4),
    unit=st.sampled_from(["g", "kg", "lb", "mL", "L", "tsp", "tbsp", "fl oz", "cup", "pint"]),
    kitchen=st.sampled_from([Kitchen.US, Kitchen.IMPERIAL]),
)
def test_round_trip_of_every_unit(number, unit, kitchen):
    read = grams(f"{number!r} {unit} whole-milk", kitchen)["whole-milk"]
    density = 1.0 if unit in ("g", "kg", "lb") else TABLE["whole-milk"].density
    assert read == pytest.approx(number * unit_size(unit, kitchen) * density, rel=1e-12)


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused_in_words(text):
    try:
        recipe = parse_recipe(text, TABLE)
    except InputError as error:
        assert str(error)
    else:
        assert (recipe.grams > 0).all()


@given(
    st.lists(
        st.sampled_from(["1", "1/2", "½", "cup", "cups", "oz", "fl oz", "g", "+", "milk", "egg",
                         "whole-milk", "evaporated", "of", "-", "e5", ".", "can", "weight"]),
        max_size=9,
    )
)  # fmt: skip
def test_words_in_any_order_are_read_or_refused(words):
    try:
        parse_recipe(" ".join(words), TABLE)
    except InputError as error:
        assert str(error)
