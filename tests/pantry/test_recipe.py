"""Typed recipes: what is read, and what each fault says."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base.errors import AmbiguousName, InputError, UnitError, UnknownName
from formulate.base.units import Kitchen, unit_size
from formulate.foods.tables import food_table
from formulate.pantry.pantry import recipe_named, sample_pantry
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


@pytest.mark.parametrize(
    ("text", "same"),
    [
        ("2 c whole-milk", "2 cups whole-milk"),
        ("2 C. whole-milk", "2 cups whole-milk"),
        ("2 T heavy-cream", "2 tbsp heavy-cream"),
        ("1 t heavy-cream", "1 tsp heavy-cream"),
        ("1 t. of heavy cream", "1 tsp heavy-cream"),
        ("1-1/2 cups whole-milk", "1.5 cups whole-milk"),
        ("1 – 1/2 cups whole-milk", "1.5 cups whole-milk"),
        ("1 and 1/2 cups whole-milk", "1.5 cups whole-milk"),
        ("1½ cups whole-milk", "1.5 cups whole-milk"),
        ("½ cup whole-milk", "0.5 cup whole-milk"),
        ("1,5 L whole-milk", "1.5 L whole-milk"),
        ("0,125 L whole-milk", "125 mL whole-milk"),
        ("1 cup whole-milk, 2 eggs", "1 cup whole-milk + 2 eggs"),
        ("1 cup whole-milk,2 eggs", "1 cup whole-milk + 2 eggs"),
        ("1 cup whole-milk, 1,5 L water", "1 cup whole-milk + 1.5 L water"),
        ("1 cup whole-milk, and 2 eggs", "1 cup whole-milk + 2 eggs"),
        ("1 cup whole-milk and 2 eggs", "1 cup whole-milk + 2 eggs"),
        ("1 cup whole-milk & ½ cup water", "1 cup whole-milk + 1/2 cup water"),
        ("1 cup whole-milk; 2 eggs", "1 cup whole-milk + 2 eggs"),
        ("1 cup half and half", "1 cup half-and-half-cream"),
        ("1 cup half and half and 2 eggs", "1 cup half-and-half-cream + 2 eggs"),
        ("1 cup water and 1 cup 2% milk", "1 cup water + 1 cup reduced-fat-milk"),
        ("1/4 cup + 2 tbsp heavy-cream", "0.375 cup heavy-cream"),
        ("1 lb + 4 oz weight water", "20 oz weight water"),
        ("1 quart + 1 cup + 2 tbsp water", "5.125 cups water"),
        ("1 cup water + 2 cups water", "3 cups water"),
        ("1 cup whole-milk +\n2 eggs", "1 cup whole-milk + 2 eggs"),
        ("1 cup whole-milk\n\n+ 2 eggs", "1 cup whole-milk + 2 eggs"),
    ],
)
def test_ordinary_writing_is_read(text, same):
    assert grams(text) == pytest.approx(grams(same))


def test_a_food_written_twice_adds_up_in_its_first_unit():
    recipe = parse_recipe("1 cup water + 2 T water", TABLE)
    assert [(a.number, a.unit) for a in recipe.amounts] == [(1.125, "cup")]
    recipe = parse_recipe("1 cup water + 500 g drinking water", TABLE)
    assert [a.unit for a in recipe.amounts] == ["g"]
    assert recipe.amounts[0].number == pytest.approx(recipe.grams[0])
    assert recipe.grams[0] == pytest.approx(unit_size("cup") * TABLE["water"].density + 500)


def test_the_lines_that_a_mix_is_printed_in_are_read():
    measured = """
  7 1/2 cups        whole-milk       1,830 g  1.82 USD
  1/4 cup + 2 tbsp  heavy-cream         89 g  0.61 USD
  1/2 cup + 1 tbsp  nonfat-dry-milk     68 g  0.89 USD
"""
    assert grams(measured) == pytest.approx(
        grams("7.5 cups whole-milk + 6 tbsp heavy-cream + 9 tbsp nonfat-dry-milk")
    )
    weighed = """
  whole-milk       1,822 g  1.77 L  1.82 USD
  heavy-cream       78.9 g   78 mL  no price
"""
    assert grams(weighed) == pytest.approx({"whole-milk": 1822.0, "heavy-cream": 78.9})


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
        ("1 cup + 2 cups water", InputError, "the food is missing"),
        ("1 cup + 2 eggs", InputError, "the food is missing"),
        ("2 eggs + 1 cup", InputError, "the food is missing"),
        ("1 cup\n2 tbsp water", InputError, "the food is missing"),
        ("1-2 cups water", InputError, "anything from 1 to 2"),
        ("1 cup whole-milk, chilled", UnknownName, "whole-milk, chilled"),
        ("1 cup water +", InputError, "nothing on one side"),
        ("+ 1 cup water", InputError, "nothing on one side"),
        ("+", InputError, "nothing on one side"),
        (f"1/{'9' * 5000} cup water", InputError, "more than 40 characters"),
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
        ("1 cup soy-protein-isolate", UnitError, "the density of"),
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
def test_any_text_is_read_or_rejected_with_a_message(text):
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
def test_words_in_any_order_are_read_or_rejected(words):
    try:
        parse_recipe(" ".join(words), TABLE)
    except InputError as error:
        assert str(error)


def test_a_recipe_in_words_is_no_name_of_a_recipe():
    """Text that begins with an amount, in words too, is a recipe and not the name of one."""
    pantry = sample_pantry()
    found = recipe_named(
        "half a gallon whole milk and a can of evaporated milk", pantry, Kitchen.US
    )
    assert {food.id for food in found.foods} == {"whole-milk", "evaporated-milk"}
    with pytest.raises(UnknownName, match=r"cream-and-can\b.*cream-and-cans") as no:
        recipe_named("cream-and-can", pantry, Kitchen.US)
    assert "Write the name of a recipe of the pantry, or a recipe such as" in str(no.value)
    with pytest.raises(InputError, match="the recipe is empty"):
        recipe_named(" ", pantry, Kitchen.US)
