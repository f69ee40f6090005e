"""Turn what a person passes to a question into what the question takes."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time
from numbers import Real
from pathlib import Path
from typing import TypeAlias, TypeVar

from formulate.answers.household import FlockLike, Home, household_of
from formulate.base.errors import InputError, WrongType, check_type
from formulate.base.messages import say
from formulate.base.moments import day_and_hour, local, parse_clock
from formulate.base.units import Kitchen, parse_kitchen
from formulate.pantry.country import bare_pantry
from formulate.pantry.pantry import Pantry, load_pantry, sample_pantry
from formulate.pantry.recipe import Recipe
from formulate.pantry.typed_foods import typed_pantry

__all__ = [
    "RECIPES",
    "FlockLike",
    "KitchenLike",
    "MomentLike",
    "PantryLike",
    "RecipeLike",
    "clock_from",
    "flock_path",
    "home_from",
    "is_a",
    "kitchen_from",
    "moment_from",
    "numbers_only",
    "pantry_from",
    "shelf_from",
    "texts_from",
    "texts_only",
]

T = TypeVar("T")

PantryLike: TypeAlias = Pantry | Path | str | Iterable[str]
MomentLike: TypeAlias = datetime | date | str
KitchenLike: TypeAlias = Kitchen | str
RecipeLike: TypeAlias = Recipe | str

#: What a recipe is given as.
RECIPES = (str, Recipe)

#: What ends so is a file; any other word is a food.
FILE_ENDING = ".toml"


def is_a(value: object, kinds: tuple[type, ...], what: str, hint: str) -> None:
    """Refuse an argument of another type.

    Parameters
    ----------
    value : object
    kinds : tuple of type
    what, hint : str
        Message ids: what it is called, and what would be right.

    Raises
    ------
    WrongType
    """
    check_type(value, kinds, say(f"library.what.{what}"), say(f"library.{hint}"))


def texts_only(**given: object) -> None:
    """Refuse arguments that are no text; None was left out.

    Raises
    ------
    WrongType
    """
    for name, value in given.items():
        if not (value is None or isinstance(value, str)):
            raise WrongType(name, value, say("library.a-text"))


def numbers_only(**given: object) -> None:
    """Refuse arguments that are no plain number; None was left out.

    Raises
    ------
    WrongType
    """
    for name, value in given.items():
        if isinstance(value, bool) or not (value is None or isinstance(value, Real)):
            raise WrongType(name, value, say("library.a-number"))


def texts_from(value: Iterable[T] | str, kinds: tuple[type, ...], what: str, hint: str) -> list[T]:
    """A list of what may be given as one text or as several items.

    Raises
    ------
    WrongType
        If one of them is something else.
    """
    if isinstance(value, str) or not isinstance(value, Iterable):
        is_a(value, kinds, what, hint)
        return [value]  # type: ignore[list-item]
    found = list(value)
    for one in found:
        is_a(one, kinds, what, hint)
    return found


def pantry_from(
    value: PantryLike, country: str | None = None, kitchen: KitchenLike | None = None
) -> Pantry:
    """A pantry, its file, or names of foods with their prices or without.

    Raises
    ------
    WrongType
        If it is something else.
    InputError
        If a file or a name cannot be read, or a pantry that is loaded is given a country.
    """
    if isinstance(value, Pantry):
        if country is not None:
            raise InputError(say("library.pantry-and-country")).about("country")
        if kitchen is not None:
            raise InputError(say("library.pantry-and-kitchen")).about("kitchen")
        return value
    if isinstance(value, Path) or (isinstance(value, str) and value.lower().endswith(FILE_ENDING)):
        if kitchen is not None:
            raise InputError(say("library.pantry-and-kitchen")).about("kitchen")
        return load_pantry(value, country)
    names: list[str] = texts_from(value, (str,), "pantry", "a-pantry")
    return typed_pantry(names, None if kitchen is None else kitchen_from(kitchen), country)


def shelf_from(value: PantryLike | None, country: str | None = None) -> Pantry | None:
    """A pantry; or a country's bare one where only that is given; else nothing."""
    if value is not None:
        return pantry_from(value, country)
    return None if country is None else bare_pantry(country)


def kitchen_from(value: object, pantry: Pantry | None = None) -> Kitchen:
    """Whose cups and spoons: as given, else the pantry's, else US."""
    if value is None:
        return Kitchen.US if pantry is None else pantry.kitchen
    if isinstance(value, Kitchen):
        return value
    if not isinstance(value, str):
        hint = say("library.a-kitchen", names=", ".join(Kitchen))
        raise WrongType(say("library.what.kitchen"), value, hint)
    return parse_kitchen(value)


def moment_from(value: MomentLike | None) -> datetime | None:
    """A moment; a day alone means its noon.

    Raises
    ------
    WrongType, InputError
        If it is no moment, or has a time zone.
    """
    if value is None or isinstance(value, datetime):
        return None if value is None else local(value)
    if isinstance(value, date):
        return datetime.combine(value, time(12))
    is_a(value, (str,), "moment", "a-moment")
    text = value.strip()
    found = day_and_hour(text)
    if found is None or found[0] is None:
        raise InputError(say("library.not-a-moment", text=text), say("library.a-moment"))
    return datetime.combine(found[0], found[1] or time(12))


def clock_from(value: time | str | None) -> time | None:
    """An hour of the day."""
    if value is None or isinstance(value, time):
        return value
    is_a(value, (str,), "clock", "a-clock")
    return parse_clock(value)


def home_from(
    flock: FlockLike, pantry: PantryLike | None = None, now: MomentLike | None = None
) -> Home:
    """A flock with its pantry; see `formulate.answers.household.household_of`."""
    given = None if pantry is None else pantry_from(pantry)
    return household_of(flock, given, moment_from(now))


def flock_path(flock: FlockLike) -> Path:
    """The file of a flock, beside which its log stands.

    Raises
    ------
    WrongType, InputError
        If it is no flock, or one without a file, as the built-in sample.
    """
    if isinstance(flock, str | Path):
        return Path(flock)
    home = household_of(flock, sample_pantry())
    if home.path is None:
        raise InputError(say("library.no-flock-file"), say("library.save-flock"))
    return home.path
