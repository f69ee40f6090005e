"""Rows of the price map, the staircase and the front: plain dicts for a table, CSV or JSON."""

from __future__ import annotations

import string
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.blend.goal import Front
from formulate.blend.prices.parametric import Sweep
from formulate.blend.prices.price_map import PriceMap
from formulate.blend.prices.staircase import Staircase
from formulate.foods.national import spoken
from formulate.report.words import number

__all__ = [
    "KILOGRAM",
    "PricedPackage",
    "cost_steps",
    "food_words",
    "front_rows",
    "grams_words",
    "letters",
    "map_rows",
    "recipe_words",
    "staircase_rows",
    "sweep_rows",
]

Array = NDArray[np.float64]
Row = dict[str, float | int | str]


@dataclass(frozen=True, slots=True)
class PricedPackage:
    """What a price is for: "1 gallon", which weighs so many grams."""

    words: str
    grams: float


#: Less than this [g] is not worth a word.
LEAST = 0.005

KILOGRAM = PricedPackage("kg", 1000.0)


def food_words(food_id: str) -> str:
    """A food as said aloud: "whole milk"."""
    return spoken(food_id)


def recipe_words(ids: Sequence[str], grams: Array) -> str:
    """Foods of a recipe, the heaviest first: "whole milk + heavy cream"."""
    order = np.argsort(-grams, kind="stable")
    return " + ".join(food_words(ids[j]) for j in order if grams[j] > 0)


def grams_words(ids: Sequence[str], grams: Array) -> str:
    """Foods with their grams, the heaviest first: "924 g whole milk, 90.3 g heavy cream"."""
    order = np.argsort(-grams, kind="stable")
    used = [j for j in order if grams[j] >= LEAST]
    return ", ".join(f"{number(grams[j])} g {food_words(ids[j])}" for j in used)


def letters(swept: Sweep) -> list[str]:
    """A letter for each recipe: A is cheapest at most of the prices."""
    names = [""] * len(swept.recipes)
    for rank, k in enumerate(np.argsort(-swept.times, kind="stable")):
        lap, place = divmod(rank, 26)
        names[k] = string.ascii_uppercase[place] + (str(lap + 1) if lap else "")
    return names


def _per_litre(ids: Sequence[str], grams: Array, volume: float, shown: Sequence[int]) -> Row:
    return {f"{ids[j]} [g/L]": float(grams[j] / volume * 1e3) for j in shown}


def sweep_rows(swept: Sweep) -> list[Row]:
    """One row a recipe, in the order of their letters."""
    problem, names = swept.problem, letters(swept)
    shown = [int(j) for j in np.flatnonzero(swept.recipes.any(axis=0))]
    rows: list[Row] = []
    for k in np.argsort(-swept.times, kind="stable"):
        cost = swept.cost_per_litre[swept.recipe == k]
        row: Row = {
            "recipe": names[k],
            "foods": recipe_words(problem.shelf.ids, swept.recipes[k]),
            "share of prices": float(swept.times[k] / len(swept.recipe)),
            f"least cost [{problem.shelf.currency}/L]": float(cost.min()),
            f"most cost [{problem.shelf.currency}/L]": float(cost.max()),
        }
        rows.append(row | _per_litre(problem.shelf.ids, swept.recipes[k], problem.volume, shown))
    return rows


def map_rows(
    found: PriceMap, per_a: PricedPackage = KILOGRAM, per_b: PricedPackage = KILOGRAM
) -> list[Row]:
    """One row a point of the grid."""
    currency, names = found.sweep.problem.shelf.currency, letters(found.sweep)
    return [
        {
            f"{found.food_a} [{currency}/{per_a.words}]": float(a * per_a.grams),
            f"{found.food_b} [{currency}/{per_b.words}]": float(b * per_b.grams),
            "recipe": names[found.recipe[i, j]],
            f"cost [{currency}/L]": float(found.cost_per_litre[i, j]),
        }
        for i, b in enumerate(found.price_b)
        for j, a in enumerate(found.price_a)
    ]


def staircase_rows(stairs: Staircase, per: PricedPackage = KILOGRAM) -> list[Row]:
    """One row a step, from the lowest price up."""
    problem = stairs.problem
    currency, ids = problem.shelf.currency, problem.shelf.ids
    shown = [j for j in range(len(ids)) if any(step.grams[j] > 0 for step in stairs.steps)]
    rows: list[Row] = []
    for step in stairs.steps:
        row: Row = {
            f"from [{currency}/{per.words}]": step.low * per.grams,
            f"to [{currency}/{per.words}]": step.high * per.grams,
            f"cost from [{currency}/L]": step.cost_low,
            f"cost to [{currency}/L]": step.cost_high,
            "foods": recipe_words(ids, step.grams),
        }
        rows.append(row | _per_litre(ids, step.grams, problem.volume, shown))
    return rows


def cost_steps(front: Front, step: float) -> list[float]:
    """Costs of a litre at which to list the front: its first, every `step`, and its last."""
    first, last = float(front.costs[0]), float(front.costs[-1])
    count = int(np.floor((last - first) / step * (1 - 1e-9)))
    return [first + i * step for i in range(count + 1)] + ([last] if last > first else [])


def front_rows(front: Front, step: float = 0.1) -> list[Row]:
    """One row for each `step` of money: the deviation there, and what the step bought."""
    shelf, volume = front.problem.shelf, front.problem.volume
    found = [point for cost in cost_steps(front, step) if (point := front.at(cost)) is not None]
    shown = [j for j in range(len(shelf.ids)) if any(point.mix.grams[j] > 0 for point in found)]
    rows: list[Row] = []
    before = None
    for point in found:
        row: Row = {
            f"cost [{shelf.currency}/L]": float(point.mix.cost_per_litre or 0.0),
            "deviation": point.deviation,
            "closer by": 0.0 if before is None else before - point.deviation,
        }
        before = point.deviation
        rows.append(row | _per_litre(shelf.ids, point.mix.grams, volume, shown))
    return rows
