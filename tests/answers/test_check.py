"""Checking a recipe: reads, standings, cost, and what is not known."""

import numpy as np
import pytest

from formulate.blend.mix import Status
from formulate.foods.bands import Standing
from formulate.foods.tables import band_set, food_table
from formulate.pantry.pantry import parse_pantry, sample_pantry
from formulate.pantry.reading import check
from formulate.pantry.recipe import parse_recipe


def checked(text, against="ewe-milk", pantry=None):
    table = pantry.table if pantry else food_table()
    return check(parse_recipe(text, table), band_set(against), pantry)


def reads(mix):
    return {(r.band.measure, r.band.basis): r for r in mix.reads}


def test_reads_are_the_weighted_means_of_the_table():
    mix = checked("300 g whole-milk + 100 g heavy-cream")
    fat = (300 * 3.25 + 100 * 36.08) / 400
    assert reads(mix)["fat", "as_fed"].value == pytest.approx(fat)
    assert mix.status is Status.CHECKED
    assert mix.certificate is None


def test_cost_comes_from_the_pantry_and_only_where_every_food_has_a_price():
    pantry = sample_pantry()
    mix = checked("1 gallon whole-milk + 1 quart heavy-cream", pantry=pantry)
    assert mix.cost == pytest.approx(3.89 + 6.49)
    assert checked("1 gallon whole-milk + 1 cup goat-milk", pantry=pantry).cost is None
    assert checked("1 gallon whole-milk").cost is None


def test_a_missing_value_is_reported_and_is_not_zero():
    # SR28 gives sheep's milk no vitamin E; an own cream has no sodium.
    pantry = parse_pantry(
        """
currency = "USD"
prices_on = 2026-11-02
[foods.our-powder]
price = 2
package = "1 kg"
[own.our-powder]
kind = "replacer-powder"
per_100_g = { water = 4, protein = 23, fat = 29, ash = 6 }
"""
    )
    mix = checked("200 g our-powder + 800 g water", "lamb-replacer", pantry)
    sodium = reads(mix)["sodium", "as_fed"]
    assert sodium.value is None
    assert sodium.standing is Standing.UNKNOWN
    assert sodium.lacks == ("our-powder",)
    assert sodium not in mix.misses


def test_a_ceiling_uses_the_upper_end_of_like_foods_and_marks_it():
    pantry = parse_pantry(
        """
currency = "USD"
prices_on = 2026-11-02
[foods.our-cream]
price = 2
package = "1 kg"
[own.our-cream]
kind = "cream"
per_100_g = { water = 58, protein = 2.5, fat = 36, ash = 0.5 }
"""
    )
    mix = checked("100 g our-cream + 900 g whole-milk", "lamb-replacer", pantry)
    sodium = reads(mix)["sodium", "as_fed"]
    creams = [f for f in food_table().values() if f.kind == "cream"]
    most = max(food.value("sodium") for food in creams)
    assert sodium.assumed == ("our-cream",)
    assert sodium.value == pytest.approx((100 * most + 900 * 43) / 1000)


def test_order_of_foods_changes_nothing():
    one = checked("1 cup whole-milk + 1 cup heavy-cream + 3 tbsp nonfat-dry-milk")
    other = checked("3 tbsp nonfat-dry-milk + 1 cup heavy-cream + 1 cup whole-milk")
    for a, b in zip(one.reads, other.reads, strict=True):
        assert a.standing is b.standing
        assert np.isclose(a.value, b.value, rtol=1e-12)
