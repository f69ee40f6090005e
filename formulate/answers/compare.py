"""Find which recipe is cheapest: per litre, per kilogram of dry matter or per megajoule."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from formulate.answers.verdict import Judgement, Verdict, judge
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.shown import Renderable, brief, brief_repr
from formulate.base.units import Kitchen
from formulate.blend.mix import Mix
from formulate.foods.bands import BandSet
from formulate.pantry.pantry import Pantry, recipe_named
from formulate.pantry.reading import check
from formulate.pantry.recipe import Recipe

__all__ = ["CompareAnswer", "Compared", "Per", "compare", "costs_of"]


class Per(StrEnum):
    """What a cost is taken per."""

    LITRE = "litre"
    DRY_MATTER = "kg-dry-matter"
    MEGAJOULE = "megajoule"


@brief_repr
@dataclass(frozen=True)
class Compared:
    """One recipe and its costs.

    Parameters
    ----------
    recipe : Recipe
    mix : Mix
        The recipe checked.
    judgement : Judgement
    per_litre : float
        Money per litre of mix.
    per_kg_dry_matter : float
        Money per kilogram of its solids.
    per_megajoule : float
        Money per MJ of energy a suckling lamb can use.
    """

    recipe: Recipe
    mix: Mix
    judgement: Judgement
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


@dataclass(frozen=True)
class CompareAnswer(Renderable):
    """Recipes by cost.

    Parameters
    ----------
    pantry : Pantry
        Where the prices are from.
    bands : BandSet
        The reference that the recipes were compared with.
    per : Per
        What they are ranked by.
    rows : tuple of Compared
        Those inside their ranges first, then those that miss one, then those that may not be
        fed as they are: a cheap milk that is not right is no bargain. Each group cheapest first.
    """

    pantry: Pantry
    bands: BandSet
    per: Per
    rows: tuple[Compared, ...]

    def __repr__(self) -> str:
        rows = (
            f"{row.recipe.name} {row.judgement.verdict} {row.cost_per(self.per):.2f}"
            for row in self.rows
        )
        return brief(self, f"{self.pantry.currency} per {self.per}", ", ".join(rows))

    @property
    def yes(self) -> bool:
        """Whether some recipe is inside every range that matters."""
        return any(row.judgement.verdict is Verdict.INSIDE for row in self.rows)

    def __iter__(self) -> Iterator[Compared]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)


def compare(
    recipes: Iterable[Recipe | str],
    pantry: Pantry,
    reference: BandSet | str = "lamb-replacer",
    per: Per = Per.LITRE,
    *,
    kitchen: Kitchen | None = None,
) -> CompareAnswer:
    """Cost recipes, judge each, and rank them: the best verdict first, then the cheapest.

    Parameters
    ----------
    recipes : iterable of Recipe or str
        Typed, or named in the pantry; none: every recipe of the pantry.
    pantry : Pantry
    reference : BandSet or str
        What to hold them to.
    per : Per
        What to rank by.
    kitchen : Kitchen, optional
        Whose cups and spoons typed recipes mean; the pantry's where left out.

    Raises
    ------
    InputError
        If there is nothing to compare, a recipe cannot be read, a food has no price in the
        pantry (water is free), or its energy is not known.
    """
    bands = pantry.ranges(reference) if isinstance(reference, str) else reference
    whose = kitchen or pantry.kitchen
    rows = []
    for one in tuple(recipes) or tuple(pantry.recipes):
        recipe = recipe_named(one, pantry, whose) if isinstance(one, str) else one
        rows.append(_costed(recipe, pantry, bands))
    if not rows:
        raise InputError(say("compare.nothing"), say("compare.nothing-remedy"))
    ranked = sorted(
        rows, key=lambda row: (-row.judgement.verdict.rank, row.cost_per(per), row.recipe.name)
    )
    return CompareAnswer(pantry, bands, per, tuple(ranked))


def _costed(recipe: Recipe, pantry: Pantry, bands: BandSet) -> Compared:
    mix = check(recipe, bands, pantry)
    cost = mix.cost
    if cost is None:
        gaps = [f.id for f in recipe.foods if math.isnan(pantry.price_per_gram(f.id))]
        raise InputError(
            say("compare.no-price", foods=", ".join(gaps), count=len(gaps), pantry=pantry.where),
            say("compare.no-price-remedy", food=gaps[0]),
            recipe.name,
        )
    costs = costs_of(mix)
    if not all(map(math.isfinite, costs)):
        raise InputError(say("compare.no-solids"), "", recipe.name)
    return Compared(recipe, mix, judge(mix), *costs)


def costs_of(mix: Mix) -> tuple[float, float, float]:
    """Cost of a litre, of a kilogram of solids and of a megajoule [money/L, money/kg, money/MJ].

    NaN where a food that is used has no price, or there is nothing to divide by.
    """
    cost = math.nan if mix.cost is None else mix.cost
    litres, solids, energy = contents_of(mix)
    return cost / litres, cost / solids, cost / energy


def contents_of(mix: Mix) -> tuple[float, float, float]:
    """What a batch holds: volume, solids and energy [L, kg, MJ]; NaN where it has none."""
    composition = mix.shelf.composition
    solids = float(composition.row("solids") @ mix.grams)
    energy = float(composition.row("metabolisable-energy") @ mix.grams)
    return (
        mix.volume / 1e3,
        solids / 1e3 if solids > 0 else math.nan,
        energy if energy > 0 else math.nan,
    )
