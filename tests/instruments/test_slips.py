"""Slips: the one that was made is the one that is named."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.foods.tables import food_table
from formulate.instruments import Instrument, Reading
from formulate.instruments.diagnosis import SlipKind, find_slips
from formulate.instruments.hold import Bench
from formulate.pantry.pantry import sample_pantry
from formulate.pantry.recipe import parse_recipe
from formulate.report.instruments_text import instruments_lines, slip_words

MIX = "7 1/2 cups whole-milk + 6 tbsp heavy-cream + 9 tbsp nonfat-dry-milk"
JUG = "2 quarts whole-milk + 1 can evaporated-milk + 2 cups lowfat-buttermilk"
#: Instruments; what they read does not matter here.
BLANK = (
    Reading(Instrument.BRIX, 12.0),
    Reading(Instrument.WEIGHING, 1030.0, volume=1000.0, words="1 L"),
    Reading(Instrument.FREEZING_POINT, -0.55),
)


def recipe_of(text):
    return parse_recipe(text, food_table())


def brix(value):
    return Reading(Instrument.BRIX, value)


def exact(text, foods, grams):
    """What the three instruments read of some amounts, without an error."""
    recipe = recipe_of(text)
    written = np.zeros(len(foods))
    written[: len(recipe.grams)] = recipe.grams
    values = Bench(foods, written, BLANK).foretell(grams[None, :]).values[0]
    return [
        Reading(r.instrument, float(v), volume=r.volume, words=r.words)
        for r, v in zip(BLANK, values, strict=True)
        if _taken(r.instrument, v)
    ]


def _taken(instrument, value):
    low, high = {
        Instrument.BRIX: (1, 35),
        Instrument.FREEZING_POINT: (-1.5, -0.1),
        Instrument.WEIGHING: (850, 1250),
    }[instrument]
    return low <= value <= high


@st.composite
def planted(draw):
    """A recipe of two to five foods and one of its slips, by number."""
    parts = [f"{draw(st.integers(3, 16))} cups whole-milk"]
    others = draw(
        st.lists(
            st.sampled_from(
                [
                    "6 tbsp heavy-cream",
                    "9 tbsp nonfat-dry-milk",
                    "1 can evaporated-milk",
                    "2 cups lowfat-buttermilk",
                    "1/2 cup dry-whole-milk",
                    "3 cups water",
                ]
            ),
            min_size=1,
            max_size=4,
            unique=True,
        )
    )
    return " + ".join([*parts, *others]), draw(st.integers(0, 10_000))


@given(planted())
def test_a_planted_slip_is_named_first_when_brix_weight_and_freezing_point_are_exact(job):
    text, number = job
    blank = find_slips(recipe_of(text), BLANK)
    choices = [slip for slip in blank.slips if slip.free == 0]
    slip = choices[number % len(choices)]
    readings = exact(text, blank.foods, slip.grams)
    if len(readings) < 3:  # hardly any milk left in it: no instrument reads it
        return
    found = find_slips(recipe_of(text), readings)
    first = found.slips[0]
    assert first.chi_square < 1e-6
    ties = [s for s in found.slips if s.score < first.score + 1e-6]
    assert any(np.allclose(s.grams, slip.grams) for s in ties)
    assert first.explains


@given(planted(), st.integers(1, 12))
def test_planted_water_is_found_to_the_measure(job, quarters):
    text, _ = job
    blank = find_slips(recipe_of(text), BLANK)
    j = [food.id for food in blank.foods].index("water")
    grams = np.zeros(len(blank.foods))
    recipe = recipe_of(text)
    grams[: len(recipe.grams)] = recipe.grams
    if grams.sum() < 1000:
        return
    grams[j] += quarters * food_table()["water"].density * 236.5882365 / 4
    found = find_slips(recipe, exact(text, blank.foods, grams))
    exactly = [slip for slip in found.slips if slip.chi_square < 1e-6]
    assert any(np.allclose(slip.grams, grams) for slip in exactly)
    # It has an amount to choose and is charged for it: what stands before it fits nearly as well.
    place = next(k for k, s in enumerate(found.slips) if np.allclose(s.grams, grams))
    assert all(slip.chi_square <= 2 for slip in found.slips[:place])


@given(planted())
def test_nothing_slipped_and_everything_agrees(job):
    text, _ = job
    blank = find_slips(recipe_of(text), BLANK)
    written = np.zeros(len(blank.foods))
    recipe = recipe_of(text)
    written[: len(recipe.grams)] = recipe.grams
    found = find_slips(recipe, exact(text, blank.foods, written))
    assert found.agrees
    assert found.chi_square == pytest.approx(0, abs=1e-9)
    assert not found.likely
    assert "Nothing points to a mistake." in instruments_lines(found)


@given(planted())
def test_each_slip_stands_once_is_another_mix_and_is_not_empty(job):
    text, _ = job
    found = find_slips(recipe_of(text), BLANK)
    written = np.zeros(len(found.foods))
    written[: len(recipe_of(text).grams)] = recipe_of(text).grams
    for k, slip in enumerate(found.slips):
        assert (slip.grams >= 0).all()
        assert slip.grams.sum() > 0
        share = slip.grams / slip.grams.sum()
        assert not np.allclose(share, written / written.sum(), atol=1e-12)
        assert not any(np.allclose(slip.grams, other.grams) for other in found.slips[:k])


def test_every_food_is_left_out_doubled_and_a_measure_off():
    found = find_slips(recipe_of(MIX), BLANK)
    kinds = {(slip.kind, slip.food) for slip in found.slips}
    for food in ("whole-milk", "heavy-cream", "nonfat-dry-milk"):
        for kind in (SlipKind.LEFT_OUT, SlipKind.DOUBLED, SlipKind.MORE, SlipKind.LESS):
            assert (kind, food) in kinds
    amounts = {slip.amount for slip in found.slips if slip.food == "whole-milk" and slip.amount}
    assert amounts == {"1 cup", "1/4 cup"}  # one of those the recipe counts, and a measure
    assert (SlipKind.WATER, "water") in kinds


def test_the_sample_mix_at_brix_11_lacks_its_powder():
    found = find_slips(recipe_of(MIX), [brix(11.0)])
    assert not found.agrees
    assert slip_words(found.slips[0]) == "the nonfat dry milk was left out"
    assert found.slips[0].would_read[0] == pytest.approx(11.3, abs=0.05)


def test_sweetened_cans_are_told_from_evaporated_ones_and_are_not_fed():
    blank = find_slips(recipe_of(JUG), BLANK)
    swapped = next(s for s in blank.slips if s.taken == "sweetened-condensed-milk")
    ids = [food.id for food in blank.foods]
    # A can for a can, though the other is smaller.
    can = food_table()["sweetened-condensed-milk"].counts()["can"]
    assert swapped.grams[ids.index("sweetened-condensed-milk")] == pytest.approx(can)
    assert swapped.grams[ids.index("evaporated-milk")] == 0
    found = find_slips(recipe_of(JUG), exact(JUG, blank.foods, swapped.grams))
    assert found.slips[0].taken == "sweetened-condensed-milk"
    assert "Do not feed it." in " ".join("\n".join(instruments_lines(found)).split())


def test_instant_powder_by_the_cup_is_half_the_powder():
    found = find_slips(recipe_of(MIX), BLANK)
    swapped = next(s for s in found.slips if s.taken == "instant-nonfat-dry-milk")
    ids = [food.id for food in found.foods]
    assert swapped.grams[ids.index("instant-nonfat-dry-milk")] == pytest.approx(9 * 68 / 16)


def test_water_fits_one_reading_and_is_charged_for_it():
    found = find_slips(recipe_of(MIX), [brix(12.3)])
    water = next(s for s in found.slips if s.kind is SlipKind.WATER)
    assert water.chi_square < 0.1
    assert water.score == water.chi_square + 2


def test_thinner_readings_mean_more_water():
    amounts = []
    for value in (13.0, 12.0, 11.0, 10.0):
        found = find_slips(recipe_of(MIX), [brix(value)])
        water = next(s for s in found.slips if s.kind is SlipKind.WATER)
        amounts.append(water.grams.sum())
    assert amounts == sorted(amounts)
    assert len(set(amounts)) == 4


def test_a_food_alone_can_only_be_watered_or_taken_for_another():
    found = find_slips(recipe_of("1 gallon whole-milk"), [brix(8.0)])
    assert {slip.kind for slip in found.slips} == {SlipKind.WATER, SlipKind.SWAPPED}


def test_what_no_slip_explains_is_said():
    readings = [brix(20.0), Reading(Instrument.FREEZING_POINT, -0.5)]
    found = find_slips(recipe_of(MIX), readings)
    assert not found.likely
    lines = instruments_lines(found)
    assert "No single mistake explains this." in lines
    assert not any("likeliest" in line for line in lines)


def test_agreement_tells_what_it_cannot_rule_out():
    found = find_slips(recipe_of(MIX), [brix(14.1)])
    text = "\n".join(instruments_lines(found))
    assert "up to 1/2 cup of water got in" in text
    assert "the heavy cream was left out" in text
    assert "the nonfat dry milk was left out" not in text  # that would show


def test_weights_only_recipes_and_foods_without_a_cup_weight_work():
    assert find_slips(recipe_of("2000 g whole-milk + 60 g nonfat-dry-milk"), BLANK).slips
    pantry = sample_pantry()
    recipe = parse_recipe("200 g bagged-lamb-powder + 800 mL water", pantry.table)
    found = find_slips(recipe, [brix(9.0)])
    assert ("less", "bagged-lamb-powder") in {(s.kind.value, s.food) for s in found.slips}


def test_a_very_large_batch_is_as_quick():
    found = find_slips(recipe_of("2000 gallons whole-milk + 100 lb nonfat-dry-milk"), [brix(8.0)])
    assert found.slips[0].explains


def test_the_same_every_time():
    one, other = (find_slips(recipe_of(JUG), BLANK) for _ in range(2))
    assert [slip_words(s) for s in one.slips] == [slip_words(s) for s in other.slips]
    assert [s.score for s in one.slips] == [s.score for s in other.slips]
