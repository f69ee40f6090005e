"""Compare one food across several tables, in relation to how much its cartons vary.

Tables differ by country, feed, season and laboratory. A difference is worth reporting if it is
larger than that between one carton and the next: farther from the food at hand than 19 of 20 of
its own cartons lie (`formulate.foods.spread`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from formulate.foods.food import Composition, Food, row_numbers
from formulate.foods.food_table import FoodTable
from formulate.foods.measures import MEASURES
from formulate.foods.spread import WORST, spread_of
from formulate.foods.tables import default_spreads

__all__ = ["SHOWN", "Difference", "differences", "same_food_rows"]

#: The measures that are compared.
SHOWN = (
    "solids",
    "protein",
    "fat",
    "lactose",
    "ash",
    "energy",
    "calcium",
    "phosphorus",
    "sodium",
    "potassium",
    "magnesium",
    "iron",
    "zinc",
    "copper",
    "selenium",
    "vitamin-d",
    "vitamin-e",
)


@dataclass(frozen=True, slots=True)
class Difference:
    """One measure of one food, as several rows have it.

    Parameters
    ----------
    measure : str
    values : tuple of float or None
        Per 100 g as fed, in the order of the rows; None if a row has no number.
    flags : tuple of str
        What a row marks instead of a number, as its table writes it; empty if it has one.
    cartons : float or None
        How far 19 of 20 cartons of the first row's food lie from it at most [per 100 g]; None
        if that is not known.
    beyond : tuple of bool
        Which rows differ from the first by more than that.
    """

    measure: str
    values: tuple[float | None, ...]
    flags: tuple[str, ...]
    cartons: float | None
    beyond: tuple[bool, ...]

    @property
    def between(self) -> float | None:
        """From the least to the most of the rows [per 100 g]; None if fewer than two know."""
        known = [value for value in self.values if value is not None]
        return max(known) - min(known) if len(known) > 1 else None


def same_food_rows(food: Food, table: FoodTable) -> tuple[Food, ...]:
    """Every row of the tables that is this food, the one at hand first."""
    if not food.same_food:
        return (food,)
    others = (*table.values(), *table.abroad.values())
    return (
        food,
        *(other for other in others if other.same_food == food.same_food and other is not food),
    )


def differences(rows: tuple[Food, ...]) -> tuple[Difference, ...]:
    """Compare the rows of one food, measure by measure.

    Parameters
    ----------
    rows : tuple of Food
        The food at hand first.

    Returns
    -------
    tuple of Difference
        In the order of `SHOWN`; a measure that no row knows is left out.
    """
    composition = Composition.of(rows)
    spread = spread_of(rows[:1], default_spreads())
    forms = np.zeros((len(SHOWN), len(MEASURES)))
    numbers = row_numbers(SHOWN)
    forms[np.arange(len(SHOWN)), numbers] = 1.0
    half_widths = 100.0 * WORST * spread.of_forms(forms)[:, 0]
    found = []
    for name, number, half in zip(SHOWN, numbers, half_widths, strict=True):
        printed = [row.values.get(name) for row in rows]
        amounts = 100.0 * composition.per_gram[number]
        values = tuple(
            one.value if one else float(amount) if math.isfinite(amount) else None
            for one, amount in zip(printed, amounts, strict=True)
        )
        if all(value is None for value in values):
            continue
        first, cartons = values[0], float(half) if half > 0 else None
        beyond = tuple(
            first is not None
            and value is not None
            and cartons is not None
            and abs(value - first) > cartons
            for value in values
        )
        flags = tuple(
            "" if value is not None else row.flags.get(name, "")
            for row, value in zip(rows, values, strict=True)
        )
        found.append(Difference(name, values, flags, cartons, beyond))
    return tuple(found)
