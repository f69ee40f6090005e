"""When an animal may be weaned: published criteria, all required, and how its milk ends.

Age, weight, a multiple of the birth weight and creep eaten on three days running. Age is known;
weight and creep have to be seen. Milk ends in steps or from one day to the next, by choice: once
all is met the one is as good as the other. An animal that loses weight gets its milk back, until it
has that weight again and has eaten its creep anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, MilkEnd, Weighing

__all__ = [
    "Criteria",
    "back_on_milk",
    "creep_date",
    "creep_days_to_go",
    "criteria_of",
    "step_down_shares",
    "to_regain",
]


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
        Weight [kg] that is the multiple of its birth weight; None if that is not known.
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
    regain = to_regain(animal)
    weight = value("wean-weight", animal.species)
    return Criteria(
        int(value("wean-age", animal.species)),
        weight if regain is None else max(weight, regain.kilograms),
        None if animal.birth_weight is None else multiple * animal.birth_weight,
        value("wean-creep", animal.species),
        int(value("wean-creep-days")),
    )


def to_regain(animal: Animal) -> Weighing | None:
    """The heaviest weight that it had, where its last one is clearly below; else None.

    Clearly: by more than a scale may be wrong.
    """
    weights = animal.all_weights
    heaviest = weights[-1]
    for one in weights:
        if one.kilograms > heaviest.kilograms:
            heaviest = one
    fallen = heaviest.kilograms - weights[-1].kilograms
    return heaviest if fallen > value("scale-error") * (1 + 1e-9) else None


def back_on_milk(animal: Animal, today: date) -> bool:
    """Whether an animal that was weaned lately has lost weight since, and is to have milk again."""
    ending = animal.ending
    if ending is None or ending.gone or to_regain(animal) is None:
        return False
    weighed = animal.last_weight.day
    lately = ending.day + timedelta(days=int(value("wean-back-days")))
    return ending.day < weighed <= min(lately, today)


def creep_date(animal: Animal, today: date) -> date | None:
    """First day on which enough creep had been eaten on enough days running; None: not yet.

    Of an animal that has lost weight only what it ate since it was weighed.
    """
    if not animal.creep:
        return None
    criteria = criteria_of(animal)
    since = animal.last_weight.day if to_regain(animal) else date.min
    running = 0
    before: date | None = None
    for eaten in animal.creep:
        if eaten.day <= since:
            continue
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
    if not animal.creep:
        return int(value("wean-creep-days"))
    criteria = criteria_of(animal)
    if creep_date(animal, today) is not None:
        return 0
    since = animal.last_weight.day if to_regain(animal) else date.min
    by_day = {eaten.day: eaten.grams for eaten in animal.creep if eaten.day > since}
    running = 0
    day = today if today in by_day else today - timedelta(days=1)
    while by_day.get(day, 0.0) >= criteria.creep:
        running += 1
        day -= timedelta(days=1)
    return criteria.creep_days - running


def step_down_shares(how: MilkEnd = MilkEnd.STEPPED) -> Sequence[float]:
    """Share of the full milk on each day of the step-down; none if milk ends abruptly."""
    if how is MilkEnd.ABRUPT:
        return []
    days = int(value("wean-step-days"))
    return [2 / 3 if k < days / 2 else 1 / 3 for k in range(days)]
