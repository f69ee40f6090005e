"""Ages, weights, temperatures and prices as people write them."""

from __future__ import annotations

from datetime import timedelta

import pytest

from formulate.answers.household import parse_age
from formulate.base.errors import InputError
from formulate.instruments.readings import parse_temperature
from formulate.pantry.typed_foods import typed_pantry
from formulate.rearing.animal_file import parse_celsius
from formulate.rearing.weights import parse_weight


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("36h", 36), ("0h", 0), ("0 days", 0), ("3 days old", 72), ("3d4h", 76),
        ("1 week and 2 days", 216), ("a day", 24), ("half a day", 12), ("two and a half days", 60),
        ("1,5 d", 36), ("36 hrs", 36), ("2 wks", 336),
    ],
)  # fmt: skip
def test_ages(text, hours):
    assert parse_age(text) == timedelta(hours=hours)


@pytest.mark.parametrize(
    "text", ["3", "3 months", "-3 d", "newborn", "", "1 d d", "1/0 d", "9" * 50 + "d"]
)
def test_what_is_no_age_is_refused(text):
    with pytest.raises(InputError):
        parse_age(text)


@pytest.mark.parametrize(
    ("text", "kilograms"),
    [
        ("4kg200", 4.2), ("4 kg 200 g", 4.2), ("4,2kg", 4.2), ("half a kilo", 0.5),
        ("four kilos", 4), ("9 lb 4 oz", 4.19573), ("9lb4oz", 4.19573), ("9 lb 4", 4.19573),
        ("9 pounds and 4 ounces", 4.19573), ("9 lb 15.9 oz", 4.53309),
    ],
)  # fmt: skip
def test_weights(text, kilograms):
    assert parse_weight(text) == pytest.approx(kilograms, abs=1e-5)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("9 lb 16 oz", "more ounces than a pound"),
        ("a stone", '"a stone" is not a weight. Write kg or lb'),
        ("9-10 lb", "anything from 9 to 10"),
        ("4 200 g", "could mean 4200, or 4 of 200"),
        ("4,200 kg", "could be a decimal number"),
    ],
)
def test_weights_that_are_asked_about(text, says):
    with pytest.raises(InputError, match=says):
        parse_weight(text)


@pytest.mark.parametrize(
    ("text", "celsius"),
    [("38.9", 38.9), ("38,9 °C", 38.9), ("38.9 celsius", 38.9), ("39 degrees", 39),
     ("102 F", 38.89), ("102 deg. F", 38.89), ("102 degrees Fahrenheit", 38.89)],
)  # fmt: skip
def test_temperatures_of_an_animal(text, celsius):
    assert parse_celsius(text) == celsius


@pytest.mark.parametrize("text", ["38.9 kg", "38.9 x", "38.9 cats", "38.9 feet", "38.9 cF", "-3 C"])
def test_another_unit_is_no_temperature(text):
    with pytest.raises(InputError, match="is not a temperature"):
        parse_celsius(text)


def test_temperatures_of_milk():
    assert parse_temperature("20 degrees C") == parse_temperature("20 °C") == 20
    assert parse_temperature("68 degrees Fahrenheit") == pytest.approx(20)


@pytest.mark.parametrize(
    "text",
    ["3.80/gallon", "3.80 per gallon", "3.80 a gallon", "$3.80 /1 gallon", "1.90 per half gallon",
     "1.90/half-gallon", "7.60/2 gallons", "7.60/2 x 1 gallon", "3,80/a gallon"],
)  # fmt: skip
def test_prices(text):
    item = typed_pantry([f"whole-milk={text}"]).items[0]
    assert item.price / item.package_grams == pytest.approx(3.8 / 3904, rel=1e-3)
