"""Solve linear programs with HiGHS; every answer carries its certificate.

``minimise c·x  subject to  row_lower ≤ A x ≤ row_upper,  col_lower ≤ x ≤ col_upper``

Every optimum is checked here, in numpy, from the primal and dual vectors alone: a result whose
residuals or duality gap exceed `TOLERANCE` is a `SolverFault`, not an answer.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

import highspy
import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import SolverFault
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.blend.program import Certificate, LinearProgram, Program, SparseProgram, certify

__all__ = [
    "OPTIONS",
    "TOLERANCE",
    "Certificate",
    "Infeasible",
    "LinearProgram",
    "Optimal",
    "Unbounded",
    "solve",
    "solve_each",
]

Array = NDArray[np.float64]

#: Largest relative residual or gap of an answer.
TOLERANCE = 1e-9

#: Rows missed by no more than this in total count as met: the solver's own tolerance.
HAIR = 1e-10

#: HiGHS options of a linear program. Mixes are small and dense, so presolve costs more than it
#: saves. (It is switched on if a first try fails.)
OPTIONS: dict[str, Any] = {
    "output_flag": False,
    "log_to_console": False,
    "threads": 1,
    "random_seed": 0,
    "presolve": "off",
    "solver": "simplex",
    "primal_feasibility_tolerance": 1e-10,
    "dual_feasibility_tolerance": 1e-10,
}


@brief_repr
@dataclass(frozen=True, eq=False)
class Optimal(ByContent):
    """An optimum.

    Parameters
    ----------
    x : ndarray, shape (n,)
        Amounts.
    objective : float
        c·x.
    row_dual : ndarray, shape (m,)
        Change of the objective for one unit of the row's active bound.
    reduced_cost : ndarray, shape (n,)
    basic_cols, basic_rows : ndarray of bool, shapes (n,) and (m,)
        The optimal basis.
    certificate : Certificate
    """

    x: Array
    objective: float
    row_dual: Array
    reduced_cost: Array
    basic_cols: NDArray[np.bool_]
    basic_rows: NDArray[np.bool_]
    certificate: Certificate


@brief_repr
@dataclass(frozen=True)
class Infeasible:
    """No x meets every bound. Holds no amounts."""


@dataclass(frozen=True)
class Unbounded:
    """The objective has no floor. Holds no amounts."""


@dataclass
class _Local(threading.local):
    """One HiGHS object for each thread, made when first needed."""

    engine: Any = field(default=None)


_local = _Local()
_S = highspy.HighsModelStatus
_COLUMN_WISE = int(highspy.MatrixFormat.kColwise)
_MINIMISE = int(highspy.ObjSense.kMinimize)
_BASIC = highspy.HighsBasisStatus.kBasic.value
#: HiGHS numbers of its simplex methods; the dual one is its default.
_DUAL, _PRIMAL = 1, 4


def fresh_engine() -> Any:
    """Make a HiGHS object that prints nothing, with the options of this module."""
    engine = highspy.Highs()  # type: ignore[no-untyped-call]
    for name, value in OPTIONS.items():
        engine.setOptionValue(name, value)
    return engine


def pass_program(engine: Any, program: Program, integer: NDArray[np.bool_] | None = None) -> None:
    """Hand the arrays to HiGHS, column by column as it keeps them; it drops the zeros itself.

    Parameters
    ----------
    engine : highspy.Highs
    program : Program
    integer : ndarray of bool, shape (n,), optional
        Columns in whole numbers; none if left out.
    """
    rows, columns = program.shape
    starts, indices, values = _by_column(program)
    status = engine.passModel(
        columns,
        rows,
        values.size,
        _COLUMN_WISE,
        _MINIMISE,
        0.0,
        program.cost,
        program.col_lower,
        program.col_upper,
        program.row_lower,
        program.row_upper,
        starts,
        indices,
        values,
        np.zeros(columns, dtype=np.int32) if integer is None else integer.astype(np.int32),
    )
    if status == highspy.HighsStatus.kError:
        raise SolverFault(say("solver.refused"))


def _by_column(program: Program) -> tuple[NDArray[np.int32], NDArray[np.int32], Array]:
    """Where each column starts, the rows of its entries, and the entries."""
    matrix = program.matrix
    if isinstance(program, SparseProgram):
        return matrix.indptr[:-1].astype(np.int32), matrix.indices.astype(np.int32), matrix.data
    return *_dense(*matrix.shape), matrix.T.ravel()


@lru_cache(maxsize=64)
def _dense(rows: int, columns: int) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Where each column of a dense matrix starts, and the rows of its entries."""
    starts = np.arange(columns, dtype=np.int32) * rows
    return starts, np.tile(np.arange(rows, dtype=np.int32), columns)


def solve(program: LinearProgram) -> Optimal | Infeasible | Unbounded:
    """Solve a linear program.

    Returns
    -------
    Optimal, Infeasible or Unbounded

    Raises
    ------
    SolverFault
        If HiGHS gives no clear answer or the certificate is out of tolerance.
    """
    if program.shape[0] == 0 and program.shape[1] == 0:
        raise SolverFault(say("solver.empty"))
    if _local.engine is None:
        _local.engine = fresh_engine()
    engine = _local.engine
    pass_program(engine, program)
    engine.run()
    outcome = outcome_of(engine, program)
    if outcome is None:  # once more from scratch, by another method
        engine = fresh_engine()
        engine.setOptionValue("presolve", "on")
        pass_program(engine, program)
        engine.run()
        outcome = outcome_of(engine, program)
    if outcome is None:
        outcome = _with_slack(program)
    if outcome is None:
        raise SolverFault(say("solver.stopped", status=engine.getModelStatus()))
    return outcome


def _with_slack(program: LinearProgram) -> Optimal | Infeasible | None:
    """Decide a program that HiGHS leaves undecided, such as one that is infeasible by a hair.

    With a slack in each row there is always an answer, so HiGHS finds it. The least sum of
    slacks is certified: above `HAIR` it proves that there is no answer. Else slacks are priced
    beyond any row's worth, and the duals prove the optimum of the program itself.
    """
    m, n = program.shape
    least = _slacked(program, np.zeros(n), 1.0)
    if least is None or least.objective > HAIR:
        return None if least is None else Infeasible()
    worth = max(float(np.abs(program.cost).max(initial=0.0)), 1e-300)
    for price in (1e2, 1e4, 1e6):
        found = _slacked(program, program.cost, price * worth)
        if found is None:
            continue
        x, row_dual = found.x[:n], found.row_dual
        certificate = certify(program, x, row_dual)
        if certificate.worst <= TOLERANCE:
            basic_slack = found.basic_cols[n : n + m] | found.basic_cols[n + m :]
            return Optimal(
                x=x,
                objective=float(program.cost @ x),
                row_dual=row_dual,
                reduced_cost=program.cost - row_dual @ program.matrix,
                basic_cols=found.basic_cols[:n],
                basic_rows=found.basic_rows | basic_slack,
                certificate=certificate,
            )
    return None


def _slacked(program: LinearProgram, cost: Array, price: float) -> Optimal | None:
    """The optimum with a slack either way in each row, at a price."""
    m, _ = program.shape
    each = np.eye(m)
    elastic = LinearProgram(
        np.append(cost, np.full(2 * m, price)),
        np.hstack((program.matrix, each, -each)),
        program.row_lower,
        program.row_upper,
        np.append(program.col_lower, np.zeros(2 * m)),
        np.append(program.col_upper, np.full(2 * m, np.inf)),
    )
    engine = fresh_engine()
    pass_program(engine, elastic)
    engine.run()
    found = outcome_of(engine, elastic)
    return found if isinstance(found, Optimal) else None


def solve_each(
    program: LinearProgram, costs: Array
) -> tuple[Optimal | Infeasible | Unbounded, ...]:
    """Solve one set of rows for several objectives, each from where the last one ended.

    Parameters
    ----------
    program : LinearProgram
        Its own cost is not used.
    costs : ndarray, shape (k, n)

    Returns
    -------
    tuple of Optimal, Infeasible or Unbounded
        One for each objective, each certified as `solve` does.

    Raises
    ------
    SolverFault
        If one of them has no clear answer.
    """
    first = solve(replace(program, cost=costs[0]))
    if isinstance(first, Infeasible):
        return (first,) * len(costs)
    outcomes: list[Optimal | Infeasible | Unbounded] = [first]
    engine = _local.engine
    columns = np.arange(program.shape[1], dtype=np.int32)
    # The last optimum stays feasible if only the objective changes, which suits the primal
    # simplex.
    engine.setOptionValue("simplex_strategy", _PRIMAL)
    try:
        for cost in costs[1:]:
            engine.changeColsCost(columns.size, columns, cost)
            engine.run()
            turned = replace(program, cost=cost)
            outcome = outcome_of(engine, turned)
            if outcome is None:  # from scratch, which leaves these rows in the engine again
                outcome = solve(turned)
            outcomes.append(outcome)
    finally:
        engine.setOptionValue("simplex_strategy", _DUAL)
    return tuple(outcomes)


def outcome_of(engine: Any, program: LinearProgram) -> Optimal | Infeasible | Unbounded | None:
    """Read an answer from the engine and certify it; None if there is no clear answer."""
    status = engine.getModelStatus()
    if status != _S.kOptimal:
        if status == _S.kInfeasible:
            return Infeasible()
        return Unbounded() if status == _S.kUnbounded else None
    solution = engine.getSolution()
    x, row_dual = np.array(solution.col_value), np.array(solution.row_dual)
    # Not getBasicVariables(): it crashes where HiGHS has solved without a factor.
    basis = engine.getBasis()
    basic_cols = np.array([s.value == _BASIC for s in basis.col_status], dtype=bool)
    basic_rows = np.array([s.value == _BASIC for s in basis.row_status], dtype=bool)
    certificate = certify(program, x, row_dual)
    if certificate.worst > TOLERANCE:
        x, row_dual = _resolve_basis(program, x, basic_cols, basic_rows)
        certificate = certify(program, x, row_dual)
        if certificate.worst > TOLERANCE:
            return None
    return Optimal(
        x=x,
        objective=float(program.cost @ x),
        row_dual=row_dual,
        reduced_cost=program.cost - row_dual @ program.matrix,
        basic_cols=basic_cols,
        basic_rows=basic_rows,
        certificate=certificate,
    )


def _resolve_basis(
    program: LinearProgram,
    x: Array,
    basic_cols: NDArray[np.bool_],
    basic_rows: NDArray[np.bool_],
) -> tuple[Array, Array]:
    """Solve the basis again in numpy: the last digits of a badly scaled optimum."""
    active = ~basic_rows
    square = program.matrix[np.ix_(active, basic_cols)]
    row_dual = np.zeros(program.shape[0])
    if square.shape[0] != square.shape[1]:
        return x, row_dual
    activity = program.matrix[active] @ x
    nearer = np.abs(activity - program.row_lower[active]) <= np.abs(
        program.row_upper[active] - activity
    )
    target = np.where(nearer, program.row_lower[active], program.row_upper[active])
    better = x.copy()
    rest = program.matrix[np.ix_(active, ~basic_cols)] @ x[~basic_cols]
    try:
        better[basic_cols] = np.linalg.solve(square, target - rest)
        row_dual[active] = np.linalg.solve(square.T, program.cost[basic_cols])
    except np.linalg.LinAlgError:
        return x, row_dual
    return better, row_dual
