"""The clock on the wall: years that can be meant, zones refused, an hour that happens twice."""

from __future__ import annotations

import time as clock
from datetime import UTC, date, datetime, time, timedelta, timezone

import pytest

from formulate.base.errors import InputError
from formulate.base.moments import (
    day_and_hour,
    is_later,
    known_year,
    local,
    over,
    parse_clock,
    parse_day,
    passed,
)


@pytest.fixture
def berlin(monkeypatch):
    """Where the clock went back from 03:00 to 02:00 on 25 October 2026."""
    monkeypatch.setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3")
    clock.tzset()
    yield
    monkeypatch.undo()
    clock.tzset()


BACK = datetime(2026, 10, 25, 2, 30)


def test_what_happened_before_the_clock_was_put_back_is_not_later(berlin):
    assert is_later(BACK, datetime(2026, 10, 25, 2, 10))  # the first ten past two
    assert not is_later(BACK, datetime(2026, 10, 25, 2, 10, fold=1))  # the second
    assert not is_later(BACK, datetime(2026, 10, 25, 2, 30, fold=1))
    assert is_later(datetime(2026, 10, 25, 3, 30), datetime(2026, 10, 25, 2, 10, fold=1))


def test_the_night_on_which_the_clock_goes_forward_is_an_hour_shorter(berlin):
    fed, now = datetime(2026, 3, 29, 0, 30), datetime(2026, 3, 29, 3, 30)
    assert passed(fed, now) == passed(now, fed) == timedelta(hours=2)
    assert over(fed, timedelta(hours=2)) == now
    assert over(fed, timedelta(hours=3)) == datetime(2026, 3, 29, 4, 30)


def test_an_hour_that_comes_twice_is_counted_so_that_nothing_is_fed_too_soon(berlin):
    # 02:30 may have been the first or the second; until 05:00 at least two and a half hours passed.
    assert passed(BACK, datetime(2026, 10, 25, 5, 0)) == timedelta(hours=2.5)
    assert over(BACK, timedelta(hours=2.5)) == datetime(2026, 10, 25, 5, 0)
    assert passed(datetime(2026, 10, 25, 1, 30), datetime(2026, 10, 25, 5)) == timedelta(hours=4.5)


def test_on_any_other_day_the_clock_decides(berlin):
    now = datetime(2026, 11, 14, 2, 10)
    assert not is_later(now, now)
    assert is_later(now + timedelta(minutes=1), now)
    assert not is_later(now - timedelta(minutes=1), now)
    assert passed(now, now + timedelta(hours=5)) == timedelta(hours=5)
    assert over(now, timedelta(hours=5)) == now + timedelta(hours=5)


@pytest.mark.parametrize(
    "moment",
    [
        datetime(2026, 11, 2, 4, 30, tzinfo=UTC),
        datetime(2026, 11, 2, 4, 30, tzinfo=timezone(timedelta(hours=2))),
    ],
)
def test_a_zone_is_refused_not_dropped(moment):
    with pytest.raises(InputError, match="has a time zone"):
        local(moment)


@pytest.mark.parametrize(("year", "known"), [(1899, 0), (1900, 1), (2999, 1), (3000, 0)])
def test_years_that_can_be_meant(year, known):
    assert known_year(date(year, 1, 1)) is bool(known)
    if not known:
        with pytest.raises(InputError, match="is not between 1900 and 2999"):
            parse_day(f"{year}-01-01")


def test_days_and_times_are_read():
    assert parse_day(" 2026-11-14 ") == date(2026, 11, 14)
    assert parse_clock("06:30") == time(6, 30)
    for text in ("6", "530", "", "25:00", "13pm", "5.75", "soon"):
        with pytest.raises(InputError, match="is not a time of day"):
            parse_clock(text)
    with pytest.raises(InputError, match="has a time zone"):
        parse_clock("06:30+02:00")
    with pytest.raises(InputError, match="is not a date"):
        parse_day("14 November")


@pytest.mark.parametrize(
    ("text", "clock"),
    [
        ("5:30", time(5, 30)),
        ("5.30", time(5, 30)),
        ("0530", time(5, 30)),
        ("5pm", time(17)),
        ("5 p.m.", time(17)),
        ("5:30 PM", time(17, 30)),
        ("12am", time(0)),
        ("12pm", time(12)),
        ("17h30", time(17, 30)),
        ("6 h", time(6)),
        ("noon", time(12)),
        ("Midnight", time(0)),
    ],
)
def test_times_of_day_as_people_write_them(text, clock):
    assert parse_clock(text) == clock


TODAY = date(2026, 11, 14)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("today", TODAY),
        ("Yesterday", date(2026, 11, 13)),
        ("tomorrow", date(2026, 11, 15)),
        ("14 Nov 2026", TODAY),
        ("14th November, 2026", TODAY),
        ("November 14, 2026", TODAY),
        ("14/11/2026", TODAY),
        ("11/14/2026", TODAY),
        ("14.11.2026", TODAY),
        ("5/5/2026", date(2026, 5, 5)),
        ("20261114", TODAY),
    ],
)
def test_days_as_people_write_them(text, day):
    assert parse_day(text, TODAY) == day


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("3/4/2026", "could be either of two days. Write 2026-03-04 or 2026-04-03"),
        ("31/31/2026", "is not a date. Write it as 2026-11-14"),
        ("14/11/26", "is not a date"),
        ("14 Foo 2026", "is not a date"),
        ("Monday", "is not a date"),
        ("14 Nov 3026", "is not between 1900 and 2999"),
        ("29 Feb 2026", "is not a date"),
    ],
)
def test_days_that_are_asked_about(text, says):
    with pytest.raises(InputError, match=says):
        parse_day(text, TODAY)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("yesterday 5pm", (date(2026, 11, 13), time(17))),
        ("5pm yesterday", (date(2026, 11, 13), time(17))),
        ("yesterday at 5 p.m.", (date(2026, 11, 13), time(17))),
        ("today, 5:30", (TODAY, time(5, 30))),
        ("14 Nov 2026 17:30", (TODAY, time(17, 30))),
        ("2026-11-14 5.30", (TODAY, time(5, 30))),
        ("2026-11-14T06:30", (TODAY, time(6, 30))),
        ("2026-11-14", (TODAY, None)),
        ("noon", (None, time(12))),
        ("last night", None),
        ("", None),
    ],
)
def test_a_day_and_its_hour_in_either_order(text, found):
    assert day_and_hour(text, TODAY) == found


@pytest.mark.parametrize("text", ["06:30+02:00", "2026-11-14T06:30Z", "yesterday 06:30+01:00"])
def test_a_zone_beside_a_day_is_refused(text):
    with pytest.raises(InputError, match="has a time zone"):
        day_and_hour(text, TODAY)
