"""Second-order cones over a mix, solved by cuts on its linear program.

The end of a band, when compositions vary, is a normal variable: its mean is linear in the grams
``y``, its variance is ``Σ (σ_i y_i)²``, foods being independent. To hold with the chance p it
needs

    z · ‖σ ∘ y‖ ≤ m · y,     z = the normal quantile of p

which is a cone. A tangent of the norm at any mix ``ȳ`` never lies above it (Cauchy–Schwarz), so

    (m − z · σ² ∘ ȳ / ‖σ ∘ ȳ‖) · y ≥ 0

holds for every mix in the cone: a *cut*, one more homogeneous row. The linear program with some
cuts is cheaper than any mix in the cones. Its optimum is either in them or is cut off, and the
program is solved again from where it stood. A few rounds do for most mixes; where the optimum
lies on a round part of the cones, `formulate.blend.inside` goes on from there.

The proof of the answer needs no solver. Every row is homogeneous and the volume row fixes the
size, so for any multipliers ``λ ≥ 0`` of valid rows ``A`` no mix costs less than
``min_j (c − λ A)_j / v_j``. The last duals, whoever found them, give a bound within the aim.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from statistics import NormalDist
from typing import Any

import highspy
import numpy as np
from numpy.typing import NDArray

from formulate.blend.inside import Demands, Nothing, from_inside
from formulate.blend.problem import Problem
from formulate.blend.solve import TOLERANCE, LinearProgram, fresh_engine, pass_program
from formulate.errors import InputError, SolverFault
from formulate.foods import Composition
from formulate.spread import Spread

__all__ = [
    "Cones",
    "Held",
    "cheapest_both",
    "cheapest_in",
    "forms_of",
    "quantile",
    "touching",
    "upper_tail",
]

Array = NDArray[np.float64]

#: The cuts aim at a quantile this much larger, relative, so that the answer is truly inside.
AIM = 3e-7
#: An end is held when it is short by no more than this, the solver's own tolerance.
HELD = 1e-10
#: A bound needs its cones met to this share of a spread only.
NEAR = 1e-5
#: Rounds of cuts before the way through the inside is taken, and before the program gives up.
FEW_ROUNDS, ROUNDS = 4, 400
#: A mix from inside with a wider proven gap is not taken; cuts go on.
WIDEST_GAP = 1e-5
#: A proven gap that is worth no more work: a hundredth of a cent in a dollar.
SMALL_GAP = 1e-4

_NORMAL = NormalDist()


def quantile(tail: float) -> float:
    """The normal quantile that leaves `tail` above it."""
    return -_NORMAL.inv_cdf(tail)


def upper_tail(z: float) -> float:
    """The chance that a standard normal lies above z."""
    return 0.5 * math.erfc(z / math.sqrt(2))


def forms_of(problem: Problem) -> Array:
    """Each band end as a form of the measures that is demanded ≥ 0, shape (e, n_measures).

    In the order, and scaled as, the first rows of the problem.
    """
    ends = problem.bands.ends
    e = ends.ratio.shape[0]
    forms = np.zeros((e, problem.shelf.composition.per_gram.shape[0]))
    np.add.at(forms, (np.arange(e), ends.numerator), 1.0)
    np.add.at(forms, (np.arange(e), ends.denominator), -ends.ratio[:, 0])
    sign = np.where(ends.is_low, 1.0, -1.0)
    scaled: Array = forms * (sign / problem.row_scale[:e])[:, None]
    return scaled


def same_foods(problem: Problem, composition: Composition) -> None:
    """Refuse spreads of other foods than the problem's."""
    if problem.shelf.ids != composition.ids:
        raise InputError(
            "the spreads are not those of the foods on the shelf",
            "Take them of the shelf's foods, in its order.",
        )


@dataclass(frozen=True)
class Cones:
    """The e band ends of a problem, each with its spread.

    Parameters
    ----------
    problem : Problem
    mean : ndarray, shape (e, n)
        Demanded ≥ 0 by each end, on the average carton [per g].
    sd : ndarray, shape (e, n)
        Spread of the same [per g].
    other : ndarray of int, shape (e,)
        The other end of the same band; −1 where it is open.
    """

    problem: Problem
    mean: Array
    sd: Array
    other: NDArray[np.intp]

    @classmethod
    def of(cls, problem: Problem, spread: Spread) -> Cones:
        """Take the spread of every band end of a problem."""
        same_foods(problem, spread.composition)
        band = problem.bands.ends.band
        e = band.size
        other = np.full(e, -1, dtype=np.intp)
        for k in range(e - 1):  # the ends of one band follow each other
            if band[k] == band[k + 1]:
                other[k], other[k + 1] = k + 1, k
        sign = np.where(problem.is_low[:e], 1.0, -1.0)[:, None]
        return cls(problem, sign * problem.rows[:e], spread.of_forms(forms_of(problem)), other)

    @cached_property
    def variance(self) -> Array:
        """σ², shape (e, n)."""
        squared: Array = self.sd**2
        return squared

    @cached_property
    def _anywhere(self) -> Array:
        """A slope of each norm that is valid where the mix itself has no spread."""
        size = np.sqrt(self.variance.sum(axis=1, keepdims=True))
        return self.variance / np.where(size > 0, size, 1.0)

    def norms(self, y: Array) -> Array:
        """Spread of each end in a mix, shape (e,)."""
        found: Array = np.sqrt(self.variance @ (y * y))
        return found

    def slopes(self, y: Array, norms: Array) -> Array:
        """Slope of each norm at a mix, shape (e, n)."""
        safe = np.where(norms > 0, norms, 1.0)[:, None]
        return np.where(norms[:, None] > 0, self.variance * y / safe, self._anywhere)

    def tails(self, y: Array) -> Array:
        """Chance that each end is missed, by the normal model, shape (e,)."""
        mean, norms = self.mean @ y, self.norms(y)
        return np.array(
            [
                upper_tail(m / s) if s > 0 else float(m < -HELD)
                for m, s in zip(mean.tolist(), norms.tolist(), strict=True)
            ]
        )

    def band_tails(self, y: Array) -> Array:
        """Chance that the band of each end is missed at either end, shape (e,)."""
        tails = self.tails(y)
        both: Array = tails + np.where(self.other >= 0, tails[self.other], 0.0)
        return both


@dataclass(frozen=True)
class Held:
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
class _Local(threading.local):
    """One HiGHS object a thread, made when first needed."""

    engine: Any = field(default=None)


_local = _Local()
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
) -> Held | None:
    """Find the cheapest mix whose every end k holds by z_k of its spreads.

    Parameters
    ----------
    cones : Cones
    z : ndarray, shape (e,)
        Quantiles, 0 or above.
    cuts : tuple of ndarray, optional
        Ends and slopes to start from, as a `Held` keeps them.
    bounds : tuple of ndarray, optional
        Least and most of each food [g/mL]; from nothing to any amount where left out.

    Returns
    -------
    Held or None
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
        raise SolverFault(f"the protected mix was not found in {ROUNDS} rounds of cuts")
    return found


def cheapest_both(
    cones: Cones,
    tail: float,
    cuts: tuple[NDArray[np.intp], Array] | None = None,
    bounds: tuple[Array, Array] | None = None,
) -> Held | None:
    """Find the cheapest mix whose every band misses with no more than a chance, at both ends.

    1. A few rounds of cuts, each end alone allowed the whole of ε. No mix is cheaper; for most
       the other end of a band is so far that this is all.
    2. Where the ends together miss too often, the freer end keeps what it needs and the other
       gets the rest, which may gain nothing worth telling.
    3. Else both ends at once, from inside. For one spread σ the chances of missing either,
       ``Φ(−u/σ) + Φ(−v/σ) ≤ ε`` with the means ``u`` and ``v``, make a convex cone. The spreads
       of the two ends of a band differ a little: the mix meets the exact demand, and the cone
       of the smaller spread, food by food, which holds every mix that does, gives the bound.
       For a band per weight as fed, whose ends have one spread, nothing is lost.

    Parameters
    ----------
    cones : Cones
    tail : float
        ε, no more than one half.
    cuts, bounds
        As in `cheapest_in`.

    Returns
    -------
    Held or None
        None: no mix that holds so well was found. Where the bands' ends have one spread, or
        each end alone is too much, there is none.
    """
    program = _program(cones.problem, bounds)
    known = _Cuts(cones, *(cuts or _no_cuts(cones)))
    z = np.full(cones.other.size, max(quantile(tail), 0.0))
    found = _by_cuts(program, known, z, _ends_missed(known, z), FEW_ROUNDS)
    if found is None:
        return None
    if isinstance(found, Held):
        if float(cones.band_tails(found.y).max(initial=0.0)) <= tail:
            return found
        split = _by_cuts(
            program,
            known,
            shared := quantiles(shares(cones, found.y, tail)),
            _ends_missed(known, shared),
            FEW_ROUNDS,
        )
        if isinstance(split, Held) and split.cost - found.bound <= SMALL_GAP * abs(split.cost):
            return replace(split, bound=min(found.bound, split.cost))
    pairs = _Pairs.of(cones, tail)
    ended = _inside(cones, program, z, pairs, found.y)
    if isinstance(ended, Held) and ended.cost - ended.bound > SMALL_GAP * abs(ended.cost):
        ended = _better_bound(cones, program, z, pairs, ended)
    if not isinstance(ended, _Unfinished):
        return ended
    outside = _by_cuts(program, known, z, _bands_missed(known, z, pairs), ROUNDS)
    if isinstance(outside, _Unfinished):
        raise SolverFault(f"the protected mix was not found in {ROUNDS} rounds of cuts")
    if outside is None:
        return None
    z = quantiles(shares(cones, outside.y, tail))
    held = cheapest_in(cones, z, known.reusable, bounds)
    return None if held is None else replace(held, bound=min(outside.bound, held.cost))


def _better_bound(
    cones: Cones, program: LinearProgram, z: Array, pairs: _Pairs, held: Held
) -> Held:
    """Bound the cost by the convex cone of the smaller spread: its own optimum, no other's."""
    convex = replace(pairs, of_low=pairs.variance, of_high=pairs.variance)
    outside = _inside(cones, program, z, convex, held.y, exact=False)
    if not isinstance(outside, Held):
        return held
    return replace(held, bound=min(max(held.bound, outside.bound), held.cost))


def quantiles(tails: Array) -> Array:
    """The quantile of each tail, at least 0."""
    return np.array([max(quantile(t), 0.0) for t in tails.tolist()])


def shares(cones: Cones, y: Array, tail: float, least: float = 1e-9) -> Array:
    """What each end may miss, shape (e,).

    Of a band with two ends, the one that is missed less in a mix keeps what it needs there, at
    most half and no less than the share `least` of the tail; the other gets the rest.
    """
    tails, found = cones.tails(y), np.full(cones.other.size, tail)
    for k, j in enumerate(cones.other.tolist()):
        if j >= 0 and (tails[k] < tails[j] or (tails[k] == tails[j] and k < j)):
            both = max(tails[k] + tails[j], tail)  # beyond the tail: in proportion
            found[k] = min(max(1.001 * tails[k] * tail / both, least * tail), tail / 2)
            found[j] = tail - found[k]
    return found


@dataclass(frozen=True)
class _Pairs:
    """Bands with two ends, p of them, each by its smaller spread.

    Parameters
    ----------
    tail : float
        What both ends may miss together.
    low, high : ndarray, shape (p, n)
        Means of either end, both in the scale of the low one.
    of_low, of_high : ndarray, shape (p, n)
        Their spreads squared.
    """

    tail: float
    low: Array
    high: Array
    of_low: Array
    of_high: Array

    @cached_property
    def variance(self) -> Array:
        """The smaller spread squared, food by food, shape (p, n)."""
        smaller: Array = np.minimum(self.of_low, self.of_high)
        return smaller

    @classmethod
    def of(cls, cones: Cones, tail: float) -> _Pairs:
        low = np.flatnonzero(cones.other > np.arange(cones.other.size))
        high = cones.other[low]
        # The two ends of a band are rows of different scale.
        scale = (cones.problem.row_scale[high] / cones.problem.row_scale[low])[:, None]
        of_low, of_high = cones.variance[low], cones.variance[high] * scale**2
        vary = of_low.any(axis=1) & of_high.any(axis=1)
        means = cones.mean[low][vary], (cones.mean[high] * scale)[vary]
        return cls(tail, *means, of_low[vary], of_high[vary])

    def tangents(self, y: Array, tail: float) -> tuple[Array, Array]:
        """How far each band's means are from missing in a mix, and rows that prove it.

        Returns
        -------
        room : ndarray, shape (p,)
            Below 0 where the band misses too often.
        rows : ndarray, shape (p, n)
            Valid for every mix that misses no more often than `tail`.
        """
        spread = np.sqrt(self.variance @ (y * y))
        safe = np.where(spread > 0, spread, 1.0)
        u, v = self.low @ y, self.high @ y
        curve = [
            touching(*args, 1.0, 1.0, tail)
            for args in zip((u / safe).tolist(), (v / safe).tolist(), strict=True)
        ]
        a, b = np.array(curve).reshape(-1, 2).T
        at_a = 1.0 / (1.0 + np.exp(np.minimum((a * a - b * b) / 2, 700.0)))
        pull = at_a * a + (1.0 - at_a) * b
        rows = at_a[:, None] * self.low + (1.0 - at_a)[:, None] * self.high
        rows -= (pull / safe)[:, None] * self.variance * y
        return np.where(spread > 0, u - a * spread, np.minimum(u, v)), rows


def touching(u: float, v: float, s: float, t: float, tail: float) -> tuple[float, float]:
    """The point (a, b) = ((u + x)/s, (v + x)/t) of the curve ``Φ(−a) + Φ(−b) = ε``.

    Newton from the left of a convex, falling function of x.
    """
    z = quantile(tail)
    x = max(z * s - u, z * t - v)
    for _ in range(30):
        a, b = (u + x) / s, (v + x) / t
        over = upper_tail(a) + upper_tail(b) - tail
        if over <= 1e-15:
            break
        x += over * _ROOT_2_PI / (math.exp(-a * a / 2) / s + math.exp(-b * b / 2) / t)
    return (u + x) / s, (v + x) / t


_ROOT_2_PI = math.sqrt(2 * math.pi)


def _ends_missed(known: _Cuts, z: Array) -> Callable[[Array], None]:
    """Cut off the ends that a mix misses; nothing where it is truly inside."""
    cones, aim = known.cones, z * (1 + AIM)
    guarded = _guarded(cones, z)

    def separate(y: Array) -> None:
        norms = cones.norms(y)
        over = aim * norms - cones.mean @ y
        if (over - (aim - z) * norms)[guarded].max(initial=0.0) > HELD:
            new = guarded[over[guarded] > 0]
            known.add(new, cones.slopes(y, norms)[new])

    return separate


def _bands_missed(known: _Cuts, z: Array, pairs: _Pairs) -> Callable[[Array], None]:
    """Cut off ends and pairs that a mix misses by more than a bound needs."""
    cones, guarded = known.cones, _guarded(known.cones, z)

    def separate(y: Array) -> None:
        norms = cones.norms(y)
        missed = z * norms - cones.mean @ y > np.maximum(NEAR * norms, 10 * HELD)
        new = guarded[missed[guarded]]
        known.add(new, cones.slopes(y, norms)[new])
        room, rows = pairs.tangents(y, pairs.tail)
        rows = rows[room < -np.maximum(NEAR * np.sqrt(pairs.variance @ (y * y)), 10 * HELD)]
        known.add(np.full(len(rows), -1, dtype=np.intp), rows)

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
    cones: Cones,
    program: LinearProgram,
    z: Array,
    pairs: _Pairs | None,
    start: Array,
    exact: bool = True,
) -> Held | _Unfinished | None:
    """Go through the inside of the cones, and prove what is found there.

    Not `exact`: the mix may miss, its bound is all that is wanted.
    """
    used = np.flatnonzero(program.col_upper > 0)
    problem, guarded = cones.problem, _guarded(cones, z)
    linear = np.setdiff1d(np.arange(problem.rows.shape[0]), guarded)
    sign = np.where(problem.is_low, 1.0, -1.0)[:, None]
    tail = 0.0
    mean, variance = cones.mean[guarded], cones.variance[guarded]
    other, other_variance = np.zeros_like(mean), variance
    if pairs is not None:
        mean, other = np.concatenate((mean, pairs.low)), np.concatenate((other, pairs.high))
        variance = np.concatenate((variance, pairs.of_low))
        other_variance = np.concatenate((other_variance, pairs.of_high))
        tail = pairs.tail * (1 - AIM)

    def touch(u: float, v: float, s: float, t: float) -> tuple[float, float]:
        return touching(u, v, s, t, tail)

    found = from_inside(
        Demands(
            program.cost[used],
            program.matrix[-1, used],
            program.col_lower[used],
            (sign * problem.rows)[np.ix_(linear, used)],
            mean[:, used],
            other[:, used],
            variance[:, used],
            other_variance[:, used],
            (z * (1 + AIM))[guarded],
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
        rows = pairs.tangents(y, pairs.tail)[1]
        known.add(np.full(len(rows), -1, dtype=np.intp), rows)
    dual = np.zeros(problem.rows.shape[0] + 1)
    dual[linear] = sign[linear, 0] * found.on_linear
    held = _proved(problem, program, y, np.append(dual, found.on_demands), known, z)
    if pairs is None:
        missed = float((z * cones.norms(y) - cones.mean @ y)[guarded].max(initial=0.0)) > HELD
        wide = held.cost - held.bound > WIDEST_GAP * abs(held.cost)
    else:
        missed = exact and float(cones.band_tails(y).max(initial=0.0)) > pairs.tail
        wide = False
    return _Unfinished(start) if missed or wide or held.short > TOLERANCE else held


def _by_cuts(
    program: LinearProgram,
    known: _Cuts,
    z: Array,
    separate: Callable[[Array], None],
    rounds: int,
) -> Held | _Unfinished | None:
    """Solve, cut off, solve again from there, until `separate` adds nothing."""
    n, aim = program.cost.size, z * (1 + AIM)
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
            raise SolverFault(f"HiGHS stopped without an answer: {engine.getModelStatus()}")
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
            np.zeros(count),
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
        row_lower=np.append(program.row_lower, np.zeros(len(rows))),
        row_upper=np.append(program.row_upper, np.full(len(rows), math.inf)),
    )


def _answer(engine: Any) -> tuple[Array, Array] | tuple[()] | None:
    """Amounts and duals off the engine; empty where there are none, None where it is unclear."""
    status = engine.getModelStatus()
    if status == _STATUS.kInfeasible:
        return ()
    if status != _STATUS.kOptimal:
        return None
    solution = engine.getSolution()
    return np.array(solution.col_value), np.array(solution.row_dual)


def _interior_point(program: LinearProgram) -> Any:
    """Solve by the other method: where cuts all but close the room, simplex may not decide."""
    engine = fresh_engine()
    engine.setOptionValue("solver", "ipm")
    pass_program(engine, program)
    engine.run()
    return engine


def _proved(
    problem: Problem, program: LinearProgram, y: Array, dual: Array, known: _Cuts, z: Array
) -> Held:
    """Put the proof beside the mix: bound and residuals, from the arrays alone."""
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
    return Held(
        y, float(program.cost @ y), bound, short / max(1.0, float(y.max())), *known.reusable
    )
