"""Compare the values of a recipe with a set of bands, and cost it."""

from __future__ import annotations

import numpy as np

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.blend.mix import Mix, Status
from formulate.blend.problem import Shelf
from formulate.foods.bands import BandSet, read_all
from formulate.pantry.pantry import Pantry
from formulate.pantry.recipe import Recipe

__all__ = ["check"]


def check(recipe: Recipe, bands: BandSet, pantry: Pantry | None = None) -> Mix:
    """Read a recipe.

    Parameters
    ----------
    recipe : Recipe
    bands : BandSet
        The bands to compare it with.
    pantry : Pantry, optional
        Where prices are found.

    Returns
    -------
    Mix
        With status ``checked``: the recipe's own amounts, its reads, and its cost where every
        food has a price.

    Raises
    ------
    InputError
        If a food's composition does not allow a volume.
    """
    if pantry is None:
        shelf = Shelf(recipe.foods, largest_share=np.ones(len(recipe.foods)))
    else:
        shelf = pantry.shelf_for(recipe.foods)
    composition = shelf.composition
    if not np.isfinite(composition.row("volume")).all():
        raise InputError(say("mix.no-volume"))
    reads = read_all(bands, composition, recipe.grams, shelf.like)
    return Mix(Status.CHECKED, shelf, bands, recipe.grams, reads)
