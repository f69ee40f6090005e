"""Begin a folder: write a pantry and a list of animals from a few words."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, time
from functools import partial
from pathlib import Path

from formulate.answers.flock_edit import (
    FEEDING_TIMES,
    Newcomer,
    add_animal,
    begin_flock,
    check_newcomer,
)
from formulate.answers.mix import mix
from formulate.answers.mix_answer import MixAnswer
from formulate.base.errors import InputError, quoted
from formulate.base.files import is_file
from formulate.base.messages import listed, say
from formulate.base.moments import day_and_hour
from formulate.base.units import Kitchen
from formulate.pantry.country import bare_pantry
from formulate.pantry.pantry import FILE, Pantry, load_pantry
from formulate.pantry.start import FLOCK_FILE, Beginning, check_free, pantry_text
from formulate.pantry.typed_foods import typed_pantry

__all__ = ["SPECIES", "StartAnswer", "birth_of", "first_milk", "newcomer", "pantry_there", "start"]

SPECIES = ("lamb", "kid")
_DAY = re.compile(r"\d{4}-\d")


@dataclass(frozen=True)
class StartAnswer:
    """What was begun.

    Parameters
    ----------
    written : tuple of Path
    pantry : Pantry
        As written.
    milks : mapping of str to MixAnswer
        The first milk of these foods by species; or why there is none.
    """

    written: tuple[Path, ...]
    pantry: Pantry
    milks: Mapping[str, MixAnswer]

    @property
    def recipes(self) -> dict[str, str]:
        """The first milks that may be fed, by name."""
        return _recipes(self.milks, self.pantry)


def _recipes(milks: Mapping[str, MixAnswer], pantry: Pantry) -> dict[str, str]:
    return {
        f"{species}-milk": found.milk.recipe_text(pantry)
        for species, found in milks.items()
        if found.milk is not None and found.yes
    }


def newcomer(text: str) -> Newcomer:
    """Read an animal: "Pip, lamb, 4.2 kg, 2026-11-02", or with the hour, "2026-11-02 04:30".

    The name comes first; the rest may stand in any order.

    Raises
    ------
    InputError
        If it does not say all four, or any of them cannot be true.
    """
    name, *rest = [part.strip() for part in text.split(",")]
    told: dict[str, str] = {}
    for part in rest:
        what = "species" if part.isalpha() else "weight"
        what = "born" if _DAY.match(part) or _day_of(part) else what
        if part and what in told:
            named = say(f"start.{what}")
            problem = say("start.animal-twice", text=part, other=told[what], what=named)
            raise InputError(problem, say("start.animal-remedy"))
        told[what] = part
    missing = [say(f"start.{what}") for what in ("species", "weight", "born") if not told.get(what)]
    if not name:
        missing.insert(0, say("start.name"))
    if missing:
        raise InputError(
            say("start.animal-lacks", text=quoted(text.strip()), missing=listed(missing)),
            say("start.animal-remedy"),
        )
    if told["species"].lower() not in SPECIES:
        problem = say("start.no-species", text=told["species"], known=say("start.species"))
        raise InputError(problem, say("start.animal-remedy"))
    day, hour = birth_of(told["born"])
    animal = Newcomer(name, told["species"].lower(), day, hour, told["weight"])
    check_newcomer(animal)
    return animal


def birth_of(text: str) -> tuple[str, str]:
    """A day of birth and its hour, which may be empty: from "2026-11-02 04:30", "yesterday 5pm".

    What is no day is handed back as it is, for whoever checks it.
    """
    if found := _day_of(text):
        return f"{found[0]}", "" if found[1] is None else found[1].isoformat("minutes")
    day, _, hour = text.replace("T", " ").partition(" ")
    return day, hour.strip()


def _day_of(text: str) -> tuple[date, time | None] | None:
    """A day as people write it, with its hour if it has one; None where the text is no day."""
    found = day_and_hour(text)
    return None if found is None or found[0] is None else (found[0], found[1])


def first_milk(
    foods: Sequence[str],
    species: str = "lamb",
    *,
    kitchen: Kitchen | None = None,
    country: str | None = None,
) -> MixAnswer:
    """The milk that these foods make: the cheapest, or the one of the fewest foods.

    Parameters
    ----------
    foods : sequence of str
        As `typed_pantry` reads them.
    species : str
    kitchen : Kitchen, optional
    country : str, optional

    Raises
    ------
    InputError
        If the foods cannot be read.
    """
    return mix(typed_pantry(foods, kitchen, country), f"{species}-replacer")


def start(
    folder: str | Path,
    foods: Sequence[str],
    animals: Sequence[Newcomer] = (),
    *,
    kitchen: Kitchen | None = None,
    country: str | None = None,
    today: date | None = None,
) -> StartAnswer:
    """Write a pantry of these foods, with a first milk of them, and a list of these animals.

    Parameters
    ----------
    folder : str or Path
        Made if it is not there; nothing in it is overwritten.
    foods : sequence of str
        As `typed_pantry` reads them, with prices or without. None if the folder has a pantry
        already: that stays as it is.
    animals : sequence of Newcomer
        Fed the first milk, six times a day.
    kitchen : Kitchen, optional
    country : str, optional
    today : date, optional
        Of the prices.

    Raises
    ------
    InputError
        If anything cannot be read, a file is there already, or animals would have no milk;
        nothing is written then.
    """
    folder = Path(folder)
    there = None if foods else pantry_there(folder)
    if there is not None and not animals:
        check_free(folder)
    if not foods and there is None:
        raise InputError(say("start.no-foods"), say("start.no-foods-remedy"))
    pantry = there or typed_pantry(foods, kitchen, country)
    if pantry.has_prices and not pantry.currency:
        pantry = replace(pantry, currency=bare_pantry(country).currency)
    species = tuple(dict.fromkeys(animal.species for animal in animals)) or ("lamb",)
    milks = {one: mix(pantry, f"{one}-replacer") for one in species}
    recipes = _recipes(milks, pantry)
    if animals and len(recipes) < len(species):
        raise InputError(say("start.no-milk"), say("start.more-foods"))
    if foods and animals and is_file(folder / FILE) and not is_file(folder / FLOCK_FILE):
        named = listed([str(folder / FILE)])
        raise InputError(say("start.taken", files=named, count=1), say("start.leave-out-foods"))
    files = [FILE] * (there is None) + [FLOCK_FILE] * bool(animals)
    with Beginning(folder, files) as begun:
        if there is None:
            text = pantry_text(pantry, today or date.today(), recipes, country)
            pantry = load_pantry(begun.write(FILE, text))
        if animals:
            _write_flock(begun.place(FLOCK_FILE), animals, pantry, recipes)
    pantry = load_pantry(folder / FILE)
    return StartAnswer(tuple(begun.written), pantry, milks)


def pantry_there(folder: Path) -> Pantry | None:
    """The pantry that a folder has already, if it has one."""
    return load_pantry(folder / FILE) if is_file(folder / FILE) else None


def _write_flock(
    path: Path, animals: Sequence[Newcomer], pantry: Pantry, recipes: Mapping[str, str]
) -> None:
    """Put each animal on a new list, on the milk of its species: by name if it has one."""
    names = {recipe.text: name for name, recipe in pantry.recipes.items()}
    first = animals[0].species
    for animal in animals:
        own = recipes[f"{animal.species}-milk"]
        drinks = names.get(own, own)
        add_animal(
            path,
            partial(begin_flock, pantry, drinks, FEEDING_TIMES),
            animal if animal.species == first else replace(animal, mix=drinks),
            pantry,
            FILE,
        )
