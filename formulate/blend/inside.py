"""The same cones from inside: where cuts are slow, Newton is quick.

Where a protected mix lies on a round part of its cones, cuts close in on it slowly. A
primal–dual method goes through the inside instead. Every demand is a concave function
``f_k(y) ≥ 0``:

    an end      u − z σ(y)                          u its mean, σ its spread in the mix
    a pair      t with Φ(−(u − t)/σ) + Φ(−(v − t)/σ) = ε

``t`` says how far both means of a band may fall before it misses too often. It is homogeneous
and concave since the demand is a convex cone that (1, 1, 0) points into. With
``a = (u − t)/σ``, ``b = (v − t)/σ`` and weights ``w_a : w_b = φ(a) : φ(b)``,

    dt = w_a du + w_b dv − (w_a a + w_b b) dσ
    d²t = −w_a w_b (w_b a + w_a b)/σ · (du − dv − (a − b) dσ)²  −  (w_a a + w_b b) d²σ

An end is a pair whose other end is never missed: w_a = 1, a = z.

What comes back is a mix and multipliers. Neither is trusted: `formulate.blend.cones` proves
both from the arrays.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Demands", "Nothing", "Point", "from_inside"]

Array = NDArray[np.float64]

#: Newton steps at the most: 8 to 16 are usual.
STEPS = 30
#: Slack and complementarity at the start, costs and rows being about 1.
FIRST_SLACK = 0.05
#: Multipliers this large tell of no mix that is worth looking for.
BEYOND = 1e6
#: Complementarity, and residuals, at which it ends; the proof has the last word.
ENOUGH, ALIKE = 1e-9, 1e-8


@dataclass(frozen=True)
class Demands:
    """A protected problem: minimise ``cost·y`` with ``size·y = 1``, ``y ≥ least`` and demands.

    Parameters
    ----------
    cost, size, least : ndarray, shape (n,)
    linear : ndarray, shape (l, n)
        Rows demanded ≥ 0.
    mean, other : ndarray, shape (k, n)
        Means of the ends; `other` is nothing for single ends.
    variance : ndarray, shape (k, n)
        Spread squared, food by food.
    touch : callable
        From number, u, v and σ to (a, b) on the curve of a demand.
    """

    cost: Array
    size: Array
    least: Array
    linear: Array
    mean: Array
    other: Array
    variance: Array
    touch: Callable[[int, float, float, float], tuple[float, float]]


@dataclass(frozen=True)
class Point:
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
        Concave and homogeneous: ``slope · y ≥ 0`` for every mix that meets the demand.
    of_sigma : ndarray, shape (k, n)
        Slope of the spread.
    pull : ndarray, shape (k,)
        −∂f/∂σ over σ.
    along, bend : ndarray, shapes (k, n) and (k,)
        The direction in which a pair bends, and how much.
    """

    value: Array
    slope: Array
    of_sigma: Array
    pull: Array
    along: Array
    bend: Array

    @classmethod
    def of(cls, demands: Demands, y: Array) -> _State:
        u, v = demands.mean @ y, demands.other @ y
        sigma = np.maximum(np.sqrt(demands.variance @ (y * y)), 1e-300)
        where = zip(range(u.size), u.tolist(), v.tolist(), sigma.tolist(), strict=True)
        curve = np.array([demands.touch(*args) for args in where]).reshape(-1, 2)
        a, b = curve[:, 0], curve[:, 1]
        w_a = 1.0 / (1.0 + np.exp(np.minimum((a * a - b * b) / 2, 700.0)))
        w_b = 1.0 - w_a
        b = np.where(np.isinf(b), 0.0, b)
        pull = w_a * a + w_b * b
        of_sigma = demands.variance * y / sigma[:, None]
        means = w_a[:, None] * demands.mean + w_b[:, None] * demands.other
        return cls(
            u - a * sigma,
            means - pull[:, None] * of_sigma,
            of_sigma,
            pull / sigma,
            demands.mean - demands.other - (a - b)[:, None] * of_sigma,
            w_a * w_b * (w_b * a + w_a * b) / sigma,
        )

    def curvature(self, on: Array, variance: Array) -> Array:
        """Second derivative of ``−Σ on_k f_k``, shape (n, n)."""
        by_sigma = on * self.pull
        found: Array = (self.along * (on * self.bend)[:, None]).T @ self.along
        found -= (self.of_sigma * by_sigma[:, None]).T @ self.of_sigma
        found[np.diag_indices_from(found)] += by_sigma @ variance
        return found


def from_inside(demands: Demands, start: Array) -> Point | Nothing | None:
    """Find the optimum by predictor and corrector steps.

    Parameters
    ----------
    demands : Demands
    start : ndarray, shape (n,)
        Any mix; it need not meet the demands.

    Returns
    -------
    Point, Nothing or None
        None where the steps do not settle.
    """
    n, lines, size = demands.cost.size, len(demands.linear), demands.size
    unit = max(float(np.abs(demands.cost).max()), 1e-300)
    cost, eye = demands.cost / unit, np.eye(n)
    y = demands.least + 0.7 * np.maximum(start - demands.least, 0.0) + 0.3 / size.sum()
    state = _State.of(demands, y)
    known = lines + state.value.size  # rows before those of y ≥ least
    f = np.concatenate((demands.linear @ y, state.value, y - demands.least))
    s = np.maximum(f, FIRST_SLACK)
    m, price = FIRST_SLACK / s, 0.0
    system = np.zeros((n + 1, n + 1))
    system[:n, n], system[n, :n] = -size, size
    for _ in range(STEPS):
        rows = np.concatenate((demands.linear, state.slope, eye))
        r_dual, r_gap = cost - m @ rows - price * size, f - s
        r_size = 1.0 - float(size @ y)
        left = float(s @ m)
        residual = max(np.abs(r_dual).max(), np.abs(r_gap).max() * 10, abs(r_size))
        if left < ENOUGH and residual < ALIKE:
            return Point(y, unit * m[:lines], unit * m[lines:known])
        against = m[:known] @ rows[:known]
        if (against < -1e-9 * m[:known].sum()).all():
            return Nothing()
        system[:n, :n] = (rows * (m / s)[:, None]).T @ rows
        system[:n, :n] += state.curvature(m[lines:known], demands.variance)

        def step(target: Array) -> tuple[Array, float, Array, Array]:
            """Solve for ``m·ds + s·dm = target`` and the rest met."""
            push = (target - m * r_gap) / s  # noqa: B023  (used at once)
            found = np.linalg.solve(system, np.append(push @ rows - r_dual, r_size))  # noqa: B023
            ds = rows @ found[:n] + r_gap  # noqa: B023
            return found[:n], float(found[n]), ds, (target - m * ds) / s  # noqa: B023

        try:
            _, _, ds, dm = step(-s * m)
            by = min(1.0, _room(s, ds), _room(m, dm))
            then = float((s + by * ds) @ (m + by * dm))
            centre = left / s.size * (then / left) ** 3
            dy, dprice, ds, dm = step(centre - s * m - ds * dm)
        except np.linalg.LinAlgError:
            return None
        # One step for all: with curved demands the multipliers go with the mix.
        by = min(1.0, 0.995 * _room(s, ds), 0.995 * _room(m, dm))
        y, s, m, price = y + by * dy, s + by * ds, m + by * dm, price + by * dprice
        if not (np.isfinite(y).all() and m.max() < BEYOND):
            return None
        state = _State.of(demands, y)
        f = np.concatenate((demands.linear @ y, state.value, y - demands.least))
    return None


def _room(at: Array, step: Array) -> float:
    """How many steps until a positive vector touches nothing."""
    falling = step < 0
    return float((-at[falling] / step[falling]).min(initial=math.inf))
