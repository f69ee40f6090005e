"""A map of two prices that shows which recipe is cheapest where, and the range of a price."""

from __future__ import annotations

import math
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.blend.prices.parametric import Progress, Sweep, sweep
from formulate.blend.problem import Problem

__all__ = ["PriceMap", "check_range", "price_map"]

Array = NDArray[np.float64]
Indices = NDArray[np.intp]


@brief_repr
@dataclass(frozen=True, eq=False)
class PriceMap(ByContent):
    """The cheapest mix over a grid of two prices, every other price as it is.

    Parameters
    ----------
    food_a, food_b : str
        Ids: a runs along the map, b up.
    price_a : ndarray, shape (A,)
    price_b : ndarray, shape (B,)
        Money per gram.
    recipe : ndarray of int, shape (B, A)
    cost_per_litre : ndarray, shape (B, A)
        [money/L]
    sweep : Sweep
        Of the B · A prices, row by row.
    """

    food_a: str
    food_b: str
    price_a: Array
    price_b: Array
    recipe: Indices
    cost_per_litre: Array
    sweep: Sweep


def price_map(
    problem: Problem,
    food_a: str,
    range_a: tuple[float, float],
    food_b: str,
    range_b: tuple[float, float],
    shape: tuple[int, int] = (300, 300),
    *,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> PriceMap | None:
    """Sweep a grid of the prices of two foods.

    Parameters
    ----------
    problem : Problem
        Its shelf's prices hold for the other foods.
    food_a, food_b : str
        Ids on the shelf.
    range_a, range_b : tuple of float
        Lowest and highest price [money per g].
    shape : tuple of int
        Prices of a and of b.
    progress : callable, optional
    executor : concurrent.futures.Executor, optional
        See `sweep`.

    Returns
    -------
    PriceMap or None
        None if no mix meets the problem.
    """
    a, b = problem.shelf.column(food_a), problem.shelf.column(food_b)
    if a == b:
        raise InputError(say("prices.map-twice", food=food_a))
    price_a = np.linspace(*check_range(food_a, range_a), shape[0])
    price_b = np.linspace(*check_range(food_b, range_b), shape[1])
    problem.shelf.require_prices(a, b)
    prices = np.tile(problem.shelf.price, (shape[1], shape[0], 1))
    prices[:, :, a] = price_a
    prices[:, :, b] = price_b[:, None]
    flat = prices.reshape(-1, len(problem.shelf.foods))
    swept = sweep(problem, flat, progress=progress, executor=executor)
    if swept is None:
        return None
    grid = (shape[1], shape[0])
    return PriceMap(
        food_a,
        food_b,
        price_a,
        price_b,
        swept.recipe.reshape(grid),
        swept.cost_per_litre.reshape(grid),
        swept,
    )


def check_range(food: str, prices: tuple[float, float]) -> tuple[float, float]:
    """Return a range of prices [money per g] if it is one.

    Raises
    ------
    InputError
        If it is not two numbers from zero up, the lower first.
    """
    low, high = prices
    if not (0 <= low < high and math.isfinite(high)):
        raise InputError(
            say("prices.no-run", food=food, low=low, high=high),
            say("prices.no-run-remedy"),
        )
    return low, high
