"""How strong a milk is: the few figures of a mix that feeding depends on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formulate.base.errors import InputError, MissingComposition
from formulate.base.messages import say
from formulate.blend.mix import Mix
from formulate.foods.food import Composition
from formulate.rearing.figures import value

__all__ = ["Milk", "milk_of", "milk_of_mix"]


@dataclass(frozen=True, slots=True)
class Milk:
    """A mix as an animal meets it.

    Parameters
    ----------
    name : str
    energy : float
        Metabolisable energy [MJ/L].
    solids : float
        [g/100 g as fed].
    solids_per_litre : float
        [g/L].
    protein : float
        [g/100 g dry matter].
    fat, sugar : float
        [g/kg as fed]; NaN where they are not known.
    """

    name: str
    energy: float
    solids: float
    solids_per_litre: float
    protein: float
    fat: float = np.nan
    sugar: float = np.nan

    @property
    def beyond_equation(self) -> tuple[str, ...]:
        """What of it, "fat" or "sugar", is above the milks that the energy equation was made on."""
        found = {"fat": self.fat, "sugar": self.sugar}
        return tuple(k for k, v in found.items() if v > value(f"energy-equation-{k}"))

    def solids_for(self, energy: float) -> float:
        """Solids [g/100 g as fed] at which the same solids would carry `energy` [MJ/L].

        Stirred with less water: solids and energy per litre rise alike, since a litre of
        stronger milk weighs nearly the same.
        """
        return self.solids * energy / self.energy


def milk_of(name: str, composition: Composition, grams: np.ndarray) -> Milk:
    """Strength of an amount of foods.

    Raises
    ------
    MissingComposition
        If a used food lacks water, fat, protein or carbohydrate.
    InputError
        If there is no energy in it.
    """
    used = grams > 0
    totals = {}
    measures = ("metabolisable-energy", "solids", "protein", "volume", "fat", "carbohydrate")
    for measure in measures:
        row = composition.row(measure)
        unknown = used & ~np.isfinite(row)
        lacking = [food for food, gap in zip(composition.ids, unknown, strict=True) if gap]
        if lacking:
            raise MissingComposition(measure, lacking, say("flock.a-feed-plan"))
        totals[measure] = float(row[used] @ grams[used])
    if not totals["metabolisable-energy"] > 0:
        raise InputError(say("flock.no-energy", milk=name), say("flock.no-energy-remedy"))
    volume = totals["volume"] / 1e3
    return Milk(
        name,
        totals["metabolisable-energy"] / volume,
        100 * totals["solids"] / float(grams.sum()),
        totals["solids"] / volume,
        100 * totals["protein"] / totals["solids"],
        1e3 * totals["fat"] / float(grams.sum()),
        1e3 * totals["carbohydrate"] / float(grams.sum()),
    )


def milk_of_mix(name: str, mix: Mix) -> Milk:
    """Strength of a designed or checked mix."""
    return milk_of(name, mix.shelf.composition, mix.grams)
