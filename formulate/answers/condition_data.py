"""Conditions as data: what a TOML table may say, and the condition it stands for.

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
    { stood_in = "safety" }                                safety values that similar foods lend
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
from collections.abc import Callable, Mapping
from typing import Any

from formulate.answers.conditions import (
    AllOf,
    Always,
    AnyOf,
    Condition,
    OfAge,
    OfCountry,
    OfFoods,
    OfRead,
    OfReading,
    OfSouring,
    OfSpecies,
    OfStage,
    ReadLimits,
)
from formulate.answers.facts import SPECIES, STAGES
from formulate.base.errors import InputError, UnknownName
from formulate.base.messages import say
from formulate.foods.bands import Basis, Role
from formulate.foods.country import countries
from formulate.foods.food import KINDS
from formulate.foods.measures import measure
from formulate.foods.national import nutrient_tables
from formulate.foods.tables import food_table

__all__ = ["condition_from"]

_LIMITS = ("above", "at_least", "up_to", "below")
_FILTERS = ("kinds", "foods", "raw", "table", "ingredients", "lacks", "own")
_OF_FOODS = (*_FILTERS, "holds", "share_of", *_LIMITS)
#: The key that sets what a condition means, and every key it may have.
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
        raise InputError(
            f"{dict(entry)} is no condition", say("errors.known.any", names=", ".join(_KEYS))
        )
    if extra := set(entry) - set(_KEYS[meaning]):
        raise UnknownName("key", min(extra), _KEYS[meaning])
    return _READERS[meaning](entry)


def _limits(entry: Mapping[str, Any]) -> ReadLimits:
    return ReadLimits(**{key: _number(entry, key) for key in _LIMITS if key in entry})


def _of_read(entry: Mapping[str, Any]) -> Condition:
    limits = _limits(entry)
    if not limits.given:
        raise InputError(
            f"a read of {entry['measure']} has no limit",
            say("errors.known.any", names=", ".join(_LIMITS)),
        )
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
        raise InputError(
            "a soured mix is asked about without a limit",
            say("errors.known.any", names=", ".join(_LIMITS)),
        )
    return OfSouring(_word(entry, "souring", ("ph", "past_onset")), limits)


def _of_reading(entry: Mapping[str, Any]) -> Condition:
    meaning = next(iter(entry))
    return OfReading(Role(_word(entry, meaning, tuple(Role))), meaning == "stood_in")


def _of_age(entry: Mapping[str, Any]) -> Condition:
    first, last = _number(entry, "age_from"), _number(entry, "age_to")
    if not 0 <= first < last:
        raise InputError(f"ages run from {first:g} to {last:g} days", "From the younger.")
    return OfAge(ReadLimits(at_least=first, below=last))


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
        raise UnknownName(key, str(value), known, say("errors.known.any", names=", ".join(known)))
    return str(value)


def _words(entry: Mapping[str, Any], key: str, known: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(_word({key: value}, key, known) for value in entry.get(key, ()))
