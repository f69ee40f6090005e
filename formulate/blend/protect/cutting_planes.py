"""The cheapest mix in cones: cuts on its linear program, and Newton's method where cuts are slow.

A tangent of the norm at any mix ``ȳ`` never lies above it (Cauchy–Schwarz), so

    (m − z · σ² ∘ ȳ / ‖σ ∘ ȳ‖) · y ≥ 0

holds for every mix in the cone: a *cut*, one more homogeneous row. The linear program with some
cuts is cheaper than any mix in the cones. Its optimum either lies in them or is cut off, and the
program is solved again from where it stopped. A few rounds are enough for most mixes; where the
optimum lies on a round part of the cones, `formulate.blend.protect.interior_point` goes on from
there.

The proof of the answer needs no solver. Every row is homogeneous and the volume row fixes the
size, so for any multipliers ``λ ≥ 0`` of valid rows ``A`` no mix costs less than
``min_j (c − λ A)_j / v_j``. The last duals, whoever found them, give a bound within the aim.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import highspy
import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import SolverFault
from formulate.base.messages import say
from formulate.blend.problem import Problem
from formulate.blend.protect.cones import HELD, Cones, Pairs, quantile, quantiles, shares, touching
from formulate.blend.protect.interior_point import Demands, Nothing, interior_point_optimum
from formulate.blend.solve import TOLERANCE, LinearProgram, fresh_engine, pass_program

__all__ = ["HeldCuts", "cheapest_both", "cheapest_in"]

Array = NDArray[np.float64]

#: The cuts aim at a quantile that is larger by this factor and at a value above zero by this much,
#: so that the answer is strictly inside.
AIM, MARGIN = 3e-7, 2 * HELD
#: Rounds of cuts before the interior-point method starts, and before the program gives up.
FEW_ROUNDS, ROUNDS = 4, 400
#: An interior-point mix with a wider proven gap is not used; cuts go on.
WIDEST_GAP = 1e-5
#: A proven gap too small to reduce further: a hundredth of a cent in a dollar.
SMALL_GAP = 1e-4


@dataclass(frozen=True, eq=False)
class HeldCuts(ByContent):
    """The cheapest mix in the cones.

    Parameters
    ----------
    y : ndarray, shape (n,)
        Grams for a millilitre of mix.
    cost : float
        Of a millilitre.
    bound : float
        No mix in the cones costs less.
    short : float
        Largest amount by which a row or an end is missed, relative.
    end, slope : ndarray, shapes (c,) and (c, n)
        The cuts: which end, and the slope of its norm. Valid for other quantiles too.
    """

    y: Array
    cost: float
    bound: float
    short: float
    end: NDArray[np.intp]
    slope: Array


@dataclass
class _LocalRows(threading.local):
    """One HiGHS object for each thread, made when first needed."""

    engine: Any = field(default=None)


_local = _LocalRows()
_STATUS = highspy.HighsModelStatus


@dataclass
class _Cuts:
    """Cuts in the order in which the solver has them.

    Parameters
    ----------
    cones : Cones
    end : ndarray of int, shape (c,)
        Whose norm; −1 for a row that stands by itself.
    slope : ndarray, shape (c, n)
        Slope of the norm, or the row.
    """

    cones: Cones
    end: NDArray[np.intp]
    slope: Array

    def rows(self, z: Array, start: int = 0) -> Array:
        """The cuts from number `start` on, each demanded ≥ 0, shape (c, n)."""
        end, slope = self.end[start:], self.slope[start:]
        alone = (end < 0)[:, None]
        return np.where(alone, slope, self.cones.mean[end] - z[end, None] * slope)

    def add(self, end: NDArray[np.intp], slope: Array) -> None:
        """Keep more cuts."""
        self.end, self.slope = np.append(self.end, end), np.concatenate((self.slope, slope))

    @property
    def reusable(self) -> tuple[NDArray[np.intp], Array]:
        """Ends and slopes that serve any quantile."""
        kept = self.end >= 0
        return self.end[kept], self.slope[kept]


def _no_cuts(cones: Cones) -> tuple[NDArray[np.intp], Array]:
    return np.empty(0, dtype=np.intp), np.empty((0, cones.sd.shape[1]))


def cheapest_in(
    cones: Cones,
    z: Array,
    cuts: tuple[NDArray[np.intp], Array] | None = None,
    bounds: tuple[Array, Array] | None = None,
) -> HeldCuts | None:
    """Find the cheapest mix whose every end k holds by z_k of its spreads.

    Parameters
    ----------
    cones : Cones
    z : ndarray, shape (e,)
        Quantiles, 0 or above.
    cuts : tuple of ndarray, optional
        Ends and slopes to start from, as a `HeldCuts` keeps them.
    bounds : tuple of ndarray, optional
        Least and most of each food [g/mL]; from nothing to any amount where left out.

    Returns
    -------
    HeldCuts or None
        None: no mix holds so well. (A relaxation that has no mix proves it.)
    """
    program = _program(cones.problem, bounds)
    known = _Cuts(cones, *(cuts or _no_cuts(cones)))
    separate = _ends_missed(known, z)
    found = _by_cuts(program, known, z, separate, FEW_ROUNDS)
    if isinstance(found, _Unfinished):
        ended = _inside(cones, program, z, None, found.y)
        if not isinstance(ended, _Unfinished):
            return ended
        found = _by_cuts(program, known, z, separate, ROUNDS)
    if isinstance(found, _Unfinished):
        raise SolverFault(say("solver.not-protected", rounds=ROUNDS))
    return found


def cheapest_both(
    cones: Cones,
    tail: float,
    cuts: tuple[NDArray[np.intp], Array] | None = None,
    bounds: tuple[Array, Array] | None = None,
) -> HeldCuts | None:
    """Find the cheapest mix whose every band misses with no more than a chance, at both ends.

    1. A few rounds of cuts, each end alone allowed the whole of ε. No mix is cheaper. For most
    mixes the other end of a band is so far away that this is enough.
    2. If the ends together are missed too often, the freer end keeps what it needs and the other
    gets the rest; that may be good enough.
    3. Else both ends at once, from inside (`formulate.blend.cones.Pairs`).

    Parameters
    ----------
    cones : Cones
    tail : float
        ε, no more than one half.
    cuts, bounds
        As in `cheapest_in`.

    Returns
    -------
    HeldCuts or None
        None: no mix that holds so well was found. Where the two ends of each band have one
        spread, or each end alone asks too much, there is none.
    """
    program = _program(cones.problem, bounds)
    known = _Cuts(cones, *(cuts or _no_cuts(cones)))
    z = np.full(cones.other.size, max(quantile(tail), 0.0))
    found = _by_cuts(program, known, z, _ends_missed(known, z), FEW_ROUNDS)
    if found is None:
        return None
    split: HeldCuts | _Unfinished | None = None
    if isinstance(found, HeldCuts):
        if float(cones.band_tails(found.y).max(initial=0.0)) <= tail:
            return found
        shared = quantiles(shares(cones, found.y, tail))
        split = _by_cuts(program, known, shared, _ends_missed(known, shared), FEW_ROUNDS)
        if isinstance(split, HeldCuts) and split.cost - found.bound <= SMALL_GAP * abs(split.cost):
            return replace(split, bound=min(found.bound, split.cost))
    ended = _inside(cones, program, z, Pairs.of(cones, tail), found.y)
    if not isinstance(ended, _Unfinished):
        return ended
    # The steps did not settle: each end alone to the end, then the ends share.
    alone = cheapest_in(cones, z, known.reusable, bounds)
    if alone is None:
        return None
    shared = quantiles(shares(cones, alone.y, tail))
    held = cheapest_in(cones, shared, known.reusable, bounds)
    return None if held is None else replace(held, bound=min(alone.bound, held.cost))


def _ends_missed(known: _Cuts, z: Array) -> Callable[[Array], None]:
    """Cut off the ends that a mix misses; no cut if it is truly inside."""
    cones, aim = known.cones, z + AIM * np.maximum(z, 1.0)
    guarded = _guarded(cones, z)

    def separate(y: Array) -> None:
        norms = cones.norms(y)
        over = aim * norms - cones.mean @ y
        if (over - (aim - z) * norms)[guarded].max(initial=0.0) > 0:
            new = guarded[over[guarded] > -MARGIN]
            known.add(new, cones.slopes(y, norms)[new])

    return separate


def _guarded(cones: Cones, z: Array) -> NDArray[np.intp]:
    return np.flatnonzero((z > 0) & (cones.sd > 0).any(axis=1))


def _program(problem: Problem, bounds: tuple[Array, Array] | None) -> LinearProgram:
    program = problem.program()
    if bounds is None:
        return program
    return replace(program, col_lower=bounds[0], col_upper=bounds[1])


@dataclass(frozen=True)
class _Unfinished:
    """Where a search stood when its rounds were over."""

    y: Array


def _inside(
    cones: Cones, program: LinearProgram, z: Array, pairs: Pairs | None, start: Array
) -> HeldCuts | _Unfinished | None:
    """Run the interior-point method, and prove what it finds."""
    used = np.flatnonzero(program.col_upper > 0)
    problem, guarded = cones.problem, _guarded(cones, z)
    others = np.ones(problem.rows.shape[0], dtype=bool)
    others[guarded] = False
    linear = np.flatnonzero(others)
    sign = np.where(problem.is_low, 1.0, -1.0)[:, None]
    tail, aim = 0.0, (z + AIM * np.maximum(z, 1.0))[guarded]
    mean, variance = cones.mean[guarded], cones.variance[guarded]
    other = other_variance = np.empty((0, mean.shape[1]))
    if pairs is not None:
        mean, variance = (
            np.concatenate((mean, pairs.low)),
            np.concatenate((variance, pairs.of_low)),
        )
        other, other_variance = pairs.high, pairs.of_high
        tail = pairs.tail * (1 - AIM)

    def touch(u: float, v: float, s: float, t: float) -> tuple[float, float]:
        return touching(u, v, s, t, tail)

    found = interior_point_optimum(
        Demands(
            program.cost[used],
            program.matrix[-1, used],
            program.col_lower[used],
            (sign * problem.rows)[np.ix_(linear, used)],
            mean[:, used],
            variance[:, used],
            other[:, used],
            other_variance[:, used],
            aim,
            touch,
        ),
        start[used],
    )
    if isinstance(found, Nothing):
        return None
    if found is None:
        return _Unfinished(start)
    y = np.zeros(program.cost.size)
    y[used] = np.maximum(found.y, 0.0)
    y /= float(program.matrix[-1] @ y)
    known = _Cuts(cones, guarded, cones.slopes(y, cones.norms(y))[guarded])
    if pairs is not None:
        on_pairs = found.on_demands[guarded.size :]
        rows = pairs.rows(y, on_pairs > 1e-9 * float(found.on_demands.max()))
        known.add(np.full(len(rows), -1, dtype=np.intp), rows)
    dual = np.zeros(problem.rows.shape[0] + 1)
    dual[linear] = sign[linear, 0] * found.on_linear
    held = _proved(problem, program, y, np.append(dual, found.on_demands), known, z)
    missed = float((z * cones.norms(y) - cones.mean @ y)[guarded].max(initial=0.0)) > 0
    wide = held.cost - held.bound > WIDEST_GAP * abs(held.cost)
    if pairs is not None:
        missed, wide = float(cones.band_tails(y).max(initial=0.0)) > pairs.tail, False
    return _Unfinished(start) if missed or wide or held.short > TOLERANCE else held


def _by_cuts(
    program: LinearProgram,
    known: _Cuts,
    z: Array,
    separate: Callable[[Array], None],
    rounds: int,
) -> HeldCuts | _Unfinished | None:
    """Solve, cut off, solve again from there, until `separate` adds nothing."""
    n, aim = program.cost.size, z + AIM * np.maximum(z, 1.0)
    if _local.engine is None:
        _local.engine = fresh_engine()
    engine = _local.engine
    pass_program(engine, _with_rows(program, known.rows(aim)))
    y = np.zeros(n)
    for _ in range(rounds):
        engine.run()
        answered = _answer(engine)
        if answered is None:
            answered = _answer(_interior_point(_with_rows(program, known.rows(aim))))
        if answered is None:
            raise SolverFault(say("solver.stopped", status=engine.getModelStatus()))
        if not answered:
            return None
        y, dual = np.maximum(answered[0], 0.0), answered[1]
        before = known.end.size
        separate(y)
        count = known.end.size - before
        if not count:
            return _proved(known.cones.problem, program, y, dual, known, z)
        engine.addRows(
            count,
            np.full(count, MARGIN),
            np.full(count, math.inf),
            count * n,
            np.arange(count, dtype=np.int32) * n,
            np.tile(np.arange(n, dtype=np.int32), count),
            known.rows(aim, before).ravel(),
        )
    return _Unfinished(y)


def _with_rows(program: LinearProgram, rows: Array) -> LinearProgram:
    return replace(
        program,
        matrix=np.concatenate((program.matrix, rows)),
        row_lower=np.append(program.row_lower, np.full(len(rows), MARGIN)),
        row_upper=np.append(program.row_upper, np.full(len(rows), math.inf)),
    )


def _answer(engine: Any) -> tuple[Array, Array] | tuple[()] | None:
    """Amounts and duals from the engine; empty if there are none, None if it is unclear."""
    status = engine.getModelStatus()
    if status == _STATUS.kInfeasible:
        return ()
    if status != _STATUS.kOptimal:
        return None
    solution = engine.getSolution()
    return np.array(solution.col_value), np.array(solution.row_dual)


def _interior_point(program: LinearProgram) -> Any:
    """Solve by the interior-point method: if cuts leave almost no room, simplex may not decide."""
    engine = fresh_engine()
    engine.setOptionValue("solver", "ipm")
    pass_program(engine, program)
    engine.run()
    return engine


def _proved(
    problem: Problem, program: LinearProgram, y: Array, dual: Array, known: _Cuts, z: Array
) -> HeldCuts:
    """Add the proof to the mix: its bound and residuals, from the arrays alone."""
    m = program.matrix.shape[0] - 1
    size = program.matrix[m]
    sign = np.where(problem.is_low, 1.0, -1.0)[:, None]
    rows = np.concatenate((sign * program.matrix[:m], known.rows(z)))  # all demanded ≥ 0
    dual = np.delete(dual, m)
    dual[:m] *= sign[:, 0]
    left = program.cost - np.maximum(dual, 0.0) @ rows
    lower, upper = program.col_lower, program.col_upper
    free = np.isinf(upper)
    price = float((left / size)[free if free.any() else slice(None)].min())
    rest = left - price * size
    at = np.where(rest >= 0, lower, np.where(free, 0.0, upper))
    short = max(
        0.0,
        float(-(rows[:m] @ y).min(initial=0.0)),
        abs(float(size @ y) - 1.0),
        float((lower - y).max(initial=0.0)),
        float((y - upper).max(initial=0.0)),
    )
    bound = price + float(rest @ at)
    return HeldCuts(
        y, float(program.cost @ y), bound, short / max(1.0, float(y.max())), *known.reusable
    )
