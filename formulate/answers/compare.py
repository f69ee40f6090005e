"""Compare recipes by what a litre, a kilogram of dry matter or a megajoule costs."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from formulate.base.errors import InputError
from formulate.blend.mix import Mix
from formulate.foods.bands import BandSet
from formulate.pantry.pantry import Pantry
from formulate.pantry.reading import check
from formulate.pantry.recipe import Recipe

__all__ = ["Compared", "Per", "compare"]


class Per(StrEnum):
    """What a cost is taken per."""

    LITRE = "litre"
    DRY_MATTER = "kg-dry-matter"
    MEGAJOULE = "megajoule"


@dataclass(frozen=True)
class Compared:
    """One recipe and its costs.

    Parameters
    ----------
    recipe : Recipe
    mix : Mix
        The recipe checked.
    per_litre : float
        Money per litre of mix.
    per_kg_dry_matter : float
        Money per kilogram of its solids.
    per_megajoule : float
        Money per MJ of energy a suckling lamb can use.
    """

    recipe: Recipe
    mix: Mix
    per_litre: float
    per_kg_dry_matter: float
    per_megajoule: float

    def cost_per(self, per: Per) -> float:
        """The cost that a ranking asks for."""
        return {
            Per.LITRE: self.per_litre,
            Per.DRY_MATTER: self.per_kg_dry_matter,
            Per.MEGAJOULE: self.per_megajoule,
        }[per]


def compare(
    recipes: Iterable[Recipe], pantry: Pantry, bands: BandSet, per: Per = Per.LITRE
) -> tuple[Compared, ...]:
    """Cost recipes and rank them, cheapest first.

    Raises
    ------
    InputError
        If a food has no price in the pantry (water is free), or its energy is not known.
    """
    rows = []
    for recipe in recipes:
        mix = check(recipe, bands, pantry)
        cost = mix.cost
        if cost is None:
            unpriced = [f.id for f in recipe.foods if math.isnan(pantry.price_per_gram(f.id))]
            raise InputError(
                f"{', '.join(unpriced)} has no price in {pantry.where}",
                f"Add a table such as [foods.{unpriced[0]}] with price and package.",
                recipe.name,
            )
        composition = mix.shelf.composition
        solids = float(composition.row("solids") @ mix.grams) / 1e3
        energy = float(composition.row("metabolisable-energy") @ mix.grams)
        if not (solids > 0 and energy > 0):
            raise InputError("this has no solids or no known energy to compare by", "", recipe.name)
        rows.append(Compared(recipe, mix, cost / mix.volume * 1e3, cost / solids, cost / energy))
    return tuple(sorted(rows, key=lambda row: (row.cost_per(per), row.recipe.name)))
