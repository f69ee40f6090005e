"""Decide whether an animal may be fed now, and why not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from formulate.answers.milks import FedMilk
from formulate.answers.verdict import Verdict
from formulate.base.messages import say
from formulate.rearing.colostrum import is_newborn
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal
from formulate.rearing.limits import unplanned
from formulate.rearing.warmth import can_swallow, warmth_of

__all__ = ["Bar", "bars_of"]


@dataclass(frozen=True, slots=True)
class Bar:
    """One reason why an animal is not fed.

    Parameters
    ----------
    id : str
        "cannot-swallow", "cold", "milk-never", "milk-vet", "milk-unknown", "weigh-first",
        "weaned" or "past-milk".
    text : str
    """

    id: str
    text: str

    @property
    def of_milk(self) -> bool:
        """Whether only the milk is barred: colostrum may still be given."""
        return self.id.startswith("milk-")

    @property
    def of_animal(self) -> bool:
        """Whether it is the animal that is barred, whatever it would drink."""
        return self.harm and not self.of_milk

    @property
    def harm(self) -> bool:
        """Whether feeding would harm; else no milk is due any more, or no amount is known."""
        return self.of_milk or self.id in ("cold", "cannot-swallow")


def bars_of(animal: Animal, milk: FedMilk | None, now: datetime) -> tuple[Bar, ...]:
    """Why an animal must not be fed now, the gravest first; empty if it may be.

    Parameters
    ----------
    animal : Animal
    milk : FedMilk or None
        What it drinks; None if it drinks none.
    now : datetime
    """
    found = []
    if not can_swallow(animal, now):
        found.append(_bar("cannot-swallow", animal))
    if warmth_of(animal, now).may_feed is False:
        found.append(_bar("cold", animal, danger=value("cold-danger")))
    if milk is not None and not milk.may_be_fed and not is_newborn(animal, now):
        name = {Verdict.NEVER: "never", Verdict.VET: "vet"}.get(milk.verdict, "unknown")
        found.append(_bar(f"milk-{name}", animal, milk=milk.name))
    if why := unplanned(animal, now.date()):
        day = animal.last_weight.day
        found.append(_bar(why, animal, day=day, weeks=(now.date() - day).days // 7,
                          age=animal.age_days(now.date())))  # fmt: skip
    return tuple(found)


def _bar(name: str, animal: Animal, **values: object) -> Bar:
    return Bar(name, say(f"today.bar.{name}", animal=animal.name, **values))
