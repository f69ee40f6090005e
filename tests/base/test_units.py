"""Numbers and units as people write them, and as they mistype them."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base.errors import InputError, UnitError, UnknownName
from formulate.base.quantities import quantity
from formulate.base.units import (
    LARGEST,
    Amount,
    Kitchen,
    UnitKind,
    known_unit_words,
    parse_amount,
    parse_decimal,
    parse_kitchen,
    parse_number,
    parse_share,
    parse_volume,
    take_unit,
    unit_size,
    with_points,
)

# Numbers


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("3", 3.0),
        ("1.5", 1.5),
        (".5", 0.5),
        ("2.", 2.0),
        ("1/2", 0.5),
        ("1 1/2", 1.5),
        ("½", 0.5),
        ("1½", 1.5),
        ("1 ½", 1.5),
        ("⅔", 2 / 3),
        ("3⁄4", 0.75),
        ("1 / 2", 0.5),
        ("1e3", 1000.0),
        ("  7 ", 7.0),
        ("007", 7.0),
        ("1,5", 1.5),
        ("0,125", 0.125),
        ("0,5", 0.5),
        ("12,25", 12.25),
        ("1,2345", 1.2345),
    ],
)
def test_numbers(text, number):
    assert parse_number(text) == (pytest.approx(number), "")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("-1 cup", "below zero"),
        ("−1 cup", "below zero"),
        ("- 2 g", "below zero"),
        ("0 g", "is zero"),
        ("0/5 cup", "is zero"),
        ("0.0 g", "is zero"),
        ("nan g", "is not an amount"),
        ("inf cups", "is not an amount"),
        ("-inf g", "is not an amount"),
        ("Infinity g", "is not an amount"),
        ("1e400 g", "far too large"),
        ("1e8 g", "far too large"),
        ("99999999 g", "far too large"),
        ("1,500 g", r"could be a decimal number or a number of thousands.* Write 1\.500 or 1500"),
        ("12,345 g", r"Write 12\.345 or 12345"),
        ("1,234,567 g", "there is a comma in the number"),
        ("1,5.2 g", "there is a comma in the number"),
        ("1, 5 g", "there is a comma in the number"),
        ("1/0 cup", "divides by zero"),
        ("1 1/0 cup", "divides by zero"),
        ("1/2/3 cup", "cannot be read"),
        ("1.2.3 g", "cannot be read"),
        ("1 2 cups", "cannot be read"),
        ("1½½ cups", "cannot be read"),
        ("9" * 41 + " g", "more than 40 characters"),
        ("cup", "does not start with a number"),
        ("about a cup", "does not start with a number"),
        ("", "does not start with a number"),
        ("+ cup", "does not start with a number"),
        ("½-1 cup", "."),
        ("1e cup", "."),
        ("0x10 g", "."),
    ],
)
def test_numbers_that_cannot_be_used(text, says):
    with pytest.raises(InputError, match=says) as caught:
        parse_amount(text)
    assert caught.value.exit_status == 2


@given(st.fractions(Fraction(1, 64), 1000, max_denominator=64))
def test_fractions_are_read_back(value):
    whole, rest = divmod(value, 1)
    spelled = f"{rest.numerator}/{rest.denominator}"
    text = spelled if not whole else f"{whole} {spelled}" if rest else f"{whole}"
    assert parse_number(text)[0] == pytest.approx(float(value))


@given(st.floats(1e-6, LARGEST))
def test_decimals_are_read_back(value):
    assert parse_number(repr(value))[0] == value


@given(st.text(max_size=30))
def test_any_text_is_an_amount_or_a_clear_error(text):
    try:
        amount = parse_amount(text)
    except InputError as error:
        assert str(error)
    else:
        assert math.isfinite(amount.number)
        assert 0 < amount.number <= LARGEST
        assert amount.unit in {take_unit(word)[0] for word in known_unit_words()}


# Units


@pytest.mark.parametrize(
    ("text", "number", "unit", "kind"),
    [
        ("1 gallon", 1, "gallon", UnitKind.VOLUME),
        ("12 fl oz", 12, "fl oz", UnitKind.VOLUME),
        ("12 fl. oz.", 12, "fl oz", UnitKind.VOLUME),
        ("12 fluid ounces", 12, "fl oz", UnitKind.VOLUME),
        ("12FLOZ", 12, "fl oz", UnitKind.VOLUME),
        ("1 1/2 cups", 1.5, "cup", UnitKind.VOLUME),
        ("1½cups", 1.5, "cup", UnitKind.VOLUME),
        ("2 tbsp.", 2, "tbsp", UnitKind.VOLUME),
        ("2 tbs", 2, "tbsp", UnitKind.VOLUME),
        ("3 Teaspoons", 3, "tsp", UnitKind.VOLUME),
        ("2 quarts", 2, "quart", UnitKind.VOLUME),
        ("2 pints", 2, "pint", UnitKind.VOLUME),
        ("500 g", 500, "g", UnitKind.MASS),
        ("500g", 500, "g", UnitKind.MASS),
        ("2 kilos", 2, "kg", UnitKind.MASS),
        ("2 lbs", 2, "lb", UnitKind.MASS),
        ("250 mL", 250, "mL", UnitKind.VOLUME),
        ("250 cc", 250, "mL", UnitKind.VOLUME),
        ("1 litre", 1, "L", UnitKind.VOLUME),
        ("1 liter", 1, "L", UnitKind.VOLUME),
        ("8 oz", 8, "oz", UnitKind.OUNCE),
        ("8 oz weight", 8, "oz weight", UnitKind.MASS),
        ("8 oz wt", 8, "oz weight", UnitKind.MASS),
        ("2 cans", 2, "can", UnitKind.COUNT),
        ("2 tins", 2, "can", UnitKind.COUNT),
        ("3 eggs", 3, "egg", UnitKind.COUNT),
        ("1 stick", 1, "stick", UnitKind.COUNT),
    ],
)
def test_amounts(text, number, unit, kind):
    found = parse_amount(text)
    assert found == Amount(pytest.approx(number), unit)
    assert found.kind is kind


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("2 cuups", "cup"),
        ("2 galon", "gallon"),
        ("2 tabelspoons", "tablespoon"),
        ("2 ounzes", "ounce"),
        ("2 litters", "litre"),
    ],
)
def test_a_mistyped_unit_gets_its_nearest(text, hint):
    with pytest.raises(UnknownName) as caught:
        parse_amount(text)
    assert hint in caught.value.nearest
    assert f"Did you mean {caught.value.nearest[0]}" in str(caught.value)


def test_an_unknown_unit_gets_the_list():
    with pytest.raises(UnknownName, match=r"Units: g, kg, .*cup"):
        parse_amount("2 frobs")


def test_a_bare_number_has_no_unit():
    with pytest.raises(UnitError, match='"3" has no unit'):
        parse_amount("3")


def test_an_amount_holds_nothing_else():
    with pytest.raises(InputError, match='"milk" follows the unit'):
        parse_amount("3 cups milk")


@pytest.mark.parametrize("thing", [3, None, 2.5, ["1 cup"]])
def test_an_amount_is_text(thing):
    with pytest.raises(InputError, match="is not an amount"):
        parse_amount(thing)


@pytest.mark.parametrize(
    ("text", "unit", "rest"),
    [
        ("cups of milk", "cup", "milk"),
        ("cup whole milk", "cup", "whole milk"),
        ("fl oz milk", "fl oz", "milk"),
        ("fluid ounces of cream", "fl oz", "cream"),
        ("oz weight cream", "oz weight", "cream"),
        ("oz cream", "oz", "cream"),
        ("eggs", "egg", ""),
        ("whole milk", "", "whole milk"),
        ("2% milk", "", "2% milk"),
    ],
)
def test_a_unit_is_split_off(text, unit, rest):
    assert take_unit(text) == (unit, rest)


# Sizes. US: NIST Handbook 44, Appendix C (gallon 231 cubic inches, inch 2.54 cm, pound
# 453.592 37 g). Imperial: Weights and Measures Act 1985 (gallon 4.546 09 L).
CUBIC_INCH = Fraction(254, 100) ** 3  # [mL]
US_GALLON = 231 * CUBIC_INCH
IMPERIAL_GALLON = Fraction(454609, 100)


@pytest.mark.parametrize(
    ("unit", "kitchen", "size"),
    [
        ("gallon", "us", US_GALLON),
        ("quart", "us", US_GALLON / 4),
        ("pint", "us", US_GALLON / 8),
        ("cup", "us", US_GALLON / 16),
        ("fl oz", "us", US_GALLON / 128),
        ("tbsp", "us", US_GALLON / 256),
        ("tsp", "us", US_GALLON / 768),
        ("gallon", "imperial", IMPERIAL_GALLON),
        ("quart", "imperial", IMPERIAL_GALLON / 4),
        ("pint", "imperial", IMPERIAL_GALLON / 8),
        ("fl oz", "imperial", IMPERIAL_GALLON / 160),
        ("cup", "imperial", IMPERIAL_GALLON / 16),
        # Spoons outside the United States: common practice, no source.
        ("tbsp", "imperial", 15),
        ("tsp", "imperial", 5),
        ("tbsp", "uk", 15),
        ("tsp", "uk", 5),
        ("cup", "uk", 250),
        ("pint", "uk", IMPERIAL_GALLON / 8),
        ("fl oz", "uk", IMPERIAL_GALLON / 160),
        ("tbsp", "au", 20),
        ("tsp", "au", 5),
        ("cup", "au", 250),
        ("cup", "metric", 250),
        ("tbsp", "metric", 15),
        ("tsp", "metric", 5),
        ("fl oz", "metric", 30),
        ("mL", "us", 1),
        ("L", "metric", 1000),
        ("cL", "metric", 10),
        ("dL", "us", 100),
        ("g", "us", 1),
        ("kg", "us", 1000),
        ("mg", "metric", Fraction(1, 1000)),
        ("lb", "us", Fraction("453.59237")),
        ("oz", "us", Fraction("453.59237") / 16),
        ("oz weight", "metric", Fraction("453.59237") / 16),
    ],
)
def test_sizes(unit, kitchen, size):
    assert unit_size(unit, Kitchen(kitchen)) == pytest.approx(float(size), rel=1e-12)


@pytest.mark.parametrize("kitchen", [Kitchen.METRIC, Kitchen.AU])
@pytest.mark.parametrize("unit", ["pint", "quart", "gallon"])
def test_a_metric_kitchen_has_no_pint(unit, kitchen):
    with pytest.raises(UnitError, match=f"a metric kitchen has no {unit}.*litres"):
        parse_volume(f"1 {unit}", kitchen)


@pytest.mark.parametrize(
    ("text", "unit", "rest"),
    [
        ("L de lait entier", "L", "lait entier"),
        ("L d'eau", "L", "eau"),
        ("cl de crème", "cL", "crème"),
        ("cuillères à soupe de poudre de lait", "tbsp", "poudre de lait"),
        ("c. à s. de miel", "tbsp", "miel"),
        ("c. à c. de sel", "tsp", "sel"),
        ("cuillère à café", "tsp", ""),
        ("boîtes de lait concentré", "can", "lait concentré"),
        ("cups of milk", "cup", "milk"),
        ("cups of", "cup", ""),
        ("g demi-sel", "g", "demi-sel"),
    ],
)
def test_units_as_the_french_write_them(text, unit, rest):
    assert take_unit(text) == (unit, rest)


def test_which_kitchens_have_jugs_of_millilitres():
    assert {kitchen for kitchen in Kitchen if kitchen.metric} == {
        Kitchen.METRIC,
        Kitchen.UK,
        Kitchen.AU,
    }


@pytest.mark.parametrize("unit", ["can", "egg", "stick", "scoop", "furlong"])
def test_a_count_has_no_size_of_its_own(unit):
    with pytest.raises(UnitError, match="has no fixed size"):
        unit_size(unit)


KITCHEN_UNITS = {
    kitchen: [
        unit
        for unit in ("tsp", "tbsp", "fl oz", "cup", "pint", "quart", "gallon", "mL", "L")
        if kitchen not in (Kitchen.METRIC, Kitchen.AU) or unit not in ("pint", "quart", "gallon")
    ]
    for kitchen in Kitchen
}


@given(st.sampled_from(list(Kitchen)), st.data(), st.floats(0.1, 99))
def test_a_volume_makes_the_round_trip(kitchen, data, number):
    unit = data.draw(st.sampled_from(KITCHEN_UNITS[kitchen]))
    size = parse_volume(f"{number!r} {unit}", kitchen)
    assert size / unit_size(unit, kitchen) == pytest.approx(number, rel=1e-12)
    assert Amount(number, unit).size(kitchen) == pytest.approx(size, rel=1e-12)
    assert parse_amount(str(Amount(number, unit))).unit == unit


@given(st.sampled_from(["g", "kg", "mg", "lb", "oz weight"]), st.floats(0.01, 99))
def test_a_weight_is_the_same_in_every_kitchen(unit, number):
    sizes = {Amount(number, unit).size(kitchen) for kitchen in Kitchen}
    assert len(sizes) == 1


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("500 g", "not a volume.*2 quarts or 2 L"),
        ("8 oz", "not a volume.*Did you mean fl oz"),
        ("2 cans", "not a volume"),
        ("9999999 gallons", "far too large"),
    ],
)
def test_what_is_not_a_volume(text, says):
    with pytest.raises(UnitError, match=says):
        parse_volume(text, Kitchen.US)


@pytest.mark.parametrize("text", ["us", "US", " Metric ", "imperial", "UK", "au"])
def test_kitchens(text):
    assert parse_kitchen(text) is Kitchen(text.strip().lower())


def test_an_unknown_kitchen():
    with pytest.raises(UnknownName, match="Did you mean metric"):
        parse_kitchen("metrik")


@pytest.mark.parametrize(
    ("text", "share"), [("30 %", 0.3), ("30%", 0.3), ("12.5 %", 0.125), (0.3, 0.3), (1, 1.0)]
)
def test_shares(text, share):
    assert parse_share(text) == pytest.approx(share)
    assert parse_share(None) is None


@pytest.mark.parametrize("text", ["a third", "30", "0 %", "101 %", 0, 1.5, -0.1, math.nan, ""])
def test_what_is_not_a_share(text):
    with pytest.raises(InputError):
        parse_share(text)


#: What pint calls a unit of a kitchen; imperial spoons and metric measures it does not have.
_PINTS_NAMES = {
    **{(unit, kitchen): name for kitchen in Kitchen for unit, name in (
        ("g", "gram"), ("kg", "kilogram"), ("mg", "milligram"), ("lb", "pound"),
        ("oz weight", "ounce"), ("oz", "ounce"), ("mL", "millilitre"), ("L", "litre"))},
    **{(unit, Kitchen.US): unit.replace("fl oz", "fluid_ounce").replace("tsp", "teaspoon")
       .replace("tbsp", "tablespoon")
       for unit in ("tsp", "tbsp", "fl oz", "cup", "pint", "quart", "gallon")},
    **{(unit, Kitchen.IMPERIAL): f"imperial_{unit.replace('fl oz', 'fluid_ounce')}"
       for unit in ("fl oz", "cup", "pint", "quart", "gallon")},
}  # fmt: skip


def test_sizes_are_those_of_pint():
    for (unit, kitchen), name in _PINTS_NAMES.items():
        one = quantity(1.0, name)
        base = "gram" if one.check("[mass]") else "millilitre"
        assert unit_size(unit, kitchen) == pytest.approx(one.to(base).magnitude, rel=1e-12), name


@pytest.mark.parametrize(
    ("text", "number"),
    [("3.89", 3.89), ("3,89", 3.89), ("0", 0.0), (" .5 ", 0.5), ("3.", 3.0), ("0,125", 0.125)],
)
def test_decimals(text, number):
    assert parse_decimal(text) == number


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1,234", "1.234 or 1234"),
        ("1,234.5", "is not a number"),
        ("-1", "is not a number"),
        ("inf", "is not a number"),
        ("1e3", "is not a number"),
        ("٣", "is not a number"),
        ("", "is not a number"),
        ("9" * 41, "is not a number"),
    ],
)
def test_what_is_not_a_decimal(text, says):
    with pytest.raises(InputError, match=says):
        parse_decimal(text)


def test_every_decimal_comma_of_a_text_is_a_point():
    assert with_points("2,5..6,75 and 1,5 L") == "2.5..6.75 and 1.5 L"
    assert with_points("milk, cream, 2 eggs") == "milk, cream, 2 eggs"
    assert with_points("1,234,567 g") == "1,234,567 g"


def test_a_tenth_of_a_millilitre_is_the_least_volume():
    assert parse_volume("0.1 mL", Kitchen.US) == 0.1
    for text in ("0.099 mL", "1e-9 L"):
        with pytest.raises(UnitError, match="far too little"):
            parse_volume(text, Kitchen.US)
