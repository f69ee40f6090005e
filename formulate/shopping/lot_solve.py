"""Solve a season's lots: each food on its own first, then all together, with a proven gap."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from formulate.base.clock import Clock
from formulate.base.errors import OutOfTime, SolverFault
from formulate.blend.mixed_integer import solve_integer
from formulate.blend.program import SparseProgram
from formulate.blend.solve import Infeasible
from formulate.shopping.lot_by_food import in_turn
from formulate.shopping.lot_program import LotProgram
from formulate.shopping.lot_rounding import tightened
from formulate.shopping.lot_start import fewer_trips, first_plan
from formulate.shopping.lots import LotPlan, LotProblem, audit

__all__ = ["least_room", "solve_lots"]


#: Shares of the time that is left: to leave out trips, and to add rows to the program.
_FEWER_TRIPS, _ROWS = 0.3, 0.4
#: If no plan is found without a search, the search gets at least this share of the whole time, so
#: that there is an answer.
_LEAST_SEARCH = 0.1


def solve_lots(
    problem: LotProblem, *, clock: Clock | None = None, relative_gap: float = 0.01
) -> LotPlan | Infeasible:
    """Find the cheapest plan, and how far from it the one handed back can be.

    Every stage keeps to the time limit. When it ends, the best plan so far is returned.

    Parameters
    ----------
    problem : LotProblem
    clock : Clock, optional
        By default half a minute from now.
    relative_gap : float
        Stop when the gap is proved to be no larger.

    Raises
    ------
    OutOfTime
        If the time ends before any plan is found.
    """
    clock = clock or Clock(30.0)
    first = first_plan(problem, clock.part(0.5))
    if first.impossible:
        return Infeasible()
    begin = first.plan
    if begin is not None:
        if problem.trip_cost.any():
            begin = fewer_trips(begin, clock.part(_FEWER_TRIPS))
        floor = min(float(first.floors.sum()), begin.cost)
        begin = replace(begin, bound=floor, complete=True)
        if begin.gap <= relative_gap:
            return begin
        begin = replace(begin, complete=False)
    return _searched(LotProgram(problem, first.floors), begin, clock, relative_gap)


def _searched(
    lots: LotProgram, begin: LotPlan | None, clock: Clock, relative_gap: float
) -> LotPlan | Infeasible:
    """Search all foods and trips together, from a feasible plan if there is one."""
    if begin is not None and clock.over():
        return begin
    program = tightened(lots, clock.part(_ROWS))
    if program is None:
        return Infeasible()
    if begin is not None and clock.over():
        return begin
    start = None if begin is None else lots.point(begin)
    left = clock.left() if begin else max(clock.left(), _LEAST_SEARCH * clock.seconds)
    answer = solve_integer(
        program, lots.integer, start=start, time_limit=left, relative_gap=relative_gap
    )
    if isinstance(answer, Infeasible):
        return answer
    plan = lots.plan(answer.x, answer.bound, answer.complete)
    audit(plan)
    return _tidied(plan)


def _tidied(plan: LotPlan) -> LotPlan:
    """The same packages opened only when something is short; what is never short is not bought.

    The search is indifferent to a package that is opened earlier than needed. If opening it later
    would overfill the refrigerator, the plan stays as it is.
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


def least_room(problem: LotProblem, clock: Clock) -> float | None:
    """A refrigerator that would do [mL], within a few per cent of the smallest.

    None if there is none, or none is found in time.
    """
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
    )
    try:
        answer = solve_integer(
            larger, np.append(lots.integer, False), time_limit=clock.left(), relative_gap=0.03
        )
    except (OutOfTime, SolverFault):  # advice only: it never costs the answer
        return None
    return None if isinstance(answer, Infeasible) else 1e3 * answer.objective + 1.0
