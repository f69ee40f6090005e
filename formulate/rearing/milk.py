"""How strong a milk is: the few figures of a mix that feeding depends on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formulate.base.errors import InputError, MissingComposition
from formulate.base.messages import say
from formulate.blend.mix import Mix
from formulate.foods.food import Composition
from formulate.foods.measures import MASS, measure
from formulate.rearing.figures import value

__all__ = ["Milk", "milk_of", "milk_of_dry_matter", "milk_of_mix"]


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

    @property
    def energy_of_solids(self) -> float:
        """Metabolisable energy [MJ/kg of dry matter]."""
        return 1e3 * self.energy / self.solids_per_litre

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
    for needed in measures:
        row = composition.row(needed)
        unknown = used & ~np.isfinite(row)
        lacking = [food for food, gap in zip(composition.ids, unknown, strict=True) if gap]
        if lacking:
            raise MissingComposition(needed, lacking, say("flock.a-feed-plan"))
        totals[needed] = float(row[used] @ grams[used])
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


def milk_of_dry_matter(
    fat: float,
    protein: float,
    lactose: float | None = None,
    *,
    ash: float = 7.5,
    solids: float = 17.0,
    name: str = "milk replacer",
) -> Milk:
    """Strength of a milk replacer, or of any milk, by what its dry matter holds.

    Energy is reckoned as for any mix: by Šebek & Everts 1993, of which Walker & Norton's share can
    be used. A bag's label gives figures as fed: 30 % of fat in a powder that is 96 % dry makes
    31.25 % of its dry matter.

    Parameters
    ----------
    fat, protein : float
        [g/100 g of dry matter].
    lactose : float, optional
        [g/100 g of dry matter]; None: what fat, protein and ash leave.
    ash : float
        [g/100 g of dry matter]; judgement, where it is not known.
    solids : float
        Of the milk as fed [g/100 g]. It changes what a litre holds, not what the solids hold.
    name : str

    Raises
    ------
    InputError
        If these cannot be parts of one dry matter.

    Examples
    --------
    >>> round(milk_of_dry_matter(fat=31, protein=23).energy_of_solids, 1)
    23.5
    """
    sugar = 100 - fat - protein - ash if lactose is None else lactose
    parts = (fat, protein, sugar, ash)
    sound = all(0 <= part <= 100 for part in parts) and 0 < solids < 100
    # A little above 100: analyses are rounded.
    if not sound or fat + protein + sugar > 100.5 or fat + protein + sugar <= 0:
        raise InputError(say("growth.predict.no-dry-matter"), say("growth.predict.dry-matter"))
    dry = solids / 100
    held = {"fat": fat * dry, "protein": protein * dry, "carbohydrate": sugar * dry}  # g/100 g
    held |= {"water": 100 - solids, MASS: 100.0}
    volume = sum(held[name] * factor for name, factor in measure("volume").terms.items()) / 1e3
    energy = measure("metabolisable-energy").terms
    return Milk(
        name,
        sum(held[name] * factor for name, factor in energy.items()) / volume,
        solids,
        solids / volume,
        protein,
        10 * held["fat"],
        10 * held["carbohydrate"],
    )


def milk_of_mix(name: str, mix: Mix) -> Milk:
    """Strength of a designed or checked mix."""
    return milk_of(name, mix.shelf.composition, mix.grams)
