"""Colostrum first: amounts, deadlines, the order for a cold animal, and no mix instead."""

from dataclasses import replace
from datetime import datetime, time

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rearing_flocks import NOW, TODAY, lamb

from formulate.base.errors import InputError
from formulate.rearing.colostrum import (
    colostrum_plan,
    is_newborn,
    refuse_as_colostrum,
    warmth,
)
from formulate.rearing.flock import ColostrumHad, Species

NEWBORN = lamb(age=0, birth=4.0, hour=time(9), temperature=39.5)


def had(animal, *amounts, what="own ewe"):
    drunk = tuple(
        ColostrumHad(datetime(2026, 11, 14, 10, n), a, what) for n, a in enumerate(amounts)
    )
    return replace(animal, colostrum=drunk)


def test_amounts_follow_weight():
    plan = colostrum_plan(NEWBORN, NOW)
    assert plan.per_feed == 50 * 4.0
    assert plan.total == 200 * 4.0
    assert plan.feeds == 4
    assert plan.next_feed == 200
    assert plan.by_early == (180 * 4.0, datetime(2026, 11, 15, 3))
    assert plan.first_by == datetime(2026, 11, 14, 11)
    assert plan.first_latest == datetime(2026, 11, 14, 15)
    assert not plan.overdue


@given(st.floats(0.8, 8), st.lists(st.floats(1, 400), max_size=8), st.integers(0, 23))
def test_no_feed_is_above_the_cap_and_feeds_reach_the_total(weight, amounts, hours):
    animal = had(replace(NEWBORN, birth_weight=weight), *amounts)
    plan = colostrum_plan(animal, datetime(2026, 11, 14, 9).replace(hour=max(9, hours)))
    assert plan.next_feed <= plan.per_feed + 1e-6
    assert plan.next_feed * plan.feeds == pytest.approx(plan.left, abs=1e-6)
    assert 0 <= plan.left <= plan.total


def test_cows_counts_for_less_and_cold_wind_asks_more_feeds_of_the_same_size():
    own, cow = (colostrum_plan(had(NEWBORN, 260, what=w), NOW) for w in ("own ewe", "cow"))
    assert own.had == 260
    assert cow.had == pytest.approx(200)
    windy = colostrum_plan(NEWBORN, NOW, cold_wet=True)
    assert windy.total == pytest.approx(1.2 * 800)
    assert windy.per_feed == 200
    assert windy.feeds == 5


def test_nothing_drunk_after_six_hours_is_overdue():
    late = NOW.replace(hour=15, minute=1)
    assert colostrum_plan(NEWBORN, late).overdue
    assert not colostrum_plan(had(NEWBORN, 100), late).overdue


def test_an_unknown_hour_is_read_strictly_both_ways():
    animal = lamb(age=0, birth=4.0, hour=None)
    plan = colostrum_plan(animal, NOW)
    assert plan.first_by == datetime(2026, 11, 14, 2)  # as if born at midnight
    assert plan.until == datetime(2026, 11, 15, 23, 59)  # as if born at its end
    assert not plan.hour_known


def test_below_37_warming_comes_before_feeding_and_injections_are_the_veterinarians():
    young, older = warmth(36.2, 3), warmth(36.2, 8)
    for cold in (young, older):
        assert cold.state == "cold"
        assert cold.may_feed is False
        assert cold.veterinarian
        assert cold.steps[0].startswith("Do not feed it yet")
        feed = next(i for i, s in enumerate(cold.steps) if "feed colostrum" in s)
        warm = next(i for i, s in enumerate(cold.steps) if "warm it in" in s)
        assert warm < feed
    assert not any("injection" in s for s in young.steps)
    (glucose,) = (s for s in older.steps if "injection" in s)
    assert "veterinarian" in glucose


@pytest.mark.parametrize(
    ("temperature", "state", "may_feed"),
    [(36.9, "cold", False), (37.0, "cool", True), (39.0, "normal", True), (40.0, "normal", True),
     (40.1, "fever", True), (None, "not taken", None)],
)  # fmt: skip
def test_states_of_warmth(temperature, state, may_feed):
    found = warmth(temperature, 2)
    assert (found.state, found.may_feed) == (state, may_feed)


def test_a_mix_is_refused_until_24_hours_are_over():
    until = datetime(2026, 11, 15, 9)
    for moment in (NOW, until.replace(hour=8, minute=59)):
        assert is_newborn(NEWBORN, moment)
        with pytest.raises(InputError, match="no mix replaces it"):
            refuse_as_colostrum(NEWBORN, moment)
    refuse_as_colostrum(NEWBORN, until)
    assert not is_newborn(lamb(age=5), NOW)


def test_kids_have_their_own_early_amount():
    plan = colostrum_plan(replace(NEWBORN, species=Species.KID), NOW)
    assert plan.by_early[0] == 100 * 4.0
    assert plan.by_early[1] == datetime.combine(TODAY, time(21))
