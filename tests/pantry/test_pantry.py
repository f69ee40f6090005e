"""Pantry files: what is read, and that every fault of a file is told at once."""

import math
import re
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formulate.base.errors import InputError, ManyFaults
from formulate.base.units import Kitchen
from formulate.foods.bands import Role
from formulate.foods.tables import band_set
from formulate.pantry.pantry import load_pantry, parse_pantry, recipe_named, sample_pantry

GOOD = """
currency = "USD"
prices_on = 2026-11-02
[foods.whole-milk]
price = 3.89
package = "1 gallon"
"""


def test_the_sample_is_read_and_says_that_it_is_invented():
    pantry = sample_pantry()
    assert pantry.invented
    assert "invented" in pantry.name
    assert pantry.kitchen is Kitchen.US
    assert pantry.price_dates() == (date(2026, 11, 2), date(2026, 11, 2))
    assert "bagged-lamb-powder" not in pantry.shelf().ids  # priced for comparison only
    milk = pantry.item("whole-milk")
    # A gallon is 16 cups of 244 g.
    assert milk.package_grams == pytest.approx(16 * 244)
    assert milk.price_per_gram == pytest.approx(3.89 / (16 * 244))


def test_everything_an_item_may_say():
    pantry = parse_pantry(
        GOOD
        + """
on_hand = "1/2 gallon"
use_by = 2026-11-09
priced_on = 2026-10-30
largest_share = "60 %"
smallest = "1 cup"
step = "1/4 cup"
[foods.heavy-cream]
price = 0
package = "1 pint"
largest_share = 0.2
step = "whole package"
"""
    )
    milk, cream = pantry.items
    assert milk.on_hand == pytest.approx(8 * 244)
    assert (milk.priced_on, milk.use_by) == (date(2026, 10, 30), date(2026, 11, 9))
    assert (milk.largest_share, milk.smallest) == pytest.approx((0.6, 244))
    assert cream.price_per_gram == 0
    shelf = pantry.shelf()
    assert shelf.largest_share == pytest.approx([0.6, 0.2])
    assert shelf.on_hand[0] == pytest.approx(8 * 244)
    assert math.isinf(shelf.on_hand[1])


def test_a_metric_kitchen_reads_metric_cups():
    text = GOOD.replace('"1 gallon"', '"4 cups"').replace(
        "currency", 'kitchen = "metric"\ncurrency'
    )
    assert parse_pantry(text).items[0].package_grams == pytest.approx(1000 * 244 / 236.5882365)


def test_own_food_is_completed_by_the_sums_that_always_hold():
    pantry = parse_pantry(
        GOOD
        + """
[foods.our-cream]
price = 2
package = "1 cup"
[own.our-cream]
kind = "cream"
weighs = "1 cup = 236 g"
per_100_g = { protein = 2.0, fat = 40.0, carbohydrate = 3.0, ash = 0.5 }
"""
    )
    cream = pantry.table["our-cream"]
    assert cream.value("water") == pytest.approx(54.5)
    assert cream.value("lactose") == pytest.approx(3.0)
    assert cream.density == pytest.approx(236 / 236.5882365)
    assert math.isnan(cream.value("copper"))  # missing stays missing
    assert cream.value("lactic-acid") == 0.0  # by its kind
    assert pantry.items[1].package_grams == pytest.approx(236)


def test_own_bands_stand_in_for_those_of_another_set_and_keep_its_safety():
    pantry = parse_pantry(
        GOOD
        + """
[bands.ours]
like = "lamb-replacer"
demand = [{ measure = "fat", basis = "dry_matter", unit = "g/100 g", low = 30, high = 34 }]
"""
    )
    ours = band_set("ours", pantry.own_bands)
    fat = [b for b in ours.bands if b.measure == "fat"]
    assert [(b.low, b.high) for b in fat] == [(30, 34)]
    lamb = band_set("lamb-replacer")
    assert ours.in_role(Role.SAFETY) == lamb.in_role(Role.SAFETY)
    assert len(ours.bands) == len(lamb.bands)


def test_recipes_are_found_by_name():
    pantry = sample_pantry()
    assert recipe_named("plain-milk", pantry, Kitchen.US).grams == pytest.approx([16 * 244])
    with pytest.raises(InputError, match="plain-milk"):
        recipe_named("plain-mlk", pantry, Kitchen.US)


def test_water_is_free_where_it_is_not_priced():
    pantry = sample_pantry()
    assert pantry.price_per_gram("water") == 0.0
    assert math.isnan(pantry.price_per_gram("goat-milk"))


@pytest.mark.parametrize(
    ("text", "where", "words"),
    [
        (GOOD.replace("whole-milk", "whole-mlk"), "foods.whole-mlk", "Did you mean whole-milk"),
        (GOOD.replace("whole-milk", "milk"), "foods.milk", "Say which: "),
        (GOOD.replace("3.89", '"3.89"'), "foods.whole-milk.price", "price = 3.89"),
        (GOOD.replace("3.89", "-1"), "foods.whole-milk.price", "at least 0"),
        (GOOD.replace("3.89", "nan"), "foods.whole-milk.price", "at least 0"),
        (GOOD.replace("3.89", "inf"), "foods.whole-milk.price", "at least 0"),
        (GOOD.replace("3.89", "1e400"), "foods.whole-milk.price", "at least 0"),
        (GOOD.replace("price = 3.89\n", ""), "foods.whole-milk.price", "price is missing"),
        (
            GOOD.replace('package = "1 gallon"\n', ""),
            "foods.whole-milk.package",
            "needs a package",
        ),
        (GOOD.replace("1 gallon", "1 gallom"), "foods.whole-milk.package", "gallon"),
        (GOOD.replace("1 gallon", "1 can"), "foods.whole-milk.package", "not measured by can"),
        (GOOD.replace("1 gallon", "gallon"), "foods.whole-milk.package", "does not start with"),
        (GOOD.replace("1 gallon", "128 oz"), "foods.whole-milk.package", "fl oz"),
        (GOOD.replace('currency = "USD"\n', ""), "currency", "currency is missing"),
        (GOOD.replace("USD", "dollars"), "currency", "three capital letters"),
        (GOOD.replace("prices_on = 2026-11-02\n", ""), "prices_on", "date of the prices"),
        (GOOD.replace("2026-11-02", '"today"'), "prices_on", "without quotes"),
        (GOOD.replace("package =", "pakage ="), "foods.whole-milk.pakage", "Did you mean package"),
        ("kitchn = 'us'\n" + GOOD, "kitchn", "Did you mean kitchen"),
        ("kitchen = 'french'\n" + GOOD, "kitchen", "metric"),
        ("foods = 3\n" + GOOD.split("[foods")[0], "foods", "one table for each food"),
        (GOOD.split("[foods")[0], "foods", "pantry is empty"),
        ("", "foods", "pantry is empty"),
        (GOOD + "largest_share = 3\n", "foods.whole-milk.largest_share", "30 %"),
        (GOOD + 'smallest = "-1 cup"\n', "foods.whole-milk.smallest", "below zero"),
        (GOOD + 'step = "1 sup"\n', "foods.whole-milk.step", "cup"),
        (
            GOOD + '[foods."whole milk"]\nprice = 1\npackage = "1 cup"\n',
            "foods.whole milk",
            "are the same food",
        ),
        (
            GOOD + '[own.whole-milk]\nkind = "milk"\nper_100_g = { water = 88, fat = 3 }\n',
            "own",
            "Choose another name",
        ),
        (
            GOOD + '[own.ours]\nkind = "mlk"\nper_100_g = { water = 88, fat = 3 }\n',
            "own.ours",
            "Did you mean",
        ),
        (
            GOOD + '[own.ours]\nkind = "milk"\nper_100_g = { water = 88, fta = 3 }\n',
            "own.ours: per_100_g",
            "fat",
        ),
        (
            GOOD + '[own.ours]\nkind = "milk"\nper_100_g = { fat = 3 }\n',
            "own.ours: per_100_g",
            "water is not known",
        ),
        (
            GOOD + '[own.ours]\nkind = "milk"\nper_100_g = { water = 88, fat = 30 }\n',
            "own.ours: per_100_g",
            "add up to 118.0 g",
        ),
        (
            GOOD + '[own.ours]\nkind = "milk"\nweighs = "1 cup 245 g"\n'
            "per_100_g = { water = 88, fat = 3 }\n",
            "own.ours: weighs",
            "1 cup = 245 g",
        ),
        (
            GOOD + '[bands.ours]\ndemand = [{ measure = "fat", basis = "as_fed", '
            'unit = "g/100 g", low = 7, high = 6 }]\n',
            "bands.ours: demand 1",
            "above the high end",
        ),
        (
            GOOD + '[bands.ours]\nlike = "ewes-milk"\ndemand = [{ measure = "fat", '
            'basis = "as_fed", unit = "g/100 g", low = 5, high = 6 }]\n',
            "bands.ours",
            "Did you mean ewe-milk",
        ),
        (
            GOOD + '[bands.ours]\ndemand = [{ measure = "solids", basis = "as_fed", '
            'unit = "g/100 g", low = 0, high = 19 }]\n',
            "bands.ours",
            "Demand a least amount of solids",
        ),
        (GOOD + '[recipes]\njug = "1 cup mlk"\n', "recipes.jug", "no food called"),
    ],
)
def test_each_fault_names_its_place_and_what_would_be_right(text, where, words):
    with pytest.raises(InputError) as caught:
        parse_pantry(text, "pantry.toml")
    told = str(caught.value)
    assert f"pantry.toml: {where}" in told
    assert words in told
    assert len(told.splitlines()) <= 2


def test_all_faults_are_reported_at_once():
    text = """
kitchn = "us"
currency = "usd"
[foods.whole-milk]
price = "x"
pakage = "1 gallon"
"""
    with pytest.raises(ManyFaults) as caught:
        parse_pantry(text)
    assert len(caught.value.faults) == 4
    later = """
prices_on = 2026-11-02
[foods.whole-mlk]
price = 1
package = "1 gallon"
[foods.heavy-cream]
price = 1
package = "1 gallom"
"""
    with pytest.raises(ManyFaults) as caught:
        parse_pantry(later)
    assert len(caught.value.faults) == 3  # the food, the unit and the currency


def test_broken_toml_names_line_and_column():
    with pytest.raises(InputError, match=r"line 3, column"):
        parse_pantry('currency = "USD"\n[foods.whole-milk]\nprice = = 3\n')


def test_files_that_cannot_be_read(tmp_path):
    def told(path):
        with pytest.raises(InputError) as caught:
            load_pantry(path)
        assert str(path) in str(caught.value)
        return str(caught.value)

    assert "no such file" in told(tmp_path / "none.toml")
    assert "folder" in told(tmp_path)
    (tmp_path / "binary").write_bytes(b"\x00\x01\x02")
    assert "binary" in told(tmp_path / "binary")
    (tmp_path / "latin").write_bytes('name = "café"'.encode("latin-1"))
    assert "line 1 is not UTF-8" in told(tmp_path / "latin")
    (tmp_path / "huge").write_bytes(b"#" * 3_000_000)
    assert "too large" in told(tmp_path / "huge")


def test_a_byte_order_mark_is_ignored(tmp_path):
    (tmp_path / "p.toml").write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert load_pantry(tmp_path / "p.toml").ids == ("whole-milk",)


LINES = GOOD.strip().splitlines()


@settings(max_examples=60)
@given(
    st.lists(
        st.one_of(st.sampled_from(LINES), st.text(max_size=30), st.sampled_from(["[own.x]", "["])),
        max_size=12,
    )
)
def test_any_text_is_read_or_rejected_with_a_message(lines):
    try:
        pantry = parse_pantry("\n".join(lines))
    except InputError as error:
        assert str(error)
        assert not re.search(r"Traceback", str(error))
    else:
        known = np.isfinite(pantry.shelf().price)  # a file may leave out all prices, not some
        assert known.all() or not known.any()
