"""Sensitivity read from an optimal basis.

`basic_amounts` gives the amounts to full precision; HiGHS stops at its tolerances.

`MovingRow` is a basis while the last row of its program moves, ``(r − δ·m)·x ≤ 0``. A basis
that is optimal at δ = 0 has amounts y; with q the last column of its inverse, at another δ

    y(δ) · (1 − δ m·q) = y (1 − δ m·q) + δ (m·y) q

and its duals and reduced costs times the same factor are linear in δ too. So the range of δ
over which the basis stays optimal is a matter of ratios: exact, without solving again.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.blend.solve import LinearProgram, Optimal

__all__ = ["MovingRow", "basic_amounts"]

Array = NDArray[np.float64]

#: A figure that changes by less than this over the whole range of δ, relative to its size, is
#: rounding error.
ROUNDING = 1e-12


def basic_amounts(program: LinearProgram, found: Optimal) -> Array:
    """Amounts of an optimal basis, solved again; columns outside it lie on their lower ends."""
    active, basic = ~found.basic_rows, found.basic_cols
    ends = np.where(program.row_lower > -math.inf, program.row_lower, program.row_upper)[active]
    x = np.where(basic, 0.0, program.col_lower)
    rest = ends - program.matrix[active] @ x
    x[basic] = np.linalg.solve(program.matrix[np.ix_(active, basic)], rest)
    return x


@dataclass(frozen=True, eq=False)
class MovingRow(ByContent):
    """An optimal basis of a program whose limits are at 0 but for one equality.

    Parameters
    ----------
    basic : ndarray of bool, shape (columns,)
    y, q : ndarray
        Basic amounts, and the last column of the inverse of the basis; q is 0 where the last
        row is not in it, and then nothing moves.
    falls : float
        moving · q: amounts are divided by 1 − δ · falls.
    grows : float
        moving · y
    at_zero, slope : ndarray
        ``at_zero + δ · slope ≥ 0`` while the basis is optimal, each divided by its size.
    """

    basic: NDArray[np.bool_]
    y: Array
    q: Array
    falls: float
    grows: float
    at_zero: Array
    slope: Array

    @classmethod
    def of(cls, program: LinearProgram, found: Optimal, moving: Array) -> MovingRow:
        """Work out what the optimality of a basis depends on."""
        basic, active = found.basic_cols, ~found.basic_rows
        matrix, cost = program.matrix, program.cost
        square = matrix[np.ix_(active, basic)]
        inverse: Array = np.asarray(np.linalg.inv(square), dtype=np.float64)
        is_low = program.row_lower > -math.inf
        fixed = program.row_lower == program.row_upper
        y = basic_amounts(program, found)[basic]
        q = inverse[:, -1] if active[-1] else np.zeros(len(y))
        falls, grows = float(moving[basic] @ q), float(moving[basic] @ y)
        y_slope = grows * q - falls * y
        # Rows outside the basis matrix: activity on the right side of 0.
        side = np.where(is_low, 1.0, -1.0)[~active, None] * matrix[np.ix_(~active, basic)]
        side = side[~fixed[~active]]
        # Duals of its rows, and reduced costs of the columns outside it.
        dual = cost[basic] @ inverse
        last = float(dual[-1]) if active[-1] else 0.0
        turn = moving[basic] @ inverse
        dual_slope = last * turn - falls * dual
        outside = matrix[np.ix_(active, ~basic)]
        reduced = cost[~basic] - dual @ outside
        reduced_slope = last * (moving[~basic] - turn @ outside) - falls * reduced
        sign = np.where(is_low, 1.0, -1.0)[active][~fixed[active]]
        size_y = float(np.abs(y).max())
        size_c = float(np.abs(cost).max()) or 1.0
        at_zero = (
            np.concatenate((y, side @ y)) / size_y,
            np.concatenate((sign * dual[~fixed[active]], reduced)) / size_c,
            np.ones(1),
        )
        slope = (
            np.concatenate((y_slope, side @ y_slope)) / size_y,
            np.concatenate((sign * dual_slope[~fixed[active]], reduced_slope)) / size_c,
            np.array([-falls]),
        )
        return cls(basic, y, q, falls, grows, np.concatenate(at_zero), np.concatenate(slope))

    def reach(self, low: float, high: float) -> tuple[float, float]:
        """Range of δ within low ≤ 0 ≤ high over which the basis is optimal."""
        at_zero = np.maximum(self.at_zero, 0.0)
        matters = np.abs(self.slope) * (high - low) > ROUNDING
        at_zero, slope = at_zero[matters], self.slope[matters]
        reach = -at_zero / slope
        return (
            max(low, float(reach[slope > 0].max(initial=-math.inf))),
            min(high, float(reach[slope < 0].min(initial=math.inf))),
        )

    def x(self, delta: float) -> Array:
        """Amounts of every column at δ."""
        x = np.zeros(self.basic.size)
        x[self.basic] = self.y + delta * self.grows / (1 - delta * self.falls) * self.q
        return np.maximum(x, 0.0)
