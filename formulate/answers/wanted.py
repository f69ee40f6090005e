"""What a person asks to have written down, and how an entry is repeated back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta

from formulate.base.errors import InputError, UnknownName
from formulate.base.messages import listed, say
from formulate.base.moments import day_and_hour
from formulate.base.units import Kitchen
from formulate.rearing.bottle import bottle_words
from formulate.rearing.log import ENDINGS, Entry, What
from formulate.rearing.weights import KG_PER_LB

__all__ = [
    "CLOCKS",
    "WORDS",
    "Wanted",
    "entry_words",
    "has_hour",
    "parse_moment",
    "wanted_of",
    "what_words",
    "when_words",
]

_STRIKE = "strike"
#: What can be written down: the kinds of entry, the ways to leave the milk, and taking back.
WORDS = (*(what.value for what in What if what is not What.ENDED), *ENDINGS, _STRIKE)
#: Clocks of two people may differ by so much.
CLOCKS = timedelta(minutes=2)


@dataclass(frozen=True, slots=True)
class Wanted:
    """Something to write down.

    Parameters
    ----------
    animal : str
        Its name.
    what : What or None
        None only where an entry is taken back: the newest of any kind.
    amount : str or float
        As typed, with its unit; a number is in the unit of `what`. Of an ending: how, "sold",
        "died" or "weaned".
    at : datetime or None
        When it happened; None: now.
    by : str
        Who did it.
    note : str
        Whose colostrum.
    strikes : bool
        Whether an entry is taken back.
    last_seen : datetime or None
        When whoever writes a feed down last saw what others had written; a feed since then is
        asked about. None: only now.
    """

    animal: str
    what: What | None
    amount: str | float = ""
    at: datetime | None = None
    by: str = ""
    note: str = ""
    strikes: bool = False
    last_seen: datetime | None = None


def wanted_of(
    animal: str,
    word: str,
    amount: str = "",
    *,
    at: datetime | None = None,
    by: str = "",
    note: str = "",
    last_seen: datetime | None = None,
) -> Wanted:
    """What a person means by a word: "milk", "temperature", "sold", "strike".

    Parameters
    ----------
    animal : str
    word : str
        One of `WORDS`.
    amount : str
        As typed; after "strike", the kind of entry to take back, or nothing for the newest.
    at, by, note, last_seen
        As in `Wanted`.

    Raises
    ------
    UnknownName
        With the nearest words.
    """
    name = word.strip().lower()
    if name not in WORDS:
        raise UnknownName("thing-to-write-down", word.strip()[:40], WORDS, _words_hint())
    if name in ENDINGS:
        return Wanted(animal, What.ENDED, name, at, by, note)
    if name != _STRIKE:
        return Wanted(animal, What(name), amount, at, by, note, last_seen=last_seen)
    kind = amount.strip().lower()
    if kind and kind not in WORDS:
        raise UnknownName("thing-to-take-back", kind[:40], WORDS, _words_hint())
    what = None if not kind or kind == _STRIKE else What.ENDED if kind in ENDINGS else What(kind)
    return Wanted(animal, what, "", at, by, note, strikes=True)


def _words_hint() -> str:
    return say("record.words-hint", words=listed(WORDS))


def has_hour(word: str) -> bool:
    """Whether what a word means happens at an hour; a weight or creep has only a day."""
    name = word.strip().lower()
    return name not in (*ENDINGS, _STRIKE) and (name not in WORDS or What(name).timed)


def parse_moment(text: str, now: datetime, *, day_alone: bool = False) -> datetime:
    """Read "06:30" (the last time it was half past six), "2026-11-14 06:30" or "yesterday 5pm".

    Parameters
    ----------
    text : str
    now : datetime
    day_alone : bool
        Whether a day without an hour will do.

    Raises
    ------
    InputError
        If it is neither, has a time zone, or lacks an hour.
    """
    words = text.strip()
    found = day_and_hour(words, now.date())
    if found is None:
        raise InputError(say("record.when.unclear", text=words[:40]), say("record.when.write"))
    day, hour = found
    if day is None:
        moment = datetime.combine(now.date(), hour or time())
        return moment if moment <= now + CLOCKS else moment - timedelta(days=1)
    if hour is None and not day_alone:
        raise InputError(say("record.when.no-hour", text=words), say("record.when.write"))
    return datetime.combine(day, hour or time())


def when_words(entry: Entry) -> str:
    """The day of an entry, and its time if it has one."""
    return f"{entry.when:%Y-%m-%d %H:%M}" if entry.what.timed else f"{entry.day}"


def what_words(entry: Entry, kitchen: Kitchen) -> str:
    """What an entry tells, without its animal and moment."""
    kilograms = entry.amount
    return say(
        f"record.words.{entry.what}",
        amount=bottle_words(entry.amount, kitchen) if entry.what.liquid else entry.amount,
        pounds=f"{kilograms / KG_PER_LB:.1f}",
        how=say(f"record.how.{entry.note}") if entry.what is What.ENDED else "",
    )


def entry_words(entry: Entry, kitchen: Kitchen) -> str:
    """An entry as a person reads it: whose, what, when, by whom."""
    name = "entry" if entry.what.timed else "entry-on"
    name += "-by" if entry.by and not entry.strikes else ""
    what = what_words(entry, kitchen)
    return say(
        f"record.{name}", animal=entry.animal, what=what, when=when_words(entry), by=entry.by
    )
