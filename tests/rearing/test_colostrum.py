"""Colostrum first: amounts, deadlines, the order for a cold animal, and no mix instead."""

from dataclasses import replace
from datetime import datetime, time, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rearing_flocks import NOW, TODAY, lamb

from formulate.rearing.colostrum import colostrum_plan, is_newborn
from formulate.rearing.flock import ColostrumHad, MilkHad, Species

NEWBORN = lamb(age=0, birth=4.0, hour=time(9))
GAP = timedelta(hours=3)


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
    assert plan.every == 5.25
    assert plan.by_early == (180 * 4.0, datetime(2026, 11, 15, 3))
    assert plan.first_by == datetime(2026, 11, 14, 11)
    assert plan.first_latest == datetime(2026, 11, 14, 15)
    assert not plan.overdue


@given(
    st.floats(0.8, 8),
    st.lists(st.floats(1, 400), max_size=8),
    st.integers(0, 24 * 60 - 1),
    st.sampled_from([0.0, 10.0, 14.787]),
    st.booleans(),
)
def test_feeds_stay_under_the_cap_and_three_hours_apart_and_the_rest_is_said(
    weight, amounts, minutes, step, cold_wet
):
    animal = had(replace(NEWBORN, birth_weight=weight), *amounts)
    now = datetime(2026, 11, 14, 9) + timedelta(minutes=minutes)
    plan = colostrum_plan(animal, now, cold_wet, step)
    drunk = [one.at for one in animal.colostrum if one.at <= now]
    moments = [*drunk[-1:], *plan.times]
    assert all(b - a >= GAP for a, b in pairwise(moments))
    assert all(now <= at < plan.until for at in plan.times)
    assert plan.next_feed <= plan.per_feed + 1e-6
    assert plan.feeds * plan.next_feed + plan.lost >= plan.left - 5 - 1e-6
    assert plan.feeds * plan.next_feed <= plan.left + step * plan.feeds + 1e-6
    assert 0 <= plan.left <= plan.total


def test_feeds_are_whole_quarters_of_an_hour_apart():
    """Four feeds in 19 h 59 min: rounded down, since an earlier feed is the safer one."""
    plan = colostrum_plan(had(NEWBORN, 100, 100), NOW, cold_wet=True)
    hours = [f"{at:%H:%M}" for at in plan.times]
    assert hours == ["13:01", "17:46", "22:31", "03:16"]


def test_what_no_longer_fits_the_first_day_is_dropped_and_said():
    late = datetime(2026, 11, 15, 6)  # 21 hours old
    plan = colostrum_plan(had(NEWBORN, 100), late)
    assert plan.times == (late,)
    assert plan.next_feed == 200
    assert plan.lost == 800 - 100 - 200
    young = colostrum_plan(had(NEWBORN, 100), NOW)
    assert young.lost == 0


@pytest.mark.parametrize(
    ("fed", "first"), [(time(12), time(15)), (time(9, 1), time(12, 1)), (time(9), time(12))]
)
def test_the_next_feed_waits_three_hours_for_milk_too(fed, first):
    animal = replace(NEWBORN, milk=(MilkHad(datetime.combine(TODAY, fed), 50.0),))
    assert colostrum_plan(animal, NOW).times[0] == datetime.combine(TODAY, first)


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


def test_a_first_day_lasts_24_hours():
    until = datetime(2026, 11, 15, 9)
    assert is_newborn(NEWBORN, until - timedelta(minutes=1))
    assert not is_newborn(NEWBORN, until)
    assert not is_newborn(lamb(age=5), NOW)


def test_kids_have_their_own_early_amount():
    plan = colostrum_plan(replace(NEWBORN, species=Species.KID), NOW)
    assert plan.by_early[0] == 100 * 4.0
    assert plan.by_early[1] == datetime.combine(TODAY, time(21))
