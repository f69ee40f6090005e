"""The integer program behind a mix in whole measures.

Unknowns are the counts of measures ``k``; the grams are ``y = rest + step · k``. Bands and
shares are rows of the problem on y, stocks are bounds, the volume has a range. Wishes come
before the price, one after the other, each kept while the next is met; among mixes of the same
price fewer measures win, and then food ids decide.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import SolverFault
from formulate.base.messages import say
from formulate.blend.mixed_integer import IntegerOptimal, solve_integer
from formulate.blend.problem import LimitKind, Problem, Shelf
from formulate.blend.solve import Infeasible, LinearProgram
from formulate.blend.whole.demands import Demand, solve_demanding, tightened, with_row
from formulate.blend.whole.steps import Step

__all__ = ["Counts", "Preferences", "Search", "largest_counts"]

Array = NDArray[np.float64]

#: "As much as fits" is met within this share of the room (judgement: nobody sees the rest).
FULL_WITHIN = 0.01
#: Largest cost of one measure, as the solver sees it, and what tells equal mixes apart.
_COST, _TIE = 1e3, 1e-6
#: Volumes found by one program and demanded of the next are the same within this.
_SAME = 1e-9


@dataclass(frozen=True, eq=False)
class Preferences(ByContent):
    """What is wanted besides the bands.

    Parameters
    ----------
    most_foods : int or None
        No more foods than this.
    targets : ndarray of int, shape (n,), or None
        Favourite recipe in whole measures, 0 where a food is not in it. Foods that are in it
        stay; counts change as little as possible.
    use_up : tuple of ndarray of bool, shape (n,)
        Foods of which as much as possible is used, the most urgent first.
    """

    most_foods: int | None = None
    targets: NDArray[np.intp] | None = None
    use_up: tuple[NDArray[np.bool_], ...] = ()


@dataclass(frozen=True, eq=False)
class Counts(ByContent):
    """Whole measures, and how far the searches for them got.

    Parameters
    ----------
    counts : ndarray of int, shape (n,)
    gap : float
        Proven relative distance of the price from the best possible; 0 when complete.
    complete : bool
        Whether every search ended by itself.
    program : LinearProgram
        Of which they are the cheapest, in whole numbers: wishes that come before the price
        stand in it as rows, and so do the known rows of a demand.
    """

    counts: NDArray[np.intp]
    gap: float
    complete: bool
    program: LinearProgram


def largest_counts(shelf: Shelf, step: Array, rest: Array, most_volume: float) -> Array:
    """Most measures of each food that stock, room [mL] and share allow, shape (n,)."""
    fits = most_volume / shelf.composition.row("volume")
    most = np.minimum(np.minimum(shelf.on_hand, fits), shelf.largest_share * fits.max())
    counts: Array = np.maximum(np.floor((most - rest) / step + 1e-9), 0.0)
    return counts


@dataclass(frozen=True)
class Search:
    """The searches over one shelf in whole measures.

    Parameters
    ----------
    problem : Problem
    steps : tuple of Step, length n
    wishes : Preferences
    time_limit : float
        Seconds for each method.
    demand : Demand or None
        What rows alone cannot express.
    """

    problem: Problem
    steps: tuple[Step, ...]
    wishes: Preferences
    time_limit: float
    demand: Demand | None = None

    @cached_property
    def step(self) -> Array:
        """Grams of one measure, shape (n,)."""
        return np.array([s.grams for s in self.steps])

    @cached_property
    def rest(self) -> Array:
        """Grams that are there whatever the count, shape (n,)."""
        return np.array([s.rest for s in self.steps])

    @cached_property
    def room(self) -> Array:
        """Volume of a gram of each food [mL/g], shape (n,)."""
        return self.problem.shelf.composition.row("volume")

    def volume(self, x: Array) -> float:
        """Volume [mL] of counts, which come first in `x`."""
        return float(self.room @ (self.rest + self.step * x[: len(self.steps)]))

    def cheapest(self, least: float, most: float) -> Counts | None:
        """Meet the wishes in order, then the price; None if no whole measures do."""
        program, n = self.program(least, most), len(self.steps)
        goals: list[tuple[Array, float]] = []  # what to minimise, and how closely to keep it
        if self.wishes.targets is not None:
            changes = np.zeros(program.shape[1])
            changes[-2 * n :] = 1.0
            goals.append((changes, 0.5))
        for urgent in self.wishes.use_up:
            goals.append((_padded(-np.where(urgent, self.step, 0.0), program), 1e-4))
        seconds, complete = self.time_limit / (len(goals) + 1), True
        for goal, slack in goals:
            best = self._minimise(program, goal, seconds)
            if isinstance(best, Infeasible):
                return None
            complete &= best.complete
            program = with_row(program, goal, -math.inf, best.objective + slack)
        last = self._minimise(program, _padded(self.price(), program), seconds)
        if isinstance(last, Infeasible):
            if goals:
                raise SolverFault(say("solver.wish-lost"))
            return None
        gap = 0.0 if last.complete else last.gap
        price = _padded(self.problem.shelf.price * self.step, program)
        program = replace(program, cost=price)
        if self.demand is not None:
            program = tightened(program, self.demand, self.step, self.rest)
        whole = np.rint(last.x[:n]).astype(np.intp)
        return Counts(whole, gap, complete and last.complete, program)

    def fullest(self, least: float, most: float) -> Counts | None:
        """The cheapest that fills the room, or comes as near to it as whole measures do."""
        found = self.cheapest(max(least, most * (1 - FULL_WITHIN)), most)
        if found is not None:
            return found
        largest = self.extreme(least, most, largest=True)
        if isinstance(largest, Infeasible):
            return None
        found = self.cheapest(max(least, self.volume(largest.x) * (1 - _SAME)), most)
        return None if found is None else replace(found, complete=found.complete & largest.complete)

    def nearby(
        self, least: float, most: float, larger: float, smaller: float
    ) -> tuple[list[tuple[float, float]], bool]:
        """Ranges of volume [mL] as wide as the one asked for that whole measures can meet.

        Parameters
        ----------
        least, most : float
            Range that they cannot meet [mL].
        larger, smaller : float
            How many times larger or smaller to look.

        Returns
        -------
        ranges : list of (float, float)
            The nearest above and the nearest below, the nearer first.
        complete : bool
            Whether the searches ended by themselves.
        """
        found, complete = [], True
        above = self.extreme(most, most * larger, largest=False)
        if not isinstance(above, Infeasible):
            volume, complete = self.volume(above.x), above.complete
            found.append((volume / most, (volume * (1 - _SAME), volume * most / least)))
        below = self.extreme(least / smaller, least, largest=True)
        if not isinstance(below, Infeasible):
            volume, complete = self.volume(below.x), complete and below.complete
            found.append((least / volume, (volume * least / most, volume * (1 + _SAME))))
        return [bounds for _, bounds in sorted(found)], complete

    def extreme(self, least: float, most: float, *, largest: bool) -> IntegerOptimal | Infeasible:
        """The largest or smallest volume that can be made within a range [mL]."""
        program = self.program(least, most)
        sign = -1.0 if largest else 1.0
        return self._minimise(
            program, _padded(sign * self.room * self.step, program), self.time_limit
        )

    def _minimise(
        self, program: LinearProgram, cost: Array, seconds: float
    ) -> IntegerOptimal | Infeasible:
        """The best whole numbers in the program's rows that meet the demand too."""
        program = replace(program, cost=cost)
        if self.demand is None:
            whole = np.ones(program.shape[1], dtype=bool)
            return solve_integer(program, whole, time_limit=seconds)
        return solve_demanding(program, self.demand, self.step, self.rest, time_limit=seconds)

    def price(self) -> Array:
        """Cost of one step of each food as the solver sees it, equal mixes told apart.

        The addition is about a billionth of the dearest measure, far below the smallest coin.
        """
        shelf = self.problem.shelf
        price = shelf.price * self.step
        dearest = float(np.abs(price).max())
        rank = np.argsort(np.argsort(np.array(shelf.ids)))
        apart: Array = 1.0 + (rank * (math.sqrt(5) - 1) / 2) % 1.0
        return price * (_COST / dearest if dearest > 0 else 0.0) + _TIE * apart

    def program(self, least: float, most: float) -> LinearProgram:
        """Rows over the counts, and over what the wishes need.

        Columns, all whole numbers: counts (n); whether each food is used (n, where foods are
        numbered or have a smallest amount); measures above and below the favourite (2 n, where
        there is one).
        """
        problem, wishes = self.problem, self.wishes
        keep = [
            k
            for k, limit in enumerate(problem.limits)
            if limit.kind not in (LimitKind.STOCK, LimitKind.READABLE)
        ]
        rows, low = problem.rows[keep], problem.is_low[keep]
        fixed, room_of_rest = rows @ self.rest, float(self.room @ self.rest)
        fewest = np.ceil((problem.shelf.smallest - self.rest) / self.step - 1e-9)
        largest = largest_counts(problem.shelf, self.step, self.rest, most)
        stays = np.zeros(self.step.size, dtype=bool)
        if wishes.targets is not None:
            stays = (wishes.targets > 0) & (self.rest == 0)
        always = stays | (self.rest > 0)
        matrix = np.vstack((rows, self.room)) * self.step
        scale = np.abs(matrix).max(axis=1)
        scale[scale == 0] = 1.0
        program = LinearProgram(
            cost=np.zeros(self.step.size),
            matrix=matrix / scale[:, None],
            row_lower=np.append(np.where(low, -fixed, -math.inf), least - room_of_rest) / scale,
            row_upper=np.append(np.where(low, math.inf, -fixed), most - room_of_rest) / scale,
            col_lower=np.where(always, np.maximum(fewest, np.where(stays, 1.0, 0.0)), 0.0),
            col_upper=largest,
        )
        if (program.col_lower > largest).any():  # what must be there does not fit
            program = replace(program, col_lower=np.minimum(program.col_lower, largest))
            program = with_row(program, np.zeros(self.step.size), 1.0, math.inf)
        for band in problem.read:  # one measure of something that the band is taken per
            there = problem.shelf.composition.row(band.denominator) > 0
            if not (there & (self.rest > 0)).any():
                program = with_row(program, there.astype(float), 1.0, math.inf)
        if wishes.most_foods is not None or (fewest > 1).any():
            program = _with_use(program, np.maximum(fewest, 0.0), largest, always)
        if wishes.most_foods is not None:
            used = np.concatenate((np.zeros(self.step.size), np.ones(self.step.size)))
            program = with_row(program, used, -math.inf, float(min(wishes.most_foods, used.size)))
        return program if wishes.targets is None else _with_changes(program, wishes.targets)


def _padded(of_counts: Array, program: LinearProgram) -> Array:
    return np.append(of_counts, np.zeros(program.shape[1] - of_counts.size))


def _with_block(
    program: LinearProgram,
    on_counts: Array,
    on_new: Array,
    rows: tuple[Array, Array],
    columns: tuple[Array, Array],
) -> LinearProgram:
    """Add columns, and rows that tie them to the counts; bounds are (lower, upper)."""
    old, new = program.shape, on_new.shape
    matrix = np.zeros((old[0] + new[0], old[1] + new[1]))
    matrix[: old[0], : old[1]] = program.matrix
    matrix[old[0] :, : on_counts.shape[1]] = on_counts
    matrix[old[0] :, old[1] :] = on_new
    return LinearProgram(
        cost=np.append(program.cost, np.zeros(new[1])),
        matrix=matrix,
        row_lower=np.append(program.row_lower, rows[0]),
        row_upper=np.append(program.row_upper, rows[1]),
        col_lower=np.append(program.col_lower, columns[0]),
        col_upper=np.append(program.col_upper, columns[1]),
    )


def _with_use(
    program: LinearProgram, fewest: Array, largest: Array, always: NDArray[np.bool_]
) -> LinearProgram:
    """Add whether each food is used: fewest · used ≤ count ≤ largest · used."""
    n = fewest.size
    none, far = np.zeros(n), np.full(n, math.inf)
    return _with_block(
        program,
        np.vstack((np.eye(n), np.eye(n))),
        np.vstack((np.diag(-largest), np.diag(-fewest))),
        (np.append(-far, none), np.append(none, far)),
        (always.astype(float), np.ones(n)),
    )


def _with_changes(program: LinearProgram, targets: NDArray[np.intp]) -> LinearProgram:
    """Add measures above and below the favourite: count − above + below = target."""
    n = targets.size
    wanted = targets.astype(float)
    return _with_block(
        program,
        np.eye(n),
        np.hstack((-np.eye(n), np.eye(n))),
        (wanted, wanted),
        (np.zeros(2 * n), np.append(program.col_upper[:n], wanted)),
    )
