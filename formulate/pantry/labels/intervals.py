"""The tightest interval of each measure of a food that all known facts allow.

What is known of 100 g of a food — its panel, the law on its name, the sums that always hold, foods
like it — are rows of one linear system, and each end of each interval is one small linear
program. The columns are amounts in some weight of food, that weight, and how many servings it
makes::

    a figure     low · servings ≤ fat ≤ high · servings
    a serving    low · servings ≤ weight ≤ high · servings       or the same of its volume
    the law      fat ≥ 0.0325 · weight
    the sum      water + protein + fat + carbohydrate + ash = weight

Every row is zero on its right, so the same system says all about 100 g (weight = 100) and all
about a serving (servings = 1), and a serving whose weight is itself rounded costs no precision.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from formulate.base.errors import SolverFault
from formulate.base.messages import say
from formulate.blend.solve import Infeasible, LinearProgram, Optimal, solve, solve_each
from formulate.pantry.labels.rounding import Interval

__all__ = ["COLUMNS", "PROXIMATES", "SERVINGS", "WEIGHT", "Fact", "System"]

Array = NDArray[np.float64]
#: Coefficients by column; what they add up to is at least zero.
Row = Mapping[str, float]

PROXIMATES = ("water", "protein", "fat", "carbohydrate", "ash")
WEIGHT, SERVINGS = "weight", "servings"
COLUMNS = (
    *PROXIMATES,
    "fibre",
    "saturated-fat",
    "sugars",
    "added-sugars",
    "sodium",
    "potassium",
    "calcium",
    "energy",
    WEIGHT,
    SERVINGS,
)
_AT = {name: index for index, name in enumerate(COLUMNS)}
#: A clash of more facts than this is narrowed down one by one, not searched for.
LARGEST_SEARCHED = 4


@dataclass(frozen=True)
class Fact:
    """One thing known about the food: true as a whole, or not at all.

    Parameters
    ----------
    words : str
        As reported in a clash: "energy 150 kcal", "sold as whole milk: fat at least 3.25 %".
    rows : tuple of Row
        What it says.
    of : str
        The column it bounds, where it bounds one.
    by_law : bool
        Whether the law demands it of what is sold under the name.
    """

    words: str
    rows: tuple[Row, ...]
    of: str = ""
    by_law: bool = False

    @classmethod
    def between(cls, words: str, of: str, ends: Interval, per: str, scale: float = 1.0) -> Fact:
        """``low · per ≤ of ≤ high · per``, with low and high multiplied by `scale`."""
        low, high = ends
        rows: list[Row] = []
        if low > 0:
            rows.append({of: 1.0, per: -low * scale})
        if math.isfinite(high):
            rows.append({of: -1.0, per: high * scale})
        return cls(words, tuple(rows), of)


@dataclass(frozen=True)
class System:
    """Facts about one food.

    Parameters
    ----------
    facts : tuple of Fact
        What may clash.
    given : tuple of Row
        What always holds.
    """

    facts: tuple[Fact, ...]
    given: tuple[Row, ...] = ()

    def program(self, facts: Iterable[Fact], per: str) -> LinearProgram:
        """The linear system of some of the facts, for 100 g (`WEIGHT`) or one serving."""
        rows = [*self.given, *(row for fact in facts for row in fact.rows)]
        matrix = np.zeros((len(rows) + 1, len(COLUMNS)))
        for i, row in enumerate(rows):
            for name, coefficient in row.items():
                matrix[i, _AT[name]] = coefficient
        matrix[-1, [_AT[name] for name in PROXIMATES]] = 1.0
        matrix[-1, _AT[WEIGHT]] = -1.0
        upper = np.full(len(matrix), np.inf)
        upper[-1] = 0.0
        col_lower, col_upper = np.zeros(len(COLUMNS)), np.full(len(COLUMNS), np.inf)
        col_lower[_AT[per]] = col_upper[_AT[per]] = 100.0 if per == WEIGHT else 1.0
        zero = np.zeros(len(COLUMNS))
        return LinearProgram(zero, matrix, np.zeros(len(matrix)), upper, col_lower, col_upper)

    def possible(self, facts: Iterable[Fact]) -> bool:
        """Whether a food can satisfy these facts."""
        return not isinstance(solve(self.program(facts, WEIGHT)), Infeasible)

    def intervals(self, measures: Sequence[str]) -> dict[str, Interval] | None:
        """Smallest and largest amount of each measure in 100 g; None if facts clash.

        Parameters
        ----------
        measures : sequence of str
            Columns that the facts bound.
        """
        program = self.program(self.facts, WEIGHT)
        costs = np.zeros((2 * len(measures), len(COLUMNS)))
        for i, name in enumerate(measures):
            costs[2 * i, _AT[name]], costs[2 * i + 1, _AT[name]] = 1.0, -1.0
        found = solve_each(program, costs)
        if isinstance(found[0], Infeasible):
            return None
        ends = [_objective(outcome) for outcome in found]
        return {name: (max(ends[2 * i], 0.0), -ends[2 * i + 1]) for i, name in enumerate(measures)}

    def centre(self, intervals: Mapping[str, Interval]) -> dict[str, float]:
        """One food that the facts allow, in the middle of them.

        Distances from the middle of each interval are measured in half widths. Their sum, plus the
        largest times the number of measures, is minimised: no measure lies at its end while
        another could give way.

        Returns
        -------
        dict of str to float
            Amounts in 100 g; water, protein, fat, carbohydrate and ash make 100 exactly.
        """
        program = self.program(self.facts, WEIGHT)
        n, k = len(COLUMNS), len(intervals)
        far = np.zeros((3 * k, n + k + 1))  # columns: amounts, a distance each, the largest
        bound = np.zeros(3 * k)
        for i, (name, (low, high)) in enumerate(intervals.items()):
            half = max((high - low) / 2, 1e-9)
            middle = (low + high) / 2
            far[3 * i, [_AT[name], n + i]] = -1 / half, 1.0
            far[3 * i + 1, [_AT[name], n + i]] = 1 / half, 1.0
            far[3 * i + 2, [n + i, n + k]] = -1.0, 1.0
            bound[3 * i], bound[3 * i + 1] = -middle / half, middle / half
        matrix = np.block([[program.matrix, np.zeros((len(program.matrix), k + 1))], [far]])
        cost = np.concatenate((np.zeros(n), np.ones(k), [float(k)]))
        best = solve(
            LinearProgram(
                cost,
                matrix,
                np.concatenate((program.row_lower, bound)),
                np.concatenate((program.row_upper, np.full(3 * k, np.inf))),
                np.concatenate((program.col_lower, np.zeros(k + 1))),
                np.concatenate((program.col_upper, np.full(k + 1, np.inf))),
            )
        )
        if not isinstance(best, Optimal):
            raise SolverFault(say("solver.middle-of-intervals"))
        amounts = {name: max(float(best.x[_AT[name]]), 0.0) for name in COLUMNS}
        rest = sum(amounts[name] for name in PROXIMATES if name != "water")
        amounts["water"] = max(100.0 - rest, 0.0)
        return amounts

    def clash(self) -> tuple[Fact, ...]:
        """The fewest facts that cannot all be true.

        Searched by size up to `LARGEST_SEARCHED`; a larger one is found by leaving out each fact
        that the others clash without, and then every fact in it is needed.
        """
        for size in range(1, LARGEST_SEARCHED + 1):
            for some in combinations(self.facts, size):
                if not self.possible(some):
                    return some
        kept = list(self.facts)
        for fact in reversed(self.facts):  # the panel's own figures stay before the law
            without = [other for other in kept if other is not fact]
            if not self.possible(without):
                kept = without
        return tuple(kept)

    def reach(self, facts: Iterable[Fact], of: str, per: str) -> Interval | None:
        """What a column could be by some of the facts alone, in 100 g or in one serving.

        None if it has no upper end, or they clash.
        """
        program = self.program(facts, per)
        costs = np.zeros((2, len(COLUMNS)))
        costs[0, _AT[of]], costs[1, _AT[of]] = 1.0, -1.0
        low, high = solve_each(program, costs)
        if not isinstance(low, Optimal) or not isinstance(high, Optimal):
            return None
        return max(low.objective, 0.0), -high.objective


def _objective(outcome: object) -> float:
    if not isinstance(outcome, Optimal):
        raise SolverFault(say("solver.end-of-interval"))
    return outcome.objective
