"""Foods typed in place of a pantry file."""

import math

import pytest

from formulate.base.errors import AmbiguousName, InputError, ManyFaults, UnknownName
from formulate.base.units import Kitchen
from formulate.pantry.pantry import parse_pantry
from formulate.pantry.price import parse_price
from formulate.pantry.typed_foods import typed_pantry

QUART = 946.352946


def test_names_alone_are_a_shelf_without_prices():
    pantry = typed_pantry(["whole milk", "evaporated-milk"])
    assert pantry.ids == ("whole-milk", "evaporated-milk")
    assert not pantry.has_prices
    assert math.isnan(pantry.shelf().price[0])


@pytest.mark.parametrize(
    "text", ["3.80/gallon", "$3.80/1 gallon", "3,80/ gallon", " 3.80 / 4 quarts "]
)
def test_a_price_is_read_as_people_write_it(text):
    pantry = typed_pantry([f"whole-milk={text}"])
    grams = 4 * QUART * pantry.items[0].food.density
    assert pantry.items[0].price_per_gram == pytest.approx(3.80 / grams)


def test_what_costs_nothing_needs_no_package():
    pantry = typed_pantry(["whole-milk=0", "evaporated-milk=1.79/can"])
    assert pantry.items[0].price_per_gram == 0
    assert pantry.items[1].package == "1 can"
    assert pantry.has_prices


def test_cups_are_those_of_the_kitchen():
    us, metric = (
        typed_pantry(["whole-milk=1/cup"], kitchen).items[0].package_grams
        for kitchen in (Kitchen.US, Kitchen.METRIC)
    )
    assert us / metric == pytest.approx(236.588 / 250, rel=1e-4)


def test_a_country_gives_foods_cups_and_money():
    pantry = typed_pantry(["whole-milk=1.45/2 pints"], country="uk")
    assert (pantry.currency, pantry.kitchen) == ("GBP", Kitchen.UK)
    assert typed_pantry(["whole-milk=3.80/gallon"]).currency == ""


@pytest.mark.parametrize(
    ("texts", "error", "words"),
    [
        (["whole-milk", "whole milk"], InputError, "whole-milk is named twice"),
        (["whole-mlk"], UnknownName, "Did you mean whole-milk"),
        (["milk"], AmbiguousName, "Say which"),
        (["whole-milk=3"], InputError, "Write it as whole-milk=3/gallon"),
        (["whole-milk=x/gallon"], InputError, '"x" is not a number'),
        (["whole-milk=-1/gallon"], InputError, '"-1" is not a number'),
        (["whole-milk=nan/gallon"], InputError, '"nan" is not a number'),
        (["whole-milk=3/hogshead"], InputError, "hogshead"),
        (["whole-milk=3/gallon", "evaporated-milk"], InputError, "evaporated-milk has no price"),
        (
            ["whole-milk=3/gallon", "evaporated-milk", "heavy-cream"],
            InputError,
            "evaporated-milk and heavy-cream have no price",
        ),
    ],
)
def test_wrong_input(texts, error, words):
    with pytest.raises(error, match=words):
        typed_pantry(texts)


def test_every_fault_is_reported_at_once():
    with pytest.raises(ManyFaults) as caught:
        typed_pantry(["whole-mlk", "evaporated-milk=x/can", "heavy-cream"])
    assert len(caught.value.faults) == 2


@pytest.mark.parametrize(("text", "price"), [("3.89", 3.89), ("3,89", 3.89), ("£ 2", 2.0)])
def test_prices(text, price):
    assert parse_price(text) == price


@pytest.mark.parametrize("text", ["", "-1", "1e9", "inf", "one", "1.2.3", "٣", "9999999"])
def test_what_is_not_a_price(text):
    with pytest.raises(InputError, match=r"is not a number|far too large"):
        parse_price(text)


def test_a_file_may_leave_prices_out_but_not_some():
    foods = "[foods.whole-milk]\n[foods.evaporated-milk]\n"
    assert not parse_pantry(foods).has_prices
    some = foods + 'price = 1.79\npackage = "1 can"\n'
    with pytest.raises(ManyFaults, match=r"foods.whole-milk.price: the price is missing"):
        parse_pantry(some)
