"""What a newborn needs now, in sentences: the same on the terminal and on the page."""

from __future__ import annotations

import math
from dataclasses import dataclass

from formulate.rearing.colostrum import ColostrumPlan
from formulate.rearing.figures import value

__all__ = ["NewbornTold", "newborn_told"]


@dataclass(frozen=True, slots=True)
class NewbornTold:
    """A newborn's first day in sentences.

    Parameters
    ----------
    title : str
    steps : tuple of str
        To do, in order.
    notes : tuple of str
    """

    title: str
    steps: tuple[str, ...]
    notes: tuple[str, ...]


def newborn_told(plan: ColostrumPlan, log_with: str = "with --colostrum") -> NewbornTold:
    """Say what a newborn needs now, in order.

    Parameters
    ----------
    plan : ColostrumPlan
    log_with : str
        How colostrum is logged here.
    """
    animal = plan.animal
    steps = list(plan.warmth.steps)
    if plan.overdue:
        steps.insert(
            0,
            "If it has had no colostrum, call a veterinarian now: the first feed was due by "
            f"{plan.first_latest:%H:%M on %Y-%m-%d} at the latest. If it has, log it {log_with}.",
        )
    if plan.left > 0:
        when = "Once it is warm, feed" if plan.warmth.may_feed is False else "Feed"
        steps.append(
            f"{when} {plan.next_feed:.0f} mL of colostrum, at {value('colostrum-warm'):g} °C; "
            f"never more than {plan.per_feed:.0f} mL at once. Such feeds left: {plan.feeds}, one "
            f"every {_half_hours(plan.every)} hours."
        )
    early, by = plan.by_early
    notes = [
        f"It has had {plan.had:.0f} mL of {plan.total:.0f} mL in its first 24 hours; at least "
        f"{early:.0f} mL of it by {by:%H:%M on %Y-%m-%d}."
    ]
    if not animal.colostrum and not plan.overdue:
        notes.append(
            f"First feed by {plan.first_by:%H:%M}, at the latest {plan.first_latest:%H:%M}."
        )
    notes.append(
        "Ewe's or doe's is best; of cow's colostrum 30 % more over the day, in more feeds. "
        f"Never a microwave oven, never above {value('colostrum-too-hot'):g} °C. In cold wet "
        "wind a fifth more over the day, in more feeds."
    )
    if not plan.hour_known:
        notes.append("Its hour of birth is not known: the strictest reading of each hour is used.")
    title = (
        f"{animal.name} is in its first day: colostrum until {plan.until:%H:%M on %Y-%m-%d}, "
        "no mix."
    )
    return NewbornTold(title, tuple(steps), tuple(notes))


def _half_hours(hours: float) -> str:
    """Hours down to the half."""
    return f"{max(math.floor(2 * hours) / 2, 0.5):g}"
