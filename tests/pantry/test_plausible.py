"""Foods that cannot be, servings whose sizes clash, and prices that look like slips."""

from __future__ import annotations

import re
from datetime import date

import pytest

from formulate.base.errors import InputError, ManyFaults
from formulate.base.units import Kitchen
from formulate.foods.country import countries
from formulate.foods.national import country_foods
from formulate.pantry.labels.panel import parse_serving
from formulate.pantry.labels.rounding import Rounding
from formulate.pantry.pantry import parse_pantry, sample_pantry, sample_text
from formulate.pantry.plausible import impossible

MILK = {"water": 88.0, "protein": 3.3, "fat": 3.5, "carbohydrate": 4.8, "ash": 0.7}


@pytest.mark.parametrize(
    ("figures", "sound", "wrong", "says"),
    [
        ({"lactose": 5.8}, 5.8, 5.81, "cannot be in 4.8 g of carbohydrate"),
        ({"sugars": 5.8}, 5.8, 5.81, "cannot be in 4.8 g of carbohydrate"),
        ({"saturated-fat": 4.5}, 4.5, 4.51, "cannot be in 3.5 g of fat"),
        ({"lysine": 4.3}, 4.3, 4.31, "cannot be in 3.3 g of protein"),
        ({"potassium": 1700.0}, 1700.0, 1701.0, "more than the 0.7 g of ash"),
        ({"copper": 16.0}, 16.0, 16.1, "more than any food has"),
        ({"zinc": 100.0}, 100.0, 101.0, "more than any food has"),
        ({"energy": 911.0}, 911.0, 912.0, "more than pure fat has"),
        ({"riboflavin": 1e5}, 1e5, 1.001e5, "cannot be in 100 g"),
        ({"lysine": 4.3}, 4.3, 101.0, "cannot be in 100 g"),
    ],
)
def test_no_food_has_more(figures, sound, wrong, says):
    (name,) = figures
    assert not list(impossible({**MILK, name: sound}))
    assert says in " ".join(str(fault) for fault in impossible({**MILK, name: wrong}))


def test_every_food_of_every_table_can_be():
    for country in countries():
        for food in country_foods(country).values():
            values = {name: value.value for name, value in food.values.items()}
            assert not [str(fault) for fault in impossible(values)], food.id


PANTRY = """
currency = "USD"
prices_on = 2026-11-02
[foods.whole-milk]
price = 3.89
package = "1 gallon"
[foods.heavy-cream]
price = 6.49
package = "1 quart"
[foods.nonfat-dry-milk]
price = 11.99
package = "2 lb"
"""


@pytest.mark.parametrize(
    ("own", "says"),
    [
        ("per_100_g = { water = 88, fat = 3, lactose = 5, carbohydrate = 2 }", "cannot be in 2 g"),
        ("per_100_g = { water = 88, fat = 3, calcium = 120000 }", "120,000 mg of calcium"),
        ("per_100_g = { water = 8, fat = 30, copper = 20 }", "Check the unit: mg in 100 g."),
        ("per_100_g = { protein = 60, fat = 60, carbohydrate = 5 }", "where 100 g is meant"),
        (
            'panel = { serving = "8 fl oz (24 mL)", fat = 8, carbohydrate = 12, protein = 8 }',
            "8 fl oz and 24 mL are not the same size",
        ),
    ],
)
def test_a_food_of_ones_own_that_cannot_exist_is_rejected(own, says):
    with pytest.raises(ManyFaults) as caught:
        parse_pantry(f'{PANTRY}[own.ours]\nkind = "milk"\n{own}\n', "pantry.toml")
    assert says in str(caught.value)


@pytest.mark.parametrize(
    ("text", "liquid"),
    [
        ("1 cup (240 mL)", True),
        ("8 fl oz (240 mL)", True),
        ("8 oz (240 mL)", True),
        ("1 cup (250 mL)", True),
        ("1 cup (244 g)", True),
        ("2 tbsp (30 mL)", True),
        ("1/4 cup (30 g)", False),
        ("1 oz (28 g)", False),
        ("1 container (150 g)", True),
    ],
)
def test_sizes_that_fit_are_read(text, liquid):
    assert parse_serving(text, liquid, Kitchen.US, Rounding.US).text == text


@pytest.mark.parametrize(
    ("text", "liquid"),
    [
        ("8 fl oz (24 mL)", True),
        ("1 cup (200 mL)", True),
        ("1 cup (24 g)", True),
        ("1 cup (500 g)", True),
        ("1/4 cup (300 g)", False),
        ("1 oz (50 g)", False),
    ],
)
def test_sizes_that_clash_are_rejected(text, liquid):
    with pytest.raises(InputError, match="are not the same size"):
        parse_serving(text, liquid, Kitchen.US, Rounding.US)


TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("before", "after", "asked"),
    [
        ("price = 3.89", "price = 3.89", ""),
        ("price = 3.89", "price = 149.00", ""),
        ("price = 3.89", "price = 150.00", "Is 150.00 USD for 1 gallon of whole-milk right?"),
        ("price = 3.89", "price = 389.00", "Is 389.00 USD for 1 gallon of whole-milk right?"),
        ("price = 6.49", "price = 0.01", "Is 0.01 USD for 1 quart of heavy-cream right?"),
        ("price = 6.49", "price = 0.0", ""),
        ("2026-11-02", "2026-12-31", ""),
        ("2026-11-02", "2027-01-01", "Is 2027-01-01 right?"),
    ],
)
def test_a_price_that_looks_like_a_typing_mistake_is_asked_about(before, after, asked):
    pantry = parse_pantry(PANTRY.replace(before, after), "pantry.toml")
    questions = pantry.questions(TODAY)
    assert any(asked in question for question in questions) if asked else not questions


def test_packages_of_one_food_are_compared_with_each_other():
    def sizes(price):
        more = f'sizes = [{{ price = {price}, package = "1/2 gallon" }}]\n[foods.heavy'
        return parse_pantry(PANTRY.replace("[foods.heavy", more), "pantry.toml")

    assert not sizes("69.00").questions(TODAY)
    assert "Is 70.00 USD for 1/2 gallon of whole-milk right?" in sizes("70.00").questions(TODAY)[-1]


def test_nothing_is_asked_of_the_sample():
    assert not sample_pantry().questions(TODAY)


def test_a_day_to_come_is_asked_about_once_for_all_prices():
    text = sample_text().replace("2026-11-02", f"{TODAY.year + 1}-11-02")
    (asked,) = parse_pantry(text).questions(TODAY)
    assert "The prices of" in asked
    assert asked.endswith("foods are dated in a year to come.")


@pytest.mark.parametrize("country", list(countries()))
def test_a_decimal_point_left_out_of_any_price_is_asked_about(country):
    """A milk's price that is a hundred times too high, or too low, is questioned everywhere."""
    text = sample_text(country)
    for found in re.finditer(r"^price = ([\d.]+)$", text, re.MULTILINE):
        food = text[: found.start()].rsplit("[foods.", 1)[1].split("]")[0]
        sound = parse_pantry(text)
        item = next((i for i in sound.items if food in (i.food.id, i.food.name)), None)
        if item is None or item.food.drink_only or item.food.kind == "water":
            continue
        for factor in (100, 0.01):
            slip = f"price = {float(found[1]) * factor:.4f}"
            asked = parse_pantry(text[: found.start()] + slip + text[found.end() :]).questions()
            assert len(asked) == 1, (food, factor, asked)
            assert f"of {item.food.id} right?" in asked[0]
        assert not sound.questions()
