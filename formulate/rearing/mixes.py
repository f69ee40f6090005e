"""Find the milk that a flock drinks: a recipe's name, recipe text, or a designed mix as JSON."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from formulate.base.errors import InputError
from formulate.base.files import is_file, read_text
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.base.units import LARGEST, LEAST, Amount, Kitchen
from formulate.blend.mix import Mix
from formulate.foods.tables import band_set, food_table
from formulate.pantry.pantry import Pantry, load_pantry, recipe_named, sample_pantry
from formulate.pantry.reading import check
from formulate.pantry.recipe import Recipe
from formulate.rearing.flock import Flock, Species
from formulate.rearing.milk import Milk, milk_of_mix

__all__ = ["FlockMilk", "milk_named", "pantry_of"]


@brief_repr
@dataclass(frozen=True)
class FlockMilk:
    """A milk that a flock drinks.

    Parameters
    ----------
    recipe : Recipe
    mix : Mix
        The recipe read against the species' practical ranges.
    milk : Milk
    """

    recipe: Recipe
    mix: Mix
    milk: Milk


def pantry_of(flock: Flock, named: str | None = None) -> Pantry:
    """The pantry that a person names, or the flock file's (beside it), or the sample."""
    if named:
        return load_pantry(Path(named))
    if flock.pantry:
        return load_pantry(Path(flock.where).parent / flock.pantry)
    return sample_pantry()


def milk_named(name: str, pantry: Pantry, species: Species, folder: Path = Path()) -> FlockMilk:
    """Read one milk; a name ending in ``.json`` is a file that ``formulate mix --json`` wrote."""
    if name.endswith(".json"):
        recipe = _designed(name, folder, pantry)
    else:
        recipe = recipe_named(name, pantry, pantry.kitchen)
    mix = check(recipe, band_set(f"{species}-replacer"), pantry)
    return FlockMilk(recipe, mix, milk_of_mix(recipe.name, mix))


def _designed(name: str, folder: Path, pantry: Pantry) -> Recipe:
    path = Path(name) if is_file(Path(name)) else folder / name
    written = read_text(path)
    try:
        shape = json.loads(written)
        amounts = {str(row["food"]): float(row["grams"]) for row in shape["amounts"]}
    except (ArithmeticError, KeyError, RecursionError, TypeError, ValueError):
        raise InputError(say("flock.no-mix"), say("flock.no-mix-remedy"), str(path)) from None
    table = pantry.table if pantry else food_table()
    foods = tuple(table.find(food) for food in amounts)
    grams = np.array(list(amounts.values()))
    if not len(grams) or not ((grams >= LEAST) & (grams <= LARGEST)).all():
        raise InputError(say("flock.no-amounts"), "", str(path))
    text = " + ".join(f"{g:.6g} g {food}" for food, g in amounts.items())
    return Recipe(
        path.stem, text, foods, tuple(Amount(float(g), "g") for g in grams), grams, Kitchen.US
    )
