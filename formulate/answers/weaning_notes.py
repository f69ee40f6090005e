"""Notes on an animal's weaning today: under way, done, undone, or waiting to be weighed."""

from __future__ import annotations

from datetime import date

from formulate.base.messages import say
from formulate.rearing.feed_plan import DayFeed, Stage, Weaning
from formulate.rearing.flock import Animal
from formulate.rearing.weaning import (
    back_on_milk,
    creep_date,
    criteria_of,
    step_down_shares,
    to_regain,
)

__all__ = ["weaning_notes"]


def weaning_notes(animal: Animal, day: DayFeed, weaning: Weaning) -> list[str]:
    """Notes on weaning, for an animal with a plan.

    Parameters
    ----------
    animal : Animal
    day : DayFeed
        Today's, of its plan.
    weaning : Weaning
    """
    today, ready = day.day, weaning.ready
    criteria = criteria_of(animal)
    found = []
    regain = to_regain(animal)
    if regain is not None and (back_on_milk(animal, today) or day.age >= criteria.age):
        found.append(
            say(
                "weaning.note.back",
                animal=animal.name,
                now=animal.last_weight.kilograms,
                before=regain.kilograms,
                days=criteria.creep_days,
            )
        )
    elif day.stage is Stage.STEP_DOWN and ready is not None:
        shares = step_down_shares(weaning.how)
        since = (today - ready).days
        found.append(
            say(
                "weaning.note.stepping",
                animal=animal.name,
                day=since + 1,
                days=len(shares),
                share=100 * shares[since],
            )
        )
    elif day.stage is Stage.WEANED and animal.ending is None:
        found.append(say("weaning.note.ended", animal=animal.name))
    elif _waits_for_scale(animal, day, today):
        found.append(say("weaning.note.weigh", animal=animal.name))
    return [*found, say("weaning.coccidia")] if found else []


def _waits_for_scale(animal: Animal, day: DayFeed, today: date) -> bool:
    """Whether only its weight has still to be seen, and it may have it."""
    criteria = criteria_of(animal)
    old, eats = day.age >= criteria.age, creep_date(animal, today) is not None
    seen = any(w.kilograms >= criteria.heaviest for w in animal.weighings)
    return old and eats and not seen and day.weight[1] >= criteria.heaviest
