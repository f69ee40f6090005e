"""How sure the values of a mix are, given that every carton differs from the average.

A batch is assumed to be made of one carton of each food; several cartons average out, and such a
batch is surer than stated (`Spread.averaged`). Each value gets the range in which 19 of 20 batches
lie, and the chance that it is inside its band. Two methods agree:

- *draws*: a seeded Monte Carlo over whole compositions, so that solids always add up;
- *normal*: no draws. The totals of a mix are sums over its foods, so nearly normal. A ratio
  of two of them is below r where ``numerator − r · denominator`` is below 0, which is normal
  too: chances and limits of a single read are those of Fieller's theorem, not an expansion.
  The chance of all bands together takes each read as linear around its mean (delta method).

If a food has no value for copper and the like, the upper end of similar foods stands in, as in the
read itself, and does not vary.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.blend.mix import Mix
from formulate.blend.protect.normal import below, inverse, tail
from formulate.foods.bands import Band, Read, Role, numerator_for
from formulate.foods.food import Composition, row_numbers
from formulate.foods.spread import Spread, spread_of
from formulate.foods.tables import default_spreads

__all__ = ["DRAWS", "Confidence", "ReadConfidence", "Way", "confidence_of"]

Array = NDArray[np.float64]

#: Default number of draws: gives a chance of 95 % within ±0.15 % (two standard errors).
DRAWS = 100_000
#: Two-sided limits that hold 19 of 20.
_TAIL = 0.025
_Z = 1.959963984540054
#: A spread below this share of what it is made of is rounding.
NO_SPREAD = 1e-9


class Way(StrEnum):
    """How the chances are found."""

    DRAWS = "draws"
    NORMAL = "normal"


@brief_repr
@dataclass(frozen=True, slots=True)
class ReadConfidence:
    """A read, and how far it may be from the truth.

    Parameters
    ----------
    read : Read
    low95, high95 : float or None
        19 of 20 batches read between these, in the band's unit; None if the read is not
        known.
    chance_inside : float or None
        Chance that a batch reads inside the band [-]; None without a range or a read.
    """

    read: Read
    low95: float | None
    high95: float | None
    chance_inside: float | None


@brief_repr
@dataclass(frozen=True)
class Confidence:
    """How sure a mix is.

    Parameters
    ----------
    reads : tuple of ReadConfidence
        In the order of the mix's reads.
    chance_all_inside : float or None
        Chance that every demanded and safety band holds in one batch [-]; None if one of
        them cannot be read.
    way : Way
    draws : int
        0 without draws.
    """

    reads: tuple[ReadConfidence, ...]
    chance_all_inside: float | None
    way: Way
    draws: int

    def of(self, band: Band) -> ReadConfidence:
        """The read of a band."""
        return next(sure for sure in self.reads if sure.read.band.same_read(band))


def confidence_of(
    mix: Mix,
    spread: Spread | None = None,
    *,
    way: Way = Way.DRAWS,
    draws: int = DRAWS,
    seed: int = 0,
) -> Confidence:
    """Say how sure each read of a mix is, and all bands together.

    Parameters
    ----------
    mix : Mix
        Designed or checked.
    spread : Spread, optional
        Of the mix's foods, in the shelf's order; from the tables where left out.
    way : Way
    draws : int
        How many batches are drawn.
    seed : int
        Of the draws: the same seed gives the same answer.

    Raises
    ------
    InputError
        If there are no draws, or the spreads are of other foods.
    """
    if spread is None:
        spread = spread_of(mix.shelf.composition, default_spreads())
    if spread.composition.ids != mix.shelf.ids:
        raise InputError(say("sure.other-foods-of-mix"))
    ratios = _Ratios.of(mix, spread)
    if way is Way.NORMAL:
        return _assemble(mix, ratios, *_by_normal(ratios), way, 0)
    if draws < 1:
        raise InputError(say("sure.draws", draws=draws), say("sure.draws-remedy"))
    return _assemble(mix, ratios, *_by_draws(ratios, draws, seed), way, draws)


@dataclass(frozen=True)
class _Ratios:
    """The known reads of a mix, r of them, as ratios of totals that vary.

    Parameters
    ----------
    mix : Mix
    spread : Spread
        Of the foods that are used.
    grams : ndarray, shape (n,)
    rows : ndarray of int, shape (m,)
        Measures that are totalled.
    constant : ndarray, shape (m,)
        Added to each total: what stands in for values that are missing.
    known : ndarray of int, shape (r,)
        Which reads.
    top, bottom : ndarray of int, shape (r,)
        Numerator and denominator among the totals.
    scale, low, high : ndarray, shape (r,)
        Of the bands.
    """

    mix: Mix
    spread: Spread
    grams: Array
    rows: NDArray[np.intp]
    constant: Array
    known: NDArray[np.intp]
    top: NDArray[np.intp]
    bottom: NDArray[np.intp]
    scale: Array
    low: Array
    high: Array

    @classmethod
    def of(cls, mix: Mix, spread: Spread) -> _Ratios:
        used = np.flatnonzero(mix.grams > 0)
        composition = Composition(
            tuple(spread.composition.foods[j] for j in used), spread.composition.per_gram[:, used]
        )
        part = Spread(
            composition,
            spread.sd[used],
            spread.below[used],
            spread.above[used],
            tuple(spread.origin[j] for j in used),
        )
        grams = mix.grams[used]
        totals: dict[tuple[str, tuple[str, ...]], int] = {}
        constants: list[float] = []
        known, top, bottom = [], [], []
        for number, read in enumerate(mix.reads):
            if read.value is None:
                continue
            band = read.band
            over = totals.setdefault((band.measure, read.assumed), len(totals))
            if over == len(constants):
                constants.append(_stood_in(read, composition, grams, mix.shelf.like))
            under = totals.setdefault((band.denominator, ()), len(totals))
            if under == len(constants):
                constants.append(0.0)
            known.append(number)
            top.append(over)
            bottom.append(under)
        bands = [mix.reads[k].band for k in known]
        return cls(
            mix,
            part,
            grams,
            row_numbers(name for name, _ in totals),
            np.array(constants),
            np.array(known, dtype=np.intp),
            np.array(top, dtype=np.intp),
            np.array(bottom, dtype=np.intp),
            np.array([band.scale for band in bands]),
            np.array([band.low for band in bands]),
            np.array([band.high for band in bands]),
        )

    @property
    def means(self) -> Array:
        """Mean of each total, shape (m,)."""
        per_gram = np.nan_to_num(self.spread.composition.per_gram[self.rows])
        found: Array = per_gram @ self.grams + self.constant
        return found

    @property
    def binding(self) -> NDArray[np.bool_]:
        """Which of the known reads a mix answers for, shape (r,)."""
        roles = [self.mix.reads[k].band.role for k in self.known]
        return np.array([role is not Role.SHOWN for role in roles], dtype=bool)


def _stood_in(
    read: Read, composition: Composition, grams: Array, like: Composition | None
) -> float:
    """Sum of the values that stand in for missing ones."""
    if not read.assumed:
        return 0.0
    row, _ = numerator_for(read.band, composition, like)
    missing = np.isnan(composition.row(read.band.measure))
    return float(row[missing] @ grams[missing])


_Found = tuple[Array, Array, Array, float]


def _by_draws(ratios: _Ratios, draws: int, seed: int) -> _Found:
    """Limits, chances, and the chance of all, from a seeded Monte Carlo."""
    rng = np.random.default_rng(seed)
    r = ratios.known.size
    values = np.empty((r, draws))
    inside = np.zeros(r)
    every, at = 0, 0
    low, high, scale = (x[:, None] for x in (ratios.low, ratios.high, ratios.scale))
    slack = 1e-9 * np.maximum(np.abs(np.where(np.isfinite(low), low, 0.0)), 1e-12)
    binding = ratios.binding
    filled = _filled(ratios)
    for block in filled.totals(draws, rng, ratios.grams, ratios.rows):
        totals = (block + ratios.constant).T
        with np.errstate(divide="ignore", invalid="ignore"):
            part = scale * totals[ratios.top] / totals[ratios.bottom]
        held = (part >= low - slack) & (part <= high + slack)
        inside += held.sum(axis=1)
        every += int(held[binding].all(axis=0).sum())
        values[:, at : at + part.shape[1]] = part
        at += part.shape[1]
    with np.errstate(invalid="ignore"):  # a ratio whose denominator some draws lack has no bounds
        limits = np.quantile(values, [_TAIL, 1 - _TAIL], axis=1, overwrite_input=True)
    return limits[0], limits[1], inside / draws, every / draws


def _filled(ratios: _Ratios) -> Spread:
    """The spread with missing means as nothing: what stands in for them is added apart."""
    composition = ratios.spread.composition
    spread = ratios.spread
    return Spread(
        Composition(composition.foods, np.nan_to_num(composition.per_gram)),
        spread.sd,
        spread.below,
        spread.above,
        spread.origin,
    )


def _by_normal(ratios: _Ratios) -> _Found:
    """The same without draws; see the top of this module."""
    mean = ratios.means
    moves = _filled(ratios).per_draw(ratios.grams, ratios.rows)
    n, d = mean[ratios.top], mean[ratios.bottom]
    of_top, of_bottom = moves[:, ratios.top], moves[:, ratios.bottom]
    nn, dd, nd = (
        (of_top**2).sum(axis=0),
        (of_bottom**2).sum(axis=0),
        (of_top * of_bottom).sum(axis=0),
    )

    def above(end: Array) -> Array:
        """Chance that each ratio is at least an end."""
        at = np.where(np.isfinite(end), end, 0.0) / ratios.scale
        middle = n - at * d
        spread = np.sqrt(((of_top - at * of_bottom) ** 2).sum(axis=0))
        spread[spread <= NO_SPREAD * np.sqrt(nn)] = 0.0  # the ratio of two that move as one
        sure = middle >= -1e-9 * np.maximum(np.abs(n), 1e-12)
        z = np.divide(middle, spread, out=np.where(sure, np.inf, -np.inf), where=spread > 0)
        return np.where(end == -np.inf, 1.0, np.where(end == np.inf, 0.0, tail(z)))

    inside = above(ratios.low) - above(ratios.high)
    inside = np.where(np.isinf(ratios.low) & np.isinf(ratios.high), 1.0, inside)
    # Where nothing varies, a mix on its edge is inside.
    still = ((n * of_bottom - d * of_top) ** 2).sum(axis=0) <= (NO_SPREAD * n * d) ** 2
    inside = np.where(still, _on_edge(ratios, n, d), inside)
    # (n − r d)² = z² var(n − r d), a quadratic in r.
    a, b, c = d**2 - _Z**2 * dd, n * d - _Z**2 * nd, n**2 - _Z**2 * nn
    root = np.sqrt(np.maximum(b**2 - a * c, 0.0))
    limits = ratios.scale * (b - root) / a, ratios.scale * (b + root) / a
    return limits[0], limits[1], inside, _all_normal(ratios, mean, moves)


def _on_edge(ratios: _Ratios, n: Array, d: Array) -> Array:
    value = ratios.scale * n / d
    slack = 1e-9 * np.maximum(np.abs(value), 1e-12)
    return ((value >= ratios.low - slack) & (value <= ratios.high + slack)).astype(float)


def _all_normal(ratios: _Ratios, mean: Array, moves: Array) -> float:
    """Chance that all bands hold: a normal over a box, reads being linear about their means."""
    pick = np.flatnonzero(ratios.binding & (np.isfinite(ratios.low) | np.isfinite(ratios.high)))
    top, bottom, scale = ratios.top[pick], ratios.bottom[pick], ratios.scale[pick]
    value = mean[top] / mean[bottom]
    slope = np.zeros((pick.size, mean.size))
    lines = np.arange(pick.size)
    np.add.at(slope, (lines, top), 1.0 / mean[bottom])
    np.add.at(slope, (lines, bottom), -value / mean[bottom])
    low, high = ratios.low[pick] / scale - value, ratios.high[pick] / scale - value
    of_reads = moves @ slope.T
    none = np.sqrt((of_reads**2).sum(axis=0)) <= NO_SPREAD * np.abs(value)
    of_reads[:, none] = 0.0
    return box_chance(of_reads.T @ of_reads, low, high)


def box_chance(covariance: Array, low: Array, high: Array, points: int = 1 << 11) -> float:
    """Chance that a normal of mean 0 lies in a box (Genz's transformation on a lattice).

    Parameters
    ----------
    covariance : ndarray, shape (k, k)
        May be singular.
    low, high : ndarray, shape (k,)
        −inf and inf where open.
    points : int
        Of the lattice: two thousand give an error of about 10⁻⁴.
    """
    spread = np.sqrt(np.diag(covariance))
    vary = spread > 1e-12 * max(float(spread.max(initial=0.0)), 1e-300)
    slack = 1e-9 * np.maximum(np.abs(np.where(np.isfinite(low), low, 0.0)), 1e-12)
    if ((low > slack) | (high < -slack))[~vary].any():
        return 0.0
    spread = spread[vary]
    low, high = low[vary] / spread, high[vary] / spread
    order = np.argsort(tail(high) - tail(low))  # the least likely first: less varies after it
    low, high = low[order], high[order]
    correlation = (covariance[np.ix_(vary, vary)] / np.outer(spread, spread))[np.ix_(order, order)]
    k = low.size
    if not k:
        return 1.0
    root = _cholesky(correlation)
    # Richtmyer's lattice: multiples of the roots of primes, folded to be even at the ends.
    primes = np.array([2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71])
    walk = np.sqrt(np.resize(primes, k) + 71.0 * (np.arange(k) // primes.size))
    at = np.abs(2.0 * ((np.arange(1, points + 1)[:, None] * walk) % 1.0) - 1.0)
    drawn, chance = np.zeros((points, k)), np.ones(points)
    for i in range(k):
        shift, size = drawn[:, :i] @ root[i, :i], root[i, i]
        if size < 1e-9:  # a mixture of those before
            chance = chance * ((shift >= low[i] - 1e-9) & (shift <= high[i] + 1e-9))
            continue
        left, right = below((low[i] - shift) / size), below((high[i] - shift) / size)
        chance = chance * (right - left)
        drawn[:, i] = inverse(np.clip(left + at[:, i] * (right - left), 1e-300, 1 - 1e-16))
    return float(chance.mean())


def _cholesky(matrix: Array) -> Array:
    """Lower root of a matrix that may be singular."""
    k = len(matrix)
    root = np.zeros((k, k))
    for i in range(k):
        for j in range(i):
            if root[j, j] > 0:
                root[i, j] = (matrix[i, j] - root[i, :j] @ root[j, :j]) / root[j, j]
        rest = matrix[i, i] - root[i, :i] @ root[i, :i]
        root[i, i] = math.sqrt(rest) if rest > 1e-12 else 0.0
    return root


def _assemble(
    mix: Mix,
    ratios: _Ratios,
    low: Array,
    high: Array,
    inside: Array,
    every: float,
    way: Way,
    draws: int,
) -> Confidence:
    place = {int(number): i for i, number in enumerate(ratios.known)}
    reads = []
    for number, read in enumerate(mix.reads):
        i = place.get(number)
        if i is None:
            reads.append(ReadConfidence(read, None, None, None))
            continue
        ranged = math.isfinite(read.band.low) or math.isfinite(read.band.high)
        chance = min(max(float(inside[i]), 0.0), 1.0) if ranged else None
        reads.append(ReadConfidence(read, float(low[i]), float(high[i]), chance))
    unknown = any(r.value is None and r.band.role is not Role.SHOWN for r in mix.reads)
    return Confidence(tuple(reads), None if unknown else min(max(every, 0.0), 1.0), way, draws)
