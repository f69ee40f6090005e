"""Whole measures under a demand that linear rows alone cannot express.

Such a demand, for example the chance that a band holds, can give any number of rows that every mix
which meets it keeps, and can tell of one mix whether it meets it. The integer program with some of
these rows is a relaxation: its answer costs no more than any real one. If that answer meets the
demand, it is the cheapest. If not, more rows cut it off and the program is solved again. If no row
that is proved valid cuts it off, the counts around it are searched without it
(`formulate.blend.branch`).
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from formulate.base.errors import OutOfTime
from formulate.blend.branch import Relaxed, cheapest
from formulate.blend.mixed_integer import IntegerOptimal, solve_integer
from formulate.blend.program import LinearProgram
from formulate.blend.solve import Infeasible

__all__ = ["Demand", "solve_demanding", "tightened", "with_row", "with_rows"]

Array = NDArray[np.float64]

#: A mix is cut off by rows that it breaks by more than this, in measures of the food that
#: matters most: more than the solver's own tolerance, so that every round makes progress.
BROKEN = 1e-5


class Demand(Protocol):
    """A demand on a mix that rows alone cannot express."""

    def rows(self) -> Array:
        """Rows known so far, shape (r, n): ≥ 0 for every mix that meets the demand."""

    def more_rows(self, grams: Array) -> Array:
        """Further rows of the same kind, close to one mix; they are known from now on."""

    def met(self, grams: Array) -> bool:
        """Whether a mix meets the demand."""


def with_rows(program: LinearProgram, rows: Array, lower: Array, upper: Array) -> LinearProgram:
    """Add rows, each divided by its largest entry."""
    scale = np.abs(rows).max(axis=1, initial=0.0)
    scale[scale == 0] = 1.0
    return replace(
        program,
        matrix=np.concatenate((program.matrix, rows / scale[:, None])),
        row_lower=np.append(program.row_lower, lower / scale),
        row_upper=np.append(program.row_upper, upper / scale),
    )


def with_row(program: LinearProgram, row: Array, lower: float, upper: float) -> LinearProgram:
    """Add one row."""
    return with_rows(program, row[None, :], np.array([lower]), np.array([upper]))


def tightened(program: LinearProgram, demand: Demand, step: Array, rest: Array) -> LinearProgram:
    """A program over counts with every row of a demand that is known so far."""
    rows = demand.rows()
    on_counts = np.zeros((len(rows), program.shape[1]))
    on_counts[:, : step.size] = rows * step
    return with_rows(program, on_counts, -rows @ rest, np.full(len(rows), math.inf))


@dataclass(frozen=True)
class _Counted:
    """A program over counts, whose first n columns they are, under a demand on their grams.

    Parameters
    ----------
    program : LinearProgram
    demand : Demand
    step, rest : ndarray, shape (n,)
        Grams of one measure, and those that are there whatever the count.
    deadline : float
        On the clock of `time.monotonic`.
    """

    program: LinearProgram
    demand: Demand
    step: Array
    rest: Array
    deadline: float

    def grams(self, x: Array) -> Array:
        found: Array = self.rest + self.step * x[: self.step.size]
        return found

    def left(self) -> float:
        return self.deadline - time.monotonic()

    def breaks(self, x: Array) -> bool:
        """Add rows near an answer; whether one of them cuts it off."""
        grams = self.grams(x)
        rows = self.demand.more_rows(grams)
        size = np.abs(rows * self.step).max(axis=1, initial=0.0)
        return bool((rows @ grams < -BROKEN * size).any())

    def tightened(self, lower: Array, upper: Array) -> LinearProgram:
        """The program within bounds, with every row known so far."""
        inside = replace(self.program, col_lower=lower, col_upper=upper)
        return tightened(inside, self.demand, self.step, self.rest)

    def relax(self, lower: Array, upper: Array, cutoff: float) -> Relaxed[Array] | None:
        """The cheapest within bounds that no row cuts off; None if there is none."""
        whole = np.ones(lower.size, dtype=bool)
        bound, share, start = -math.inf, 0.5, None
        while (left := self.left()) > 0:
            program = self.tightened(lower, upper)
            try:
                found = solve_integer(program, whole, start=start, time_limit=share * left)
            except OutOfTime:
                if share == 1.0:
                    break
                share = 1.0
                continue
            if isinstance(found, Infeasible):
                return None
            bound = max(bound, found.bound)
            met = self.demand.met(self.grams(found.x))
            if met and not found.complete and share < 1.0:
                share, start = 1.0, found.x
            elif met or bound >= cutoff or not self.breaks(found.x):
                return Relaxed(found.x, found.objective, bound)
        if start is not None:
            return Relaxed(start, float(self.program.cost @ start), bound)
        return Relaxed(None, math.inf, bound)

    def around(self, lower: Array, upper: Array, x: Array) -> list[tuple[Array, Array]] | None:
        """Bounds that together allow every count but that of an answer, and none twice."""
        if self.demand.met(self.grams(x)):
            return None
        parts, low, high = [], lower, upper
        for j in range(self.step.size):
            if x[j] - 1 >= low[j]:
                parts.append((low, np.where(np.arange(high.size) == j, x[j] - 1, high)))
            if x[j] + 1 <= high[j]:
                parts.append((np.where(np.arange(low.size) == j, x[j] + 1, low), high))
            low, high = low.copy(), high.copy()
            low[j] = high[j] = x[j]
        return parts


def solve_demanding(
    program: LinearProgram, demand: Demand, step: Array, rest: Array, *, time_limit: float
) -> IntegerOptimal | Infeasible:
    """Solve in whole numbers under a demand.

    Parameters
    ----------
    program : LinearProgram
        All columns are whole numbers; the first n are counts of measures.
    demand : Demand
        On the grams ``rest + step · counts``.
    step, rest : ndarray, shape (n,)
        Grams of one measure of each food, and those that are there whatever the count.
    time_limit : float
        Seconds of search; the best found by then comes back with its proven gap.

    Raises
    ------
    OutOfTime
        If the time ends before any answer.
    """
    counted = _Counted(program, demand, step, rest, time.monotonic() + time_limit)
    best = cheapest(
        (program.col_lower, program.col_upper),
        lambda node, cutoff: counted.relax(*node, cutoff),
        lambda node, x: counted.around(*node, x),
        go_on=lambda: counted.left() > 0,
    )
    if best.answer is None:
        if best.complete:
            return Infeasible()
        raise OutOfTime(time_limit)
    complete = best.complete and best.bound >= best.cost
    return IntegerOptimal(best.answer, best.cost, best.bound, complete)
