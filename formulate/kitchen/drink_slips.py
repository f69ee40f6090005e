"""Mistakes in mixing a drink (a heaped spoon, a forgotten food, half the water) and their effect.

A slip multiplies the grams of each food; taking milk for water replaces the water by milk. So
a slipped drink is read by the same linear measures as the right one, and a drink can be designed
whose worst slip does least harm. It is read for each kilogram of the water (or of the milk's water)
that was poured: the few grams of water in glucose crystals would make more glucose look safer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.units import Kitchen, unit_size
from formulate.blend.least_worst import Ratios
from formulate.foods.food import Composition, Food
from formulate.foods.tables import food_table, read_toml

__all__ = ["DrinkSlip", "DrinkSlipKind", "SlipRead", "slip_ratios", "slip_table", "slips_of"]

Array = NDArray[np.float64]

#: The milk that is taken for water.
MILK = "whole-milk"


class DrinkSlipKind(StrEnum):
    """What goes wrong, in the order in which it is reported."""

    DOUBLE = "double"
    TABLESPOON = "tablespoon"
    HEAPED = "heaped"
    HALF_WATER = "half-water"
    IN_MILK = "in-milk"
    TWICE = "twice"
    FORGOTTEN = "forgotten"


@dataclass(frozen=True, eq=False)
class DrinkSlip(ByContent):
    """One slip over n foods.

    Parameters
    ----------
    kind : DrinkSlipKind
    food : str
        Id, of a slip with one thing.
    factors : ndarray, shape (n,)
        What the grams of each food are multiplied by.
    """

    kind: DrinkSlipKind
    food: str
    factors: Array


@dataclass(frozen=True, slots=True)
class SlipRead:
    """What a slipped drink reads, for each kilogram of water poured; None if it is not known.

    Parameters
    ----------
    kind : DrinkSlipKind
    food : str
    sodium, potassium : float or None
        [mmol/kg]
    difference : float or None
        Strong ion difference [mEq/kg].
    glucose : float or None
        [mmol/kg]
    osmolality : float or None
        [mOsm/kg]
    """

    kind: DrinkSlipKind
    food: str
    sodium: float | None
    potassium: float | None
    difference: float | None
    glucose: float | None
    osmolality: float | None


def slips_of(
    foods: Sequence[Food], units: Sequence[str], kitchen: Kitchen
) -> tuple[DrinkSlip, ...]:
    """Every slip that can happen with these foods, each measured in its unit.

    Parameters
    ----------
    foods : sequence of Food, length n
        Water among them.
    units : sequence of str, length n
        Unit names of `formulate.base.units`: what is taken by the teaspoon can be taken by the
        tablespoon, and every spoon can be heaped; what is weighed can not.
    kitchen : Kitchen
        Whose spoons.
    """
    water = np.array([food.kind == "water" for food in foods])
    spoons = np.array([unit in ("tsp", "tbsp") for unit in units]) & ~water
    teaspoons = np.array([unit == "tsp" for unit in units]) & ~water
    larger = unit_size("tbsp", kitchen) / unit_size("tsp", kitchen)
    one = np.ones(len(foods))
    kind = DrinkSlipKind
    slips = [DrinkSlip(kind.DOUBLE, "", np.where(water, 1.0, 2.0))]
    if teaspoons.any():
        slips.append(DrinkSlip(kind.TABLESPOON, "", np.where(teaspoons, larger, 1.0)))
    if spoons.any():
        slips.append(DrinkSlip(kind.HEAPED, "", np.where(spoons, heaped(), 1.0)))
    slips += [
        DrinkSlip(kind.HALF_WATER, "", np.where(water, 0.5, 1.0)),
        DrinkSlip(kind.IN_MILK, "", one),
    ]
    things = [j for j in range(len(foods)) if not water[j]]
    for slip, factor in ((kind.TWICE, 2.0), (kind.FORGOTTEN, 0.0)):
        for j in things:
            factors = one.copy()
            factors[j] = factor
            slips.append(DrinkSlip(slip, foods[j].id, factors))
    return tuple(slips)


@cache
def heaped() -> float:
    """A heaped spoon over a level one."""
    return float(read_toml("drink.toml")["slips"]["heaped"])


def slipped_row(slip: DrinkSlip, composition: Composition, measure: str) -> Array:
    """One measure of the slipped drink [per gram of each food as it was meant], shape (n,)."""
    row = composition.row(measure)
    if slip.kind is DrinkSlipKind.IN_MILK:
        milk = Composition.of([food_table()[MILK]])
        # A clear drink's osmolality is the sum of its ions; milk has an estimate of its own.
        known = milk.row("osmoles" if measure == "dissolved" else measure)[0]
        room = composition.row("volume")
        water = np.array([food.kind == "water" for food in composition.foods])
        row = np.where(water, known * room / milk.row("volume")[0], row)
    return np.asarray(row * slip.factors)


def poured_row(slip: DrinkSlip, composition: Composition) -> Array:
    """Water poured into the slipped drink [g per gram of each food as it was meant], shape (n,)."""
    water = np.array([food.kind == "water" for food in composition.foods])
    return np.where(water, slipped_row(slip, composition, "water"), 0.0)


def slip_ratios(slips: Sequence[DrinkSlip], composition: Composition, measure: str) -> Ratios:
    """A measure of every slipped drink for each kilogram of water poured."""
    return Ratios(
        np.array([slipped_row(slip, composition, measure) for slip in slips]) * 1e3,
        np.array([poured_row(slip, composition) for slip in slips]),
    )


def slip_table(
    slips: Sequence[DrinkSlip], composition: Composition, grams: Array
) -> tuple[SlipRead, ...]:
    """What every slip does to a drink; slips with foods that are not in it are left out."""
    used = {food.id for food, g in zip(composition.foods, grams, strict=True) if g > 0}
    kept = [slip for slip in slips if not slip.food or slip.food in used]

    there = grams > 0

    def reads(measure: str) -> list[float | None]:
        found = []
        for slip in kept:
            top = slipped_row(slip, composition, measure)[there] @ grams[there]
            value = 1e3 * float(top) / float(poured_row(slip, composition)[there] @ grams[there])
            found.append(value if math.isfinite(value) else None)
        return found

    columns = [
        reads(name)
        for name in (
            "sodium-ions",
            "potassium-ions",
            "strong-ion-difference",
            "free-glucose",
            "dissolved",
        )
    ]
    return tuple(
        SlipRead(slip.kind, slip.food, *values)
        for slip, values in zip(kept, zip(*columns, strict=True), strict=True)
    )
