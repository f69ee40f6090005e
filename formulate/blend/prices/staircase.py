"""One price from low to high, with the exact steps at which the recipe changes.

The least cost is a concave, piecewise linear function of one price: each recipe is a straight
line whose slope is its grams of the food. Where the lines of the recipes at both ends cross,
either the least cost lies on the crossing, which is then a breakpoint, or below it, and the
recipe found there splits the range in two. So every breakpoint is found exactly, with two
solutions each and without a grid.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.shown import brief_repr
from formulate.blend.branch import DUST
from formulate.blend.mix import optimise
from formulate.blend.prices.price_map import check_range
from formulate.blend.problem import Problem

__all__ = ["PriceStep", "Staircase", "staircase"]

Array = NDArray[np.float64]

#: A gain below this share of the cost is rounding.
GAIN = 1e-10


@brief_repr
@dataclass(frozen=True, eq=False)
class PriceStep(ByContent):
    """A range of prices over which one recipe is cheapest.

    Parameters
    ----------
    low, high : float
        Ends of the range [money/g].
    grams : ndarray, shape (n,)
        Of each food in the batch.
    amount : float
        Of the food whose price varies [g/L].
    cost_low, cost_high : float
        Cost of a litre at both ends [money/L]; linear between.
    """

    low: float
    high: float
    grams: Array
    amount: float
    cost_low: float
    cost_high: float


@brief_repr
@dataclass(frozen=True)
class Staircase:
    """The cheapest mix over a range of one price: the dearer the food, the less of it is used.

    Parameters
    ----------
    problem : Problem
    food : str
        Id.
    steps : tuple of PriceStep
        From the lowest price to the highest, without gaps.
    """

    problem: Problem
    food: str
    steps: tuple[PriceStep, ...]


@dataclass(frozen=True)
class _Line:
    """Cost of one recipe per mL: ``rest + amount · price``."""

    x: Array
    amount: float
    rest: float

    def at(self, price: float) -> float:
        return self.rest + self.amount * price

    def crossing(self, other: _Line) -> float:
        """Price at which both cost the same; `self` holds more of the food."""
        return (other.rest - self.rest) / (self.amount - other.amount)


def staircase(problem: Problem, food: str, low: float, high: float) -> Staircase | None:
    """Find the steps of the cheapest mix while one price varies.

    Parameters
    ----------
    problem : Problem
        Its shelf's prices hold for the other foods.
    food : str
        Id on the shelf.
    low, high : float
        Range of its price [money per g].

    Returns
    -------
    Staircase or None
        None if no mix meets the problem.
    """
    j = problem.shelf.column(food)
    check_range(food, (low, high))
    problem.shelf.require_prices(j)

    def line_at(price: float) -> _Line | None:
        cost = problem.shelf.price.copy()
        cost[j] = price
        result = optimise(problem, cost / (cost.max() or 1.0))
        if result is None:
            return None
        x = np.where(result.x > DUST, result.x, 0.0)
        cost[j] = 0.0
        return _Line(x, float(x[j]), float(cost @ x))

    def between(left: _Line, right: _Line) -> list[_Line]:
        """Lines of the least cost from `left`, exclusive, to `right`, inclusive."""
        if left.amount - right.amount <= DUST:
            return []
        price = left.crossing(right)
        found = line_at(price)
        if found is None or found.at(price) >= left.at(price) * (1 - GAIN):
            return [right]
        return [*between(left, found), *between(found, right)]

    first, last = line_at(low), line_at(high)
    if first is None or last is None:
        return None
    lines = [first, *between(first, last)]
    crossings = [a.crossing(b) for a, b in pairwise(lines)]
    ends = np.clip([low, *crossings, high], low, high)
    steps = tuple(
        PriceStep(
            float(start),
            float(end),
            line.x * problem.volume,
            line.amount * 1e3,
            float(line.at(start)) * 1e3,
            float(line.at(end)) * 1e3,
        )
        for line, (start, end) in zip(lines, pairwise(ends), strict=True)
        if end - start > GAIN * (high - low)
    )
    return Staircase(problem, food, steps)
