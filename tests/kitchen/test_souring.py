"""Soured milk: its pH against published buttermilk and yogurt, and where it curdles."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.answers.cautions import cautions_for
from formulate.base.units import Kitchen
from formulate.blend.mix import Mix
from formulate.foods.tables import band_set, food_table, sources
from formulate.kitchen.souring import (
    EITHER_WAY,
    curdling_onset,
    ph_of_acid,
    souring_of,
    was_heated,
)
from formulate.pantry.reading import check
from formulate.pantry.recipe import parse_recipe

TABLE = food_table()


def mix_of(text: str) -> Mix:
    return check(parse_recipe(text, TABLE, Kitchen.US), band_set("lamb-replacer"))


def ph(text: str) -> float:
    return souring_of(mix_of(text)).ph


def told(text: str) -> set[str]:
    return {caution.id for caution in cautions_for(mix_of(text))}


#: pH seen, and titratable acidity [%], of which milk's own is 0.16 to 0.17: buttermilk (Dairy
#: Ingredients for Food Processing, p. 443) and yogurts (PMC5448425, table 2).
SEEN = [
    (4.50, 0.83), (4.50, 0.87), (4.58, 0.83), (4.54, 0.83), (4.36, 1.01), (4.23, 1.07),
    (4.19, 1.16), (4.15, 1.20), (4.07, 1.26),
]  # fmt: skip
#: Three yogurts of the same table that lie apart from the others.
OUTLIERS = [(4.50, 1.01), (4.42, 1.11), (4.27, 1.22)]


class TestCurve:
    @pytest.mark.parametrize(("seen", "acidity"), SEEN)
    def test_published_buttermilk_and_yogurt(self, seen, acidity):
        assert ph_of_acid((acidity - 0.165) / 3.3) == pytest.approx(seen, abs=0.1)

    @pytest.mark.parametrize(("seen", "acidity"), OUTLIERS)
    def test_three_yogurts_lie_within_three_tenths(self, seen, acidity):
        assert ph_of_acid((acidity - 0.165) / 3.3) == pytest.approx(seen, abs=0.3)

    @given(st.floats(0, 1), st.floats(0, 1))
    def test_more_acid_is_never_less_sour(self, one, other):
        low, high = sorted((one, other))
        assert ph_of_acid(high) <= ph_of_acid(low)
        assert 4.0 <= ph_of_acid(high) <= 6.6

    def test_fresh_milk(self):
        assert ph_of_acid(0) == 6.6


class TestMixes:
    @pytest.mark.parametrize(
        ("text", "low", "high"),
        [
            ("1 cup whole-buttermilk", 4.4, 4.6),
            ("3 cups whole-buttermilk + 1 cup whole-milk", 4.7, 4.9),
            ("1 cup whole-buttermilk + 1 cup whole-milk", 5.1, 5.4),
            ("1 cup whole-buttermilk + 3 cups whole-milk", 5.6, 5.9),
            ("1 tbsp whole-yogurt + 500 mL whole-milk", 6.4, 6.6),
            ("1 cup whole-yogurt + 7 cups whole-milk", 5.9, 6.2),
        ],
    )
    def test_blends_as_they_were_reckoned_by_hand(self, text, low, high):
        assert low <= ph(text) <= high

    def test_water_does_not_change_it(self):
        """Water thins the acid and what binds it alike."""
        mix = "1 cup lowfat-buttermilk + 2 cups whole-milk"
        assert ph(f"{mix} + 3 cups water") == pytest.approx(ph(mix), abs=0.01)

    def test_a_stronger_milk_takes_more_acid(self):
        assert ph("1 cup lowfat-buttermilk + 3 cups evaporated-milk") > ph(
            "1 cup lowfat-buttermilk + 3 cups whole-milk"
        )

    def test_the_size_of_a_batch_does_not_matter(self):
        one, many = (
            "1 cup lowfat-buttermilk + 1 cup whole-milk",
            "9 L lowfat-buttermilk + 9 L whole-milk",
        )
        assert ph(one) == pytest.approx(ph(many), abs=0.02)

    def test_without_soured_food_there_is_nothing_to_tell(self):
        assert souring_of(mix_of("1 quart whole-milk + 1 can evaporated-milk")) is None

    def test_no_blend_short_of_nine_tenths_is_acidified(self):
        for share in range(1, 9):
            text = f"{share} cups whole-buttermilk + {10 - share} cups whole-milk"
            assert ph(text) > 4.6


class TestOnset:
    @pytest.mark.parametrize(("celsius", "seen"), [(25, 5.1), (47, 5.8)])
    def test_the_two_published_temperatures(self, celsius, seen):
        """Bringe & Kinsella 1993."""
        assert curdling_onset(celsius, 0) == pytest.approx(seen, abs=0.01)

    def test_at_the_temperature_of_feeding(self):
        assert curdling_onset(39, 0) == pytest.approx(5.55, abs=0.005)
        assert curdling_onset(39, 1) == pytest.approx(5.95, abs=0.005)

    def test_of_a_mix_it_lies_by_the_protein_between_the_two(self):
        fresh = souring_of(mix_of("1 cup lowfat-buttermilk + 3 cups whole-milk"))
        canned = souring_of(mix_of("1 tbsp lowfat-buttermilk + 3 cups evaporated-milk"))
        half = souring_of(
            mix_of("1 tbsp lowfat-buttermilk + 2 cups evaporated-milk + 4 cups whole-milk")
        )
        assert fresh.onset == pytest.approx(5.548)
        assert canned.onset == pytest.approx(5.948, abs=0.01)
        assert fresh.onset < half.onset < canned.onset

    @pytest.mark.parametrize(
        ("food", "heated"),
        [("whole-milk", False), ("evaporated-milk", True), ("nonfat-dry-milk", True),
         ("lowfat-buttermilk", False), ("heavy-cream", False)],
    )  # fmt: skip
    def test_which_milk_was_heated(self, food, heated):
        assert was_heated(TABLE[food]) is heated


class TestCautions:
    def test_half_buttermilk_curdles(self):
        assert "curdles" in told("1 quart whole-milk + 1 quart whole-buttermilk")

    def test_a_quarter_may(self):
        found = told("3 cups whole-milk + 1 cup whole-buttermilk")
        assert "may-curdle" in found
        assert "curdles" not in found

    def test_a_quarter_in_canned_milk_is_worse(self):
        """Its onset is 0.4 higher."""
        one = souring_of(mix_of("3 cups evaporated-milk + 3 cups water + 2 cups whole-buttermilk"))
        assert one.past_onset > -EITHER_WAY

    def test_a_spoon_is_a_starter_and_does_not_curdle(self):
        found = told("500 mL whole-milk + 1 tbsp whole-yogurt")
        assert {"curdles", "may-curdle"}.isdisjoint(found)
        assert {"not-acidified", "soured-bloat"} <= found

    def test_pure_buttermilk_is_acidified(self):
        found = told("1 cup lowfat-buttermilk")
        assert "not-acidified" not in found
        assert "curdles" in found

    def test_fresh_milk_is_told_nothing_of_it(self):
        assert {"curdles", "may-curdle", "not-acidified", "soured-bloat"}.isdisjoint(
            told("1 quart whole-milk")
        )

    def test_the_two_say_how_sure_they_are_and_what_to_do(self):
        for text in (
            "1 cup whole-milk + 1 cup whole-buttermilk",
            "3 cups whole-milk + 1 cup whole-buttermilk",
        ):
            caution = next(c for c in cautions_for(mix_of(text)) if "curdle" in c.id)
            assert "give or take 0.2" in caution.text
            assert "Try a cupful first" in caution.text
            assert caution.source in sources()

    @given(st.integers(0, 40), st.integers(1, 40))
    def test_more_buttermilk_is_never_farther_from_curdling(self, buttermilk, milk):
        less = f"{milk} cups whole-milk + {buttermilk + 1} cups lowfat-buttermilk"
        more = f"{milk} cups whole-milk + {buttermilk + 2} cups lowfat-buttermilk"
        assert souring_of(mix_of(more)).past_onset >= souring_of(mix_of(less)).past_onset - 1e-9
        assert np.isfinite(souring_of(mix_of(more)).past_onset)
