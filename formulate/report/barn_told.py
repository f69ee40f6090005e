"""A flock at one moment, in sentences for each animal; a page or a sheet arranges them."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from formulate.answers.due import DueFeed, FeedState
from formulate.answers.today import AnimalToday, Today
from formulate.base.errors import ManyFaults
from formulate.base.messages import say
from formulate.rearing.bottle import bottle_words, mark_words
from formulate.rearing.feed_plan import DayFeed, Stage
from formulate.rearing.figures import value
from formulate.rearing.growth import Alarm
from formulate.report.amount_words import held_words
from formulate.report.fed_milks import MilkTold, milks_told
from formulate.report.levels_text import compared_words
from formulate.report.newborn import NewbornTold, moment_words, newborn_told
from formulate.report.today_text import (
    amount_words,
    last_words,
    next_words,
    pour_lines,
    short_words,
    title,
)
from formulate.report.words import volume_words

__all__ = ["AnimalTold", "BarnTold", "TurnTold", "barn_told"]

#: Days ahead that a growth picture shows.
AHEAD = 21


@dataclass(frozen=True, slots=True)
class TurnTold:
    """When one animal is fed.

    Parameters
    ----------
    name : str
    next, amount, last : str
        When it is fed next, how much, and when it was fed last and by whom.
    due : bool
        Whether it is fed now.
    ml : str
        The amount that is due, as it is typed; empty if nothing is due.
    what : str
        "milk" or "colostrum": what is due.
    newborn : NewbornTold or None
    """

    name: str
    next: str
    amount: str
    last: str
    due: bool
    ml: str
    what: str
    newborn: NewbornTold | None


@dataclass(frozen=True, slots=True)
class AnimalTold(TurnTold):
    """One animal: when it is fed, and everything else about it.

    Parameters
    ----------
    about : str
        What it is, how old, how heavy.
    feed : str
        Its bottles of today.
    clock : tuple of str
        Each feed of today, and what became of it.
    why : str
    warnings : tuple of str
        What bars it, what lacks, what is to be minded, the gravest first.
    alarms : tuple of Alarm
    growing : str
    weights : tuple of (int, float)
        Age [d] and weight [kg] by the scale.
    forecast : tuple of (int, float, float, float)
        Age [d]; low, expected and high weight [kg].
    picture : str
        Both as a sentence.
    """

    about: str
    feed: str
    clock: tuple[str, ...]
    why: str
    warnings: tuple[str, ...]
    alarms: tuple[Alarm, ...]
    growing: str
    weights: tuple[tuple[int, float], ...]
    forecast: tuple[tuple[int, float, float, float], ...]
    picture: str


@dataclass(frozen=True)
class BarnTold:
    """A flock.

    Parameters
    ----------
    today : Today
    title : str
    milks : tuple of MilkTold
        The worst first.
    warnings : tuple of str
        Of the household and the milks.
    faults : tuple of str
        Lines of the log that were left out.
    turns : tuple of TurnTold
        One an animal.
    pour : tuple of str
        What to pour for the rest of the day, how to blend, what to make.
    care : tuple of str
        What to mind, every day and with these milks.
    signs : Alarm
        That need a veterinarian.
    """

    today: Today = field(repr=False)
    title: str
    milks: tuple[MilkTold, ...]
    warnings: tuple[str, ...]
    faults: tuple[str, ...]
    turns: tuple[TurnTold, ...]
    pour: tuple[str, ...]
    care: tuple[str, ...]
    signs: Alarm

    @cached_property
    def animals(self) -> tuple[AnimalTold, ...]:
        """Everything about each animal; where only the turns are shown, it is never told."""
        return tuple(_animal(one, self.today) for one in self.today.animals)


def barn_told(today: Today) -> BarnTold:
    """Tell everything of a flock at one moment."""
    cautions = [c.text for c in today.cautions if c.shown and c.id != "not-for-the-first-day"]
    return BarnTold(
        today,
        title(today),
        tuple(milks_told(today.milks)),
        (*today.warnings, *today.notes),
        tuple(f"{ManyFaults(today.log_faults)}".splitlines()),
        tuple(TurnTold(**_turn(one, today)) for one in today.animals),
        tuple(pour_lines(today, wrapped=False)),
        (
            say("today.care.warm", warm=value("milk-warm")),
            say("today.care.missed"),
            say("today.care.water"),
            say("today.care.weigh"),
            *cautions,
        ),
        today.signs,
    )


def _turn(one: AnimalToday, today: Today) -> dict[str, Any]:
    """Fields of a `TurnTold`."""
    kitchen, due = today.flock.kitchen, one.next
    return {
        "name": one.name,
        "next": next_words(one, today.now),
        "amount": "" if due is None else amount_words(due, kitchen),
        "last": last_words(one, today),
        "due": due is not None and due.state is FeedState.DUE,
        "ml": "" if due is None else f"{due.millilitres:.1f} mL",
        "what": "milk" if due is None else due.what,
        "newborn": None if one.newborn is None else newborn_told(one.newborn, kitchen),
    }


def _animal(one: AnimalToday, today: Today) -> AnimalTold:
    day = one.day
    well = one.check is not None and one.check.stretches and not one.alarms
    growing = compared_words("growth.as-expected", one.animal.species) if well else ""
    weights, forecast, picture = _growth(one)
    return AnimalTold(
        **_turn(one, today),
        about=_about(one, day, today),
        feed=_bottles(one, day, today),
        clock=tuple(_clock(feed, today) for feed in one.feeds),
        why=_why(one, day) if day is not None and day.stage is Stage.MILK else "",
        warnings=_warnings(one),
        alarms=one.alarms,
        growing=growing,
        weights=weights,
        forecast=forecast,
        picture=picture,
    )


def _about(one: AnimalToday, day: DayFeed | None, today: Today) -> str:
    days = one.animal.age_days(today.now.date())
    values = {"species": one.animal.species, "days": days}
    if day is None or math.isnan(day.weight[1]):
        last = one.animal.last_weight
        return say("today.about.last", kilograms=last.kilograms, day=last.day, **values)
    return say("today.about.now", kilograms=day.weight[1], **values)


def _bottles(one: AnimalToday, day: DayFeed | None, today: Today) -> str:
    if day is None or not one.may_be_fed:
        return "" if one.newborn is None else say("today.bottles.colostrum")
    if day.stage is Stage.WEANED:
        return say("today.bottles.weaned")
    if not day.feeds:
        return say("today.bottles.colostrum")
    amount = bottle_words(day.millilitres, today.flock.kitchen)
    return say("today.bottles.milk", feeds=day.feeds, amount=amount)


def _clock(feed: DueFeed, today: Today) -> str:
    """One feed of today: "06:10 done: 240 mL, by Ann"."""
    kitchen = today.flock.kitchen
    name = "not-logged" if feed.state is FeedState.NOT_LOGGED else "to-come"
    logged = feed.logged
    if logged is not None:
        name = "done-by" if logged.by else "done"
    at = feed.at if logged is None else logged.at
    amount = feed.millilitres if logged is None else logged.millilitres
    return say(
        f"today.clock.{name}",
        hour=moment_words(at, today.now),
        amount=mark_words(amount, kitchen) or volume_words(amount),
        by="" if logged is None else logged.by,
    )


def _why(one: AnimalToday, day: DayFeed) -> str:
    held = [] if one.plan is None else held_words(one.plan, day)
    why = say(
        "today.why",
        litres=day.litres,
        keep=day.keep,
        need=day.need,
        aim=1e3 * day.aim,
        level=one.level,
        cap=day.cap,
    )
    return " ".join([why, *held])


def _warnings(one: AnimalToday) -> tuple[str, ...]:
    told = [bar.text for bar in one.bars if not (bar.id == "cold" and one.newborn)]
    if one.newborn is None:
        told += one.warmth.steps
    if one.shortfall is not None:
        told.append(short_words(one))
    return (*told, *one.notes)


def _growth(
    one: AnimalToday,
) -> tuple[tuple[tuple[int, float], ...], tuple[tuple[int, float, float, float], ...], str]:
    """Weights by the scale, those its milk should bring, and both as a sentence."""
    animal = one.animal
    weights = tuple((animal.age_days(w.day), w.kilograms) for w in animal.all_weights)
    rows = []
    if one.plan is not None:
        expected = one.plan.weight[:, one.row, : AHEAD + 1].T.tolist()
        first = animal.age_days(one.plan.days[0])
        rows = [
            (age, low, middle, high)
            for age, (low, middle, high) in enumerate(expected, first)
            if math.isfinite(low + middle + high)
        ]
    last = animal.last_weight
    words = say("today.by-scale", kilograms=last.kilograms, days=animal.age_days(last.day))
    if rows:
        age, low, _, high = rows[-1]
        words += " " + say("today.by-milk", low=low, high=high, days=age)
    return weights, tuple(rows), words
