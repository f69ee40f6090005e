"""What a newborn needs now, in sentences: the same in the terminal, on the page and on paper."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from formulate.base.messages import dated, duration, listed, say
from formulate.base.units import Kitchen
from formulate.rearing.bottle import bottle_words
from formulate.rearing.colostrum import ColostrumPlan
from formulate.rearing.figures import value
from formulate.rearing.warmth import can_swallow

__all__ = ["NewbornTold", "moment_words", "newborn_told"]


@dataclass(frozen=True, slots=True)
class NewbornTold:
    """A newborn's first day in sentences.

    Parameters
    ----------
    title : str
    steps : tuple of str
        To do, in order.
    notes : tuple of str
        How it stands, and what is good to know; the first is how much it had.
    """

    title: str
    steps: tuple[str, ...]
    notes: tuple[str, ...]


def newborn_told(plan: ColostrumPlan, kitchen: Kitchen) -> NewbornTold:
    """Say what a newborn needs now, in order, in the person's units."""
    animal, now = plan.animal, plan.now
    weak = not can_swallow(animal, now)
    steps = [say("today.newborn.weak" if weak else "today.newborn.swallows")]
    if plan.overdue:
        latest = moment_words(plan.first_latest, now)
        steps.append(say("today.newborn.overdue", latest=latest))
    steps += plan.warmth.steps
    if plan.lost:
        lost, total = bottle_words(plan.lost, kitchen), bottle_words(plan.total, kitchen)
        steps.append(say("today.newborn.lost", lost=lost, total=total))
    if plan.times and not weak and plan.warmth.may_feed is not False:
        steps.append(_feed(plan, kitchen))
    early, by = plan.by_early
    notes = [
        say(
            "today.newborn.had",
            had=bottle_words(plan.had, kitchen),
            total=bottle_words(plan.total, kitchen),
            early=bottle_words(early, kitchen),
            by=moment_words(by, now),
        )
    ]
    if not animal.colostrum and not plan.overdue:
        notes.append(
            say(
                "today.newborn.first",
                by=moment_words(plan.first_by, now),
                latest=moment_words(plan.first_latest, now),
            )
        )
    notes.append(say("today.newborn.whose", hot=value("colostrum-too-hot")))
    if not plan.hour_known:
        notes.append(say("today.newborn.hour-unknown"))
    until = moment_words(plan.until, now)
    return NewbornTold(
        say("today.newborn.title", animal=animal.name, until=until), tuple(steps), tuple(notes)
    )


def _feed(plan: ColostrumPlan, kitchen: Kitchen) -> str:
    """When and how much: now or at an hour, and the hours after it."""
    first, *later = plan.times
    name = "feed-now" if first <= plan.now else "feed-at"
    if later:
        name += "-then"
    return say(
        f"today.newborn.{name}",
        amount=bottle_words(plan.next_feed, kitchen),
        warm=value("colostrum-warm"),
        at=moment_words(first, plan.now),
        wait=duration(first - plan.now),
        later=listed([moment_words(at, plan.now) for at in later]),
        most=bottle_words(plan.per_feed, kitchen),
    )


def moment_words(moment: datetime, now: datetime) -> str:
    """An hour of today as "15:30", of another day as "02:15 on Sunday"."""
    if moment.date() == now.date():
        return f"{moment:%H:%M}"
    return say("words.hour-on-day", hour=f"{moment:%H:%M}", day=dated(moment, "%A"))
