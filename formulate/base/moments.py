"""Dates and times by the clock on the wall: which years are possible, and which comes later.

Nothing is reckoned in time zones. A moment that has one is refused, never stripped of it. When the
clock is put back an hour happens twice; of the present moment the computer knows which it is.

Besides 2026-11-14 and 06:30, days and times are read as people write them: "yesterday 5pm", "5:30",
"14 Nov 2026", "17h30", "noon". A day that could be two, such as 3/4/2026, is asked about.
"""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta

from formulate.base.errors import InputError
from formulate.base.messages import say

__all__ = ["WEEK", "day_and_hour", "is_later", "known_year", "local", "over", "parse_clock",
           "parse_day", "parse_planned", "passed"]  # fmt: skip

WEEK = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
#: Years that a day may have. Others are typing mistakes; this leaves room to count onwards.
_FIRST, _LAST = 1900, 2999
_DAYS = {"today": 0, "yesterday": -1, "tomorrow": 1}
_FULL_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
_HOURS = {"noon": time(12), "midday": time(12), "midnight": time(0)}
#: 5pm, 5:30, 5.30 pm, 17h30; a bare number is no time of day.
_CLOCK = re.compile(
    r"(\d{1,2})(?:\s*[:.h]\s*(\d\d)(?::(\d\d))?|\s*h)?\s*([ap]\.?m\.?)?", re.IGNORECASE | re.ASCII
)
#: 14 Nov 2026, 14th November, 2026; Nov 14, 2026.
_DAY_MONTH = re.compile(
    r"(\d{1,2})(?:st|nd|rd|th)?\.?\s+([a-z]{3,9})\.?,?\s+(\d{4})", re.IGNORECASE | re.ASCII
)
_MONTH_DAY = re.compile(
    r"([a-z]{3,9})\.?\s+(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4})", re.IGNORECASE | re.ASCII
)
#: 14/11/2026, 14.11.2026: which number is the day is known only where one is above twelve.
_IN_NUMBERS = re.compile(r"(\d{1,2})([/.-])(\d{1,2})\2(\d{4})", re.ASCII)
#: What parts a day from its time, and the parts of "yesterday at 5 pm".
_GAP = re.compile(r",?\s+(?:at\s+)?|T(?=\d)")


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


def parse_day(text: str, today: date | None = None) -> date:
    """Read "2026-11-14", "14 Nov 2026" or "yesterday".

    Parameters
    ----------
    text : str
    today : date, optional
        What "today" means; by default the clock's.

    Raises
    ------
    InputError
        If it is no day, could be two, or is of a year that cannot be meant.
    """
    day = _day(text.strip(), today)
    if day is None:
        raise InputError(say("moments.no-day", text=text.strip()), say("moments.day"))
    _check_year(day)
    return day


def parse_planned(text: str) -> datetime:
    """Read a moment to plan from, "2026-11-14 06:30"; a day alone means its noon.

    Raises
    ------
    InputError
        If it is none, has a time zone, or is of a year that cannot be meant.
    """
    day, hour = day_and_hour(text) or (None, None)
    if day is None:
        raise InputError(say("moments.no-day", text=text.strip()), say("moments.day-or-hour"))
    return datetime.combine(day, hour or time(12))


def parse_clock(text: str) -> time:
    """Read "06:30", "5:30", "5pm" or "noon".

    Raises
    ------
    InputError
        If it is no time of day, or has a time zone.
    """
    clock = _clock(text.strip())
    if clock is None:
        raise InputError(say("moments.no-time", text=text.strip()), say("moments.time"))
    if clock.tzinfo is not None:
        raise InputError(say("moments.zone", moment=text.strip()), say("moments.no-zone"))
    return clock


def day_and_hour(text: str, today: date | None = None) -> tuple[date | None, time | None] | None:
    """Read a day, a time of day, or both in either order; None where it is neither.

    Parameters
    ----------
    text : str
        "2026-11-14 06:30", "yesterday 5pm", "5:30", "14 Nov 2026".
    today : date, optional
        What "today" means; by default the clock's.

    Raises
    ------
    InputError
        If it has a time zone, a day that could be two, or a year that cannot be meant.
    """
    words = text.strip()
    clock = _clock(words)
    if clock is not None:
        return None, _without_zone(clock, words)
    try:
        moment = datetime.fromisoformat(words)
    except ValueError:
        pass
    else:
        local(moment)
        return moment.date(), None if len(words) <= len("2026-11-14") else moment.time()
    day = _day(words, today)
    if day is not None:
        _check_year(day)
        return day, None
    for gap in _GAP.finditer(words):
        one, other = words[: gap.start()], words[gap.end() :]
        for left, right in ((one, other), (other, one)):
            clock = _clock(right)
            day = None if clock is None else _day(left, today)
            if clock is not None and day is not None:
                _check_year(day)
                return day, _without_zone(clock, words)
    return None


def _without_zone(clock: time, text: str) -> time:
    if clock.tzinfo is not None:
        raise InputError(say("moments.zone", moment=text), say("moments.no-zone"))
    return clock


def _clock(text: str) -> time | None:
    """A time of day; None where the text is none."""
    if text.lower() in _HOURS:
        return _HOURS[text.lower()]
    found = _CLOCK.fullmatch(text)
    if found and (found[4] or not text.isdigit()):
        hour, minute, second = int(found[1]), int(found[2] or 0), int(found[3] or 0)
        if found[4]:
            if not 1 <= hour <= 12:
                return None
            hour = hour % 12 + 12 * (found[4][0] in "pP")
        return time(hour, minute, second) if hour < 24 and minute < 60 and second < 60 else None
    try:
        return time.fromisoformat(text)
    except ValueError:
        return None


def _day(text: str, today: date | None) -> date | None:
    """A day; None where the text is none.

    Raises
    ------
    InputError
        If it could be either of two.
    """
    if text.lower() in _DAYS:
        return (today or date.today()) + timedelta(days=_DAYS[text.lower()])
    try:
        return date.fromisoformat(text)
    except ValueError:
        pass
    if found := _DAY_MONTH.fullmatch(text):
        return _of_month(found[3], found[2], found[1])
    if found := _MONTH_DAY.fullmatch(text):
        return _of_month(found[3], found[1], found[2])
    if not (found := _IN_NUMBERS.fullmatch(text)):
        return None
    one, other, year = int(found[1]), int(found[3]), int(found[4])
    days = {_made(year, other, one), _made(year, one, other)} - {None}
    if len(days) > 1:
        first, second = sorted(day for day in days if day is not None)
        raise InputError(
            say("moments.two-days", text=text),
            say("moments.write-either", one=f"{first}", other=f"{second}"),
        )
    return days.pop() if days else None


def _of_month(year: str, month: str, day: str) -> date | None:
    named = month.lower()
    names = [name for name in _FULL_MONTHS if len(named) >= 3 and name.startswith(named)]
    return _made(int(year), _FULL_MONTHS.index(names[0]) + 1, int(day)) if names else None


def _made(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def is_later(one: datetime, now: datetime) -> bool:
    """Whether a moment is later than now, though the clock may have been put back in between.

    At 01:10 in the second of the two hours, 01:30 is twenty minutes ahead and forty behind; what
    was written down then has happened.
    """
    if one <= now:
        return False
    return one.replace(fold=0).timestamp() > now.timestamp()


def passed(one: datetime, other: datetime) -> timedelta:
    """Time between two moments by the clock on the wall, at least, though the clock was changed.

    On the night when the clock goes forward, from 00:30 to 03:30 it is only two hours.
    """
    start, end = sorted((one.replace(fold=0), other.replace(fold=0)))
    return timedelta(seconds=max(end.timestamp() - _latest(start), 0.0))


def over(moment: datetime, gap: timedelta) -> datetime:
    """When a gap after a moment is over, by the clock on the wall."""
    return datetime.fromtimestamp(_latest(moment) + gap.total_seconds()).replace(fold=0)


def _latest(moment: datetime) -> float:
    """The seconds of a moment; the later ones where the clock showed it twice."""
    return max(moment.replace(fold=fold).timestamp() for fold in (0, 1))


def _check_year(day: date) -> None:
    if not known_year(day):
        problem = say("moments.year", year=f"{day.year:04}", first=f"{_FIRST}", last=f"{_LAST}")
        raise InputError(problem, say("moments.which-year"))
