"""The cheapest mix at many prices at once.

A basis that is optimal at one price vector stays optimal wherever its reduced costs and duals
keep their signs, and those are linear in the prices: ``G c ≥ 0``. So one basis answers, with one
matrix product, for every price vector in its cone. One of the remaining vectors is then solved,
and so on until none is left.

A recipe may lie on more edges than it needs (a *degenerate* vertex); then several bases share
it and their cones lie side by side. Bases and recipes are counted apart: recipes that agree to
`SAME` are one. At prices where two recipes cost the same, either may be named.

A food with a smallest useful amount is used at least that much or not at all. The prices whose
recipe falls between are swept twice more, with the food held to its smallest amount and
without it, and each keeps the cheaper: `formulate.blend.mix.optimise` for many prices.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError, SolverFault
from formulate.base.executors import in_order
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.blend.basis import basic_amounts
from formulate.blend.branch import DUST
from formulate.blend.problem import Problem
from formulate.blend.solve import Infeasible, LinearProgram, Optimal, solve

__all__ = ["Progress", "Sweep", "sweep"]

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
Progress = Callable[[int, int], None]

#: A sign that is wrong by less than this, relative to the largest price, is rounding error.
SIGN = 1e-12

#: Recipes whose amounts [g/mL] all agree to this are one.
SAME = 1e-9

#: Price vectors swept at once. Their working arrays (a few MB) are all the memory it takes.
CHUNK = 65_536

#: Chunks that an executor has at a time.
WINDOW = 16

#: Price vectors tried on a basis in one product: few enough to lie in a processor's cache, and
#: for one thread (starting more costs longer than the product).
BLOCK = 8_192

#: Price vectors, spread over all, whose bases every chunk starts from.
FIRST_LOOK = 4_096


@brief_repr
@dataclass(frozen=True, eq=False)
class Sweep(ByContent):
    """The cheapest mix at each of K price vectors.

    Parameters
    ----------
    problem : Problem
    values : ndarray, shape (K,)
        Cost of the batch [money].
    recipe : ndarray of int, shape (K,)
        Row of `recipes`; 0 is the recipe of the first prices, 1 the next new one.
    recipes : ndarray, shape (R, n)
        Grams of each food in the batch.
    n_bases : int
        Bases that it took: no fewer than R.
    """

    problem: Problem
    values: Array
    recipe: Indices
    recipes: Array
    n_bases: int

    @property
    def cost_per_litre(self) -> Array:
        """Cost of a litre [money/L], shape (K,)."""
        return self.values / self.problem.volume * 1e3

    @property
    def times(self) -> Indices:
        """How many price vectors each recipe is cheapest for, shape (R,)."""
        return np.bincount(self.recipe, minlength=len(self.recipes))


def sweep(
    problem: Problem,
    prices: Array,
    *,
    progress: Progress | None = None,
    chunk: int = CHUNK,
    executor: Executor | None = None,
) -> Sweep | None:
    """Find the cheapest mix at each price vector.

    Parameters
    ----------
    problem : Problem
        Its shelf's own prices are not used.
    prices : ndarray, shape (K, n)
        Money per gram of each food.
    progress : callable, optional
        Told (price vectors done, of how many) after each chunk.
    chunk : int
        Price vectors in a chunk.
    executor : concurrent.futures.Executor, optional
        Sweeps the chunks; the answer does not depend on it.

    Returns
    -------
    Sweep or None
        None if no mix meets the problem, whatever the prices.

    Raises
    ------
    InputError
        If the prices are not one number, zero or more, for each food.
    """
    prices = np.asarray(prices, dtype=np.float64)
    n = len(problem.shelf.foods)
    if prices.ndim != 2 or prices.shape[1] != n or not len(prices):
        raise InputError(say("mix.prices-shape", count=n, shape=prices.shape))
    if not (prices.min() >= 0 and math.isfinite(float(prices.max()))):
        raise InputError(say("mix.price-out"))
    search = _Search(
        problem.program(np.zeros(n)),
        problem.shelf.smallest / problem.volume,
        # Column by column: numpy is slow to reduce rows this short.
        np.array([column.min() for column in prices.T]),
        np.array([column.max() for column in prices.T]),
    )
    search.cover(search.root, prices[:: max(1, len(prices) // FIRST_LOOK)])
    starts = range(0, len(prices), chunk)
    pieces = [prices[start : start + chunk] for start in starts]
    answers = in_order(partial(_sweep_chunk, search), pieces, executor, together=1, window=WINDOW)
    collected, bases = _Recipes(), set[bytes]()
    values, recipe = np.empty(len(prices)), np.empty(len(prices), dtype=np.intp)
    for start, answer in zip(starts, answers, strict=True):
        if answer is None:
            return None
        part = slice(start, start + chunk)
        renumber = np.array([collected.add(x) for x in answer.recipes])
        recipe[part] = renumber[answer.recipe]
        found = np.array(collected.rows)
        values[part] = np.einsum("ij,ij->i", prices[part], found[recipe[part]])
        bases |= answer.bases
        if progress is not None:
            progress(min(start + chunk, len(prices)), len(prices))
    recipes = np.array(collected.rows) * problem.volume
    return Sweep(problem, values * problem.volume, recipe, recipes, len(bases))


@dataclass(frozen=True)
class _Node:
    """Ends of the amounts [g/mL]: which foods must be used, which must not."""

    lower: Array
    upper: Array

    @property
    def key(self) -> bytes:
        return self.lower.tobytes() + self.upper.tobytes()


@dataclass(frozen=True)
class _Basis:
    """An optimal basis: the recipe x [g/mL] and the cone ``signs @ price ≥ 0`` it is good for.

    Rows of `signs` that no price between the lowest and the highest can break are left out.
    """

    key: bytes
    x: Array
    signs: Array

    @classmethod
    def of(cls, search: _Search, program: LinearProgram, found: Optimal, node: bytes) -> _Basis:
        """Work out the cone; every quantity of a basis is linear in the prices."""
        active, basic = ~found.basic_rows, found.basic_cols
        inverse = np.linalg.inv(program.matrix[np.ix_(active, basic)])
        at_lower = program.row_lower > -math.inf
        x = basic_amounts(program, found)
        # Duals are inverse.T @ c_basic: at least 0 at a low end, at most 0 at a high one, and
        # free where both ends are one. Reduced costs are at least 0 where a food may grow.
        n = program.shape[1]
        sign = np.where(at_lower, 1.0, -1.0)[active]
        bound = (program.row_lower != program.row_upper)[active]
        duals = np.zeros((int(bound.sum()), n))
        duals[:, basic] = (inverse * sign)[:, bound].T
        may_grow = ~basic & (program.col_upper > program.col_lower)
        reduced = np.eye(n)[may_grow]
        reduced[:, basic] = -(inverse @ program.matrix[np.ix_(active, may_grow)]).T
        signs = np.vstack((reduced, duals))
        signs /= np.abs(signs).max(axis=1, keepdims=True)
        least = np.minimum(signs * search.lowest, signs * search.highest).sum(axis=1)
        signs = signs[least < 0]
        key = np.concatenate((basic, active)).tobytes() + node
        return cls(key, np.where(x > DUST, x, 0.0), signs)


@dataclass
class _Recipes:
    """Recipes seen so far, each once."""

    rows: list[Array] = field(default_factory=list)

    def add(self, x: Array) -> int:
        """Number of the recipe x, old or new."""
        if self.rows:
            apart = np.abs(np.array(self.rows) - x).max(axis=1)
            nearest = int(apart.argmin())
            if apart[nearest] <= SAME:
                return nearest
        self.rows.append(x)
        return len(self.rows) - 1


@dataclass(frozen=True)
class _Answer:
    """A chunk's part of a sweep, recipes [g/mL] in order of first use."""

    recipe: Indices
    recipes: Array
    bases: set[bytes]


def _sweep_chunk(search: _Search, prices: Array) -> _Answer | None:
    """Sweep some of the prices, from the bases known at the start and no others.

    The answer depends on these arguments alone, so it does not matter where this runs.
    """
    search = search.copy()
    recipe = search.cover(search.root, prices)
    if (recipe < 0).any():
        return None
    first = np.full(len(search.recipes.rows), len(recipe))
    first[recipe[::-1]] = np.arange(len(recipe))[::-1]  # the last to be written is the first use
    order = np.argsort(first, kind="stable")[: np.count_nonzero(first < len(recipe))]
    rank = np.empty(len(first), dtype=np.intp)
    rank[order] = np.arange(len(order))
    rows = np.array(search.recipes.rows)[order]
    return _Answer(rank[recipe], rows, set(search.numbers))


@dataclass
class _Search:
    """Bases found so far, by node; grows as it works.

    Parameters
    ----------
    program : LinearProgram
        Per mL of mix.
    floors : ndarray, shape (n,)
        Smallest useful amounts [g/mL]; 0 where any amount will do.
    lowest, highest : ndarray, shape (n,)
        Ends of the prices of each food.
    known : dict
        Bases of each node, those that answered for most prices first; None: no mix.
    recipes : _Recipes
    numbers : dict
        Recipe number of each basis that has answered for a price.
    """

    program: LinearProgram
    floors: Array
    lowest: Array
    highest: Array
    known: dict[bytes, list[_Basis] | None] = field(default_factory=dict)
    recipes: _Recipes = field(default_factory=_Recipes)
    numbers: dict[bytes, int] = field(default_factory=dict)

    @property
    def root(self) -> _Node:
        """Every food free."""
        return _Node(self.program.col_lower, self.program.col_upper)

    def copy(self) -> _Search:
        """A separate search that knows the same bases; none of them counts as used yet."""
        known = {key: None if bases is None else list(bases) for key, bases in self.known.items()}
        return _Search(self.program, self.floors, self.lowest, self.highest, known)

    def cover(self, node: _Node, prices: Array) -> Indices:
        """Recipe number for each price vector, shape (K,); −1 where the node has no mix."""
        recipe = self._cover_linear(node, prices)
        if not self.floors.any() or recipe.size == 0 or recipe[0] < 0:
            return recipe
        recipes = np.array(self.recipes.rows)
        between = (recipes > 0) & (recipes < self.floors * (1 - 1e-9)) & (node.lower == 0)
        share = np.divide(recipes, self.floors, out=np.full_like(recipes, math.inf), where=between)
        branch = np.where(between.any(axis=1), share.argmin(axis=1), -1)[recipe]
        for j in np.unique(branch[branch >= 0]):
            some = np.flatnonzero(branch == j)
            lower, upper = node.lower.copy(), node.upper.copy()
            lower[j], upper[j] = self.floors[j], 0.0
            used = self.cover(_Node(lower, node.upper), prices[some])
            unused = self.cover(_Node(node.lower, upper), prices[some])
            recipe[some] = self._cheaper(used, unused, prices[some])
        return recipe

    def _cheaper(self, one: Indices, other: Indices, prices: Array) -> Indices:
        rows = np.array([*self.recipes.rows, np.zeros(prices.shape[1])])  # −1: no recipe
        costs = [
            np.where(pick < 0, math.inf, np.einsum("ij,ij->i", rows[pick], prices))
            for pick in (one, other)
        ]
        return np.where(costs[1] < costs[0], other, one)

    def _cover_linear(self, node: _Node, prices: Array) -> Indices:
        """Cover the price vectors with bases of one linear program, a block at a time."""
        recipe = np.full(len(prices), -1, dtype=np.intp)
        for start in range(0, len(prices), BLOCK):
            block = slice(start, start + BLOCK)
            if not self._cover_block(node, prices[block], recipe[block]):
                break
        return recipe

    def _cover_block(self, node: _Node, prices: Array, recipe: Indices) -> bool:
        """Fill in the recipe of each price vector; False if the node has no mix."""
        bases = self.known.setdefault(node.key, [])
        if bases is None:
            return False
        left = np.arange(len(prices))
        slack = -SIGN * float(self.lowest.max())  # every price vector's largest is no less
        hits = [0] * len(bases)
        k = 0
        while left.size:
            new = k == len(bases)
            if new:
                found = self._solve(node, prices[left.size // 2])
                if found is None:
                    self.known[node.key] = None
                    return False
                bases.append(found)
                hits.append(0)
            good = (bases[k].signs @ prices.T).min(axis=0, initial=math.inf) >= slack
            if new:  # certified there, whatever rounding says
                good[left.size // 2] = True
            hits[k] = int(np.count_nonzero(good))
            if hits[k]:
                recipe[left[good]] = self._number(bases[k])
                # Taking rows by number is several times quicker than by a mask.
                rest = np.flatnonzero(~good)
                left, prices = left.take(rest), prices.take(rest, axis=0)
            k += 1
        order = sorted(range(len(bases)), key=lambda k: -hits[k])
        self.known[node.key] = [bases[k] for k in order]
        return True

    def _number(self, basis: _Basis) -> int:
        """Number of the recipe of a basis."""
        if basis.key not in self.numbers:
            self.numbers[basis.key] = self.recipes.add(basis.x)
        return self.numbers[basis.key]

    def _solve(self, node: _Node, price: Array) -> _Basis | None:
        # Tolerances are absolute in HiGHS; a largest price of 1 makes them mean the same to all.
        cost = price / (price.max() or 1.0)
        program = replace(self.program, cost=cost, col_lower=node.lower, col_upper=node.upper)
        found = solve(program)
        if isinstance(found, Infeasible):
            return None
        if not isinstance(found, Optimal):
            raise SolverFault(say("solver.no-cheapest-at-prices"))
        return _Basis.of(self, program, found, node.key)
