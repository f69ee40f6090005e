"""Large programs in whole numbers: the same engine, with only the entries that are not zero.

A mix is a small dense matrix (`formulate.blend.solve`); a season of shopping is thousands of
columns with a handful of entries each. Both go to HiGHS with the same options and come back as
the same kinds of answer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import highspy
import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import SolverFault
from formulate.blend.solve import Infeasible, IntegerOptimal, fresh_engine

if TYPE_CHECKING:
    from scipy.sparse import csc_array

__all__ = ["SparseProgram", "is_infeasible", "relaxed", "solve_large"]

Array = NDArray[np.float64]

_S = highspy.HighsModelStatus
_FEASIBLE = 2  # HiGHS's mark of a point that it holds and that meets every bound
#: Largest violation of a bound in an answer, in the program's own units.
TOLERANCE = 1e-6


@dataclass(frozen=True, eq=False)
class SparseProgram(ByContent):
    """A linear program, some of whose n columns are whole numbers.

    Parameters
    ----------
    cost : ndarray, shape (n,)
    matrix : scipy.sparse.csc_array, shape (m, n)
    row_lower, row_upper : ndarray, shape (m,)
        −inf and inf where open.
    col_lower, col_upper : ndarray, shape (n,)
    integer : ndarray of bool, shape (n,)

    Raises
    ------
    SolverFault
        If a coefficient is not finite or a bound is NaN.
    """

    cost: Array
    matrix: csc_array
    row_lower: Array
    row_upper: Array
    col_lower: Array
    col_upper: Array
    integer: NDArray[np.bool_]

    def __post_init__(self) -> None:
        if not (np.isfinite(self.matrix.data).all() and np.isfinite(self.cost).all()):
            raise SolverFault("a coefficient of the linear program is not a finite number")
        bounds = (self.row_lower, self.row_upper, self.col_lower, self.col_upper)
        if np.isnan(np.concatenate(bounds)).any():
            raise SolverFault("a bound of the linear program is not a number")

    def miss(self, x: Array) -> float:
        """Largest violation of a bound at x."""
        activity = self.matrix @ x
        worst = (
            self.row_lower - activity,
            activity - self.row_upper,
            self.col_lower - x,
            x - self.col_upper,
        )
        return float(max(miss.max(initial=0.0) for miss in worst))


def solve_large(
    program: SparseProgram,
    *,
    start: Array | None = None,
    time_limit: float = 30.0,
    relative_gap: float = 0.0,
) -> IntegerOptimal | Infeasible:
    """Solve in whole numbers; the best found comes back with its proven gap.

    Parameters
    ----------
    program : SparseProgram
    start : ndarray, shape (n,), optional
        A sound answer to begin from. It comes back where nothing better is found.
    time_limit : float
        Seconds of search.
    relative_gap : float
        Stop when the gap is proved to be no larger.

    Raises
    ------
    SolverFault
        If the time ends before any answer, or the answer breaks a bound.
    """
    if start is not None and program.miss(start) > TOLERANCE:
        raise SolverFault("the answer to begin from breaks a bound")
    for presolve in ("choose", "off"):  # as in `formulate.blend.solve.solve_integer`
        engine = _engine(program, whole=True)
        engine.setOptionValue("presolve", presolve)
        engine.setOptionValue("time_limit", float(time_limit))
        engine.setOptionValue("mip_rel_gap", float(relative_gap))
        engine.setOptionValue("mip_abs_gap", 0.0)
        engine.setOptionValue("mip_feasibility_tolerance", 1e-7)
        if start is not None:
            held = highspy.HighsSolution()
            held.col_value = start.tolist()
            engine.setSolution(held)
        engine.run()
        if not is_infeasible(engine):
            break
    else:
        if start is None:
            return Infeasible()
    status = engine.getModelStatus()
    info = engine.getInfo()
    complete = status == _S.kOptimal
    x = None
    if complete or (status == _S.kTimeLimit and info.primal_solution_status == _FEASIBLE):
        x = _settle(program, np.array(engine.getSolution().col_value))
    if start is not None and (x is None or program.cost @ start <= program.cost @ x):
        x = start
    if x is None:
        raise SolverFault(f"no whole-number answer in {time_limit:g} s ({status})")
    objective = float(program.cost @ x)
    searched = program.integer.any()  # else it was one linear program, with no bound told apart
    bound = float(info.mip_dual_bound) if searched or not complete else objective
    return IntegerOptimal(x, objective, min(bound, objective), complete)


def relaxed(program: SparseProgram, *, time_limit: float = math.inf) -> Any:
    """A HiGHS engine that has solved the program with fractions allowed, if there was time [s].

    Its point is a hint, not an answer: rows may be added and it be run again.
    """
    for presolve in ("choose", "off"):
        engine = _engine(program, whole=False)
        engine.setOptionValue("presolve", presolve)
        engine.setOptionValue("time_limit", float(time_limit))
        engine.run()
        if not is_infeasible(engine):
            break
    return engine


def is_infeasible(engine: Any) -> bool:
    """Whether HiGHS says that nothing meets the rows."""
    return engine.getModelStatus() in (_S.kInfeasible, _S.kUnboundedOrInfeasible)


def _engine(program: SparseProgram, *, whole: bool) -> Any:
    engine = fresh_engine()
    engine.setOptionValue("presolve", "choose")
    engine.setOptionValue("solver", "choose")
    # Counts of packages need no finer: tighter, and HiGHS gives up on nodes that have answers.
    engine.setOptionValue("primal_feasibility_tolerance", 1e-8)
    engine.setOptionValue("dual_feasibility_tolerance", 1e-8)
    matrix = program.matrix
    rows, columns = matrix.shape
    status = engine.passModel(
        columns,
        rows,
        matrix.nnz,
        int(highspy.MatrixFormat.kColwise),
        int(highspy.ObjSense.kMinimize),
        0.0,
        program.cost,
        program.col_lower,
        program.col_upper,
        program.row_lower,
        program.row_upper,
        matrix.indptr[:-1].astype(np.int32),
        matrix.indices.astype(np.int32),
        matrix.data,
        (program.integer & whole).astype(np.int32),
    )
    if status == highspy.HighsStatus.kError:
        raise SolverFault("HiGHS refused the linear program")
    return engine


def _settle(program: SparseProgram, x: Array) -> Array:
    """Make the whole numbers exact and fit the rest to them; refuse what breaks a bound."""
    x = x.copy()
    x[program.integer] = np.round(x[program.integer])
    if program.miss(x) <= TOLERANCE / 1000:
        return x
    fixed = np.where(program.integer, x, program.col_lower)
    upper = np.where(program.integer, x, program.col_upper)
    rest = relaxed(
        SparseProgram(
            program.cost,
            program.matrix,
            program.row_lower,
            program.row_upper,
            fixed,
            upper,
            program.integer,
        )
    )
    if rest.getModelStatus() == _S.kOptimal:
        x = np.where(program.integer, x, np.array(rest.getSolution().col_value))
    miss = program.miss(x)
    if miss > TOLERANCE:
        raise SolverFault(f"the whole-number answer breaks a bound by {miss:.2g}")
    return x
