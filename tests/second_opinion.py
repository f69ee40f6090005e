"""The same linear program solved by others: scipy, and PuLP with the CBC it brings.

They agree with `formulate.blend.solve` or a test fails. CBC shares no code with HiGHS.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
import pulp
from scipy.optimize import Bounds, LinearConstraint, milp

from formulate.blend.solve import LinearProgram

__all__ = ["Opinion", "by_pulp", "by_scipy", "pulp_solve"]


@dataclass(frozen=True)
class Opinion:
    """What another solver says: "optimal", "infeasible" or "unbounded", and the value."""

    says: str
    value: float = float("nan")
    x: np.ndarray | None = None


def by_scipy(program: LinearProgram, integer: np.ndarray | None = None) -> Opinion:
    """Solve with scipy; `integer` marks whole-number columns."""
    m, n = program.shape
    rows = LinearConstraint(program.matrix, program.row_lower, program.row_upper)
    with warnings.catch_warnings():  # scipy warns of options it does not know in every release
        warnings.simplefilter("ignore")
        result = milp(
            program.cost,
            integrality=np.zeros(n) if integer is None else integer.astype(int),
            bounds=Bounds(program.col_lower, program.col_upper),
            constraints=rows if m else None,
            options={"mip_rel_gap": 0.0},
        )
    if result.status == 0:
        return Opinion("optimal", float(result.fun), result.x)
    if result.status == 4 and m:  # "infeasible or unbounded": ask without a cost
        free = LinearProgram(
            np.zeros(n),
            program.matrix,
            program.row_lower,
            program.row_upper,
            program.col_lower,
            program.col_upper,
        )
        return Opinion("unbounded" if by_scipy(free, integer).says == "optimal" else "infeasible")
    return Opinion({2: "infeasible", 3: "unbounded"}[result.status])


def by_pulp(program: LinearProgram, integer: np.ndarray | None = None) -> Opinion:
    """Solve with PuLP and CBC.

    CBC does not always tell "infeasible" from "unbounded": what it does not call optimal is
    asked once more without a cost. (PuLP leaves numbers in the variables of an infeasible
    model; they are not looked at.)
    """
    status, value, x = pulp_solve(program, integer, program.cost)
    if status == pulp.LpStatusOptimal:
        return Opinion("optimal", value, x)
    status, _, _ = pulp_solve(program, integer, np.zeros_like(program.cost))
    return Opinion("unbounded" if status == pulp.LpStatusOptimal else "infeasible")


def pulp_solve(
    program: LinearProgram, integer: np.ndarray | None, cost: np.ndarray
) -> tuple[int, float, np.ndarray]:
    """Model and solve in PuLP; return its status, the cost and the amounts."""
    m, n = program.shape

    def end(bound: float) -> float | None:
        return float(bound) if np.isfinite(bound) else None

    with warnings.catch_warnings():  # PuLP 3 announces names that PuLP 4 will change
        warnings.simplefilter("ignore", DeprecationWarning)
        model = pulp.LpProblem("second_opinion", pulp.LpMinimize)
        x = [
            pulp.LpVariable(
                f"x{j}",
                end(program.col_lower[j]),
                end(program.col_upper[j]),
                pulp.LpInteger if integer is not None and integer[j] else pulp.LpContinuous,
            )
            for j in range(n)
        ]
        # CBC stops where a cost of less than 1e-7 is left to be gained: scale the largest to 1.
        scaled = cost / (np.abs(cost).max() or 1.0)
        model += pulp.LpAffineExpression(list(zip(x, scaled.tolist(), strict=True)))
        for i in range(m):
            row = pulp.LpAffineExpression(list(zip(x, program.matrix[i].tolist(), strict=True)))
            low, high = program.row_lower[i], program.row_upper[i]
            if low == high:
                model += row == float(low)
                continue
            if np.isfinite(low):
                model += row >= float(low)
            if np.isfinite(high):
                model += row <= float(high)
        status = model.solve(pulp.PULP_CBC_CMD(msg=False, gapRel=0.0))
    amounts = np.array([variable.value() or 0.0 for variable in x])
    return status, float(cost @ amounts), amounts
