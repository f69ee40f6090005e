"""How close a mix can come to a reference, and what more money buys.

The *deviation* of a mix is the sum, over the demanded bands of a reference, of the distance of
the read from the middle of the band, divided by the band's width. A band with one open end has
no middle: only a miss of its end counts. Safety ceilings, largest shares and stocks are kept;
smallest useful amounts are ignored, as in the nearest mix. That is the nearest mix
(`formulate.blend.elastic`) of bands pinched to their middles.

The *front* is the least deviation within each cost of a litre. On one basis it is a parametric
linear program in the cap γ on the cost (`formulate.blend.basis`):

    minimise  w·s   subject to   limits with slacks s,  d·y = 1,  (price − γ·volume)·y ≤ 0.

Every breakpoint is found exactly, without a grid; between two of them the mixes are blends of
both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from formulate.base.errors import InputError, SolverFault
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.blend.basis import MovingRow
from formulate.blend.elastic import LEAST, Elastic
from formulate.blend.mix import Mix, Status, finish
from formulate.blend.problem import Problem, Shelf, build
from formulate.blend.solve import Optimal, solve
from formulate.foods.bands import Band, BandSet, Role

__all__ = ["Closest", "Front", "OutOfReach", "closest", "deviation", "deviations", "front"]

Array = NDArray[np.float64]

#: Costs at which the front is sampled where its bands are on several bases.
SAMPLES = 41

#: Intervals of cost below this share of the whole front are rounding.
SLIVER = 1e-9


@brief_repr
@dataclass(frozen=True)
class Closest:
    """The mix nearest the middles of a reference.

    Parameters
    ----------
    mix : Mix
    deviation : float
        In widths of bands, summed over the demanded ones.
    exact : bool
        Whether all demanded bands are on one basis, so that this is proved to be the least.
    """

    mix: Mix
    deviation: float
    exact: bool


@brief_repr
@dataclass(frozen=True)
class OutOfReach:
    """No mix costs so little, or none keeps the limits. Holds no amounts.

    Parameters
    ----------
    cheapest : float or None
        Least cost of a litre that keeps the limits [money/L]; None if no mix does.
    """

    cheapest: float | None


def deviations(mix: Mix) -> tuple[tuple[Band, float], ...]:
    """Each demanded band of a mix with its deviation; NaN where its read is unknown."""
    found = []
    for read in mix.reads:
        band = read.band
        if band.role is not Role.DEMANDED:
            continue
        open_ended = math.isinf(band.low) or math.isinf(band.high)
        value = math.nan if read.value is None else read.value
        away = read.miss if open_ended else abs(value - band.middle)
        found.append((band, away / band.width))
    return tuple(found)


def deviation(mix: Mix) -> float:
    """Deviation of a mix, summed over its demanded bands."""
    return math.fsum(away for _, away in deviations(mix))


def closest(
    shelf: Shelf,
    reference: BandSet,
    volume: float,
    within_cost: float | None = None,
) -> Closest | OutOfReach:
    """Find the mix of least deviation from a reference; among equals the cheapest.

    Parameters
    ----------
    shelf : Shelf
        Prices are needed only with `within_cost`.
    reference : BandSet
    volume : float
        Batch [mL].
    within_cost : float, optional
        Most that a litre may cost [money/L].

    Raises
    ------
    MissingComposition
        If a band's middle needs a value that a food lacks.
    InputError
        If a limit on the cost is set and a food has no price.
    """
    problem = build(shelf, reference, volume)
    elastic = _goals(problem)
    if within_cost is not None:
        problem.shelf.require_prices()
        if not within_cost >= 0:
            raise InputError(say("mix.litre-cost", cost=within_cost), say("mix.litre-cost-remedy"))
    grams = elastic.least(within_cost)
    if grams is None:
        cheapest = None if within_cost is None else _cheapest(elastic)
        return OutOfReach(cheapest)
    return _point(problem, grams, elastic.one_basis)


def _goals(problem: Problem) -> Elastic:
    """Pinch the demanded bands with two ends to their middles; misses keep the old widths."""

    def pinched(band: Band) -> Band:
        if band.role is not Role.DEMANDED or math.isinf(band.low) or math.isinf(band.high):
            return band
        return replace(band, low=band.middle, high=band.middle)

    goals = replace(problem.bands, bands=tuple(map(pinched, problem.bands.bands)))
    widths = [band.width for band in problem.bands.binding]
    return Elastic.of(build(problem.shelf, goals, problem.volume), widths)


def _cheapest(elastic: Elastic) -> float | None:
    """Least cost of a litre that keeps what is never missed [money/L]."""
    problem = elastic.problem
    kept = [k for k in range(len(problem.limits)) if k not in elastic.ends]
    found = solve(problem.program(keep=kept))
    return found.objective * 1e3 if isinstance(found, Optimal) else None


@brief_repr
@dataclass(frozen=True)
class Front:
    """The least deviation within each cost of a litre.

    Parameters
    ----------
    problem : Problem
    points : tuple of Closest
        From the cheapest to the closest: dearer and closer from each to the next.
    exact : bool
        Whether the points are all the breakpoints, and the blends of two neighbours are the
        front between them; else they are samples of it.
    """

    problem: Problem = field(repr=False)
    points: tuple[Closest, ...]
    exact: bool

    @cached_property
    def costs(self) -> Array:
        """Cost of a litre at each point [money/L]."""
        return np.array([point.mix.cost_per_litre for point in self.points], dtype=np.float64)

    @cached_property
    def deviations(self) -> Array:
        """Deviation at each point."""
        return np.array([point.deviation for point in self.points])

    def at(self, cost: float) -> Closest | None:
        """Mix of the front at a cost [money/L]: a blend of the points on both sides.

        None below the front's first cost. Above its last cost, the last point: more money buys no
        closer mix.
        """
        k = int(np.searchsorted(self.costs, cost))
        if k == len(self.points) or self.costs[k] == cost:
            return self.points[min(k, len(self.points) - 1)]
        if k == 0:
            return None
        # Cost is linear in the blend because both are batches of the same volume.
        t = (cost - self.costs[k - 1]) / (self.costs[k] - self.costs[k - 1])
        grams = (1 - t) * self.points[k - 1].mix.grams + t * self.points[k].mix.grams
        return _point(self.problem, grams, self.exact)


def front(
    shelf: Shelf,
    reference: BandSet,
    volume: float,
    worst: float | None = None,
) -> Front | OutOfReach:
    """Find the least deviation within each cost of a litre.

    Parameters
    ----------
    shelf : Shelf
        Every food needs a price.
    reference, volume
        See `closest`.
    worst : float, optional
        Deviation at which the front starts: cheaper mixes are too far from milk to be of
        use. Half a width
        for each demanded band where left out, which a mix on the ends of its bands has.

    Returns
    -------
    Front or OutOfReach
    """
    problem = build(shelf, reference, volume)
    problem.shelf.require_prices()
    elastic = _goals(problem)
    best = elastic.least()
    if best is None:
        return OutOfReach(None)
    end = float(shelf.price @ best) / volume * 1e3
    if worst is None:
        worst = len(reference.in_role(Role.DEMANDED)) / 2
    start = _cost_of(elastic, best, worst)
    if elastic.one_basis:
        recipes = [*_walk(elastic, start, end), best]
    else:
        recipes = [*_samples(elastic, start, end), best]
    recipes = _once(elastic, recipes)
    points = [_point(problem, grams, elastic.one_basis) for grams in recipes]
    # Where every band is per megajoule or of dry matter, the front may begin in plain water.
    known = tuple(point for point in points if math.isfinite(point.deviation))
    return Front(problem, known, elastic.one_basis)


def _point(problem: Problem, grams: Array, exact: bool) -> Closest:
    mix = finish(problem, grams, Status.CLOSEST)
    return Closest(mix, deviation(mix), exact)


def _cost_of(elastic: Elastic, best: Array, worst: float) -> float:
    """Least cost of a litre of no more than this deviation, or else of the best [money/L].

    Exact on one basis; else denominators stand to the weight as they do in the best mix.
    """
    problem = elastic.problem
    ratios = (elastic.below @ best) / (elastic.size @ best)
    budget = np.append(-worst * elastic.size, elastic.weights(np.maximum(ratios, LEAST)))
    room = problem.shelf.composition.row("volume")
    found = solve(
        elastic.program(problem.shelf.price, np.zeros(elastic.ends.size), (budget,), room)
    )
    dearest = float(problem.shelf.price @ best) / problem.volume
    return (found.objective if isinstance(found, Optimal) else dearest) * 1e3


def _samples(elastic: Elastic, start: float, end: float) -> list[Array]:
    """Least deviation at evenly spaced costs; the last of several reached is kept."""
    found = (elastic.least(cost) for cost in np.linspace(start, end, SAMPLES))
    return [grams for grams in found if grams is not None]


def _walk(elastic: Elastic, start: float, end: float) -> list[Array]:
    """Mixes at every breakpoint of the front between two costs [money/L], cheapest first."""
    pieces: list[_Piece] = []
    gaps = [(start, end)]
    while gaps:
        low, high = gaps.pop()
        if high - low <= SLIVER * (end - start):
            continue
        piece = _Piece.around((low + high) / 2, elastic, low, high)
        pieces.append(piece)
        gaps += [(low, piece.low), (piece.high, high)]
    pieces.sort(key=lambda piece: piece.low)
    return [grams for piece in pieces for grams in (piece.first, piece.last)]


@dataclass(frozen=True)
class _Piece:
    """An interval of cost [money/L] over which one basis is optimal, and the mixes at its ends."""

    low: float
    high: float
    first: Array
    last: Array

    @classmethod
    def around(cls, cost: float, elastic: Elastic, low: float, high: float) -> _Piece:
        """Solve at one cost and find how far the basis holds; see the top of this module."""
        problem, k = elastic.problem, elastic.ends.size
        n = len(problem.shelf.foods)
        weights = elastic.weights(np.ones(k))
        program = elastic.program(np.zeros(n), weights, (elastic.cap(cost),))
        found = solve(program)
        if not isinstance(found, Optimal):
            raise SolverFault(say("solver.dearer-lost", cost=cost))
        moving = elastic.cap(0.0) - elastic.cap(1.0)  # the last row falls by this for a unit
        basis = MovingRow.of(program, found, moving)
        down, up = basis.reach(low - cost, high - cost)

        def batch(delta: float) -> Array:
            grams = basis.x(delta)[:n]
            room = float(problem.shelf.composition.row("volume") @ grams)
            return np.asarray(grams / room * problem.volume)

        return cls(cost + down, cost + up, batch(down), batch(up))


def _once(elastic: Elastic, recipes: list[Array]) -> list[Array]:
    """Leave out mixes that repeat the one before, that come no closer, or that a later one beats.

    Two different mixes of one cost and one deviation both stay: the front may turn onto
    another edge there.
    """
    same = SLIVER * elastic.problem.volume
    price = elastic.problem.shelf.price
    kept: list[Array] = []
    for grams in recipes:
        total = elastic.total(grams)
        if kept and np.abs(grams - kept[-1]).max() <= same:
            kept.pop()
        elif kept and total > elastic.total(kept[-1]) + SLIVER:
            continue
        while kept and price @ grams < price @ kept[-1] * (1 - SLIVER):
            kept.pop()
        kept.append(grams)
    return kept
