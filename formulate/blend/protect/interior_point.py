"""The same cones by an interior-point method, for cases where cuts are slow.

If a protected mix lies on a curved part of its cones, cuts approach it slowly. A primal–dual
method goes through the interior instead. Every demand is a function ``f_k(y) ≥ 0``,
homogeneous and (all but) concave:

    an end      u − z σ(y)                          u its mean, σ its spread in the mix
    a pair      t with Φ(−(u − t)/σ) + Φ(−(v − t)/τ) = ε

``t`` says how far both means of a band may fall before it misses too often. With
``a = (u − t)/σ``, ``b = (v − t)/τ`` and weights ``w_a : w_b = φ(a)/σ : φ(b)/τ``,

    dt = w_a (du − a dσ) + w_b (dv − b dτ)
    d²t ≈ −w_a w_b (w_b a/σ + w_a b/τ) (du − a dσ − dv + b dτ)² − w_a a d²σ − w_b b d²τ

(exact where the spreads σ and τ of a band's two ends are one; they differ little). An end is a
pair whose other end is never missed: w_a = 1, a = z.

It returns a mix and multipliers. Neither is trusted: `formulate.blend.protect.cones` proves
both from the arrays.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent

__all__ = ["Demands", "Nothing", "Point", "interior_point_optimum"]

Array = NDArray[np.float64]

#: Newton steps at the most: 8 to 16 are usual.
STEPS = 30
#: Slack and complementarity at the start, costs and rows being about 1.
FIRST_SLACK = 0.05
#: Multipliers this large mean that no useful mix exists.
BEYOND = 1e6
#: Complementarity and residuals at which it stops; the proof decides.
ENOUGH, ALIKE = 1e-9, 1e-8


@dataclass(frozen=True, eq=False)
class Demands(ByContent):
    """A protected problem: minimise ``cost·y`` with ``size·y = 1``, ``y ≥ least`` and demands.

    Parameters
    ----------
    cost, size, least : ndarray, shape (n,)
    linear : ndarray, shape (l, n)
        Rows demanded ≥ 0.
    mean, variance : ndarray, shape (k, n)
        Means of the ends and their spreads squared, food by food: e single ends, then the low
        ends of p pairs.
    other, other_variance : ndarray, shape (p, n)
        The same of the high ends.
    quantile : ndarray, shape (e,)
        Of the single ends.
    touch : callable
        From u, v, σ and τ of a pair to (a, b) on its curve.
    """

    cost: Array
    size: Array
    least: Array
    linear: Array
    mean: Array
    variance: Array
    other: Array
    other_variance: Array
    quantile: Array
    touch: Callable[[float, float, float, float], tuple[float, float]]

    @cached_property
    def both(self) -> Array:
        """Spreads squared, of σ and then of τ, shape (k + p, n)."""
        return np.concatenate((self.variance, self.other_variance))


@dataclass(frozen=True, eq=False)
class Point(ByContent):
    """The optimum.

    Parameters
    ----------
    y : ndarray, shape (n,)
    on_linear, on_demands : ndarray, shapes (l,) and (k,)
        Multipliers, in the unit of the cost.
    """

    y: Array
    on_linear: Array
    on_demands: Array


class Nothing:
    """No mix meets the demands: some multipliers of their tangents prove it."""


@dataclass(frozen=True)
class _State:
    """The demands in one mix: k of them.

    Parameters
    ----------
    value : ndarray, shape (k,)
    slope : ndarray, shape (k, n)
    of_spread : ndarray, shape (k + p, n)
        Slopes of σ, then of τ.
    pull : ndarray, shape (k + p,)
        −∂f/∂σ over σ, then the same of τ.
    along, bend : ndarray, shapes (p, n) and (p,)
        The direction in which a pair bends, and how much.
    """

    value: Array
    slope: Array
    of_spread: Array
    pull: Array
    along: Array
    bend: Array

    @classmethod
    def of(cls, demands: Demands, y: Array) -> _State:
        k, e = len(demands.mean), demands.quantile.size
        u, v = demands.mean @ y, demands.other @ y
        both = demands.both * y
        spread = np.maximum(np.sqrt(both @ y), 1e-300)
        of_spread = both / spread[:, None]
        if k == e:
            slope = demands.mean - demands.quantile[:, None] * of_spread
            none = np.empty((0, y.size))
            pull = demands.quantile / spread
            return cls(u - demands.quantile * spread, slope, of_spread, pull, none, none[:, 0])
        s, t = spread[e:k], spread[k:]
        pairs = zip(u[e:].tolist(), v.tolist(), s.tolist(), t.tolist(), strict=True)
        a, b = np.array([demands.touch(*pair) for pair in pairs]).T
        w_a = 1.0 / (1.0 + np.exp(np.minimum((a * a - b * b) / 2, 700.0)) * (s / t))
        w_b = 1.0 - w_a
        times = np.concatenate((demands.quantile, a))
        slope = demands.mean - times[:, None] * of_spread[:k]
        two = demands.other - b[:, None] * of_spread[k:]
        along = slope[e:] - two
        slope[e:] = w_a[:, None] * slope[e:] + w_b[:, None] * two
        pull = np.concatenate((times, b)) / spread
        pull[e:k] *= w_a
        pull[k:] *= w_b
        bend = w_a * w_b * (w_b * a / s + w_a * b / t)
        return cls(u - times * spread[:k], slope, of_spread, pull, along, bend)

    def curvature(self, on: Array, demands: Demands) -> Array:
        """Second derivative of ``−Σ on_k f_k``, shape (n, n)."""
        e = demands.quantile.size
        by_spread = np.concatenate((on, on[e:])) * self.pull
        found: Array = -(self.of_spread * by_spread[:, None]).T @ self.of_spread
        found.flat[:: found.shape[0] + 1] += by_spread @ demands.both
        if e < on.size:
            found += (self.along * (on[e:] * self.bend)[:, None]).T @ self.along
        return found


def interior_point_optimum(demands: Demands, start: Array) -> Point | Nothing | None:
    """Find the optimum by predictor and corrector steps.

    Parameters
    ----------
    demands : Demands
    start : ndarray, shape (n,)
        Any mix; it need not meet the demands.

    Returns
    -------
    Point, Nothing or None
        None if the steps do not settle.
    """
    n, lines, size = demands.cost.size, len(demands.linear), demands.size
    unit = max(float(np.abs(demands.cost).max()), 1e-300)
    cost = demands.cost / unit
    y = demands.least + 0.7 * np.maximum(start - demands.least, 0.0) + 0.3 / size.sum()
    state = _State.of(demands, y)
    known = lines + state.value.size  # rows; the multipliers of y ≥ least come after theirs
    rows = np.concatenate((demands.linear, state.slope))
    f = np.concatenate((demands.linear @ y, state.value, y - demands.least))
    s = np.maximum(f, FIRST_SLACK)
    m, price = FIRST_SLACK / s, 0.0
    system = np.zeros((n + 1, n + 1))
    system[:n, n], system[n, :n] = -size, size
    right, ds = np.empty(n + 1), np.empty(s.size)
    for _ in range(STEPS):
        against = m[:known] @ rows
        r_dual, r_gap = cost - against - m[known:] - price * size, f - s
        left, short = float(s @ m), 1.0 - float(size @ y)
        if left < ENOUGH and max(np.abs(r_dual).max(), 10 * np.abs(r_gap).max()) < ALIKE:
            return Point(y, unit * m[:lines], unit * m[lines:known])
        if against.max() < -1e-9 * m.sum():
            return Nothing()
        weight = m / s
        hessian = (rows * weight[:known, None]).T @ rows
        hessian += state.curvature(m[lines:known], demands)
        hessian.flat[:: n + 1] += weight[known:]
        system[:n, :n] = hessian
        target = -s * m
        try:
            for corrected in (False, True):
                # m·ds + s·dm = target, and all else met
                push = target / s - weight * r_gap
                right[:n], right[n] = push[:known] @ rows + push[known:] - r_dual, short
                found = np.linalg.solve(system, right)
                ds[:known], ds[known:] = rows @ found[:n], found[:n]
                ds += r_gap
                dm = target / s - weight * ds
                by = min(1.0, _room(s, ds), _room(m, dm))
                if not corrected:
                    then = float((s + by * ds) @ (m + by * dm))
                    target = left / s.size * (then / left) ** 3 + target - ds * dm
        except np.linalg.LinAlgError:
            return None
        # One step length for all: if demands are curved, the multipliers must move with the mix.
        by = min(1.0, 0.995 * _room(s, ds), 0.995 * _room(m, dm))
        y, s, m, price = y + by * found[:n], s + by * ds, m + by * dm, price + by * found[n]
        if not (m.max() < BEYOND and np.isfinite(y).all()):
            return None
        state = _State.of(demands, y)
        rows[lines:] = state.slope
        f = np.concatenate((demands.linear @ y, state.value, y - demands.least))
    return None


def _room(at: Array, step: Array) -> float:
    """How many steps until a positive vector touches nothing."""
    fastest = float((step / at).min())
    return math.inf if fastest >= 0 else -1.0 / fastest
