"""Words that card and label share."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from formulate.base.messages import dated, listed, say
from formulate.foods.tables import storage_days
from formulate.rearing.figures import value
from formulate.report.prices import food_words

__all__ = ["Dates", "day_words", "drinkers", "food_words", "keep_hours", "warm_words"]


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
    return dated(day, f"%a {day.day} %b {day.year}" if year else f"%a {day.day} %b")


def drinkers(species: Iterable[str], *, many: bool = False) -> str:
    """Who it is for: "lamb", "goat kids", "lambs and goat kids".

    Never "kid" alone on anything that lies in a kitchen: it would be read as a child.
    """
    form = "many" if many else "one"
    return listed([say(f"card.drinker.{one}-{form}") for one in dict.fromkeys(map(str, species))])


def keep_hours() -> int:
    """How long a mix keeps [h], covered and chilled."""
    return 24 * storage_days()["mix"].opened_days


def warm_words() -> str:
    """The bottle's temperature."""
    celsius = value("milk-warm")
    return say("card.warm", celsius=celsius, fahrenheit=celsius * 9 / 5 + 32)
