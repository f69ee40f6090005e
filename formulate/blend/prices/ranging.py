"""The prices over which a recipe stays optimal, and those at which a food enters or leaves.

The cost of the cheapest mix is concave in the price of one food: the least of one straight line
for each recipe. The price where one recipe gives way to another is found by Newton's steps from
line to line, each a certified solve. That is exact. Unlike ranging on one basis, it is not cut
short at a degenerate vertex, and it also holds with smallest useful amounts.

Where two recipes cost the same, a price range ends at the food's own price and holds the other
recipe: a recipe that costs the same needs less of at least one used food, so it takes over as
soon as that food gets any dearer.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError, SolverFault
from formulate.base.messages import say
from formulate.blend.branch import DUST
from formulate.blend.mix import Mix, Status, optimise
from formulate.blend.problem import Problem
from formulate.blend.solve import Optimal

__all__ = [
    "EntryPrice",
    "PriceRange",
    "entry_prices",
    "equal_recipes",
    "optimum_of",
    "price_ranges",
]

Array = NDArray[np.float64]

#: Costs of a mix that differ by less than this, relatively, are the same.
SAME = 1e-9
#: Prices that differ by less than this, relatively, are the same.
SAME_PRICE = 1e-7
#: Amounts that differ by less than this [g/mL of mix] are the same.
SAME_AMOUNT = 1e-8
#: A limit on Newton steps that is never reached: each step passes a recipe.
MOST_STEPS = 200


@dataclass(frozen=True, eq=False)
class EntryPrice(ByContent):
    """The price at which a food that is not used would come in.

    Parameters
    ----------
    food : str
        Id.
    price : float
        What it costs [money/g].
    below : float or None
        It is part of the cheapest mix below this price [money/g]; None if it would not be used
        even if it were free.
    grams : ndarray, shape (n_foods,) or None
        The recipe it would come in with [g]; at that price it costs as much as the mix.
    """

    food: str
    price: float
    below: float | None
    grams: Array | None

    @property
    def tied(self) -> bool:
        """Whether the recipe with it costs the same now."""
        return self.below is not None and self.price - self.below <= SAME_PRICE * self.price


@dataclass(frozen=True, eq=False)
class PriceRange(ByContent):
    """The prices of a used food over which the recipe stays the cheapest, others as they are.

    Parameters
    ----------
    food : str
        Id.
    price : float
        What it costs [money/g].
    low, high : float
        [money/g]; 0 where the recipe stays even if it costs nothing, inf where it stays
        whatever it costs.
    below, above : ndarray, shape (n_foods,) or None
        The recipe that takes over at that end [g]; None if none does.
    leaves_at : float
        Above this price the food is not used at all [money/g]; inf where no mix does without.
    """

    food: str
    price: float
    low: float
    high: float
    below: Array | None
    above: Array | None
    leaves_at: float

    @property
    def tied_below(self) -> bool:
        """Whether the recipe that takes over below costs the same now."""
        return self.below is not None and self.price - self.low <= SAME_PRICE * self.price

    @property
    def tied_above(self) -> bool:
        """Whether the recipe that takes over above costs the same now."""
        return self.above is not None and self.high - self.price <= SAME_PRICE * self.price


def entry_prices(problem: Problem, mix: Mix) -> tuple[EntryPrice, ...]:
    """Price at which each unused food would come in; the nearest to its own price first.

    Parameters
    ----------
    problem : Problem
    mix : Mix
        Its cheapest mix.
    """
    y, cost = optimum_of(problem, mix)
    out = []
    for j in np.flatnonzero(y == 0):
        below, recipe = _comes_in_below(problem, int(j), cost)
        grams = None if recipe is None else _grams(problem, recipe)
        own = float(problem.shelf.price[j])
        out.append(EntryPrice(problem.shelf.ids[j], own, below, grams))

    def distance(entry: EntryPrice) -> tuple[float, str]:
        share = -1.0 if entry.below is None else entry.below / max(entry.price, 1e-300)
        return -share, entry.food

    return tuple(sorted(out, key=distance))


def price_ranges(problem: Problem, mix: Mix) -> tuple[PriceRange, ...]:
    """Prices of each used food over which the recipe stays as it is, in the order of the shelf.

    Parameters
    ----------
    problem : Problem
    mix : Mix
        Its cheapest mix.
    """
    y, _ = optimum_of(problem, mix)
    out = []
    for j in np.flatnonzero(y > 0):
        low, below = _line_end(problem, int(j), y, up=False)
        high, above = _line_end(problem, int(j), y, up=True)
        out.append(
            PriceRange(
                food=problem.shelf.ids[j],
                price=float(problem.shelf.price[j]),
                low=low,
                high=high,
                below=None if below is None else _grams(problem, below),
                above=None if above is None else _grams(problem, above),
                leaves_at=max(_leaves_at(problem, int(j)), high),
            )
        )
    return tuple(out)


def equal_recipes(entries: Iterable[EntryPrice], ranges: Iterable[PriceRange]) -> tuple[Array, ...]:
    """Other recipes [g] that cost what the cheapest mix does; empty if it is the only one.

    If there are any, at least one of them is found, but not necessarily all.
    """
    ranges = tuple(ranges)
    candidates = [e.grams for e in entries if e.tied]
    candidates += [r.below for r in ranges if r.tied_below]
    candidates += [r.above for r in ranges if r.tied_above]
    found: list[Array] = []
    for grams in candidates:
        if grams is not None and not any(
            np.abs(grams - other).max() <= 1e-6 * grams.sum() for other in found
        ):
            found.append(grams)
    return tuple(found)


def optimum_of(problem: Problem, mix: Mix) -> tuple[Array, float]:
    """Amounts [g/mL] and cost [money/mL] of a mix that is the cheapest of its problem.

    Raises
    ------
    InputError
        If it is not the cheapest mix or some price is not known.
    """
    if mix.status is not Status.OPTIMAL or not np.isfinite(problem.shelf.price).all():
        raise InputError(say("mix.not-cheapest"))
    y = mix.grams / problem.volume
    return y, float(problem.shelf.price @ y)


def _grams(problem: Problem, y: Array) -> Array:
    """Weights of a batch [g], without the solver's rounding."""
    return np.where(y > DUST, y, 0.0) * problem.volume


def _newton(
    problem: Problem, j: int, price: float, better: Callable[[Optimal, float], float | None]
) -> tuple[float, Array | None]:
    """Step from recipe to recipe until none is better; the price, and the last recipe that was.

    `better` gives the price at which a recipe's line meets the one it is compared with, or None
    if the recipe is not better at the price it was found for.
    """
    recipe: Array | None = None
    for _ in range(MOST_STEPS):
        prices = problem.shelf.price.copy()
        prices[j] = price
        best = optimise(problem, prices)
        if best is None:
            raise SolverFault(say("solver.mix-lost-at-price"))
        meets = better(best, price)
        if meets is None or (recipe is not None and abs(meets - price) <= 1e-12 * price):
            return price, recipe
        price, recipe = meets, best.x
    raise SolverFault(say("solver.price-not-found"))


def _comes_in_below(problem: Problem, j: int, without: float) -> tuple[float | None, Array | None]:
    """Price below which food j is part of the cheapest mix, against a cost without it."""
    others = problem.shelf.price.copy()
    others[j] = 0.0

    def better(best: Optimal, price: float) -> float | None:
        if best.x[j] <= SAME_AMOUNT or best.objective >= without * (1 - SAME):
            return None
        return max(price, (without - float(others @ best.x)) / float(best.x[j]))

    price, recipe = _newton(problem, j, 0.0, better)
    return (None if recipe is None else price), recipe


def _line_end(problem: Problem, j: int, y: Array, *, up: bool) -> tuple[float, Array | None]:
    """End of the prices of food j for which `y` is the cheapest, and the recipe beyond it."""
    own = float(problem.shelf.price[j])
    others = problem.shelf.price.copy()
    others[j] = 0.0
    base = float(others @ y)

    def meets(x: Array) -> float | None:
        apart = float(y[j] - x[j]) if up else float(x[j] - y[j])
        if apart <= SAME_AMOUNT:
            return None
        price = float(others @ (x - y)) / apart * (1.0 if up else -1.0)
        return max(price, own) if up else min(max(price, 0.0), own)

    def better(best: Optimal, price: float) -> float | None:
        line = base + price * float(y[j])
        return None if best.objective >= line * (1 - SAME) else meets(best.x)

    if not up:
        return _newton(problem, j, 0.0, better)
    least = optimise(problem, (np.arange(y.size) == j).astype(float))
    if least is None:
        raise SolverFault(say("solver.mix-lost-with-less"))
    start = meets(least.x)
    if start is None:
        return math.inf, None
    price, recipe = _newton(problem, j, start, better)
    return price, least.x if recipe is None else recipe


def _leaves_at(problem: Problem, j: int) -> float:
    """Price of food j above which the cheapest mix does without it."""
    rest = [i for i in range(len(problem.shelf.foods)) if i != j]
    if not rest:
        return math.inf
    food = problem.shelf.ids[j]
    rows = [k for k, limit in enumerate(problem.limits) if limit.food != food]
    alone = problem.shelf.take(rest)
    matrix, scale = problem.rows[np.ix_(rows, rest)], problem.row_scale[rows]
    without = optimise(Problem(alone, problem.bands, problem.volume, matrix, scale))
    if without is None:
        return math.inf
    price, _ = _comes_in_below(problem, j, without.objective)
    return 0.0 if price is None else price
