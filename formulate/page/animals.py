"""The animals: today's bottles, what they weigh, whether they grow; ready to be shown."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time

import numpy as np
from markupsafe import Markup

from formulate.answers.milks import refusals
from formulate.answers.verdict import Judgement, judge
from formulate.page.words import counted
from formulate.pantry.pantry import Pantry
from formulate.rearing.colostrum import colostrum_plan, is_newborn
from formulate.rearing.feed_plan import DayFeed, FeedPlan, Stage
from formulate.rearing.feeding import check_refrigerator, plan_feeds, shortfall
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal
from formulate.rearing.flock_file import FlockRead
from formulate.rearing.growth import Alarm, GrowthCheck, check_growth, veterinary_signs
from formulate.rearing.mixes import FlockMilk, flock_milk
from formulate.report.newborn import NewbornTold, newborn_told
from formulate.report.pictures.drawn import growth_picture
from formulate.report.rearing_text import bottle_words, milk_words

__all__ = ["Barnful", "Card", "barnful"]

#: Days ahead that a growth picture shows.
AHEAD = 21


@dataclass(frozen=True)
class Card:
    """One animal today.

    Parameters
    ----------
    name : str
    about : str
        What it is, how old, how heavy.
    feed : str
        Its bottles.
    times : str
    why : str
    warning : str
        Where its milk is too weak for it.
    newborn : NewbornTold or None
    alarms : tuple of Alarm
    growing : str
    picture : Markup
    """

    name: str
    about: str
    feed: str
    times: str
    why: str
    warning: str
    newborn: NewbornTold | None
    alarms: tuple[Alarm, ...]
    growing: str
    picture: Markup


@dataclass(frozen=True)
class Barnful:
    """All animals today.

    Parameters
    ----------
    title : str
    milk : str
        What they drink.
    cards : tuple of Card
    signs : Alarm
        That need a veterinarian.
    log_faults : tuple of str
    to_make : str
        Milk to make today and this week.
    blend : str
        While there is a change from another milk: how today's is blended.
    care : tuple of str
        What to mind, every day and with this milk.
    forbidden : tuple of str
        Why no plan is made with this milk.
    """

    title: str
    milk: str
    cards: tuple[Card, ...]
    signs: Alarm
    log_faults: tuple[str, ...] = ()
    to_make: str = ""
    blend: str = ""
    care: tuple[str, ...] = ()
    forbidden: tuple[str, ...] = ()


def barnful(read: FlockRead, pantry: Pantry) -> Barnful:
    """Plan today for a flock, on the milk that its file names."""
    flock, now = read.flock, read.now
    milk = flock_milk(flock, pantry)
    empty = Barnful(
        f"{flock.name or 'The animals'}, {now:%A} {now.date()}",
        milk_words(milk.milk),
        (),
        veterinary_signs(),
        tuple(str(fault) for fault in read.log_faults),
    )
    judged = judge(milk.mix)
    if why := refusals(judged):
        return replace(empty, forbidden=why)
    plan = _planned(read, pantry, milk)
    checks = check_growth(plan, now)
    litres = plan.litres_by_day()
    to_make = f"Milk to make today: {litres[0]:.1f} L"
    if len(litres) >= 7:
        to_make += f"; in seven days: {litres[:7].sum():.0f} L"
    return replace(
        empty,
        cards=tuple(_card(plan, i, now, checks[i]) for i in range(len(flock.animals))),
        to_make=f"{to_make}.",
        blend=_blend(plan),
        care=_care(judged),
    )


def _blend(plan: FeedPlan) -> str:
    """How today's milk is stirred together while there is a change."""
    if plan.old_milk is None or plan.flock.change is None or plan.share_new[0] >= 1:
        return ""
    parts = plan.flock.change.days + 1
    new = round(float(plan.share_new[0]) * parts)
    return (
        f"Changing over. Stir today's milk of {counted(new, 'part')} {plan.milk.name} and "
        f"{counted(parts - new, 'part')} {plan.old_milk.name}."
    )


def _care(judged: Judgement) -> tuple[str, ...]:
    told = [c.text for c in judged.cautions if c.shown and c.id != "not-for-the-first-day"]
    return (
        f"Warm each bottle to {value('milk-warm'):g} °C.",
        "Never make one feed bigger to make up for one missed.",
        "Fresh water always.",
        "Weigh each week. Weights in between are a guess.",
        *told,
    )


def _planned(read: FlockRead, pantry: Pantry, milk: FlockMilk) -> FeedPlan:
    change = read.flock.change
    before = None if change is None else flock_milk(read.flock, pantry, change.from_mix).milk
    plan = plan_feeds(read.flock, milk.milk, read.now, old_milk=before)
    check_refrigerator(plan)
    return plan


def _card(plan: FeedPlan, i: int, now: datetime, check: GrowthCheck) -> Card:
    animal = plan.flock.animals[i]
    day = plan.day_feed(i, 0)
    short = shortfall(plan, i)
    warning = ""
    if short is not None:
        what = "live on" if short.below_keep else "grow on"
        warning = (
            f"From {short.first_day} this milk is too weak for {animal.name} to {what}: "
            "make it stronger or feed more often. Do not make the feeds bigger."
        )
    newborn = (
        newborn_told(colostrum_plan(animal, now), "below") if is_newborn(animal, now) else None
    )
    growing = ""
    if check.stretches and not check.alarms:
        growing = "It grows as its milk should let it."
    return Card(
        animal.name,
        _about(animal, day),
        _feed(plan, day),
        " · ".join(f"{t:%H:%M}" for t in _clock_order(day.times)),
        _why(day) if day.stage is Stage.MILK else "",
        warning,
        newborn,
        check.alarms,
        growing,
        _picture(plan, i),
    )


def _clock_order(times: Sequence[time]) -> Sequence[time]:
    return sorted(times)


def _about(animal: Animal, day: DayFeed) -> str:
    weight = "" if math.isnan(day.weight[1]) else f", about {day.weight[1]:.1f} kg"
    return f"{animal.species}, {counted(day.age, 'day')} old{weight}"


def _feed(plan: FeedPlan, day: DayFeed) -> str:
    if day.stage is Stage.WEANED:
        return "No milk: weaned"
    if not day.feeds:
        return "Colostrum only"
    bottle = bottle_words(day.millilitres, plan.flock.kitchen)
    return f"{counted(day.feeds, 'bottle')} of {bottle}"


def _why(day: DayFeed) -> str:
    return (
        f"{day.litres:.2f} L in the day. {day.keep:.1f} MJ of energy keeps it alive; "
        f"{day.need:.1f} MJ lets it grow too. No bottle above {day.cap:.0f} mL."
    )


def _picture(plan: FeedPlan, i: int) -> Markup:
    animal = plan.flock.animals[i]
    weights = [(animal.age_days(w.day), w.kilograms) for w in animal.all_weights]
    rows = []
    for d, day in enumerate(plan.days[: AHEAD + 1]):
        low, middle, high = (float(v) for v in plan.weight[:, i, d])
        if np.isfinite((low, middle, high)).all():
            rows.append((animal.age_days(day), low, middle, high))
    last = animal.last_weight
    words = f"By the scale: {last.kilograms:.1f} kg at {counted(animal.age_days(last.day), 'day')}."
    if rows:
        age, low, _, high = rows[-1]
        words += f" Its milk should bring it to {low:.1f} to {high:.1f} kg at {age} days."
    return growth_picture(animal.name, weights, rows, words)
