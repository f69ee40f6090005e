"""Words that card and label share."""

from __future__ import annotations

from datetime import date

from formulate.answers.day_and_jar import DayAndJar
from formulate.base.messages import listed
from formulate.foods.tables import storage_days
from formulate.kitchen.jug import JugStep
from formulate.rearing.figures import value
from formulate.report.prices import food_words

__all__ = ["day_words", "drinker", "food_words", "how_words", "keep_hours", "warm_words"]

_WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_YEAR = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
#: Never "kid" alone on anything that lies in a kitchen: it would be read as a child.
_ONE = {"lamb": "lamb", "kid": "goat kid"}


def day_words(day: date | None, *, year: bool = True) -> str:
    """A day, the same in every country: "Sat 14 Nov 2026"; a line to write on for None."""
    if day is None:
        return "______________"
    text = f"{_WEEK[day.weekday()]} {day.day} {_YEAR[day.month - 1]}"
    return f"{text} {day.year}" if year else text


def drinker(made: DayAndJar, *, many: bool = False) -> str:
    """Who it is for: "lamb", "goat kids", "lambs and goat kids"."""
    species = [str(made.mix.bands.species)]
    if made.feeds is not None:
        species = list(dict.fromkeys(str(a.species) for a in made.feeds.flock.animals))
    names = [_ONE.get(name, name) for name in species]
    return listed([f"{name}s" for name in names] if many else names)


def keep_hours() -> int:
    """How long a mix keeps [h], covered and chilled."""
    return 24 * storage_days()["mix"].opened_days


def warm_words() -> str:
    """The bottle's temperature."""
    celsius = value("milk-warm")
    return f"{celsius:g} °C ({celsius * 9 / 5 + 32:.0f} °F)"


def how_words(step: JugStep) -> str:
    """What to do, without its amount: that stands beside it, for one batch and another."""
    if step.food is None:
        return step.do
    name = food_words(step.food)
    for said in (f"{step.words} of {name}", f"{step.words} ({name})"):
        if said in step.do:
            return step.do.replace(said, f"the {name}")
    return step.do
