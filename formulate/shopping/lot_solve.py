"""Solve a season's lots: food by food first, then all together, with a proven gap."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from formulate.base.errors import SolverFault
from formulate.blend.solve import Infeasible
from formulate.blend.whole.sparse import SparseProgram, solve_large
from formulate.shopping.lot_by_food import in_turn
from formulate.shopping.lot_program import LotProgram
from formulate.shopping.lot_rounding import tightened
from formulate.shopping.lot_start import fewer_trips, first_plan
from formulate.shopping.lots import LotPlan, LotProblem, audit

__all__ = ["least_room", "solve_lots"]


def solve_lots(
    problem: LotProblem, *, time_limit: float = 30.0, relative_gap: float = 0.01
) -> LotPlan | Infeasible:
    """Find the cheapest plan, and how far from it the one handed back can be.

    Parameters
    ----------
    problem : LotProblem
    time_limit : float
        Seconds of search.
    relative_gap : float
        Stop when the gap is proved to be no larger.
    """
    first = first_plan(problem)
    if first.impossible:
        return Infeasible()
    begin = first.plan
    if begin is not None:
        if problem.trip_cost.any():
            begin = fewer_trips(begin)
        floor = min(float(first.floors.sum()), begin.cost)
        begin = replace(begin, bound=floor, complete=True)
        if begin.gap <= relative_gap:
            return begin
    lots = LotProgram(problem, first.floors)
    program = tightened(lots)
    if program is None:
        return Infeasible()
    start = None if begin is None else lots.point(begin)
    answer = solve_large(program, start=start, time_limit=time_limit, relative_gap=relative_gap)
    if isinstance(answer, Infeasible):
        return answer
    plan = lots.plan(answer.x, answer.bound, answer.complete)
    audit(plan)
    return _tidied(plan)


def _tidied(plan: LotPlan) -> LotPlan:
    """The same packages opened only when something is short; what is never short is not bought.

    The search does not mind when a package is opened that could wait. Where the refrigerator
    minds, the plan stays as it is.
    """
    problem, lots = plan.problem, plan.problem.lots
    count = np.zeros_like(plan.count)
    flows: dict[tuple[int, int, int, int], float] = {}
    for good in range(len(problem.goods)):
        arrivals: dict[int, list[int]] = {}
        mine = np.flatnonzero((lots.good == good) & (plan.count > 0))
        for k in sorted(mine, key=lambda k: (lots.opened[k], -lots.grams[k], k)):
            trip = int(lots.trip[k])
            first = 0 if trip < 0 else problem.trips[trip].first_batch
            arrivals.setdefault(first, []).extend([int(k)] * int(plan.count[k]))
        opened, used = in_turn(problem, good, plan.needs[good], arrivals, {})
        for lot, packages in opened.items():
            count[lot] = packages
        flows |= used
    tidy = replace(plan, count=count, flows=flows)
    try:
        audit(tidy)
    except SolverFault:
        return plan
    return tidy if tidy.cost <= plan.cost else plan


def least_room(problem: LotProblem, *, time_limit: float = 10.0) -> float | None:
    """A refrigerator that would do [mL], within a few per cent of the smallest; None: none."""
    from scipy.sparse import csc_array, hstack

    lots = LotProgram(replace(problem, room=1.0))
    program = lots.program
    rows, columns = program.matrix.shape
    first, count = lots.room_rows
    column = csc_array(
        (-np.ones(count), (first + np.arange(count), np.zeros(count, dtype=int))), shape=(rows, 1)
    )
    # The last column is the room beyond one millilitre, in litres.
    larger = SparseProgram(
        np.append(np.zeros(columns), 1.0),
        csc_array(hstack((program.matrix, column))),
        program.row_lower,
        program.row_upper,
        np.append(program.col_lower, 0.0),
        np.append(program.col_upper, np.inf),
        np.append(program.integer, False),
    )
    answer = solve_large(larger, time_limit=time_limit, relative_gap=0.03)
    return None if isinstance(answer, Infeasible) else 1e3 * answer.objective + 1.0
