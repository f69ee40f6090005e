"""Without prices: the fewest foods that stay inside every range, nearest to their middles.

Among the mixes inside every range, those of the fewest foods; among these the one of least
*deviation*: the sum, over the demanded bands with two ends, of the distance of the read from the
middle, in widths of the band (as in `formulate.blend.goal`).

Sets of foods are tried by size, the smallest first; a set is dropped only if its linear program
has no answer. Within a set the deviation is a sum of ratios with different denominators, which a
linear program cannot express. But if each denominator lies between two ends, a slack divided by
the upper end costs no more than the real term. So a linear program bounds the deviation from
below, and the bound tightens as the ends come together. The tree of `formulate.blend.branch` halves
them.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import OutOfTime
from formulate.base.shown import brief_repr
from formulate.blend.branch import Relaxed, cheapest
from formulate.blend.mix import Mix, Status, finish
from formulate.blend.problem import Problem
from formulate.blend.program import LinearProgram
from formulate.blend.solve import Optimal, solve
from formulate.foods.bands import BandSet, Role
from formulate.foods.food import Composition

__all__ = ["FewestByGram", "Goals", "fewest_by_gram", "sets_of"]

Array = NDArray[np.float64]
#: Ends of each denominator.
Ends = tuple[tuple[float, float], ...]
#: Amounts, and how much less their deviation may be at most.
_Near = tuple[Array, float]

#: Deviations closer than this are the same [widths].
SAME = 1e-7


@dataclass(frozen=True, eq=False)
class Goals(ByContent):
    """The middles to come near to: g bands over n foods.

    Parameters
    ----------
    above, below : ndarray, shape (g, n)
        Numerator (in the band's unit) and denominator of each [per g].
    middle, width : ndarray, shape (g,)
    """

    above: Array
    below: Array
    middle: Array
    width: Array

    @classmethod
    def of(cls, bands: BandSet, composition: Composition) -> Goals:
        """Those of the demanded bands with two ends."""
        closed = [
            band
            for band in bands.in_role(Role.DEMANDED)
            if math.isfinite(band.low) and math.isfinite(band.high)
        ]
        n = len(composition.foods)
        above = [band.scale * composition.row(band.measure) for band in closed]
        below = [composition.row(band.denominator) for band in closed]
        return cls(
            np.array(above).reshape(-1, n),
            np.array(below).reshape(-1, n),
            np.array([band.middle for band in closed]),
            np.array([band.width for band in closed]),
        )

    def deviation(self, grams: Array) -> Array:
        """Deviation of mixes [widths]: of each row of shape (m, n), or of one of shape (n,)."""
        with np.errstate(divide="ignore", invalid="ignore"):
            read = (grams @ self.above.T) / (grams @ self.below.T)
        away = np.nan_to_num(np.abs(read - self.middle) / self.width, nan=math.inf)
        total: Array = away.sum(axis=-1)
        return total

    def with_rest(self, rest: Array) -> Goals:
        """With one more column: what is there [g] whatever the amounts."""
        return Goals(
            np.column_stack((self.above, self.above @ rest)),
            np.column_stack((self.below, self.below @ rest)),
            self.middle,
            self.width,
        )

    @cached_property
    def bases(self) -> Array:
        """The denominators, each once, shape (b, n)."""
        # Not np.unique: it loads masked arrays.
        return np.array(list({row.tobytes(): row for row in self.below}.values()))

    @cached_property
    def basis(self) -> NDArray[np.intp]:
        """Which of `bases` each goal has, shape (g,)."""
        found = [int(np.flatnonzero((self.bases == row).all(axis=1))[0]) for row in self.below]
        return np.array(found, dtype=np.intp)

    def relaxed(self, program: LinearProgram, unit: Array, most: Array) -> LinearProgram:
        """A program whose optimum is no more than the deviation of any of its answers.

        Parameters
        ----------
        program : LinearProgram
            Over n amounts.
        unit : ndarray, shape (n,)
            Grams of a unit of each amount.
        most : ndarray, shape (b,)
            No answer has a larger denominator.
        """
        off = (self.above - self.middle[:, None] * self.below) * unit
        size = np.abs(off).max(axis=1)
        size[size == 0] = 1.0
        (m, n), g = program.shape, self.middle.size
        slack = np.eye(g)
        rows = np.vstack((np.hstack((off / size[:, None], -slack)),
                          np.hstack((-off / size[:, None], -slack))))  # fmt: skip
        return LinearProgram(
            cost=np.append(np.zeros(n), size / (self.width * most[self.basis])),
            matrix=np.vstack((np.hstack((program.matrix, np.zeros((m, g)))), rows)),
            row_lower=np.append(program.row_lower, np.full(2 * g, -math.inf)),
            row_upper=np.append(program.row_upper, np.zeros(2 * g)),
            col_lower=np.append(program.col_lower, np.zeros(g)),
            col_upper=np.append(program.col_upper, np.full(g, math.inf)),
        )


@brief_repr
@dataclass(frozen=True)
class FewestByGram:
    """The fewest foods, by the gram.

    Parameters
    ----------
    mix : Mix
    deviation : float
        From the middles [widths].
    bound : float
        No mix of so few foods has a smaller one.
    """

    mix: Mix
    deviation: float
    bound: float


def sets_of(always: Sequence[int], others: Sequence[int], most: int) -> Iterator[list[list[int]]]:
    """Sets of foods by size, the smallest first: all of the same size at a time.

    Parameters
    ----------
    always : sequence of int
        Columns that are in each.
    others : sequence of int
    most : int
        Of foods in a set.
    """
    for extra in range(min(len(others), most - len(always)) + 1):
        if extra or always:
            yield [sorted([*always, *more]) for more in itertools.combinations(others, extra)]


def only(program: LinearProgram, columns: Sequence[int]) -> LinearProgram:
    """The same program with every other column at 0."""
    out = np.ones(program.col_upper.size, dtype=bool)
    out[list(columns)] = False
    return replace(program, col_upper=np.where(out, 0.0, program.col_upper))


def fewest_by_gram(
    problem: Problem, most_foods: int | None = None, time_limit: float = math.inf
) -> FewestByGram | None:
    """Find the fewest foods that stay inside every range, nearest to the middles, by the gram.

    Parameters
    ----------
    problem : Problem
        Prices are not looked at.
    most_foods : int, optional
        No more foods than this.
    time_limit : float
        Seconds.

    Returns
    -------
    FewestByGram or None
        None if no mix of at most so many foods is inside.

    Raises
    ------
    OutOfTime
        If the time runs out first.
    """
    n = len(problem.shelf.foods)
    goals = Goals.of(problem.bands, problem.shelf.composition)
    program = problem.program(np.zeros(n))
    floors = problem.shelf.smallest / problem.volume
    end = time.monotonic() + time_limit
    for sets in sets_of((), range(n), most_foods or n):
        found: list[tuple[float, float, Array]] = []
        for columns in sets:
            if time.monotonic() > end:
                raise OutOfTime(time_limit)
            part = only(program, columns)
            lower = np.zeros(n)
            lower[columns] = floors[columns]
            part = replace(part, col_lower=lower)
            best = min((one[0] for one in found), default=math.inf)
            nearest = _nearest(part, goals, best)
            if nearest is not None:
                found.append(nearest)
        if found:
            deviation, bound, y = min(found, key=lambda one: one[0])
            mix = finish(problem, y * problem.volume, Status.OPTIMAL)
            return FewestByGram(mix, deviation, min(bound, deviation))
    return None


def _nearest(
    program: LinearProgram, goals: Goals, best: float
) -> tuple[float, float, Array] | None:
    """Least deviation of one set of foods, its bound and its amounts [g/mL]; None: not better."""
    n = program.cost.size
    if not goals.middle.size:
        found = solve(program)
        return (0.0, 0.0, found.x) if isinstance(found, Optimal) else None
    # One of the denominators is held at 1 (Charnes and Cooper's change of variables), which makes
    # its goals exact: only the other denominators are left to search.
    first = int(np.argmax(np.bincount(goals.basis)))
    program = _at_one(program, goals.bases[first])
    goals = goals.with_rest(np.zeros(n))
    ends = [(1.0, 1.0)] * len(goals.bases)
    for k in set(range(len(ends))) - {first}:
        row = goals.bases[k]
        low, high = solve(replace(program, cost=row)), solve(replace(program, cost=-row))
        if not isinstance(low, Optimal) or not isinstance(high, Optimal):
            return None
        ends[k] = (low.objective, -high.objective)
    unit = np.ones(n + 1)

    def relax(node: Ends, cost: float) -> Relaxed[_Near] | None:
        held = replace(
            program,
            matrix=np.vstack((program.matrix, goals.bases)),
            row_lower=np.append(program.row_lower, [low for low, _ in node]),
            row_upper=np.append(program.row_upper, [high for _, high in node]),
        )
        found = solve(goals.relaxed(held, unit, np.array([high for _, high in node])))
        if not isinstance(found, Optimal):
            return None
        y = found.x[: n + 1]
        away = float(goals.deviation(y))
        return Relaxed((y, away - found.objective), away, found.objective)

    def split(node: Ends, near: _Near) -> Sequence[Ends] | None:
        y, gap = near
        if gap <= SAME:
            return None
        k = max(range(len(node)), key=lambda i: node[i][1] / max(node[i][0], 1e-300))
        low, high = node[k]
        middle = float(goals.bases[k] @ y)
        middle = min(max(middle, low + 0.1 * (high - low)), high - 0.1 * (high - low))
        return (
            (*node[:k], (low, middle), *node[k + 1 :]),
            (*node[:k], (middle, high), *node[k + 1 :]),
        )

    nearest = cheapest(tuple(ends), relax, split)
    if nearest.answer is None or nearest.cost >= best:
        return None
    scaled = nearest.answer[0]
    return nearest.cost, nearest.bound, scaled[:n] / scaled[n]


def _at_one(program: LinearProgram, base: Array) -> LinearProgram:
    """The same mixes scaled until ``base`` is 1: n amounts and, last, the scale."""
    n = program.cost.size
    limits = np.vstack((program.matrix, np.eye(n)))
    low = np.append(program.row_lower, program.col_lower)
    high = np.append(program.row_upper, program.col_upper)
    above, below = np.isfinite(low), np.isfinite(high)
    rows = np.vstack((
        np.column_stack((limits[above], -low[above])),
        np.column_stack((limits[below], -high[below])),
        np.append(base, 0.0),
    ))  # fmt: skip
    return LinearProgram(
        cost=np.append(program.cost, 0.0),
        matrix=rows,
        row_lower=np.concatenate((np.zeros(above.sum()), np.full(below.sum(), -math.inf), [1.0])),
        row_upper=np.concatenate((np.full(above.sum(), math.inf), np.zeros(below.sum()), [1.0])),
        col_lower=np.zeros(n + 1),
        col_upper=np.full(n + 1, math.inf),
    )
