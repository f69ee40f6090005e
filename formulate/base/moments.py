"""Dates and times by the clock on the wall: which years are possible, and which comes later.

Nothing is reckoned in time zones. A moment that has one is refused, never stripped of it. When the
clock is put back an hour happens twice; of the present moment the computer knows which it is.
"""

from __future__ import annotations

from datetime import date, datetime, time

from formulate.base.errors import InputError
from formulate.base.messages import say

__all__ = ["is_later", "known_year", "local", "parse_clock", "parse_day"]

#: Years that a day may have. Others are typing mistakes; this leaves room to count onwards.
_FIRST, _LAST = 1900, 2999


def known_year(day: date) -> bool:
    """Whether a day's year is plausible: 1900 to 2999."""
    return _FIRST <= day.year <= _LAST


def local(moment: datetime) -> datetime:
    """A moment by the clock on the wall.

    Raises
    ------
    InputError
        If it has a time zone, or is of a year that cannot be meant.
    """
    if moment.tzinfo is not None:
        shown = moment.isoformat(timespec="minutes")
        raise InputError(say("moments.zone", moment=shown), say("moments.no-zone"))
    _check_year(moment)
    return moment


def parse_day(text: str) -> date:
    """Read "2026-11-14".

    Raises
    ------
    InputError
        If it is no day, or of a year that cannot be meant.
    """
    try:
        day = date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(say("moments.no-day", text=text.strip()), say("moments.day")) from None
    _check_year(day)
    return day


def parse_clock(text: str) -> time:
    """Read "06:30".

    Raises
    ------
    InputError
        If it is no time of day, or has a time zone.
    """
    try:
        clock = time.fromisoformat(text.strip())
    except ValueError:
        raise InputError(say("moments.no-time", text=text.strip()), say("moments.time")) from None
    if clock.tzinfo is not None:
        raise InputError(say("moments.zone", moment=text.strip()), say("moments.no-zone"))
    return clock


def is_later(one: datetime, now: datetime) -> bool:
    """Whether a moment is later than now, though the clock may have been put back in between.

    At 01:10 in the second of the two hours, 01:30 is twenty minutes ahead and forty behind; what
    was written down then has happened.
    """
    if one <= now:
        return False
    return one.replace(fold=0).timestamp() > now.timestamp()


def _check_year(day: date) -> None:
    if not known_year(day):
        problem = say("moments.year", year=f"{day.year:04}", first=f"{_FIRST}", last=f"{_LAST}")
        raise InputError(problem, say("moments.which-year"))
