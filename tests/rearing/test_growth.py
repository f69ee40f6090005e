"""Growth checks: alarms with reasons, each where it should ring and nowhere else."""

from dataclasses import replace
from datetime import datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rearing_flocks import NOW, STRONG, TODAY, flock, lamb

from formulate.foods.tables import sources
from formulate.rearing.feeding import plan_feeds
from formulate.rearing.flock import MilkHad, Weighing
from formulate.rearing.growth import check_growth, veterinary_signs
from formulate.rearing.prediction import gain_sd


def on(days_ago, kilograms):
    return Weighing(TODAY - timedelta(days=days_ago), kilograms)


def checked(*weighings, milk=(), strength=STRONG, age=20):
    animal = replace(lamb(age=age, birth=4.0), weighings=weighings, milk=milk)
    plan = plan_feeds(flock(animal), strength, NOW)
    return check_growth(plan, NOW)[0]


def alarms(*weighings, **more):
    return [alarm.id for alarm in checked(*weighings, **more).alarms]


def feeds(litres, days=7):
    """Logged feeds of every day of the last week, four a day."""
    return tuple(
        MilkHad(datetime.combine(TODAY - timedelta(days=d), time(h)), litres * 250)
        for d in range(days, 0, -1)
        for h in (6, 12, 18, 22)
    )


@pytest.mark.parametrize(
    ("now", "alarm"),
    [
        (4.8, "loss"),
        (5.05, "stall"),
        (5.5, "slow"),
        (6.0, None),
        (6.6, None),  # 229 g a day: it thrives
        (7.1, None),
        (7.25, "fast"),  # 300 and 321 g a day: trials found up to 311
    ],
)
def test_alarms_on_a_week_of_planned_milk(now, alarm):
    found = alarms(on(7, 5.0), on(0, now))
    assert found == ([alarm] if alarm else [])


def test_what_was_logged_is_held_against_growth():
    plenty = checked(on(7, 5.0), on(0, 6.4), milk=feeds(1.15))
    assert plenty.stretches[-1].logged
    assert plenty.stretches[-1].litres == pytest.approx(1.15)
    assert not plenty.alarms
    assert alarms(on(7, 5.0), on(0, 5.4), milk=feeds(0.7)) == ["too-little-milk"]
    assert alarms(on(7, 5.0), on(0, 5.0), milk=feeds(0.4)) == ["stall", "below-keep"]


def test_a_day_without_a_logged_feed_makes_the_log_no_record():
    found = checked(on(7, 5.0), on(0, 6.0), milk=feeds(1.0, days=6))
    assert not found.stretches[-1].logged


def test_a_milk_too_weak_is_an_alarm():
    weak = replace(STRONG, energy=1.2)
    assert "mix-too-weak" in alarms(on(7, 5.0), on(0, 5.1), strength=weak)


def test_an_old_weight_and_a_single_one():
    assert "weigh-it" in alarms(on(18, 4.3), on(11, 5.2))
    one = lamb(age=8, weight=5.0, birth=None)
    found = check_growth(plan_feeds(flock(one), STRONG, NOW), NOW)[0]
    assert [a.id for a in found.alarms] == ["one-weight"]
    young = lamb(age=0, birth=4.0)
    assert not check_growth(plan_feeds(flock(young), STRONG, NOW), NOW)[0].alarms


@given(st.floats(4, 9), st.integers(3, 14), st.floats(0, 1))
def test_growth_from_a_standard_deviation_below_the_forecast_up_never_alarms(weight, days, place):
    start = on(days, weight)
    expected = checked(start, on(0, weight)).stretches[-1].expected
    _, middle, high = expected
    low = max(middle - 0.99 * gain_sd(days), 0.051)
    gain = low + place * (high - low)
    found = alarms(start, on(0, weight + gain * days))
    assert not {"loss", "slow", "fast"} & set(found)


def test_what_is_told_has_words_and_a_source():
    for weighings in ((5.0, 4.5), (5.0, 5.05), (5.0, 5.4), (5.0, 7.5)):
        for alarm in checked(on(7, weighings[0]), on(0, weighings[1])).alarms:
            assert "{" not in alarm.text
            assert alarm.look
            assert alarm.source in sources()
    assert len(veterinary_signs().look) >= 6
    assert any(alarm.veterinarian for alarm in checked(on(7, 5.0), on(0, 4.5)).alarms)


def test_milk_for_a_kilogram_of_gain():
    stretch = checked(on(7, 5.0), on(0, 6.05)).stretches[-1]
    assert stretch.litres_per_kilogram == pytest.approx(stretch.litres / 0.15)
    assert checked(on(7, 5.0), on(0, 5.0)).stretches[-1].litres_per_kilogram == float("inf")
