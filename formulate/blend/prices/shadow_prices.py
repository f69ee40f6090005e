"""What each limit costs: the cost of the cheapest mix as the limit moves.

The slope is followed to either side by exact steps, not read off one set of duals: at a
degenerate corner the two sides differ, and both are reported.

A limit's value ``t`` stands in the matrix, ``(n − t·d)·y ≥ 0``, so the basis moves with it by a
matrix of rank one. With B the basis at t₀, e the limit's place in it, w = ∂row/∂t, h = B⁻¹e,
a = w·y, g = w_B·h and p the limit's dual, a move δ gives (Sherman and Morrison)::

    y(δ) = y₀ − h · a·δ / (1 + g·δ)        cost(δ) = cost₀ − p · a·δ / (1 + g·δ)

Amounts, slacks, duals and reduced costs are all ratios with that one pole; times (1 + g·δ) each
is a straight line in δ, so the move at which the basis stops being the best is a plain quotient.
The basis on one side of t₀ comes from a solve a little to that side, and must still be optimal at
t₀.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formulate.base.errors import SolverFault
from formulate.blend.branch import DUST
from formulate.blend.explain import value_row
from formulate.blend.mix import Mix, optimise
from formulate.blend.prices.ranging import optimum_of
from formulate.blend.problem import Limit, LimitKind, Problem
from formulate.blend.solve import LinearProgram, Optimal, solve

__all__ = ["ShadowPrice", "Slope", "handy_step", "shadow_prices"]

Array = NDArray[np.float64]

#: A mix this near to a limit, in scaled rows, lies on it.
ON_LIMIT = 1e-8
#: Rates below this share of the cost of a litre, for a practical step, count as zero.
NOTHING = 1e-9
#: Figures of a basis, each of size about 1, below this are rounding error.
ROUNDING = 1e-11
#: How far to the side of a limit's value its basis is looked for, as a part of the value.
ASIDE = (1e-5, 1e-6, 1e-7, 1e-8)


@dataclass(frozen=True, slots=True)
class Slope:
    """How the cost of a litre changes when a limit's value moves to one side.

    Parameters
    ----------
    rate : float
        Change for one unit of the value towards that side [money/L per unit]: not above zero
        where the limit gets looser, not below zero where it gets tighter.
    until : float
        Value up to which the same foods and limits decide; ±inf if there is no such end, the
        limit's own value if it is not known.
    rate_until : float
        The rate there: the cost is not quite linear in a limit on a ratio.
    step_change : float or None
        Exact change of the cost for a whole `ShadowPrice.step` [money/L]; None if there is no
        mix that far.
    """

    rate: float
    until: float
    rate_until: float
    step_change: float | None


@dataclass(frozen=True, slots=True)
class ShadowPrice:
    """What a limit that the mix lies on costs.

    Parameters
    ----------
    limit : Limit
    step : float
        A handy change of its value, in its unit: see `handy_step`.
    looser, tighter : Slope or None
        To either side; None if there is no mix on that side, however small the step.
    while_used : bool
        Smallest useful amounts are set, so the rates hold only as long as the same foods are
        used: another choice of foods may become cheaper before `until`.
    """

    limit: Limit
    step: float
    looser: Slope | None
    tighter: Slope | None
    while_used: bool = False

    @property
    def kinked(self) -> bool:
        """Whether loosening a little saves more or less than tightening a little costs."""
        if self.looser is None or self.tighter is None:
            return True
        saves, costs = -self.looser.rate, self.tighter.rate
        return abs(costs - saves) > 1e-6 * max(abs(costs), abs(saves))


def handy_step(limit: Limit) -> float:
    """Change of a limit's value that people can picture, in the value's unit.

    A tenth of a band's unit, or ten of them where the end is a hundred or more; one percent of
    the mix for a share; ten grams for a stock.
    """
    if limit.band is not None:
        return 10.0 if abs(limit.value) >= 100 else 0.1
    return 0.01 if limit.kind is LimitKind.SHARE else 10.0


def shadow_prices(problem: Problem, mix: Mix) -> tuple[ShadowPrice, ...]:
    """Price every limit that the mix lies on: bands' ends, largest shares and stocks.

    Parameters
    ----------
    problem : Problem
    mix : Mix
        Its cheapest mix.

    Returns
    -------
    tuple of ShadowPrice
        In the order of the limits; those that cost nothing are left out.
    """
    y, cost = optimum_of(problem, mix)
    chosen = bool((problem.shelf.smallest > 0).any())
    out = []
    for k in np.flatnonzero(np.abs(problem.rows @ y) <= ON_LIMIT):
        limit, step = problem.limits[k], handy_step(problem.limits[k])
        if limit.kind is LimitKind.READABLE:
            continue  # no figure of anybody's to move
        loose = -1.0 if problem.is_low[k] else 1.0
        looser = _slope(problem, int(k), loose, step, cost)
        # The other end of a band whose ends are equal leaves no room that way.
        tighter = None if limit.exact else _slope(problem, int(k), -loose, step, cost)
        least = NOTHING * cost * 1e3 / step
        if tighter is None or any(abs(s.rate) > least for s in (looser, tighter) if s):
            out.append(ShadowPrice(limit, step, looser, tighter, chosen))
    return tuple(out)


def _turn(problem: Problem, k: int) -> Array:
    """Change of row k for one unit of its limit's value, shape (n,)."""
    per, scale = value_row(problem, problem.limits[k])
    return -per / (scale * float(problem.row_scale[k]))


def _moved(problem: Problem, k: int, move: float) -> Problem:
    """The problem with one limit's value moved (in its row; its name stays)."""
    rows = problem.rows.copy()
    rows[k] += move * _turn(problem, k)
    return replace(problem, rows=rows)


def _slope(problem: Problem, k: int, side: float, step: float, cost: float) -> Slope | None:
    """Slope of the cost when limit k's value moves up (side 1) or down (−1)."""
    value = problem.limits[k].value
    size = max(abs(value), step)
    end = _best(_moved(problem, k, side * step))
    change = None if end is None else (end.objective - cost) * 1e3
    quotient: float | None = None
    for part in ASIDE:
        aside = side * part * size
        there = _moved(problem, k, aside)
        beside = _best(there)
        if beside is None:
            continue
        span = _span(problem, k, *_chosen(there, beside))
        if span is not None and span.leads_from_here_to(aside):
            far = span.high if side > 0 else span.low
            rate, rate_far = side * span.rate_at(0.0) * 1e3, side * span.rate_at(far) * 1e3
            return Slope(rate, value + far, rate_far, change)
        if quotient is None:
            quotient = (beside.objective - cost) / abs(aside) * 1e3
    # Corners too close together to distinguish: the slope as measured, and no range.
    return None if quotient is None else Slope(quotient, value, quotient, change)


def _best(problem: Problem) -> Optimal | None:
    """The cheapest mix; None too if a limit leaves so little room that none is certain."""
    try:
        return optimise(problem)
    except SolverFault:
        return None


def _chosen(problem: Problem, best: Optimal) -> tuple[LinearProgram, Optimal]:
    """The linear program once it is settled which foods are used, and its optimum."""
    program = problem.program()
    floors = problem.shelf.smallest / problem.volume
    if not (floors > 0).any():
        return program, best
    used = best.x > DUST
    program = replace(
        program,
        col_lower=np.where(used, np.minimum(floors, best.x), 0.0),
        col_upper=np.where(~used & (floors > 0), 0.0, math.inf),
    )
    settled = solve(program)
    return program, settled if isinstance(settled, Optimal) else best


@dataclass(frozen=True, slots=True)
class _Span:
    """Moves of a limit's value for which a basis stays the best, and the cost's slope there."""

    low: float
    high: float
    rate: float
    bend: float

    def rate_at(self, move: float) -> float:
        """Slope of the cost after a move within the span."""
        if math.isinf(move):
            return 0.0 if self.bend else self.rate
        return self.rate / (1.0 + self.bend * move) ** 2

    def leads_from_here_to(self, aside: float) -> bool:
        """Whether the span holds every move from none to `aside`, within rounding."""
        slip = 1e-3 * abs(aside)
        return self.low <= min(aside, 0.0) + slip and self.high >= max(aside, 0.0) - slip


def _span(problem: Problem, k: int, program: LinearProgram, found: Optimal) -> _Span | None:
    """Follow the basis `found` beside limit k's value; None if it is not one at the value.

    The names are those at the top of this module: `turn` w, `lean` h, `pull` a, `bend` g.
    """
    matrix = program.matrix.copy()
    matrix[k] = problem.rows[k]
    turn = _turn(problem, k)
    unit = max(float(np.abs(program.cost).max()), 1e-300)
    cost = program.cost / unit
    basic, slack = found.basic_cols, found.basic_rows
    square = matrix[np.ix_(~slack, basic)]
    if square.shape[0] != square.shape[1]:
        return None
    # Columns outside the basis lie on a bound, rows outside it on their finite end.
    at_low = found.x - program.col_lower <= program.col_upper - found.x
    x = np.where(at_low, program.col_lower, program.col_upper)
    ends = np.where(np.isfinite(program.row_lower), program.row_lower, program.row_upper)
    goal = ends[~slack] - matrix[np.ix_(~slack, ~basic)] @ x[~basic]
    place = (np.flatnonzero(~slack) == k).astype(float)
    try:
        x[basic], lean = np.linalg.solve(square, np.column_stack((goal, place))).T
        dual, back = np.linalg.solve(square.T, np.column_stack((cost[basic], turn[basic]))).T
    except np.linalg.LinAlgError:
        return None
    price, pull, bend = float(place @ dual), float(turn @ x), float(turn[basic] @ lean)

    # Each figure that must stay at or above zero, now, and its change with δ/(1 + bend·δ). Where
    # the limit is slack `lean` is nothing: only its own row moves, and may be broken at δ = 0.
    activity = matrix @ x
    change = -pull * (matrix[:, basic] @ lean)
    if slack[k]:
        change[k] = pull
    side = np.where(at_low, 1.0, -1.0)
    free = ~basic & (program.col_lower < program.col_upper)
    demand = np.isfinite(program.row_lower[~slack]) ^ np.isfinite(program.row_upper[~slack])
    sign = np.where(np.isfinite(program.row_lower[~slack]), 1.0, -1.0)
    figures = (
        ((x - program.col_lower)[basic], -pull * lean),
        ((activity - program.row_lower)[slack], change[slack]),
        ((program.row_upper - activity)[slack], -change[slack]),
        (
            (side * (cost - dual @ matrix[~slack]))[free],
            (-side * price * (turn - back @ matrix[~slack]))[free],
        ),
        ((sign * dual)[demand], (-sign * price * back)[demand]),
    )
    now = np.concatenate([figure[0] for figure in figures])
    moves = np.concatenate([figure[1] for figure in figures])
    moves, now = moves[np.isfinite(now)], now[np.isfinite(now)]
    now = np.where(np.abs(now) <= ROUNDING, 0.0, now)
    now, moves = np.append(now, 1.0), np.append(moves + bend * now, bend)
    moves = np.where(np.abs(moves) * abs(problem.limits[k].value or 1.0) <= ROUNDING, 0.0, moves)
    rises, falls = moves > 0, moves < 0
    return _Span(
        low=float((-now[rises] / moves[rises]).max(initial=-math.inf)),
        high=float((-now[falls] / moves[falls]).min(initial=math.inf)),
        rate=-price * pull * unit,
        bend=bend,
    )
