"""The arrays of a linear program, and the proof that an answer to it is optimal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import SolverFault
from formulate.base.messages import say
from formulate.base.shown import brief_repr

if TYPE_CHECKING:
    from scipy.sparse import csc_array

__all__ = ["Certificate", "LinearProgram", "Program", "SparseProgram", "certify"]

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Program(ByContent):
    """Arrays of a program with n columns and m rows, dense or sparse.

    Parameters
    ----------
    cost : ndarray, shape (n,)
    matrix : ndarray or scipy.sparse.csc_array, shape (m, n)
    row_lower, row_upper : ndarray, shape (m,)
        −inf and inf where open.
    col_lower, col_upper : ndarray, shape (n,)
        −inf and inf where open.

    Raises
    ------
    SolverFault
        If a coefficient is not finite or a bound is NaN: solvers accept those silently and report
        an optimum.
    """

    cost: Array
    matrix: Any
    row_lower: Array
    row_upper: Array
    col_lower: Array
    col_upper: Array

    def __post_init__(self) -> None:
        if not (np.isfinite(self.entries).all() and np.isfinite(self.cost).all()):
            raise SolverFault(say("solver.coefficient"))
        bounds = (self.row_lower, self.row_upper, self.col_lower, self.col_upper)
        if np.isnan(np.concatenate(bounds)).any():
            raise SolverFault(say("solver.bound"))

    @property
    def entries(self) -> Array:
        """The coefficients that the matrix holds."""
        held: Array = self.matrix
        return held

    @property
    def shape(self) -> tuple[int, int]:
        """(rows, columns)."""
        rows, columns = self.matrix.shape
        return rows, columns

    def miss(self, x: Array) -> float:
        """Largest violation of a bound at x, relative to the bound where that is above 1."""
        values = np.concatenate((self.matrix @ x, x))
        lower = np.concatenate((self.row_lower, self.col_lower))
        upper = np.concatenate((self.row_upper, self.col_upper))
        worst = 0.0
        for short, bound in ((lower - values, lower), (values - upper, upper)):
            size = np.maximum(1.0, np.abs(np.where(np.isfinite(bound), bound, 0.0)))
            worst = max(worst, float((short / size).max(initial=0.0)))
        return worst


@brief_repr
@dataclass(frozen=True, eq=False)
class LinearProgram(Program):
    """A program whose matrix is a numpy array; see `Program`."""

    matrix: Array


@dataclass(frozen=True, eq=False)
class SparseProgram(Program):
    """A program that stores only its non-zero entries; see `Program`."""

    matrix: csc_array

    @property
    def entries(self) -> Array:
        """The coefficients that the matrix holds."""
        held: Array = self.matrix.data
        return held


@dataclass(frozen=True, slots=True)
class Certificate:
    """Proof of an optimum, each figure relative to the size of the numbers it compares.

    Parameters
    ----------
    primal : float
        Largest violation of a bound.
    dual : float
        Largest violation of a dual sign or of stationarity.
    gap : float
        |primal objective − dual objective|.
    """

    primal: float
    dual: float
    gap: float

    @property
    def worst(self) -> float:
        """The largest of the three."""
        return max(self.primal, self.dual, self.gap)


def certify(program: LinearProgram, x: Array, row_dual: Array) -> Certificate:
    """Measure how far (x, row_dual) is from proving itself optimal.

    The dual of a two-sided row with dual y is worth y·lower where y > 0 and y·upper where
    y < 0; the same for columns with the reduced cost. A dual on an open bound is a violation, not
    a value.
    """
    activity = program.matrix @ x
    reduced = program.cost - row_dual @ program.matrix
    values = np.concatenate((activity, x))
    lower = np.concatenate((program.row_lower, program.col_lower))
    upper = np.concatenate((program.row_upper, program.col_upper))
    duals = np.concatenate((row_dual, reduced))
    leaning = np.where(duals > 0, lower, upper)
    finite = np.isfinite(leaning)
    scale_x = max(1.0, float(np.abs(values).max(initial=0.0)))
    scale_c = max(float(np.abs(program.cost).max(initial=0.0)), 1e-300)
    primal = max(float((lower - values).max()), float((values - upper).max()), 0.0)
    dual = float(np.abs(duals[~finite]).max(initial=0.0))
    dual_objective = float(duals[finite] @ leaning[finite])
    objective = float(program.cost @ x)
    size = max(abs(objective), abs(dual_objective), scale_c * scale_x * 1e-6, 1e-300)
    return Certificate(primal / scale_x, dual / scale_c, abs(objective - dual_objective) / size)
