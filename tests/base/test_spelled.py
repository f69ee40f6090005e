"""Amounts in words and odd spellings: read where they can mean one thing only, else asked about."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base.errors import InputError
from formulate.base.spelled import in_digits, mixed_in_digits
from formulate.base.units import Amount, Kitchen, parse_amount, parse_volume
from formulate.foods.food_table import FoodTable
from formulate.pantry.country import bare_pantry
from formulate.pantry.recipe import parse_recipe


@pytest.fixture(scope="module")
def foods() -> FoodTable:
    return bare_pantry(None).table


@pytest.mark.parametrize(
    ("text", "number", "unit"),
    [
        ("half a cup", 0.5, "cup"),
        ("a half cup", 0.5, "cup"),
        ("half cup", 0.5, "cup"),
        ("a half-gallon", 0.5, "gallon"),
        ("2 half-pints", 1, "pint"),
        ("Half of a cup", 0.5, "cup"),
        ("a cup", 1, "cup"),
        ("one cup", 1, "cup"),
        ("twelve cups", 12, "cup"),
        ("an egg", 1, "egg"),
        ("a dozen eggs", 12, "egg"),
        ("half a dozen eggs", 6, "egg"),
        ("2 dozen eggs", 24, "egg"),
        ("2 large eggs", 2, "egg"),
        ("two and a half cups", 2.5, "cup"),
        ("2 and a half cups", 2.5, "cup"),
        ("two and three quarters cups", 2.75, "cup"),
        ("a quarter of a cup", 0.25, "cup"),
        ("three-quarters cup", 0.75, "cup"),
        ("two thirds of a cup", 2 / 3, "cup"),
        ("un litre", 1, "L"),
        ("2 level tbsp", 2, "tbsp"),
        ("2 cupfuls", 2, "cup"),
        ("2 table spoons", 2, "tbsp"),
        ("1 tblsp.", 1, "tbsp"),
        ("2 teaspoonfuls", 2, "tsp"),
        ("12 fl.oz.", 12, "fl oz"),
        ("12 fl-oz", 12, "fl oz"),
        ("2 x 410 g", 820, "g"),
        ("2×410g", 820, "g"),
        ("2 * 0.5 L", 1, "L"),
        ("1 000 mL", 1000, "mL"),
        ("1'000 mL", 1000, "mL"),
        ("1’234 mL", 1234, "mL"),
        ("1_000 mL", 1000, "mL"),
        ("1 lb 4 oz", 1.25, "lb"),
        ("1lb4oz", 1.25, "lb"),
        ("1 lb, 4 oz", 1.25, "lb"),
        ("4 kg 200 g", 4.2, "kg"),
        ("4kg200", 4.2, "kg"),
        ("9 lb 4", 9.25, "lb"),
        ("1 L 500 mL", 1.5, "L"),
        ("1 litre 500", 1.5, "L"),
        ("1 L + 500 mL", 1.5, "L"),
    ],
)
def test_what_people_write(text, number, unit):
    assert parse_amount(text) == Amount(pytest.approx(number), unit)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("2 to 3 cups", "could be anything from 2 to 3. Write one number"),
        ("two or three cups", "could be anything from 2 to 3"),
        ("2—3 cups", "could be anything from 2 to 3"),
        ("1 500 mL", "could mean 1500, or 1 of 500. Write 1500 or 1 x 500"),
        ("2 410 g", "could mean 2410, or 2 of 410"),
        ("1.000 mL", "decimal number or a number of thousands. Write 1 or 1000"),
        ("12.500 g", "decimal number or a number of thousands. Write 12.5 or 12500"),
        ("11/2 cups", r"could mean 5.5, or 1 1/2 without its space. Write 5.5 or 1 1/2"),
        ("23/4 cups", r"could mean 5.75, or 2 3/4"),
        ("a pinch", '"pinch" is not a measure of a known size. Write a measure such as'),
        ("2 heaped tbsp", '"heaped" is not a measure of a known size'),
        ("2 bottles", '"bottles" is not a measure of a known size'),
        ("2 US cups", r'the kitchen decides .* Leave out "US" and choose the kitchen'),
        ("1 imperial pint", r'Leave out "imperial"'),
        ("2 cans (410 g)", "follows the unit"),
        ("2 (12 oz) cans", "more than one amount. Write one amount, such as 2 cans"),
        ("2 cans of 410 g", "more than one amount"),
        ("1 cup + 2 cups", "more than one amount"),
        ("1 cup + 2 g", "more than one amount"),
        ("about a cup", "does not start with a number"),
        ("a couple of cups", "does not start with a number"),
        ("a", "does not start with a number"),
        ("half", "does not start with a number"),
    ],
)
def test_what_is_asked_about(text, says):
    with pytest.raises(InputError, match=says):
        parse_amount(text)


@pytest.mark.parametrize(
    ("text", "number"),
    [("1.250 L", 1.25), ("4.250 kg", 4.25), ("0.125 g", 0.125), ("12.34 g", 12.34),
     ("1.125 mL", 1.125), ("123.456 g", 123.456), ("15/2 cups", 7.5), ("11/4 cups", 2.75)],
)  # fmt: skip
def test_what_can_mean_one_thing_only_is_not_asked_about(text, number):
    if text == "11/4 cups":  # or 1 1/4
        with pytest.raises(InputError, match="without its space"):
            parse_amount(text)
    else:
        assert parse_amount(text).number == pytest.approx(number)


@pytest.mark.parametrize(
    ("text", "kitchen", "millilitres"),
    [
        ("1/4 cup + 2 tbsp", "us", 236.5882365 * 3 / 8),
        ("1/4 cup + 2 tbsp", "au", 62.5 + 40),
        ("1 pint 4 fl oz", "uk", 568.26125 * 1.2),
        ("1 cup and 1 tbsp", "metric", 265),
        ("half a cup", "metric", 125),
    ],
)
def test_a_volume_in_two_measures_is_that_of_the_kitchen(text, kitchen, millilitres):
    assert parse_volume(text, Kitchen(kitchen)) == pytest.approx(millilitres)


@pytest.mark.parametrize("text", ["2 tbsp + 1 cup", "1 cup + 1 cup", "1 L + 2 kg"])
def test_a_volume_goes_from_large_measures_to_small(text):
    with pytest.raises(InputError):
        parse_volume(text, Kitchen.US)


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("half a cup whole milk", {"whole-milk": 122}),
        ("two cups of whole milk and a half cup of half-and-half",
         {"whole-milk": 488, "half-and-half": 121}),
        ("1 cup half and half", {"half-and-half": 242}),
        ("a cup of whole milk and a can of evaporated milk plus an egg",
         {"whole-milk": 244, "evaporated-milk": 378, "whole-egg": 50}),
        ("2 and a half cups whole milk", {"whole-milk": 610}),
        ("1 lb 4 oz salted butter", {"salted-butter": 567}),
        ("1 cup plus 2 tbsp whole milk", {"whole-milk": 274.5}),
        ("1 cup 2 tbsp whole milk", {"whole-milk": 274.5}),
        ("2 x 410 g evaporated milk", {"evaporated-milk": 820}),
        ("2 cups 2% milk", {"reduced-fat-milk": 488}),
    ],
)  # fmt: skip
def test_recipes_in_words(text, grams, foods):
    found = parse_recipe(text, foods).by_food()
    assert {name: round(weight, 1) for name, weight in found.items()} == {
        name: pytest.approx(weight, abs=1.6) for name, weight in grams.items()
    }


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("2 to 3 cups whole milk", "anything from 2 to 3"),
        ("1 jug whole milk", '"jug" is not a measure of a known size'),
        ("2 us cups whole milk", "Leave out"),
        ("2 cuups whole milk", r'no unit called "cuups". Did you mean cup\?'),
        ("1 frob whole milk", r'no unit called "frob". Units: g, kg'),
        ("1 frob cup whole milk", r'no unit called "frob".'),
        ("1 cup less 2 tbsp whole milk", "added up, never taken away"),
        ("2 cans of 410 g evaporated milk", "Write one amount, such as 2 cans or 2 x 410 g"),
        ("half cream", "could be more than one food"),
    ],
)
def test_recipes_that_are_asked_about(text, says, foods):
    with pytest.raises(InputError, match=says):
        parse_recipe(text, foods)


@given(st.text(alphabet="abdefhlnortuxyz 0123456789½'.,-/", max_size=24))
def test_spelling_in_digits_settles(text):
    once = in_digits(mixed_in_digits(text))
    assert in_digits(mixed_in_digits(once)) is not None
    if not any(letter.isalpha() or letter in "'*" for letter in text) and " " not in text:
        assert once == text
