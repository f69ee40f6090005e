"""When an animal may be weaned: published criteria, all together, and the step down to it.

Age, weight, a multiple of the birth weight (a rule from memory) and creep eaten on three days
running. The first three can be forecast; creep has to be seen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from formulate.rearing.figures import value
from formulate.rearing.flock import Animal

__all__ = ["Criteria", "creep_date", "creep_days_to_go", "criteria_of", "step_down_shares"]


@dataclass(frozen=True, slots=True)
class Criteria:
    """What an animal must reach.

    Parameters
    ----------
    age : int
        Days since the day of birth.
    weight : float
        [kg].
    birth_multiple : float or None
        Weight [kg] that is the multiple of its birth weight; None where that is not known.
    creep : float
        Eaten a day [g].
    creep_days : int
        Days running.
    """

    age: int
    weight: float
    birth_multiple: float | None
    creep: float
    creep_days: int

    @property
    def heaviest(self) -> float:
        """Weight that meets both demands on weight [kg]."""
        return max(self.weight, self.birth_multiple or 0.0)


def criteria_of(animal: Animal) -> Criteria:
    """Criteria for one animal."""
    multiple = value("wean-birth-multiple")
    return Criteria(
        int(value("wean-age", animal.species)),
        value("wean-weight", animal.species),
        None if animal.birth_weight is None else multiple * animal.birth_weight,
        value("wean-creep", animal.species),
        int(value("wean-creep-days")),
    )


def creep_date(animal: Animal, today: date) -> date | None:
    """First day on which enough creep had been eaten on enough days running; None: not yet."""
    criteria = criteria_of(animal)
    running = 0
    before: date | None = None
    for eaten in animal.creep:
        if eaten.day > today:
            break
        follows = before is not None and eaten.day - before == timedelta(days=1)
        enough = eaten.grams >= criteria.creep
        running = (running + 1 if follows else 1) if enough else 0
        before = eaten.day
        if running >= criteria.creep_days:
            return eaten.day
    return None


def creep_days_to_go(animal: Animal, today: date) -> int:
    """Days of enough creep still to be seen, if the next ones all bring it."""
    criteria = criteria_of(animal)
    if creep_date(animal, today) is not None:
        return 0
    by_day = {eaten.day: eaten.grams for eaten in animal.creep}
    running = 0
    day = today if today in by_day else today - timedelta(days=1)
    while by_day.get(day, 0.0) >= criteria.creep:
        running += 1
        day -= timedelta(days=1)
    return criteria.creep_days - running


def step_down_shares() -> Sequence[float]:
    """Share of the full milk on each day of the step-down."""
    days = int(value("wean-step-days"))
    return [2 / 3 if k < days / 2 else 1 / 3 for k in range(days)]
