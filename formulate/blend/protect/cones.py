"""Bands under variation, as second-order cones over the grams of a mix.

The end of a band, when compositions vary, is a normal variable: its mean is linear in the grams
``y``, its variance is ``Σ (σ_i y_i)²``, foods being independent. To hold with the chance p it
needs

    z · ‖σ ∘ y‖ ≤ m · y,     z = the normal quantile of p

which is a second-order cone. A band with two ends holds when both together are missed seldom
enough (`Pairs`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.blend.problem import Problem
from formulate.foods.food import Composition
from formulate.foods.spread import Spread

__all__ = [
    "HELD",
    "Cones",
    "Pairs",
    "forms_of",
    "quantile",
    "quantiles",
    "same_foods",
    "shares",
    "support",
    "touching",
    "upper_tail",
]

Array = NDArray[np.float64]

#: An end counts as held if it is short by no more than this, the solver's own tolerance.
HELD = 1e-10

_NORMAL = NormalDist()
_ROOT_2_PI = math.sqrt(2 * math.pi)


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
    """Reject spreads that are not of the problem's foods."""
    if problem.shelf.ids != composition.ids:
        raise InputError(
            say("sure.other-foods"),
            say("sure.other-foods-remedy"),
        )


@dataclass(frozen=True, eq=False)
class Cones(ByContent):
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


def quantiles(tails: Array) -> Array:
    """The quantile of each tail, not below 0."""
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


def support(p: float, q: float, tail: float) -> float:
    """The least of ``p a + q b`` over the curve ``Φ(−a) + Φ(−b) = ε``, for p and q ≥ 0.

    On it both a and b are at least the quantile z of ε, so z (p + q) is always a bound. The
    least has φ(a)/φ(b) = p/q; b falls as a rises, so it is found by halving.
    """
    z = quantile(tail)
    if p < q:
        p, q = q, p
    if q <= 1e-9 * p:
        return z * (p + q)
    # p ≥ q: the larger weight wants the smaller of a and b.
    low, high = z, quantile(tail / 2)
    least, ratio = z * (p + q), math.log(p / q)
    for _ in range(40):
        a = (low + high) / 2
        rest = tail - upper_tail(a)
        b = quantile(rest) if rest > 0 else math.inf
        if (b * b - a * a) / 2 > ratio:
            low = a
        else:
            high = a
        if high - low <= 1e-9:
            break
    a = (low + high) / 2
    rest = tail - upper_tail(a)
    return max(least, p * a + q * quantile(rest) - 1e-12 * p) if rest > 0 else least


@dataclass(frozen=True, eq=False)
class Pairs(ByContent):
    """Bands with two ends, p of them, that are missed at either end with the chance ε at most.

    ``Φ(−u/σ) + Φ(−v/τ) ≤ ε`` with the means u and v of the two ends and their spreads σ and τ,
    which differ a little where the band's denominator varies. With one spread that is a convex
    cone of (u, v, σ).

    Parameters
    ----------
    tail : float
        ε.
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

    @classmethod
    def of(cls, cones: Cones, tail: float) -> Pairs:
        """Pair the ends of the bands that have two."""
        low = np.flatnonzero(cones.other > np.arange(cones.other.size))
        high = cones.other[low]
        # The two ends of a band are rows of different scale.
        scale = (cones.problem.row_scale[high] / cones.problem.row_scale[low])[:, None]
        of_low, of_high = cones.variance[low], cones.variance[high] * scale**2
        vary = of_low.any(axis=1) & of_high.any(axis=1)
        means = cones.mean[low][vary], (cones.mean[high] * scale)[vary]
        return cls(tail, *means, of_low[vary], of_high[vary])

    @cached_property
    def ratios(self) -> Array:
        """Least and largest τ/σ of any mix, shape (p, 2): those of single foods."""
        found = np.ones((len(self.low), 2))
        for k, (one, two) in enumerate(zip(self.of_low, self.of_high, strict=True)):
            vary = (one > 0) | (two > 0)
            with np.errstate(divide="ignore"):
                each = np.sqrt(two[vary] / one[vary])
            found[k] = each.min(), each.max()
        return found

    def rows(self, y: Array, wanted: NDArray[np.bool_]) -> Array:
        """Rows that are ≥ 0 for every mix that holds, and near 0 in this one, shape (p, n).

        Such a mix has ``w u + (1 − w) v ≥ h(w σ, (1 − w) τ)`` with the support `h` of the curve
        and any weight w; here that of the curve's slope where this mix lies. h is concave and
        homogeneous in the two spreads, so above its chord between the least and the largest
        τ/σ there are: ``A σ + B τ``. And norms are above their tangents.

        Parameters
        ----------
        y : ndarray, shape (n,)
        wanted : ndarray of bool, shape (p,)
            The others get a row of nothing.
        """
        found = np.zeros_like(self.low)
        for k in np.flatnonzero(wanted).tolist():
            s, t = math.sqrt(self.of_low[k] @ (y * y)), math.sqrt(self.of_high[k] @ (y * y))
            if not (s > 0 and t > 0 and math.isfinite(self.ratios[k, 0])):
                continue
            a, b = touching(float(self.low[k] @ y), float(self.high[k] @ y), s, t, self.tail)
            w = 1.0 / (1.0 + math.exp(min((a * a - b * b) / 2, 700.0)) * s / t)
            r, q = self.ratios[k].tolist()
            least = support(w, (1 - w) * r, self.tail)
            if math.isinf(q):  # h rises by no less than this however large τ/σ
                rise = (1 - w) * max(quantile(self.tail), 0.0)
            elif q - r > 1e-9 * q:
                rise = (support(w, (1 - w) * q, self.tail) - least) / (q - r)
            else:
                rise = (1 - w) * b
            found[k] = w * self.low[k] + (1 - w) * self.high[k]
            found[k] -= (least - rise * r) / s * self.of_low[k] * y + rise / t * self.of_high[k] * y
        return found
