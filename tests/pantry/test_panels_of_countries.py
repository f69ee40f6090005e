"""Panels of other countries: read by their own rules, named in their own law."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from label_printer import eu_figure, us_figure

from formulate.base.errors import InputError, UnknownName
from formulate.base.units import Kitchen
from formulate.foods.country import countries
from formulate.foods.food import DAIRY_KINDS, Food
from formulate.foods.national import country_foods
from formulate.pantry.labels import Label, Rounding, printed_in, read_carton, rounding_of
from formulate.pantry.labels.rounding import parse_figure, parse_rounding
from formulate.pantry.pantry import parse_pantry

#: Dairy foods of all three tables, but for butter and powders, which no cup of 240 mL sells.
POURED = [
    food
    for food in (*country_foods("uk").values(), *country_foods("fr").values())
    if food.kind in ("milk", "cream", "cultured", "evaporated") and food.density
]


def us_panel(food: Food) -> dict[str, str]:
    """A serving of 240 mL as the US law rounds it."""
    grams = Decimal(str(food.density * 240))
    panel = {"serving": "1 cup (240 mL)"}
    for name in ("fat", "carbohydrate", "protein", "sodium"):
        amount = Decimal(str(food.value(name))) * grams / 100
        panel[name] = us_figure(name, amount)
    return panel


def per_100(food: Food, by: str, *, kilojoules: bool = False) -> dict[str, str]:
    """100 g or 100 mL as European and Australian panels round it; protein as nitrogen × 6.38."""
    grams = Decimal(100) if by == "100 g" else Decimal(str(food.density * 100))
    panel = {"per": by}
    for name in ("fat", "carbohydrate", "protein"):
        panel[name] = eu_figure(name, Decimal(str(food.value(name))) * grams / 100)
    salt = Decimal(str(food.value("sodium"))) / 400 * grams / 100
    panel["salt"] = eu_figure("salt", salt)
    if kilojoules:
        energy = (
            17 * food.value("protein") + 37 * food.value("fat") + 17 * food.value("carbohydrate")
        )
        panel["energy"] = f"{float(grams) / 100 * energy:.0f} kJ"
    return panel


@settings(deadline=None, max_examples=60)
@given(st.sampled_from(POURED), st.sampled_from(["100 g", "100 mL"]))
def test_one_carton_through_a_us_and_a_european_panel_overlaps(food, by):
    """The truth lies in both, so the two cannot part; and where they do overlap they hold it."""
    here = read_carton("us", Label(kind=food.kind, panel=us_panel(food)), Kitchen.US)
    there = read_carton("eu", Label(kind=food.kind, panel=per_100(food, by)), Kitchen.METRIC)
    for name in ("fat", "protein", "carbohydrate", "water", "sodium"):
        (a, b), (c, d) = here.intervals[name], there.intervals[name]
        assert max(a, c) <= min(b, d) + 1e-9, (food.id, name, (a, b), (c, d))
        truth = food.value(name)
        slack = 0.02 if name in ("water", "carbohydrate") else 1e-6 * max(1.0, truth)
        assert max(a, c) - slack <= truth <= min(b, d) + slack, (food.id, name)


@pytest.mark.parametrize("by", ["100 g", "100 mL"])
def test_a_panel_per_100_says_more_than_one_per_serving(by):
    milk = country_foods("uk").find("whole milk")
    here = read_carton("us", Label(kind="milk", panel=us_panel(milk)), Kitchen.US)
    there = read_carton("eu", Label(kind="milk", panel=per_100(milk, by)), Kitchen.UK)
    widths = [c.intervals["fat"][1] - c.intervals["fat"][0] for c in (here, there)]
    assert widths[1] < widths[0]


@pytest.mark.parametrize("food", POURED, ids=lambda food: f"{food.table}-{food.record}")
def test_an_australian_panel_in_kilojoules_holds_its_carton(food):
    """Energy by 17, 37 and 17 kJ/g (Standard 1.2.8, from memory), sodium in mg, per 100 mL."""
    panel = per_100(food, "100 mL", kilojoules=True)
    panel.pop("salt")
    sodium = Decimal(str(food.value("sodium") * food.density))
    panel["sodium"] = f"{sodium:.0f}"
    panel["rounding"] = "anz"
    carton = read_carton("anz", Label(kind=food.kind, panel=panel), Kitchen.AU)
    assert carton.rounding is Rounding.ANZ
    for name in ("fat", "protein", "carbohydrate", "water", "sodium"):
        low, high = carton.intervals[name]
        slack = 0.02 if name in ("water", "carbohydrate") else 1e-6 * max(1.0, high)
        assert low - slack <= food.value(name) <= high + slack, (food.id, name)


# Whose rules


@pytest.mark.parametrize(
    ("panel", "rules", "rounding"),
    [
        ({"serving": "200 mL"}, "us", Rounding.US),
        ({"per": "100 mL"}, "us", Rounding.ELSEWHERE),
        ({"serving": "200 mL"}, "eu", Rounding.ELSEWHERE),
        ({"per": "100 mL"}, "eu", Rounding.ELSEWHERE),
        ({"serving": "250 mL"}, "anz", Rounding.ANZ),
        ({"per": "100 mL"}, "anz", Rounding.ANZ),
        ({"serving": "200 mL", "rounding": "us"}, "eu", Rounding.US),
        ({"per": "100 g", "rounding": "EU"}, "us", Rounding.ELSEWHERE),
    ],
)
def test_a_panel_is_of_the_kitchens_country_unless_it_says(panel, rules, rounding):
    assert rounding_of(printed_in(panel, rules)) is rounding


def test_no_panel_stays_none():
    assert printed_in({}, "eu") == {}
    with pytest.raises(UnknownName, match="us, eu or anz"):
        parse_rounding("japan")


@pytest.mark.parametrize("country", countries())
def test_every_country_has_rules_that_are_known(country):
    assert parse_rounding(countries()[country].panel)


PANTRY = """
country = "{country}"
prices_on = 2026-11-02
[foods.our-milk]
price = 1.0
package = "1 kg"
[own.our-milk]
sold_as = "{name}"
panel = {{ {panel} }}
"""


PRINTED = [
    ("uk", "whole milk", "200 mL", {"fat": 7.4, "carbohydrate": 9.4, "protein": 7.0, "salt": 0.22}),
    ("uk", "double cream", "100 mL", {"fat": 50.5, "carbohydrate": 1.6, "protein": 1.5}),
    ("ie", "semi-skimmed milk", "100 mL", {"fat": 1.7, "carbohydrate": 4.8, "protein": 3.5}),
    ("fr", "lait demi-écrémé", "100 mL", {"fat": "1,6", "carbohydrate": "4,8", "protein": "3,2"}),
    ("fr", "crème légère", "100 g", {"fat": "15", "carbohydrate": "4,2", "protein": "2,7"}),
    ("nz", "full cream milk", "100 mL",
     {"energy": "267 kJ", "fat": 3.3, "carbohydrate": 4.8, "protein": 3.3, "sodium": 40}),
    ("au", "full cream milk powder", "100 g",
     {"energy": "2060 kJ", "fat": 27.5, "carbohydrate": 38.1, "protein": 26.4, "sodium": 330}),
]  # fmt: skip


@pytest.mark.parametrize(("country", "name", "size", "figures"), PRINTED)
def test_a_carton_in_a_pantry_is_read_by_the_rules_of_the_place(country, name, size, figures):
    key = "per" if size.startswith("100 ") else "serving"
    panel = ", ".join(
        [f'{key} = "{size}"', *(f'{figure} = "{value}"' for figure, value in figures.items())]
    )
    pantry = parse_pantry(PANTRY.format(country=country, name=name, panel=panel))
    [food] = pantry.own_foods
    fat = food.values["fat"]
    assert fat.low <= fat.value <= fat.high
    assert food.kind in DAIRY_KINDS
    assert fat.high - fat.low < 0.06 * fat.value + 0.2


def test_the_names_are_those_of_the_law_of_the_place():
    with pytest.raises(InputError, match='no standard called "full cream milk"'):
        parse_pantry(
            PANTRY.format(
                country="uk",
                name="full cream milk",
                panel='per = "100 mL", fat = 3.6, carbohydrate = 4.7, protein = 3.4',
            )
        )
    with pytest.raises(InputError, match="by law"):
        parse_pantry(
            PANTRY.format(
                country="uk",
                name="double cream",
                panel='per = "100 g", fat = 36, carbohydrate = 2.7, protein = 2.1',
            )
        )


@pytest.mark.parametrize(
    ("text", "number"), [("3,6", 3.6), ("0,13 g", 0.13), ("12,5", 12.5), ("moins de 0,5", None)]
)
def test_a_decimal_comma_on_a_panel(text, number):
    if number is None:
        with pytest.raises(InputError):
            parse_figure("fat", text)
    else:
        assert parse_figure("fat", text).number == number


def test_a_cream_with_a_panel_by_weight_can_be_poured():
    """French creams are sold by the volume and print their panel per 100 g."""
    panel = {"per": "100 g", "fat": "30", "carbohydrate": "3,1", "protein": "2,3"}
    cream = read_carton("creme", Label(kind="cream", panel=panel), Kitchen.METRIC).food
    assert cream.density == pytest.approx(1.0, abs=0.02)
