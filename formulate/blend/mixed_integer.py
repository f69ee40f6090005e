"""Integer programs, and how HiGHS solves them.

A mix in whole measures is a small dense matrix (`LinearProgram`); a season of shopping is
thousands of columns with a handful of entries each (`SparseProgram`). Both are solved with the
same options and come back as the same kinds of answer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import highspy
import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import OutOfTime, SolverFault
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.blend.program import LinearProgram, Program
from formulate.blend.solve import Infeasible, Optimal, fresh_engine, pass_program, solve

__all__ = ["TOLERANCE", "IntegerOptimal", "is_infeasible", "relaxed", "solve_integer"]

Array = NDArray[np.float64]

_S = highspy.HighsModelStatus
_FEASIBLE = 2  # HiGHS's mark of a point that it holds and that meets every bound
#: Largest violation of a bound in an answer, relative to the largest activity.
TOLERANCE = 1e-6
#: A rounded answer this close to its bounds is left as it is.
_SETTLED = 1e-9
#: No tighter: at 1e-9 some answers were not optimal, and nodes that held answers were discarded.
_OPTIONS: dict[str, Any] = {
    "solver": "choose",
    "mip_abs_gap": 0.0,
    "mip_feasibility_tolerance": 1e-7,
    "primal_feasibility_tolerance": 1e-8,
    "dual_feasibility_tolerance": 1e-8,
}


@brief_repr
@dataclass(frozen=True, eq=False)
class IntegerOptimal(ByContent):
    """The best whole-number answer found.

    Parameters
    ----------
    x : ndarray, shape (n,)
        Integer columns are exact whole numbers.
    objective : float
    bound : float
        No answer is better than this.
    complete : bool
        Whether the search ended by itself, not at its time limit.
    """

    x: Array
    objective: float
    bound: float
    complete: bool

    @property
    def gap(self) -> float:
        """Proven relative distance from the best possible."""
        return max(0.0, self.objective - self.bound) / max(abs(self.objective), 1e-12)


def solve_integer(
    program: Program,
    integer: NDArray[np.bool_],
    *,
    start: Array | None = None,
    time_limit: float = 30.0,
    relative_gap: float = 0.0,
) -> IntegerOptimal | Infeasible:
    """Solve with some columns in whole numbers.

    Parameters
    ----------
    program : Program
    integer : ndarray of bool, shape (n,)
        Which columns are whole numbers.
    start : ndarray, shape (n,), optional
        A valid answer to start from. It is returned if nothing better is found.
    time_limit : float
        Seconds of search; the best found by then comes back with its proven gap.
    relative_gap : float
        Stop when the gap is proved to be no larger.

    Raises
    ------
    OutOfTime
        If the time runs out before any answer is found.
    SolverFault
        If HiGHS gives up, or if its answer or the starting one breaks a bound.
    """
    if start is not None and program.miss(start) > TOLERANCE:
        raise SolverFault(say("solver.start-breaks-a-bound"))
    # Presolve sometimes calls a feasible program infeasible, so such a program is solved again
    # without.
    for presolve in ("choose", "off"):
        engine = _engine(program, presolve, integer)
        engine.setOptionValue("time_limit", float(time_limit))
        engine.setOptionValue("mip_rel_gap", float(relative_gap))
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
    status, info = engine.getModelStatus(), engine.getInfo()
    complete = status == _S.kOptimal
    x = None
    if complete or (status == _S.kTimeLimit and info.primal_solution_status == _FEASIBLE):
        x = _settle(program, np.array(engine.getSolution().col_value), integer)
    if start is not None and (x is None or program.cost @ start <= program.cost @ x):
        x = start
    if x is None:
        if status == _S.kTimeLimit:
            raise OutOfTime(time_limit)
        raise SolverFault(say("solver.no-whole", status=status))
    objective = float(program.cost @ x)
    if complete and (relative_gap == 0 or not integer.any()):  # a linear program has no bound
        return IntegerOptimal(x, objective, objective, complete)
    return IntegerOptimal(x, objective, min(float(info.mip_dual_bound), objective), complete)


def relaxed(program: Program, *, time_limit: float = math.inf) -> Any:
    """A HiGHS engine that has solved the program with fractions allowed, if there was time [s].

    Its point is a hint, not an answer: rows may be added and it be run again.
    """
    for presolve in ("choose", "off"):
        engine = _engine(program, presolve)
        engine.setOptionValue("time_limit", float(time_limit))
        engine.run()
        if not is_infeasible(engine):
            break
    return engine


def is_infeasible(engine: Any) -> bool:
    """Whether HiGHS reports that the rows are infeasible."""
    return engine.getModelStatus() in (_S.kInfeasible, _S.kUnboundedOrInfeasible)


def _engine(program: Program, presolve: str, integer: NDArray[np.bool_] | None = None) -> Any:
    engine = fresh_engine()
    for name, value in _OPTIONS.items():
        engine.setOptionValue(name, value)
    engine.setOptionValue("presolve", presolve)
    pass_program(engine, program, integer)
    return engine


def _settle(program: Program, x: Array, integer: NDArray[np.bool_]) -> Array:
    """Round the whole numbers and fit the rest to them; reject an answer that breaks a bound."""
    x = x.copy()
    x[integer] = np.round(x[integer])
    if program.miss(x) > _SETTLED and not integer.all():
        x = np.where(integer, x, _rest(program, x, integer))
    miss = program.miss(x)
    if miss > TOLERANCE:
        raise SolverFault(say("solver.whole-breaks-a-bound", miss=miss))
    return x


def _rest(program: Program, x: Array, integer: NDArray[np.bool_]) -> Array:
    """The best values of the other columns, with the whole numbers fixed."""
    fixed = replace(
        program,
        col_lower=np.where(integer, x, program.col_lower),
        col_upper=np.where(integer, x, program.col_upper),
    )
    if isinstance(fixed, LinearProgram):
        found = solve(fixed)
        return found.x if isinstance(found, Optimal) else x
    engine = relaxed(fixed)
    if engine.getModelStatus() != _S.kOptimal:
        return x
    return np.array(engine.getSolution().col_value)
