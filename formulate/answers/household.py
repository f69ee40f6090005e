"""A flock and the pantry that feeds it: named, found in the folder, or the built-in samples."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import TypeAlias

from formulate.base.errors import InputError, WrongType
from formulate.base.folder import file_lying_in
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.base.spelled import in_digits
from formulate.base.units import Kitchen, parse_number, with_mixed, with_points
from formulate.pantry.pantry import Pantry, load_pantry, pantry_here, sample_pantry
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, Flock, MilkEnd, Species, Weighing
from formulate.rearing.flock_file import FlockRead, load_flock, sample_flock
from formulate.rearing.levels import at_level, level_named
from formulate.rearing.limits import unplanned
from formulate.rearing.mixes import pantry_of
from formulate.rearing.weights import check_weighings, parse_weight

__all__ = [
    "FlockLike",
    "FlockRead",
    "Home",
    "fed_at_level",
    "flock_of",
    "household_of",
    "load_household",
    "one_animal",
    "parse_age",
    "with_weaning",
]

#: What a flock is given as: its file, or the flock itself.
FlockLike: TypeAlias = Path | str | FlockRead | Flock
#: "3 d", "36 hrs", "1 week and 2 days".
_AGE_PART = re.compile(
    r"(\d{1,9}(?:\.\d{1,9})?|\d+ \d+/\d+|\d+/\d+)\s*"
    r"(h|hrs?|hours?|d|days?|w|wks?|weeks?)(?![a-z])\.?(?:\s*(?:,|and\b)?\s*)",
    re.ASCII,
)
_AGE = re.compile(rf"(?:{_AGE_PART.pattern}){{1,3}}", re.ASCII)
_DAYS = {"h": 1 / 24, "d": 1.0, "w": 7.0}
#: Where nobody said when they can feed: six times, as a handbook has it for a newborn.
FEEDING_TIMES = tuple(
    time(h, m) for h, m in ((6, 0), (9, 30), (13, 0), (16, 30), (20, 0), (23, 30))
)


@brief_repr
@dataclass(frozen=True)
class Home:
    """What most questions about animals are asked of.

    Parameters
    ----------
    read : FlockRead
    pantry : Pantry
    path : Path or None
        The flock's file; None for the sample and for an animal without a list.
    said : tuple of str
        What was taken without being named.
    """

    read: FlockRead
    pantry: Pantry
    path: Path | None = None
    said: tuple[str, ...] = ()


def load_household(
    flock: Path | str | None = None,
    pantry: Path | str | None = None,
    now: datetime | None = None,
    *,
    folder: Path | None = None,
) -> Home:
    """Read a flock and its pantry.

    Parameters
    ----------
    flock : Path or str, optional
        Flock file; by default the one in `folder`, else the built-in sample.
    pantry : Path or str, optional
        Pantry file; by default the one that the flock file names, else the one beside it, else
        the built-in sample.
    now : datetime, optional
        The moment to plan from; else noon of the day that the file names, else this moment.
    folder : Path, optional
        Where to look for what is not named; by default nowhere.

    Raises
    ------
    ManyFaults, InputError
        With every fault of the files, or if the folder has several. Faults of the log are handed
        back in `read`.
    """
    said = []
    path = None if flock is None else Path(flock)
    if path is None and folder is not None:
        path = file_lying_in(folder, "animals", "flock")
        if path is not None:
            said.append(say("today.household.flock-here", name=path.name))
    if path is None:
        read = sample_flock(now)
        said.append(say("today.household.sample"))
    else:
        read = load_flock(path, now)
    if pantry is not None or read.flock.pantry or path is None:
        larder = pantry_of(read.flock, None if pantry is None else str(pantry))
    else:
        larder, told = _pantry_in(path.parent)
        said.append(told)
    if path is not None and larder.stated and not read.flock.kitchen_said:
        read = load_flock(path, now, larder.kitchen)
    return Home(read, larder, path, tuple(said))


def household_of(
    flock: FlockLike, pantry: Pantry | Path | str | None = None, now: datetime | None = None
) -> Home:
    """A household from whatever is given of it; see `load_household`.

    Parameters
    ----------
    flock : Path, str, FlockRead or Flock
        A flock file, or a flock that was read or made.
    pantry : Pantry, Path or str, optional
    now : datetime, optional

    Raises
    ------
    WrongType
        If the flock is something else.
    ManyFaults, InputError
        With every fault of the files.
    """
    if isinstance(flock, str | Path):
        if not isinstance(pantry, Pantry):
            return load_household(flock, pantry, now)
        usual = pantry.kitchen if pantry.stated else Kitchen.US
        return Home(load_flock(flock, now, usual), pantry, Path(flock))
    if isinstance(flock, Flock):
        read = FlockRead(flock, now or _moment_of(flock))
    elif isinstance(flock, FlockRead):
        read = flock if now is None else replace(flock, now=now)
    else:
        raise WrongType(say("library.what.flock"), flock, say("library.a-flock"))
    where = Path(read.flock.where)
    path = where if where.is_file() else None  # the built-in sample has none
    if isinstance(pantry, Pantry):
        return Home(read, pantry, path)
    if pantry is not None or read.flock.pantry or path is None:
        return Home(read, pantry_of(read.flock, None if pantry is None else str(pantry)), path)
    larder, told = _pantry_in(path.parent)
    return Home(read, larder, path, (told,))


def _moment_of(flock: Flock) -> datetime:
    """The default moment to plan from: noon of the flock's own day, or now."""
    return datetime.now() if flock.day is None else datetime.combine(flock.day, time(12))


def fed_at_level(home: Home, level: str) -> Home:
    """The same household with every animal fed at one level, whatever its file says.

    Parameters
    ----------
    home : Home
    level : str
        As typed: "gentle", "usual" or "hearty".

    Raises
    ------
    InputError
        If there is no such level, or every animal is weaned.
    """
    flock, today = home.read.flock, home.read.now.date()
    try:
        named = level_named(level)
    except InputError as error:
        raise error.about("level") from None
    if named is None or all(unplanned(one, today) == "weaned" for one in flock.animals):
        raise InputError(say("today.level.nobody")).about("level")
    return replace(home, read=replace(home.read, flock=at_level(flock, named)))


def with_weaning(home: Home, how: str) -> Home:
    """The same household, with every animal's milk ending in one way, whatever its file says.

    Parameters
    ----------
    home : Home
    how : str
        "stepped" or "abrupt".
    """
    flock = home.read.flock
    animals = tuple(replace(one, weaning=None) for one in flock.animals)
    alike = replace(flock, animals=animals, weaning=MilkEnd(how))
    return replace(home, read=replace(home.read, flock=alike))


def flock_of(path: Path, now: datetime | None = None) -> FlockRead:
    """A flock and its log alone; see `load_household`."""
    return load_flock(path, now)


def _pantry_in(folder: Path) -> tuple[Pantry, str]:
    """The pantry of a folder, or the sample, and what to say about it."""
    found = pantry_here(folder)
    if found.invented:
        return found, say("today.household.sample-pantry")
    return found, say("today.household.pantry-here", name=Path(found.where).name)


def one_animal(
    species: Species | str,
    weight: str,
    age: str,
    milk: str,
    now: datetime | None = None,
    *,
    pantry: Path | str | None = None,
    kitchen: Kitchen | None = None,
    folder: Path | None = None,
) -> Home:
    """One animal without a list of animals, fed six times a day.

    Parameters
    ----------
    species : Species or str
        "lamb" or "kid".
    weight, age : str
        As typed: "4.2kg" and "3d".
    milk : str
        A recipe, or its name in the pantry.
    now : datetime, optional
        By default this moment.
    pantry : Path or str, optional
        By default the one in `folder`, else the built-in sample.
    kitchen : Kitchen, optional
        Whose fluid ounces stand on the bottle; by default the pantry's.
    folder : Path, optional

    Raises
    ------
    InputError
        If the weight or the age cannot be read, or no such animal has such a weight.
    """
    now = datetime.now() if now is None else now
    said: tuple[str, ...] = ()
    if pantry is not None:
        larder = load_pantry(Path(pantry))
    elif folder is None:
        larder = sample_pantry()
    else:
        larder, told = _pantry_in(folder)
        said = () if larder.invented else (told,)
    old = parse_age(age)
    born = now - old
    kilograms = parse_weight(weight)
    hour = born.time().replace(second=0, microsecond=0) if old < timedelta(days=2) else None
    newborn = born.date() == now.date()
    animal = Animal(
        say(f"today.household.your-{Species(species)}"),
        Species(species),
        born.date(),
        hour,
        kilograms if newborn else None,
        () if newborn else (Weighing(now.date(), kilograms),),
    )
    for _, fault in check_weighings(animal, now.date()):
        raise InputError(fault.problem, fault.remedy)
    flock = Flock((animal,), FEEDING_TIMES, milk, kitchen=kitchen or larder.kitchen)
    return Home(FlockRead(flock, now), larder, None, said)


def parse_age(text: str) -> timedelta:
    """Read "36h", "3d", "3 days old", "1 week 2 days" or "a day and a half".

    Raises
    ------
    InputError
        If it has no unit, or is the age of a grown animal.
    """
    spelled = in_digits(with_mixed(text.lower().strip().removesuffix("old").strip()))
    spelled = with_points(spelled)
    if not _AGE.fullmatch(spelled):
        alone = re.fullmatch(r"\d{1,9}(\.\d{0,9})?", spelled, re.ASCII)
        name = "age-without-unit" if alone else "not-an-age"
        raise InputError(say(f"today.household.{name}", text=text.strip()[:40]),
                         say("today.household.write-age"))  # fmt: skip
    days = sum(_number(part[1]) * _DAYS[part[2][0]] for part in _AGE_PART.finditer(spelled))
    if days > value("oldest"):
        raise InputError(
            say("today.household.grown", text=text.strip()[:40]),
            say("today.household.write-age"),
        )
    return timedelta(days=days)


def _number(text: str) -> float:
    """A number from nothing up: a newborn is 0 hours old."""
    return 0.0 if not text.strip("0.") else parse_number(text)[0]
