"""The clock on the wall: years that can be meant, zones refused, an hour that happens twice."""

from __future__ import annotations

import time as clock
from datetime import UTC, date, datetime, time, timedelta, timezone

import pytest

from formulate.base.errors import InputError
from formulate.base.moments import is_later, known_year, local, parse_clock, parse_day


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


def test_on_any_other_day_the_clock_decides(berlin):
    now = datetime(2026, 11, 14, 2, 10)
    assert not is_later(now, now)
    assert is_later(now + timedelta(minutes=1), now)
    assert not is_later(now - timedelta(minutes=1), now)


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
    for text in ("6.30", "", "25:00", "soon"):
        with pytest.raises(InputError, match="is not a time of day"):
            parse_clock(text)
    with pytest.raises(InputError, match="has a time zone"):
        parse_clock("06:30+02:00")
    with pytest.raises(InputError, match="is not a date"):
        parse_day("14 November")
