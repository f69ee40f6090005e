"""The day by the clock, in sentences: who is fed when, and what was fed by whom."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from formulate.answers.due import DueFeed, FeedState
from formulate.answers.today import Today
from formulate.base.messages import dated, listed, say
from formulate.rearing.bottle import mark_words
from formulate.report.newborn import moment_words
from formulate.report.today_text import warning_texts
from formulate.report.words import volume_words

__all__ = ["DayTold", "SittingTold", "day_told", "feeders_of"]

#: Names that are offered.
_FEEDERS = 6


@dataclass(frozen=True, slots=True)
class SittingTold:
    """Everybody who is fed at one time.

    Parameters
    ----------
    hour : str
    total : str
        All of it.
    over : bool
        Whether nothing of it is still to be fed.
    feeds : tuple of (str, str)
        Each animal, and how much or what became of it.
    """

    hour: str
    total: str
    over: bool
    feeds: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class DayTold:
    """A day.

    Parameters
    ----------
    moment : str
        Day and hour.
    pour : str
        What to pour for those who are due now; empty if nobody is due milk.
    look : tuple of str
        What bars, lacks or alarms, each in a sentence.
    sittings : tuple of SittingTold
    feeders : tuple of str
        Who has fed before, the latest first.
    """

    moment: str
    pour: str
    look: tuple[str, ...]
    sittings: tuple[SittingTold, ...]
    feeders: tuple[str, ...]


def day_told(today: Today) -> DayTold:
    """Tell a day by the clock."""
    sittings = tuple(
        SittingTold(
            moment_words(one.at, today.now),
            volume_words(one.millilitres),
            not any(feed.open for _, feed in one.feeds),
            tuple((name, _became(feed, today)) for name, feed in one.feeds),
        )
        for one in today.sittings
    )
    moment = say("page.moment", day=dated(today.now, "%a"), hour=f"{today.now:%H:%M}",
                 date=dated(today.now, f"{today.now.day} %b"))  # fmt: skip
    return DayTold(
        moment, _pour_now(today), tuple(warning_texts(today)), sittings, feeders_of(today)
    )


def _pour_now(today: Today) -> str:
    parts = [
        say("today.screen.of-milk", amount=volume_words(pour.millilitres), milk=pour.milk)
        for pour in today.pours_now
    ]
    return say("page.pour-now", parts=listed(parts)) if parts else ""


def feeders_of(today: Today) -> tuple[str, ...]:
    """Who has fed before, the latest first."""
    fed = sorted(_by(today), key=lambda one: one[0], reverse=True)
    return tuple(dict.fromkeys(by for _, by in fed))[:_FEEDERS]


def _by(today: Today) -> Iterator[tuple[datetime, str]]:
    for animal in today.flock.animals:
        yield from ((had.at, had.by) for had in animal.milk if had.by)
        yield from ((had.at, had.by) for had in animal.colostrum if had.by)
        yield from ((had.at, had.by) for had in animal.drinks if had.by)


def _became(feed: DueFeed, today: Today) -> str:
    """How much, and what became of it."""
    kitchen, logged = today.flock.kitchen, feed.logged
    millilitres = feed.millilitres if logged is None else logged.millilitres
    amount = mark_words(millilitres, kitchen) or volume_words(millilitres)
    if logged is not None:
        hour = moment_words(logged.at, today.now)
        return say("page.fed-by" if logged.by else "page.fed", amount=amount, hour=hour,
                   by=logged.by)  # fmt: skip
    if feed.state is FeedState.NOT_LOGGED:
        return say("page.not-written", amount=amount)
    return amount
