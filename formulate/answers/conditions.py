"""When a text applies to a milk or an animal: what each kind of condition finds.

Conditions are data; `formulate.answers.condition_data` reads them and lists what they may say.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Protocol

from formulate.answers.facts import AnimalFacts, Facts, MilkFacts
from formulate.base.messages import number
from formulate.foods.bands import Band, Basis, Role, Standing
from formulate.foods.food import Food
from formulate.foods.measures import measure

__all__ = [
    "AllOf",
    "Always",
    "AnyOf",
    "Applied",
    "Condition",
    "OfAge",
    "OfCountry",
    "OfFoods",
    "OfRead",
    "OfReading",
    "OfSouring",
    "OfSpecies",
    "OfStage",
    "ReadLimits",
]

#: A number this close to a limit, relative, lies on it.
EDGE = 1e-9


@dataclass(frozen=True, slots=True)
class Applied:
    """What a condition that holds has found.

    Parameters
    ----------
    value : str
    foods, names : tuple of str
        Ids of foods; labels of measures.
    measures : frozenset of str
        Measures whose reads it answers for.
    lent : bool
        Whether similar foods lent a value that was missing.
    """

    value: str = ""
    foods: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    measures: frozenset[str] = frozenset()
    lent: bool = False

    def __or__(self, other: Applied) -> Applied:
        return Applied(
            self.value or other.value,
            tuple(dict.fromkeys((*self.foods, *other.foods))),
            tuple(dict.fromkeys((*self.names, *other.names))),
            self.measures | other.measures,
            self.lent or other.lent,
        )


class Condition(Protocol):
    """Something that is true or false of some facts."""

    def find(self, facts: Any) -> Applied | None:
        """What the condition finds; None if it does not hold."""


@dataclass(frozen=True, slots=True)
class ReadLimits:
    """Which numbers pass: all of the ends that are given."""

    above: float = -math.inf
    at_least: float = -math.inf
    up_to: float = math.inf
    below: float = math.inf

    def hold(self, value: float | None) -> bool:
        """Whether a number passes; an unknown number never does."""
        if value is None or math.isnan(value):
            return False
        slack = EDGE * max(1.0, abs(value))
        return (
            self.above < value - slack
            and value - slack <= self.up_to
            and self.at_least <= value + slack
            and value + slack < self.below
        )

    @property
    def given(self) -> bool:
        """Whether there is any end."""
        return self != ReadLimits()


@dataclass(frozen=True, slots=True)
class Always:
    """Of everything."""

    def find(self, facts: Facts) -> Applied | None:
        """As a `Condition`."""
        return Applied()


@dataclass(frozen=True)
class OfRead:
    """A read of the mix within limits."""

    measure: str
    basis: Basis
    unit: str
    limits: ReadLimits
    figures: int | None = None
    except_kinds: tuple[str, ...] = ()

    @cached_property
    def band(self) -> Band:
        """As a ceiling, if more is worse, so that similar foods may supply missing values."""
        least = max(self.limits.above, self.limits.at_least)
        high = least if math.isfinite(least) else math.inf
        return Band(self.measure, self.basis, self.unit, high=high, role=Role.SHOWN)

    def find(self, facts: MilkFacts) -> Applied | None:
        """As a `Condition`."""
        if not self.except_kinds and not self.limits.hold(facts.value(self.band)):
            return None
        one = facts.read(self.band, self.except_kinds)
        value = one.value
        if value is None or not self.limits.hold(value):
            return None
        if self.figures and value:
            value = round(value, self.figures - 1 - math.floor(math.log10(abs(value))))
        measures = frozenset({self.measure})
        return Applied(number(value), (), (_plain(self.band),), measures, bool(one.assumed))


@dataclass(frozen=True)
class OfFoods:
    """Some foods in the mix: all filters that are given apply to each."""

    kinds: tuple[str, ...] = ()
    foods: tuple[str, ...] = ()
    ingredients: tuple[str, ...] = ()
    lacks: tuple[str, ...] = ()
    own: bool = False
    raw: bool = False
    table: str = ""
    holds: str = ""
    share_of: str = ""
    limits: ReadLimits = field(default_factory=ReadLimits)

    def find(self, facts: MilkFacts) -> Applied | None:
        """As a `Condition`."""
        if (self.kinds and facts.kinds.isdisjoint(self.kinds)) or (
            self.ingredients and not facts.have_ingredients
        ):
            return None  # at a glance: most conditions are about foods that no milk has
        chosen = [food for food in facts.foods if self.is_of(food)]
        if not chosen:
            return None
        found = Applied(foods=tuple(food.id for food in chosen), names=self._lacking(chosen))
        if not self.share_of:
            return found
        share = facts.share(chosen, self.share_of)
        if share is None or not self.limits.hold(share):
            return None
        return found | Applied(number(share))

    def is_of(self, food: Food) -> bool:
        """Whether a food is one of those that are meant."""
        return (
            (not self.kinds or food.kind in self.kinds)
            and (not self.foods or food.id in self.foods or food.same_food in self.foods)
            and (not self.raw or food.raw)
            and (not self.table or food.table == self.table)
            and (not self.ingredients or any(map(self._named, food.ingredients)))
            and (not self.lacks or any(math.isnan(food.value(name)) for name in self.lacks))
            and (not self.own or food.own)
            and (not self.raw or food.raw)
            and (not self.holds or self.limits.hold(food.value(self.holds)))
        )

    def _named(self, ingredient: str) -> bool:
        """Whether an ingredient is one of those named, and not one "free" of it or its lecithin."""
        words = "|".join(map(re.escape, self.ingredients))
        return bool(re.search(rf"\b(?:{words})\b(?![ -](?:free|lecithin)\b)", ingredient))

    def _lacking(self, foods: Iterable[Food]) -> tuple[str, ...]:
        missing = [n for n in self.lacks if any(math.isnan(food.value(n)) for food in foods)]
        return tuple(measure(name).label for name in missing)


@dataclass(frozen=True, slots=True)
class OfSouring:
    """A soured mix whose pH, or its distance past the onset of curdling, is within limits."""

    what: str
    limits: ReadLimits

    def find(self, facts: MilkFacts) -> Applied | None:
        """As a `Condition`."""
        souring = facts.souring
        if souring is None:
            return None
        value = souring.ph if self.what == "ph" else souring.past_onset
        return Applied(f"{souring.ph:.1f}", souring.foods) if self.limits.hold(value) else None


@dataclass(frozen=True, slots=True)
class OfReading:
    """Values of one role that are not known, or that similar foods supplied."""

    role: Role
    lent: bool

    def find(self, facts: MilkFacts) -> Applied | None:
        """As a `Condition`."""
        chosen = [
            one
            for one in facts.reads
            if one.band.role is self.role
            and (bool(one.assumed) if self.lent else one.standing is Standing.UNKNOWN)
        ]
        if not chosen:
            return None
        foods = [name for one in chosen for name in (one.assumed if self.lent else one.lacks)]
        return Applied("", tuple(dict.fromkeys(foods)), tuple(_plain(one.band) for one in chosen))


@dataclass(frozen=True, slots=True)
class OfSpecies:
    """Who drinks it."""

    species: str

    def find(self, facts: Facts) -> Applied | None:
        """As a `Condition`."""
        return Applied() if facts.species == self.species else None


@dataclass(frozen=True, slots=True)
class OfCountry:
    """Where the milk is made, if anybody has said."""

    country: str

    def find(self, facts: MilkFacts) -> Applied | None:
        """As a `Condition`."""
        return Applied() if facts.mix.shelf.country == self.country else None


@dataclass(frozen=True, slots=True)
class OfAge:
    """An animal of some days."""

    limits: ReadLimits

    def find(self, facts: AnimalFacts) -> Applied | None:
        """As a `Condition`."""
        return Applied(f"{facts.age:.0f}") if self.limits.hold(facts.age) else None


@dataclass(frozen=True, slots=True)
class OfStage:
    """What the animal lives on; if nobody knows, its age alone decides."""

    stages: tuple[str, ...]

    def find(self, facts: AnimalFacts) -> Applied | None:
        """As a `Condition`."""
        return Applied() if not facts.stage or facts.stage in self.stages else None


@dataclass(frozen=True, slots=True)
class AllOf:
    """Every one of some conditions."""

    parts: tuple[Condition, ...]

    def find(self, facts: Facts) -> Applied | None:
        """As a `Condition`."""
        found = Applied()
        for part in self.parts:
            one = part.find(facts)
            if one is None:
                return None
            found |= one
        return found


@dataclass(frozen=True, slots=True)
class AnyOf:
    """One or more of some conditions; what all of those find."""

    parts: tuple[Condition, ...]

    def find(self, facts: Facts) -> Applied | None:
        """As a `Condition`."""
        found = [one for part in self.parts if (one := part.find(facts)) is not None]
        if not found:
            return None
        first, *more = found
        for one in more:
            first |= one
        return first


def _plain(band: Band) -> str:
    return band.label.partition(" (")[0]
