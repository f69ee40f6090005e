"""Mixes that hold when cartons vary: each band stays in range with a given probability.

A band with one end is one cone (see `formulate.blend.protect.cones`). A band with two ends is held
if the chances of missing either end add up to no more than ``ε = 1 − p``. That is demanded of the
mix as a whole: half of ε for each end would ask too much.

So the answer's chance is at least p for every band, by the normal model, and its cost is at
most the proven *gap* above the best there is. The chances are for a batch of one carton of each
food; several cartons average out, and the chances rise (`Spread.averaged`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.blend.branch import Relaxed, used_enough
from formulate.blend.design import explain_none
from formulate.blend.mix import Mix, NoMix, Status, finish, optimise
from formulate.blend.problem import Problem
from formulate.blend.protect.cones import Cones
from formulate.blend.protect.cutting_planes import HeldCuts, cheapest_both
from formulate.blend.solve import Certificate
from formulate.foods.spread import Spread

__all__ = [
    "CHANCES",
    "NotSure",
    "ProtectionPoint",
    "SureMix",
    "chances_of",
    "design_sure",
    "protection_curve",
]

Array = NDArray[np.float64]

#: Chances [%] of a curve of protection.
CHANCES = (60.0, 70.0, 80.0, 85.0, 90.0, 95.0, 98.0, 99.0)
#: The largest possible chance is found to this precision [%].
CHANCE_STEP = 0.1


@brief_repr
@dataclass(frozen=True)
class SureMix:
    """The cheapest mix whose bands all hold with a given chance each.

    Parameters
    ----------
    mix : Mix
        Its certificate holds the residuals and the proven gap of the protected problem.
    sure : float
        Chance that was asked of each band [%].
    chances : tuple of float
        Chance that each of `BandSet.binding` is inside, by the normal model [-].
    plain : Mix
        The cheapest mix of average cartons.
    bound : float
        No mix that is as sure costs less [money/L].
    """

    mix: Mix
    sure: float
    chances: tuple[float, ...]
    plain: Mix
    bound: float

    @property
    def gap(self) -> float:
        """Proven relative distance of the cost from the best there is."""
        cost = self.mix.cost_per_litre
        assert cost is not None
        return max(0.0, cost - self.bound) / max(abs(cost), 1e-12)

    @property
    def price_of_protection(self) -> float:
        """Extra cost of a litre over the cheapest mix of average cartons [money/L]."""
        cost, plain = self.mix.cost_per_litre, self.plain.cost_per_litre
        assert cost is not None
        assert plain is not None
        return cost - plain


@brief_repr
@dataclass(frozen=True)
class NotSure:
    """No mix of this shelf is as sure as was asked. Holds no amounts of its own.

    Parameters
    ----------
    problem : Problem
    asked : float
        Chance of each band [%].
    most : float or None
        Largest chance that was found possible [%]; None if not even half the batches would hold.
    surest : SureMix or None
        The cheapest mix at that chance.
    """

    problem: Problem
    asked: float
    most: float | None
    surest: SureMix | None


@brief_repr
@dataclass(frozen=True, slots=True)
class ProtectionPoint:
    """One point of what protection costs.

    Parameters
    ----------
    sure : float or None
        Chance asked of each band [%]; None for the cheapest mix of average cartons.
    mix : Mix or None
        None if no mix is so sure.
    chance : float
        Smallest chance among its bands [-]; NaN without a mix.
    cost_per_litre, extra_per_litre : float
        And what it costs above the cheapest mix [money/L]; NaN without a mix.
    """

    sure: float | None
    mix: Mix | None
    chance: float
    cost_per_litre: float
    extra_per_litre: float


def design_sure(
    problem: Problem,
    spread: Spread,
    sure: float = 95.0,
) -> SureMix | NotSure | NoMix:
    """Find the cheapest mix that keeps each band with a given chance.

    Parameters
    ----------
    problem : Problem
        Every food needs a price.
    spread : Spread
        Of the shelf's foods, in its order.
    sure : float
        Chance of each band [%], at least 50 and below 100.

    Returns
    -------
    SureMix
        Or `NotSure` where average cartons make a mix but no mix is so sure; it says how sure
        one can be. Or `NoMix` where not even average cartons make one.

    Raises
    ------
    InputError
        If the chance makes no sense, a food has no price, or the spreads are of other foods.
    """
    _check_chance(sure)
    problem.shelf.require_prices()
    cones = Cones.of(problem, spread)
    best = optimise(problem)
    if best is None:
        return explain_none(problem)
    plain = finish(problem, best.x * problem.volume, Status.OPTIMAL, best.certificate)
    found = _hold(cones, sure / 100)
    if found is not None:
        return _sure_mix(cones, found, sure, plain)
    most, found = _most_sure(cones, sure)
    if most is None or found is None:
        return NotSure(problem, sure, None, None)
    return NotSure(problem, sure, most, _sure_mix(cones, found, most, plain))


def protection_curve(
    problem: Problem,
    spread: Spread,
    chances: Iterable[float] = CHANCES,
) -> tuple[ProtectionPoint, ...]:
    """What protection costs per litre, from the plain cheapest mix to the surest chance.

    If not even average cartons make a mix, no point has one.
    """
    chances = tuple(chances)
    for chance in chances:
        _check_chance(chance)
    problem.shelf.require_prices()
    cones = Cones.of(problem, spread)
    best = optimise(problem)
    none = (None, math.nan, math.nan, math.nan)
    if best is None:
        return tuple(ProtectionPoint(sure, *none) for sure in (None, *chances))
    plain = finish(problem, best.x * problem.volume, Status.OPTIMAL, best.certificate)
    cost = plain.cost_per_litre
    assert cost is not None
    points = [ProtectionPoint(None, plain, _least_chance(cones, best.x), cost, 0.0)]
    cuts = None
    for chance in chances:
        found = _hold(cones, chance / 100, cuts)
        if found is None:
            points.append(ProtectionPoint(chance, *none))
            continue
        cuts = found.end, found.slope
        mix = finish(problem, found.y * problem.volume, Status.OPTIMAL)
        least = _least_chance(cones, found.y)
        points.append(
            ProtectionPoint(chance, mix, least, found.cost * 1e3, found.cost * 1e3 - cost)
        )
    return tuple(points)


def _check_chance(sure: float) -> None:
    if not (math.isfinite(sure) and 50 <= sure < 100):
        told = "sure.chance-certain" if sure >= 100 else "sure.chance-out"
        raise InputError(say(told, sure=sure), say("sure.chance-remedy"))


def _least_chance(cones: Cones, y: Array) -> float:
    return 1.0 - float(cones.band_tails(y).max(initial=0.0))


def _sure_mix(cones: Cones, held: HeldCuts, sure: float, plain: Mix) -> SureMix:
    problem = cones.problem
    gap = max(0.0, held.cost - held.bound) / max(abs(held.cost), 1e-12)
    certificate = Certificate(max(held.short, 0.0), 0.0, gap)
    mix = finish(problem, held.y * problem.volume, Status.OPTIMAL, certificate)
    return SureMix(mix, sure, chances_of(cones, held.y), plain, held.bound * 1e3)


def chances_of(cones: Cones, y: Array) -> tuple[float, ...]:
    """Chance of each binding band; an open band is always held."""
    chances = np.ones(len(cones.problem.bands.binding))
    chances[cones.problem.bands.ends.band] = 1.0 - cones.band_tails(y)
    return tuple(chances.tolist())


def _hold(
    cones: Cones, chance: float, cuts: tuple[NDArray[np.intp], Array] | None = None
) -> HeldCuts | None:
    """The cheapest mix whose bands each hold with a chance; foods used enough or not at all."""

    def attempt(lower: Array, upper: Array) -> Relaxed[HeldCuts] | None:
        held = cheapest_both(cones, 1.0 - chance, cuts, (lower, upper))
        return None if held is None else Relaxed(held, held.cost, held.bound)

    problem = cones.problem
    best = used_enough(problem.shelf.smallest / problem.volume, attempt, lambda held: held.y)
    return None if best.answer is None else replace(best.answer, bound=best.bound)


def _most_sure(cones: Cones, asked: float) -> tuple[float | None, HeldCuts | None]:
    """The largest chance [%] for which a mix was found, in steps of `CHANCE_STEP`."""
    low, high = round(50 / CHANCE_STEP), math.ceil(asked / CHANCE_STEP - 1e-9)
    best = _hold(cones, 0.5)
    if best is None:
        return None, None
    while high - low > 1:
        middle = (low + high) // 2
        found = _hold(cones, middle * CHANCE_STEP / 100)
        if found is None:
            high = middle
        else:
            low, best = middle, found
    return round(low * CHANCE_STEP, 6), best
