"""Change a flock's file: add an animal, change the milk, or change the feeding times.

Each change is checked with the whole file before it is written, with the file locked. A milk that
no recipe has, or that must never be fed, is not written; where the milk changes, the change-over
from the milk before is the new one's, never an old one's that was left behind.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from formulate.answers.household import FEEDING_TIMES as SIX_TIMES
from formulate.answers.milks import FedMilk, milks_of
from formulate.answers.verdict import Verdict
from formulate.base.errors import InputError, ManyFaults, UnknownName
from formulate.base.files import parse_toml, read_text, replace_file
from formulate.base.locks import held
from formulate.base.messages import say
from formulate.base.moments import parse_clock, parse_day
from formulate.pantry.pantry import Pantry
from formulate.rearing.figures import value
from formulate.rearing.flock import Level, MilkEnd
from formulate.rearing.flock_file import FlockRead, parse_flock

__all__ = [
    "FEEDING_TIMES",
    "Newcomer",
    "add_animal",
    "allow_milk",
    "begin_flock",
    "change_animal",
    "change_flock",
    "change_milk",
    "change_rearing",
    "check_newcomer",
]

#: Of a new list.
FEEDING_TIMES = tuple(f"{at:%H:%M}" for at in SIX_TIMES)


@dataclass(frozen=True, slots=True)
class Newcomer:
    """An animal to put on the list, as typed.

    Parameters
    ----------
    name : str
    species : str
        "lamb" or "kid".
    born : str
        A day.
    hour : str
        Of birth; may be empty.
    birth_weight : str
    mix : str
        A milk of its own; may be empty.
    level, weaning : str or None
        How fast it is meant to grow and how its milk ends, where not as the flock's; empty: as
        the flock's. None: not told.
    cap, notes : str or None
        A veterinarian's most at one feed, as "60 mL/kg", and remarks; empty: none. None: not told.
    """

    name: str
    species: str
    born: str
    hour: str = ""
    birth_weight: str = ""
    mix: str = ""
    level: str | None = None
    weaning: str | None = None
    cap: str | None = None
    notes: str | None = None


def begin_flock(pantry: Pantry, mix: str, times: Sequence[str]) -> str:
    """The text of a new flock file: whose bottles, which milk, when they are fed.

    Raises
    ------
    InputError
        If no milk is named.
    """
    import tomlkit

    if not mix:
        raise InputError(say("today.edit.no-milk"), say("today.edit.choose-milk"))
    document = tomlkit.document()
    document.add(tomlkit.comment(say("start.animals-head")))
    document.add(tomlkit.comment(say("start.more-flock-keys")))
    document["mix"] = mix
    document["kitchen"] = pantry.kitchen.value
    document["feeding_times"] = list(times)
    return tomlkit.dumps(document)


def add_animal(
    path: Path,
    begun: Callable[[], str],
    newcomer: Newcomer,
    pantry: Pantry,
    pantry_file: str = "",
) -> str:
    """Put an animal on the list, and say so.

    Parameters
    ----------
    path : Path
        The flock file.
    begun : callable
        Gives the text of a new list, where there is none.
    newcomer : Newcomer
    pantry : Pantry
    pantry_file : str
        Written into a list that names no pantry; may be empty.

    Raises
    ------
    InputError
        If it has no name, or one that is taken, or anything of it cannot be true, or its milk
        must not be fed.
    """
    import tomlkit

    name, entry = _entry(newcomer)

    def change(document: Any) -> None:
        if "animals" not in document:
            document.add("animals", tomlkit.table(is_super_table=True))
        if name.lower() in {known.lower() for known in document["animals"]}:
            raise InputError(say("today.edit.taken", animal=name), say("today.edit.another-name"))
        document["animals"].add(name, entry)

    change_flock(path, begun, change, pantry, pantry_file)
    return say("today.edit.on-the-list", animal=name)


def check_newcomer(newcomer: Newcomer) -> None:
    """Check what is said about an animal, before anything is written.

    Raises
    ------
    InputError
        If it has no name, or anything of it cannot be true.
    """
    import tomlkit

    name, entry = _entry(newcomer)
    try:
        times = list(FEEDING_TIMES)
        parse_flock(tomlkit.dumps({"feeding_times": times, "animals": {name: entry}}), "")
    except ManyFaults as error:
        raise error.faults[0] from None


def _entry(newcomer: Newcomer) -> tuple[str, Any]:
    """The name of an animal, and its table."""
    import tomlkit

    name = " ".join(newcomer.name.split())[:60]
    if not name:
        raise InputError(say("today.edit.no-name"), say("today.edit.number-will-do"))
    entry = tomlkit.table()
    entry["species"] = newcomer.species
    entry["born"] = _born(newcomer)
    entry["birth_weight"] = " ".join(newcomer.birth_weight.split())
    if newcomer.mix:
        entry["mix"] = newcomer.mix
    return name, entry


def change_animal(path: Path, told: Newcomer, pantry: Pantry) -> str:
    """Correct what the list says of an animal, and say so.

    Parameters
    ----------
    path : Path
        The flock file.
    told : Newcomer
        With its name as it is; an hour or a milk of its own that is empty is taken away.
    pantry : Pantry

    Raises
    ------
    InputError
        If there is no such animal, or anything of it cannot be true; nothing is written then.
    """
    name = " ".join(told.name.split())[:60]

    def change(document: Any) -> None:
        animals = document.get("animals", {})
        known = {known.lower(): known for known in animals}
        if name.lower() not in known:
            raise UnknownName("animal", name, list(animals))
        entry = animals[known[name.lower()]]
        if "species" in entry or told.species != document.get("species", "lamb"):
            entry["species"] = told.species
        entry["born"] = _born(told)
        weight = " ".join(told.birth_weight.split())
        words = {"birth_weight": weight, "mix": told.mix,
                 "level": told.level, "weaning": told.weaning,
                 "veterinarians_cap": told.cap, "notes": told.notes}  # fmt: skip
        for key, text in words.items():
            if text is None:
                continue
            if text:
                entry[key] = text
            else:
                entry.pop(key, None)

    change_flock(path, lambda: "", change, pantry, "")
    return say("today.edit.changed", animal=name)


def allow_milk(path: Path, recipe: str, name: str, on: str, allows: str, pantry: Pantry) -> str:
    """Write down a veterinarian's word for a milk, and say so.

    Parameters
    ----------
    path : Path
        The flock file.
    recipe : str
        With its amounts: the word binds to them.
    name : str
        Of the veterinarian.
    on : str
        The day of the word.
    allows : str
        What it allows, in a few words.
    pantry : Pantry

    Raises
    ------
    InputError
        If anything of it is missing, or the recipe cannot be read; nothing is written then.
    """
    words = {"recipe": recipe, "name": name, "allows": allows}
    told = {key: " ".join(text.split()) for key, text in words.items()}
    for key, text in told.items():
        if not text:
            raise InputError(say(f"today.edit.allow-no-{key}"), say("today.edit.allow-write"))
    if not on.strip():
        raise InputError(say("today.edit.allow-no-day"), say("moments.day"))
    day = parse_day(on)

    def change(document: Any) -> None:
        import tomlkit

        table = tomlkit.table()
        table.update({"recipe": told["recipe"], "name": told["name"], "on": day,
                      "allows": told["allows"]})  # fmt: skip
        words = document.get("veterinarian")
        if words is None:
            words = tomlkit.aot()
            words.append(table)
            document["veterinarian"] = words
        else:
            words.append(table)

    change_flock(path, lambda: "", change, pantry, "")
    return say("today.edit.allowed", name=told["name"], on=day)


def change_milk(
    path: Path,
    mix: str,
    times: Sequence[str],
    pantry: Pantry,
    pantry_file: str = "",
    *,
    gradually: bool,
) -> str:
    """Let the flock drink another milk, or be fed at other hours, and say so.

    Parameters
    ----------
    path : Path
        The flock file.
    mix : str
        A recipe, or its name in the pantry.
    times : sequence of str
        Feeding times; where it is empty, those of the file stay.
    pantry : Pantry
    pantry_file : str
        Written into a list that names no pantry; may be empty.
    gradually : bool
        Whether the milk before is stirred in for some days, where it may be fed.

    Raises
    ------
    InputError
        If no recipe has the name, or the milk must never be fed; nothing is written then.
    """
    if not mix:
        raise InputError(say("today.edit.no-milk"), say("today.edit.choose-milk"))
    told = say("today.edit.drink", milk=mix)

    def change(document: Any) -> None:
        nonlocal told
        before = str(document.get("mix", ""))
        if times and list(times) != [str(t)[:5] for t in document.get("feeding_times", [])]:
            document["feeding_times"] = list(times)[:24]
        if mix == before:
            return
        document["mix"] = mix
        document.pop("change", None)
        days = int(value("change-days"))
        if gradually and (first_day := _blends(document, before, path, pantry)):
            import tomlkit

            table = tomlkit.table()
            table.update({"before": before, "first_day": first_day, "days": days})
            document.add("change", table) if "animals" not in document else _before_animals(
                document, table
            )
            told = say("today.edit.drink-gradually", milk=mix, before=before, days=days)

    change_flock(path, lambda: "", change, pantry, pantry_file)
    return told


def change_rearing(path: Path, level: str, weaning: str, cold: bool, pantry: Pantry) -> str:
    """Change how fast the flock is meant to grow, how its milk ends, how it is housed; say so.

    Parameters
    ----------
    path : Path
        The flock file.
    level : str
        "gentle", "usual" or "hearty".
    weaning : str
        "stepped" or "abrupt".
    cold : bool
        Whether the animals are housed in the cold.
    pantry : Pantry

    Raises
    ------
    InputError
        If a word is none of these; nothing is written then.
    """
    told: dict[str, str | bool] = {"level": level, "weaning": weaning, "cold": cold}
    unwritten = {"level": Level.GENTLE, "weaning": MilkEnd.STEPPED, "cold": False}

    def change(document: Any) -> None:
        for key, choice in told.items():
            if document.get(key, unwritten[key]) != choice:
                document[key] = choice

    change_flock(path, lambda: "", change, pantry, "")
    housed = say("today.edit.in-the-cold") if cold else say("today.edit.not-in-the-cold")
    return say("today.edit.reared", level=level, weaning=weaning, housed=housed)


def _before_animals(document: Any, table: Any) -> None:
    """Tables of animals stay last, as a person finds them."""
    animals = document.pop("animals")
    document.add("change", table)
    document.add("animals", animals)


def _blends(document: Any, before: str, path: Path, pantry: Pantry) -> date | None:
    """The day from which the milk before is stirred in; None if it is not."""
    import tomlkit

    if not before:
        return None
    try:
        read = parse_flock(tomlkit.dumps(document), str(path))
        old = _milks(read, pantry, before)
    except InputError:
        return None
    return read.now.date() if old and all(milk.may_be_fed for milk in old) else None


def _milks(read: FlockRead, pantry: Pantry, mix: str) -> tuple[FedMilk, ...]:
    """The flock on one milk, those with a milk of their own left out."""
    drinkers = tuple(animal for animal in read.flock.animals if not animal.mix)
    group = replace(read.flock, animals=drinkers, mix=mix, change=None)
    return milks_of(replace(read, flock=group), pantry)


def change_flock(
    path: Path,
    begun: Callable[[], str],
    change: Callable[[Any], None],
    pantry: Pantry,
    pantry_file: str,
) -> None:
    """Change the file as a whole: read it again, change it, check all of it, then replace it.

    Parameters
    ----------
    path : Path
    begun : callable
        Gives the text of a new list, where there is none.
    change : callable
        Changes the document.
    pantry : Pantry
    pantry_file : str
        Written into a list that names no pantry; may be empty.

    Raises
    ------
    InputError
        If the file would not work then; nothing is written.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    with held(path):
        text = read_text(path) if path.exists() else ""
        parse_toml(text, path.name)
        try:
            document = tomlkit.parse(text or begun())
            if pantry_file and "pantry" not in document:
                document["pantry"] = pantry_file
            change(document)
            new = tomlkit.dumps(document)
        except TOMLKitError as error:
            raise InputError(
                say("today.edit.laid-out"), say("today.edit.by-hand"), path.name
            ) from error
        read = parse_flock(new, str(path))
        _refuse_never(read, pantry, text)
        if new != text:
            replace_file(path, new)


def _refuse_never(read: FlockRead, pantry: Pantry, text: str) -> None:
    """Refuse a milk that is new in the file and cannot be read, or must never be fed."""
    for milk in milks_of(read, pantry):
        if milk.verdict is Verdict.NEVER and f'"{milk.name}"' not in text:
            why = milk.judgement.reasons[0].text
            raise InputError(say("today.edit.never", milk=milk.name), why)


def _born(newcomer: Newcomer) -> date:
    text = newcomer.born.strip()
    if not text:
        raise InputError(say("today.edit.no-day"), say("moments.day"))
    born = parse_day(text)
    if not newcomer.hour.strip():
        return born
    return datetime.combine(born, parse_clock(newcomer.hour))
