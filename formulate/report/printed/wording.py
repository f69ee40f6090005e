"""Words that card and label share."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from formulate.base.messages import listed, say
from formulate.foods.tables import storage_days
from formulate.rearing.figures import value
from formulate.report.prices import food_words

__all__ = ["Dates", "day_words", "drinkers", "food_words", "keep_hours", "warm_words"]

_WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_YEAR = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
#: Never "kid" alone on anything that lies in a kitchen: it would be read as a child.
_ONE = {"lamb": "lamb", "kid": "goat kid"}


@dataclass(frozen=True, slots=True)
class Dates:
    """When it was mixed and until when it keeps; both None: to be written in by hand."""

    mixed: date | None
    use_by: date | None

    @classmethod
    def of(cls, mixed: date | None) -> Dates:
        """The dates of a mix; it keeps as long as the tables say."""
        return cls(mixed, None if mixed is None else mixed + timedelta(hours=keep_hours()))


def day_words(day: date | None, *, year: bool = True) -> str:
    """A day, the same in every country: "Sat 14 Nov 2026"; a line to write on for None."""
    if day is None:
        return "______________"
    text = f"{_WEEK[day.weekday()]} {day.day} {_YEAR[day.month - 1]}"
    return f"{text} {day.year}" if year else text


def drinkers(species: Iterable[str], *, many: bool = False) -> str:
    """Who it is for: "lamb", "goat kids", "lambs and goat kids"."""
    names = [_ONE[one] for one in dict.fromkeys(map(str, species))]
    return listed([f"{name}s" for name in names] if many else names)


def keep_hours() -> int:
    """How long a mix keeps [h], covered and chilled."""
    return 24 * storage_days()["mix"].opened_days


def warm_words() -> str:
    """The bottle's temperature."""
    celsius = value("milk-warm")
    return say("card.warm", celsius=celsius, fahrenheit=celsius * 9 / 5 + 32)
