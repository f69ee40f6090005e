"""When something is said of a milk or an animal: conditions kept as data, read here.

A condition is a TOML table with one of these meanings::

    { always = true }
    { measure = "copper", basis = "dry_matter", unit = "mg/kg", above = 17 }        a read
    { measure = "other-sugar", ..., except_kinds = ["soy"] }           not counting some foods
    { kinds = ["egg", "dry-egg"] }                                                  foods in it
    { foods = ["goat-milk"] }                             in any table, by what they are
    { foods = ["goat-milk"], table = "usda-sr28" }
    { raw = true }
    { ingredients = ["xylitol"], own = true }
    { kinds = ["cultured"], holds = "sodium", above = 80 }                          per 100 g of it
    { kinds = ["soy"], share_of = "solids", above = 10 }                            per cent
    { souring = "ph", above = 4.6 }                                        soured food in it
    { souring = "past_onset", at_least = 0 }              its pH past the onset of curdling
    { kinds = ["replacer-powder"], lacks = ["vitamin-a"] }
    { unread = "safety" }                                  safety values that cannot be read
    { stood_in = "safety" }                                safety values that like foods lend
    { species = "kid" }
    { country = "uk" }                                     the kitchen's, where it is stated
    { age_from = 14, age_to = 28 }                         days, from the first to before the last
    { stages = ["colostrum", "milk"] }
    { all = [ ... ] }   { any = [ ... ] }

A number is passed ``above``, ``up_to``, ``below`` or from (``at_least``) a limit. A read that is
not known meets no limit. What a condition finds fills the places of its text: ``{value}``, the
read (of a soured mix its pH); ``{foods}``, foods in the mix; ``{names}``, measures.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any, Protocol

import numpy as np

from formulate.base.errors import InputError, UnknownName
from formulate.base.messages import number
from formulate.blend.mix import Mix
from formulate.foods.bands import Band, Basis, Read, Role, Standing, read
from formulate.foods.country import countries
from formulate.foods.food import KINDS, Composition, Food, row_numbers
from formulate.foods.measures import measure
from formulate.foods.national import nutrient_tables
from formulate.foods.tables import food_table, table_composition
from formulate.kitchen.souring import Souring, souring_of
from formulate.rearing.feed_plan import Stage
from formulate.rearing.flock import Animal

__all__ = ["SPECIES", "STAGES", "AnimalFacts", "Condition", "Found", "MilkFacts", "condition_from"]

SPECIES = ("lamb", "kid")
#: A number this close to a limit, relative, lies on it.
EDGE = 1e-9
#: What an animal lives on.
STAGES = ("colostrum", "milk", "weaning", "weaned")
_STAGE_NAMES = dict(
    zip((Stage.COLOSTRUM, Stage.MILK, Stage.STEP_DOWN, Stage.WEANED), STAGES, strict=True)
)


@dataclass(frozen=True)
class AnimalFacts:
    """What the conditions ask of an animal.

    Parameters
    ----------
    species : str
        "lamb" or "kid".
    age : float
        In days.
    stage : str
        One of `STAGES`; empty where nobody knows.
    """

    species: str
    age: float
    stage: str = ""

    @classmethod
    def of(cls, animal: Animal, day: date, stage: Stage | None) -> AnimalFacts:
        """Of an animal on a day of its plan; None where no plan is made for it."""
        name = "" if stage is None else _STAGE_NAMES[stage]
        return cls(str(animal.species), animal.age_days(day), name)


class MilkFacts:
    """What the conditions ask of a milk, read once.

    Parameters
    ----------
    mix : Mix
    species : str
        Who drinks it.
    reads : sequence of Read
        Against that species' ranges.
    """

    def __init__(self, mix: Mix, species: str, reads: Iterable[Read]) -> None:
        self.mix, self.species, self.reads = mix, species, tuple(reads)
        used = np.flatnonzero(mix.grams > 0)
        self.foods = tuple(mix.shelf.foods[j] for j in used)
        self._columns = dict(zip((f.id for f in self.foods), used, strict=True))

    def read(self, band: Band, except_kinds: Sequence[str] = ()) -> Read:
        """Read a band of the mix; like foods lend what is missing to a ceiling.

        What foods of `except_kinds` bring of the measure is not counted.
        """
        composition = self.mix.shelf.composition
        if except_kinds:
            skip = [food.kind in except_kinds for food in composition.foods]
            per_gram = composition.per_gram.copy()
            per_gram[row_numbers([band.measure]), skip] = 0.0
            composition = Composition(composition.foods, per_gram)
        return read(band, composition, self.mix.grams, table_composition())

    @cached_property
    def souring(self) -> Souring | None:
        """How sour it is; None without soured food."""
        return souring_of(self.mix)

    def share(self, foods: Iterable[Food], of: str) -> float | None:
        """What some foods bring of a measure [%]; None where it is not known of every food."""
        row = self.mix.shelf.composition.row(of)
        amounts = {name: float(row[j] * self.mix.grams[j]) for name, j in self._columns.items()}
        total = sum(amounts.values())
        if not (math.isfinite(total) and total > 0):
            return None
        return 100.0 * sum(amounts[food.id] for food in foods) / total


Facts = MilkFacts | AnimalFacts


@dataclass(frozen=True, slots=True)
class Found:
    """What a condition that holds has found.

    Parameters
    ----------
    value : str
    foods, names : tuple of str
        Ids of foods; labels of measures.
    measures : frozenset of str
        Measures whose reads it answers for.
    lent : bool
        Whether like foods lent a value that was missing.
    """

    value: str = ""
    foods: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    measures: frozenset[str] = frozenset()
    lent: bool = False

    def __or__(self, other: Found) -> Found:
        return Found(
            self.value or other.value,
            tuple(dict.fromkeys((*self.foods, *other.foods))),
            tuple(dict.fromkeys((*self.names, *other.names))),
            self.measures | other.measures,
            self.lent or other.lent,
        )


class Condition(Protocol):
    """Holds of some facts, or does not."""

    def find(self, facts: Any) -> Found | None:
        """What it finds; None where it does not hold."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Which numbers pass: all of the ends that are given."""

    above: float = -math.inf
    at_least: float = -math.inf
    up_to: float = math.inf
    below: float = math.inf

    def hold(self, value: float | None) -> bool:
        """Whether a number passes; one that is not known never does."""
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
        return self != Limits()


@dataclass(frozen=True, slots=True)
class Always:
    """Of everything."""

    def find(self, facts: Facts) -> Found | None:
        return Found()


@dataclass(frozen=True)
class OfRead:
    """A read of the mix within limits."""

    measure: str
    basis: Basis
    unit: str
    limits: Limits
    figures: int | None = None
    except_kinds: tuple[str, ...] = ()

    @cached_property
    def band(self) -> Band:
        """As a ceiling where more is worse, so that like foods may lend what is missing."""
        least = max(self.limits.above, self.limits.at_least)
        high = least if math.isfinite(least) else math.inf
        return Band(self.measure, self.basis, self.unit, high=high, role=Role.SHOWN)

    def find(self, facts: MilkFacts) -> Found | None:
        one = facts.read(self.band, self.except_kinds)
        value = one.value
        if value is None or not self.limits.hold(value):
            return None
        if self.figures and value:
            value = round(value, self.figures - 1 - math.floor(math.log10(abs(value))))
        measures = frozenset({self.measure})
        return Found(number(value), (), (_plain(self.band),), measures, bool(one.assumed))


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
    limits: Limits = field(default_factory=Limits)

    def find(self, facts: MilkFacts) -> Found | None:
        chosen = [food for food in facts.foods if self.is_of(food)]
        if not chosen:
            return None
        found = Found(foods=tuple(food.id for food in chosen), names=self._lacking(chosen))
        if not self.share_of:
            return found
        share = facts.share(chosen, self.share_of)
        if share is None or not self.limits.hold(share):
            return None
        return found | Found(number(share))

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
    limits: Limits

    def find(self, facts: MilkFacts) -> Found | None:
        souring = facts.souring
        if souring is None:
            return None
        value = souring.ph if self.what == "ph" else souring.past_onset
        return Found(f"{souring.ph:.1f}", souring.foods) if self.limits.hold(value) else None


@dataclass(frozen=True, slots=True)
class OfReading:
    """Values of one role that could not be read, or that like foods lent."""

    role: Role
    lent: bool

    def find(self, facts: MilkFacts) -> Found | None:
        chosen = [
            one
            for one in facts.reads
            if one.band.role is self.role
            and (bool(one.assumed) if self.lent else one.standing is Standing.UNKNOWN)
        ]
        if not chosen:
            return None
        foods = [name for one in chosen for name in (one.assumed if self.lent else one.lacks)]
        return Found("", tuple(dict.fromkeys(foods)), tuple(_plain(one.band) for one in chosen))


@dataclass(frozen=True, slots=True)
class OfSpecies:
    """Who drinks it."""

    species: str

    def find(self, facts: Facts) -> Found | None:
        return Found() if facts.species == self.species else None


@dataclass(frozen=True, slots=True)
class OfCountry:
    """Where the milk is made, if anybody has said."""

    country: str

    def find(self, facts: MilkFacts) -> Found | None:
        return Found() if facts.mix.shelf.country == self.country else None


@dataclass(frozen=True, slots=True)
class OfAge:
    """An animal of some days."""

    limits: Limits

    def find(self, facts: AnimalFacts) -> Found | None:
        return Found(f"{facts.age:.0f}") if self.limits.hold(facts.age) else None


@dataclass(frozen=True, slots=True)
class OfStage:
    """What the animal lives on; where nobody knows, its age alone decides."""

    stages: tuple[str, ...]

    def find(self, facts: AnimalFacts) -> Found | None:
        return Found() if not facts.stage or facts.stage in self.stages else None


@dataclass(frozen=True, slots=True)
class AllOf:
    """Every one of some conditions."""

    parts: tuple[Condition, ...]

    def find(self, facts: Facts) -> Found | None:
        found = Found()
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

    def find(self, facts: Facts) -> Found | None:
        found = [one for part in self.parts if (one := part.find(facts)) is not None]
        if not found:
            return None
        first, *more = found
        for one in more:
            first |= one
        return first


def _plain(band: Band) -> str:
    return band.label.partition(" (")[0]


# --- reading them -------------------------------------------------------------------------------

_LIMITS = ("above", "at_least", "up_to", "below")
_FILTERS = ("kinds", "foods", "raw", "table", "ingredients", "lacks", "own")
_OF_FOODS = (*_FILTERS, "holds", "share_of", *_LIMITS)
#: The key that tells what a condition means, and every key it may have.
_KEYS: Mapping[str, tuple[str, ...]] = {
    "always": ("always",),
    "measure": ("measure", "basis", "unit", "figures", "except_kinds", *_LIMITS),
    "kinds": _OF_FOODS,
    "foods": _OF_FOODS,
    "raw": _OF_FOODS,
    "ingredients": _OF_FOODS,
    "souring": ("souring", *_LIMITS),
    "unread": ("unread",),
    "stood_in": ("stood_in",),
    "species": ("species",),
    "country": ("country",),
    "age_from": ("age_from", "age_to"),
    "stages": ("stages",),
    "all": ("all",),
    "any": ("any",),
}


def condition_from(entry: Mapping[str, Any]) -> Condition:
    """Read a condition.

    Raises
    ------
    InputError
        If it says nothing that is known, too much, or names what there is not.
    """
    if not isinstance(entry, Mapping):
        raise InputError(f"a condition is a table, not {entry!r}")
    meaning = next((key for key in _KEYS if key in entry), None)
    if meaning is None:
        raise InputError(f"{dict(entry)} is no condition", f"One of: {', '.join(_KEYS)}.")
    if extra := set(entry) - set(_KEYS[meaning]):
        raise UnknownName("key of such a condition", min(extra), _KEYS[meaning])
    return _READERS[meaning](entry)


def _limits(entry: Mapping[str, Any]) -> Limits:
    return Limits(**{key: _number(entry, key) for key in _LIMITS if key in entry})


def _of_read(entry: Mapping[str, Any]) -> Condition:
    limits = _limits(entry)
    if not limits.given:
        raise InputError(f"a read of {entry['measure']} has no limit", f"One of: {_LIMITS}.")
    figures = entry.get("figures")
    if figures is not None and figures not in (1, 2, 3):
        raise InputError(f"{figures!r} figures are not shown", "Write 1, 2 or 3.")
    basis = Basis(_word(entry, "basis", tuple(Basis)))
    skip = _words(entry, "except_kinds", tuple(KINDS))
    found = OfRead(entry["measure"], basis, entry.get("unit", ""), limits, figures, skip)
    found.band  # noqa: B018 - a band checks its measure, basis and unit
    return found


def _of_foods(entry: Mapping[str, Any]) -> Condition:
    limits = _limits(entry)
    holds, share_of = entry.get("holds", ""), entry.get("share_of", "")
    if limits.given != bool(holds or share_of) or (holds and share_of):
        raise InputError("a limit goes with holds or with share_of, and each of them with a limit")
    lacks = tuple(entry.get("lacks", ()))
    for name in filter(None, (holds, share_of, *lacks)):
        measure(name)
    return OfFoods(
        _words(entry, "kinds", tuple(KINDS)),
        _words(entry, "foods", tuple(food_table())),
        tuple(word.lower() for word in entry.get("ingredients", ())),
        lacks,
        bool(entry.get("own", False)),
        bool(entry.get("raw", False)),
        _word(entry, "table", tuple(nutrient_tables())) if "table" in entry else "",
        holds,
        share_of,
        limits,
    )


def _of_souring(entry: Mapping[str, Any]) -> Condition:
    limits = _limits(entry)
    if not limits.given:
        raise InputError("a soured mix is asked about without a limit", f"One of: {_LIMITS}.")
    return OfSouring(_word(entry, "souring", ("ph", "past_onset")), limits)


def _of_reading(entry: Mapping[str, Any]) -> Condition:
    meaning = next(iter(entry))
    return OfReading(Role(_word(entry, meaning, tuple(Role))), meaning == "stood_in")


def _of_age(entry: Mapping[str, Any]) -> Condition:
    first, last = _number(entry, "age_from"), _number(entry, "age_to")
    if not 0 <= first < last:
        raise InputError(f"ages run from {first:g} to {last:g} days", "From the younger.")
    return OfAge(Limits(at_least=first, below=last))


def _joined(entry: Mapping[str, Any]) -> Condition:
    meaning, parts = next(iter(entry.items()))
    if not isinstance(parts, list) or len(parts) < 2:
        raise InputError(f'"{meaning}" joins two conditions or more')
    made = tuple(condition_from(part) for part in parts)
    return AllOf(made) if meaning == "all" else AnyOf(made)


_READERS: Mapping[str, Callable[[Mapping[str, Any]], Condition]] = {
    "always": lambda entry: Always(),
    "measure": _of_read,
    "kinds": _of_foods,
    "foods": _of_foods,
    "raw": _of_foods,
    "ingredients": _of_foods,
    "souring": _of_souring,
    "unread": _of_reading,
    "stood_in": _of_reading,
    "species": lambda entry: OfSpecies(_word(entry, "species", SPECIES)),
    "country": lambda entry: OfCountry(_word(entry, "country", tuple(countries()))),
    "age_from": _of_age,
    "stages": lambda entry: OfStage(_words(entry, "stages", STAGES)),
    "all": _joined,
    "any": _joined,
}


def _number(entry: Mapping[str, Any], key: str) -> float:
    value = entry.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise InputError(f"{key} is {value!r}", "Write a number.")
    return float(value)


def _word(entry: Mapping[str, Any], key: str, known: tuple[str, ...]) -> str:
    value = entry.get(key)
    if value not in known:
        raise UnknownName(key, str(value), known, f"One of: {', '.join(known)}.")
    return str(value)


def _words(entry: Mapping[str, Any], key: str, known: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(_word({key: value}, key, known) for value in entry.get(key, ()))
