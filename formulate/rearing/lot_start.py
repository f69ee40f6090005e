"""A first sound plan, in milliseconds: open when something runs out, use the oldest first.

One mix for the whole season at a time; for each food the package that is cheapest for what will
be used of it before it spoils, or always the same size. The cheapest that fits the refrigerator
is handed back.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from formulate.errors import SolverFault
from formulate.rearing.lots import LotPlan, LotProblem, audit

__all__ = ["first_plan"]

Array = NDArray[np.float64]
Flows = dict[tuple[int, int, int, int], float]


def first_plan(problem: LotProblem) -> LotPlan | None:
    """Build a plan without search; None where no attempt is sound."""
    best: LotPlan | None = None
    depth = min((len(group) for group in problem.groups), default=0)
    for pick in range(depth):
        choices = tuple(group[pick] for group in problem.groups)
        for smallest in (False, True):
            plan = _attempt(problem, choices, smallest)
            if plan is not None and (best is None or plan.cost < best.cost):
                best = plan
    return best


def _attempt(problem: LotProblem, choices: tuple[int, ...], smallest: bool) -> LotPlan | None:
    needs = problem.need[:, :, list(choices)].sum(axis=2)
    count = np.zeros(len(problem.lots), dtype=np.int64)
    flows: Flows = {}
    for good in range(len(problem.goods)):
        if not _serve(problem, good, needs[good], smallest, count, flows):
            return None
    plan = LotPlan(problem, choices, count, flows, bound=-np.inf, complete=False)
    try:
        audit(plan)
    except SolverFault:  # the refrigerator overflows
        return None
    return plan


def _serve(
    problem: LotProblem,
    good: int,
    need: Array,
    smallest: bool,
    count: NDArray[np.int64],
    flows: Flows,
) -> bool:
    """Serve one food's needs in turn; whether it can be done."""
    lots = problem.lots
    mine = np.flatnonzero(lots.good == good)
    left = {k: stock.count for k, stock in enumerate(problem.stocks) if not stock.opened}
    # Open food: [last batch, batch of opening, grams].
    there: list[list[float]] = [
        [last, -1, grams] for g, last, grams in problem.open_stock() if g == good and last >= 0
    ]
    for b in range(problem.batches):
        wanted = float(need[b])
        while wanted > 1e-9:
            there = sorted(pile for pile in there if pile[0] >= b and pile[2] > 1e-12)
            if there:
                pile = there[0]
                taken = min(wanted, pile[2])
                pile[2] -= taken
                wanted -= taken
                key = (good, int(pile[1]), int(pile[0]), b)
                flows[key] = flows.get(key, 0.0) + taken
                continue
            lot = _best_lot(problem, mine[lots.opened[mine] == b], need, wanted, smallest, left)
            if lot is None:
                return False
            count[lot] += 1
            if lots.stock[lot] >= 0:
                left[int(lots.stock[lot])] -= 1
            there.append([int(lots.last[lot]), b, float(lots.grams[lot])])
    return True


def _best_lot(
    problem: LotProblem,
    offered: NDArray[np.int64],
    need: Array,
    wanted: float,
    smallest: bool,
    left: dict[int, int],
) -> int | None:
    """The lot of least cost for what would be used of it; stock first; then the latest trip."""
    lots = problem.lots
    best, best_key = None, (np.inf, np.inf, np.inf)
    for lot in offered:
        if lots.stock[lot] >= 0:
            if left[int(lots.stock[lot])] > 0:
                return int(lot)
            continue
        later = need[lots.opened[lot] + 1 : lots.last[lot] + 1].sum()
        useful = min(float(lots.grams[lot]), wanted + float(later))
        cost = float(lots.grams[lot]) if smallest else float(lots.price[lot]) / useful
        key = (cost, float(lots.price[lot]), -float(lots.trip[lot]))
        if key < best_key:
            best, best_key = int(lot), key
    return best
