"""Temperatures at any age: warmed before fed, and fed again only when something later says so."""

from dataclasses import replace
from datetime import datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rearing_flocks import NOW, lamb

from formulate.rearing.flock import How, Seen, TemperatureRead
from formulate.rearing.warmth import WarmthState, can_swallow, warmth_of

HOUR = timedelta(hours=1)
NEWBORN = lamb(age=0, birth=4.0, hour=time(9))  # three hours old at noon
OLDER = lamb(age=2, birth=4.0, weight=4.2, hour=time(9))


def read(animal, *readings):
    """Temperatures, so many hours ago; None: without a time."""
    found = [TemperatureRead(None if ago is None else NOW - ago * HOUR, c) for ago, c in readings]
    return replace(animal, temperatures=tuple(found))


def seen(animal, how, ago):
    return replace(animal, seen=(*animal.seen, Seen(NOW - ago * HOUR, how)))


@pytest.mark.parametrize("animal", [NEWBORN, OLDER])
@pytest.mark.parametrize(
    ("celsius", "state", "may_feed"),
    [(36.9, "cold", False), (37.0, "cool", True), (38.9, "cool", True), (39.0, "normal", True),
     (40.5, "normal", True), (40.6, "fever", True)],
)  # fmt: skip
def test_states_by_the_last_reading(animal, celsius, state, may_feed):
    found = warmth_of(read(animal, (1, celsius)), NOW)
    assert (found.state, found.may_feed) == (state, may_feed)
    assert found.veterinarian is (state in ("cold", "fever"))


def test_a_lamb_of_two_days_at_35_is_not_fed_but_given_sugar_before_it_is_warmed():
    steps = warmth_of(read(OLDER, (1, 35.0)), NOW).steps
    assert "35.0 °C" in steps[0]
    assert "Do not feed it, by bottle or by tube" in steps[0]
    assert "sugar first" in steps[1]
    assert "veterinarian" in steps[1]
    assert "warm it" in steps[2]
    assert "37 °C or more" in steps[3]


def test_sugar_is_told_from_five_hours_on_also_where_no_temperature_was_taken():
    young, older = NEWBORN, replace(NEWBORN, hour=time(6))
    for animal, sugar in ((young, False), (older, True)):
        for known in (animal, read(animal, (1, 36.0))):
            steps = " ".join(warmth_of(known, NOW).steps)
            assert ("sugar first" in steps) is sugar
    unknown = replace(NEWBORN, hour=None)  # it may be as old as the day
    assert "sugar first" in " ".join(warmth_of(unknown, NOW).steps)


def test_nothing_is_asked_of_an_older_animal_that_nobody_measured():
    found = warmth_of(OLDER, NOW)
    assert (found.state, found.may_feed, found.steps) == (WarmthState.NOT_TAKEN, True, ())
    newborn = warmth_of(NEWBORN, NOW)
    assert newborn.may_feed is None
    assert "Take its temperature" in newborn.steps[0]


def test_feeding_resumes_with_a_later_reading_or_the_veterinarians_word():
    cold = read(OLDER, (3, 35.0))
    assert warmth_of(read(OLDER, (3, 35.0), (1, 37.0)), NOW).may_feed
    assert not warmth_of(read(OLDER, (3, 37.5), (1, 35.0)), NOW).may_feed
    assert not warmth_of(seen(cold, How.VETERINARIAN, 4), NOW).may_feed  # said before the reading
    assert not warmth_of(seen(cold, How.SWALLOWS, 1), NOW).may_feed
    allowed = warmth_of(seen(cold, How.VETERINARIAN, 1), NOW)
    assert (allowed.state, allowed.may_feed) == (WarmthState.CLEARED, True)
    again = read(seen(cold, How.VETERINARIAN, 1), (3, 35.0), (0.5, 36.0))
    assert not warmth_of(again, NOW).may_feed


@pytest.mark.parametrize(("hours", "asked"), [(6, False), (6.1, True), (23, True)])
@pytest.mark.parametrize("celsius", [35.0, 38.0, 39.5, 41.0])
def test_a_reading_of_more_than_six_hours_ago_asks_for_another(hours, asked, celsius):
    found = warmth_of(read(OLDER, (hours, celsius)), NOW)
    assert any("Take it again" in step for step in found.steps) is asked
    assert found.stale is asked


def test_an_ordinary_reading_of_days_ago_is_forgotten_but_a_cold_one_is_not():
    assert warmth_of(read(OLDER, (25, 39.5)), NOW).steps == ()
    assert warmth_of(read(OLDER, (25, 36.0)), NOW).may_feed is False


def test_a_temperature_without_a_time_asks_when_and_is_not_relied_on():
    found = warmth_of(read(OLDER, (None, 39.2)), NOW)
    assert (found.state, found.may_feed) == (WarmthState.UNTIMED, None)
    assert "not when it was taken" in found.steps[0]
    assert warmth_of(read(OLDER, (None, 36.0)), NOW).may_feed is False
    assert warmth_of(read(OLDER, (None, 36.0), (1, 38.0)), NOW).may_feed is True


def test_what_is_still_to_come_is_not_known():
    assert warmth_of(read(OLDER, (-1, 35.0)), NOW).may_feed is True


def test_one_that_cannot_swallow_is_not_fed_until_it_swallows():
    weak = seen(OLDER, How.WEAK, 3)
    assert can_swallow(OLDER, NOW)
    assert not can_swallow(weak, NOW)
    assert can_swallow(seen(weak, How.SWALLOWS, 1), NOW)
    assert can_swallow(seen(weak, How.VETERINARIAN, 1), NOW)
    assert can_swallow(weak, NOW - 4 * HOUR)


@given(
    st.lists(st.tuples(st.floats(0, 40), st.floats(30, 43)), max_size=6),
    st.lists(st.tuples(st.floats(0, 40), st.sampled_from(How)), max_size=4),
)
def test_below_37_nothing_but_a_later_word_lets_it_be_fed(readings, words):
    animal = read(OLDER, *sorted(readings, reverse=True))
    for ago, how in sorted(words, key=lambda word: -word[0]):
        animal = seen(animal, how, ago)
    found = warmth_of(animal, NOW)
    if animal.temperatures and animal.temperatures[-1].celsius < 37:
        after = [s for s in animal.seen if s.at >= animal.temperatures[-1].at]
        assert found.may_feed is any(s.how is How.VETERINARIAN for s in after)
        assert found.may_feed or found.veterinarian
    else:
        assert found.may_feed is True


def test_the_hour_of_birth_is_read_as_the_earliest_where_it_is_not_known():
    animal = replace(NEWBORN, hour=None)
    early = datetime.combine(animal.born, time(5, 30))
    assert "sugar first" in " ".join(warmth_of(animal, early).steps)
