"""Notes on an animal's weaning today: under way, done, undone, or waiting to be weighed."""

from __future__ import annotations

from datetime import date

from formulate.base.messages import say
from formulate.rearing.feed_plan import DayFeed, Stage, Weaning
from formulate.rearing.flock import Animal, MilkEnd
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
    today, begins = day.day, weaning.begins
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
    elif day.stage is Stage.STEP_DOWN and begins is not None:
        shares = step_down_shares(weaning.how)
        since = (today - begins).days
        found.append(
            say(
                "weaning.note.stepping",
                animal=animal.name,
                day=since + 1,
                days=len(shares),
                share=100 * shares[since],
            )
        )
    elif day.stage is Stage.MILK and weaning.ready is not None and weaning.ready <= today:
        name = "soon-abrupt" if weaning.how is MilkEnd.ABRUPT else "soon"
        found.append(
            say(
                f"weaning.note.{name}",
                animal=animal.name,
                begins=begins,
                last=weaning.last_milk,
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
    return (
        day.age >= criteria.age
        and day.weight[1] >= criteria.heaviest
        and not any(w.kilograms >= criteria.heaviest for w in animal.weighings)
        and creep_date(animal, today) is not None
    )
