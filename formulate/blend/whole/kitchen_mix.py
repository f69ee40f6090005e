"""The cheapest mix that cups, spoons, cans and eggs can make.

Rounding an optimum by hand breaks its bands; here the counts of measures are the unknowns
(`formulate.blend.whole.integer`), and what is found is weighed and checked again before it is
returned.
Wishes come before the price, in this order: the jug filled, least change of a favourite recipe,
stock that spoils used up. Ties are broken by rule, so that the same pantry always gives the
same recipe.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError, SolverFault
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.base.units import Kitchen
from formulate.blend.mix import Mix, Status, finish, optimise
from formulate.blend.problem import Problem, Shelf, build
from formulate.blend.program import LinearProgram
from formulate.blend.whole.demands import Demand
from formulate.blend.whole.integer import Counts, Preferences, Search, largest_counts
from formulate.blend.whole.steps import Step, kitchen_steps, measure_words, step_from_words

__all__ = [
    "KitchenMix",
    "Leftover",
    "Measured",
    "NoKitchenMix",
    "Step",
    "design_kitchen",
    "kitchen_steps",
    "leftovers",
    "measure_words",
    "scaled",
    "step_from_words",
    "volume_range",
]

Array = NDArray[np.float64]

#: A batch may be this much larger than asked, and never smaller (judgement: it makes no difference
#: over a week, and whole measures need the room).
MOST_ABOVE = 0.05
#: Batches up to this many times larger or smaller are searched for one that works.
NEARBY_LARGER, NEARBY_SMALLER = 10.0, 20.0
#: Seconds of search in all.
TIME_LIMIT = 10.0


@dataclass(frozen=True, slots=True)
class Measured:
    """One line of a recipe.

    Parameters
    ----------
    food : str
        Id.
    count : int
        Number of steps.
    words : str
        The amount as measured by hand: "7 3/4 cups".
    grams : float
        What that weighs [g as fed].
    """

    food: str
    count: int
    words: str
    grams: float


@dataclass(frozen=True, slots=True)
class Leftover:
    """What is left in the last can or package that is opened.

    Parameters
    ----------
    food : str
        Id.
    package : str
        "can", "package".
    packages : int
        How many are opened.
    grams : float
        Left in the last one [g].
    """

    food: str
    package: str
    packages: int
    grams: float


@brief_repr
@dataclass(frozen=True, eq=False)
class KitchenMix(ByContent):
    """A mix in whole measures.

    Parameters
    ----------
    mix : Mix
        Grams and reads of the measures; every demanded and safety band holds.
    steps : tuple of Step, length n
    counts : ndarray of int, shape (n,)
        Whole measures of each food.
    exact : Mix
        Cheapest mix in grams, same shelf, bands and volume as this one, without its wishes.
    least_volume, most_volume : float
        Range that was asked for [mL].
    change : int or None
        Measures that differ from the favourite recipe, where there was one.
    gap : float
        Proven relative distance of the last search from the best possible: 0 when complete.
    complete : bool
        Whether every search ended by itself; otherwise this is the best found in the time.
    program : LinearProgram or None
        The integer program whose cheapest answer it is; the first n columns are the counts.
    """

    mix: Mix
    steps: tuple[Step, ...]
    counts: NDArray[np.intp]
    exact: Mix
    least_volume: float
    most_volume: float
    change: int | None
    gap: float
    complete: bool
    program: LinearProgram | None = field(default=None, repr=False)

    @property
    def rounding_cost(self) -> float | None:
        """What whole measures, and any wishes, cost [money/L] above the exact optimum.

        None if there are no prices.
        """
        cost = self.batch_rounding_cost
        return None if cost is None else cost / self.mix.volume * 1e3

    @property
    def batch_rounding_cost(self) -> float | None:
        """The same for the whole batch [money]."""
        if self.mix.cost is None or self.exact.cost is None:
            return None
        return self.mix.cost - self.exact.cost

    def measures(self, kitchen: Kitchen) -> tuple[Measured, ...]:
        """The recipe, a line for each food in it, in the shelf's order."""
        return tuple(
            Measured(
                self.mix.shelf.ids[j],
                int(self.counts[j]),
                measure_words(self.steps[j], int(self.counts[j]), kitchen),
                float(self.mix.grams[j]),
            )
            for j in np.flatnonzero(self.mix.grams > 0)
        )

    @cached_property
    def leftovers(self) -> tuple[Leftover, ...]:
        """What is left of cans that are used in part."""
        return leftovers(self.mix.shelf, self.mix.grams)

    @property
    def too_coarse(self) -> tuple[str, ...]:
        """Foods of which not even one measure fits the batch or the stock."""
        return _too_coarse(self.mix.shelf, self.steps, self.most_volume)


@brief_repr
@dataclass(frozen=True)
class NoKitchenMix:
    """No whole measures make the batch. Holds no amounts of its own.

    Parameters
    ----------
    problem : Problem
    steps : tuple of Step
    least_volume, most_volume : float
        Range that was asked for [mL].
    exact : Mix or None
        Cheapest mix of `least_volume` by the gram, without wishes; None if there is none
        either, and the shelf itself cannot do it.
    nearest : KitchenMix or None
        Of the batch nearest in size that whole measures can make, wishes met; None if none
        was found from a twentieth to ten times the size.
    complete : bool
        Whether the search for another size ended by itself.
    """

    problem: Problem
    steps: tuple[Step, ...]
    least_volume: float
    most_volume: float
    exact: Mix | None
    nearest: KitchenMix | None
    complete: bool

    @property
    def too_coarse(self) -> tuple[str, ...]:
        """Foods of which not even one measure fits the batch or the stock."""
        return _too_coarse(self.problem.shelf, self.steps, self.most_volume)


def volume_range(volume: float) -> tuple[float, float]:
    """Least and most volume [mL] of a batch that is asked for: never short, 5 % above at most."""
    return volume, volume * (1 + MOST_ABOVE)


def scaled(grams: Mapping[str, float], shelf: Shelf, volume: float) -> dict[str, float]:
    """A favourite recipe [g by food id] in another batch size [mL]."""
    room = dict(zip(shelf.ids, shelf.composition.row("volume"), strict=True))
    _known(grams, shelf, say("mix.favourite-recipe"))
    factor = volume / sum(room[food] * weight for food, weight in grams.items())
    return {food: weight * factor for food, weight in grams.items()}


def leftovers(
    shelf: Shelf, grams: Array, packages: Mapping[str, tuple[str, float]] | None = None
) -> tuple[Leftover, ...]:
    """What is left in packages that are opened and not used up.

    Parameters
    ----------
    shelf : Shelf
    grams : ndarray, shape (n,)
        Used of each food.
    packages : mapping of str to (str, float), optional
        Word and weight [g] of a package by food id; the cans of the food table where left out.
    """
    if packages is None:
        cans = {food.id: food.counts().get("can") for food in shelf.foods}
        packages = {food: ("can", weight) for food, weight in cans.items() if weight}
    left = []
    for food, used in zip(shelf.ids, grams, strict=True):
        if food in packages and used > 0:
            word, weight = packages[food]
            opened = math.ceil(used / weight - 1e-9)
            if (rest := opened * weight - used) > 1e-9 * weight:
                left.append(Leftover(food, word, opened, rest))
    return tuple(left)


def design_kitchen(
    problem: Problem,
    steps: Sequence[Step],
    *,
    least_volume: float,
    most_volume: float,
    most_foods: int | None = None,
    use_up: Mapping[str, float] | None = None,
    favourite: Mapping[str, float] | None = None,
    fill: bool = False,
    time_limit: float = TIME_LIMIT,
    demand: Demand | None = None,
) -> KitchenMix | NoKitchenMix:
    """Find the cheapest mix in whole measures.

    Parameters
    ----------
    problem : Problem
        Shelf and bands; its own volume does not matter here.
    steps : sequence of Step, length n
        How each food is measured.
    least_volume, most_volume : float
        Range of the batch [mL], of its composition; see `volume_range`.
    most_foods : int, optional
        No more foods than this.
    use_up : mapping of str to float, optional
        Urgency by food id, the largest number first. As much as can be is used of the most
        urgent, then of the next; foods of the same urgency count together by weight.
    favourite : mapping of str to float, optional
        Grams by food id. Every food of it stays, at least one measure; counts are changed as
        little as possible from the recipe's nearest whole measures, other foods from none.
    fill : bool
        As much as fits: within 1 % of `most_volume`, or the largest volume that can be made.
    time_limit : float
        Seconds of search in all, shared out among the searches.
    demand : Demand, optional
        What is asked of the mix that rows alone cannot express.

    Returns
    -------
    KitchenMix or NoKitchenMix

    Raises
    ------
    InputError
        If a size, a count or a food makes no sense, or a food has no price.
    SolverFault
        If the mix found misses a band.
    OutOfTime
        If the time ends before any mix is found.
    """
    steps = tuple(steps)
    _check(problem.shelf, steps, least_volume, most_volume, time_limit)
    wishes = _wishes(problem.shelf, steps, most_volume, most_foods, use_up, favourite)
    search = Search(problem, steps, wishes, time_limit / 2, demand)
    method = search.fullest if fill else search.cheapest
    found = method(least_volume, most_volume)
    if found is not None:
        return _finished(search, found, (least_volume, most_volume))
    ranges, complete = search.nearby(least_volume, most_volume, NEARBY_LARGER, NEARBY_SMALLER)
    nearest = None
    for bounds in ranges:
        found = search.cheapest(*bounds)
        if found is not None:
            nearest = _finished(search, found, bounds)
            break
    exact = _exact(problem, least_volume)
    return NoKitchenMix(problem, steps, least_volume, most_volume, exact, nearest, complete)


def _finished(search: Search, found: Counts, asked: tuple[float, float]) -> KitchenMix:
    """Weigh and read the counts; reject a mix that is not what was promised."""
    least, most = asked
    problem, targets = search.problem, search.wishes.targets
    mix = finish(problem, search.rest + search.step * found.counts, Status.OPTIMAL)
    unsure = [r for r in mix.reads if r.value is None and r.band in mix.bands.binding]
    if mix.misses or unsure:
        read = (*mix.misses, *unsure)[0]
        raise SolverFault(say("solver.measures-miss", label=read.band.label))
    if not least * (1 - 1e-7) <= mix.volume <= most * (1 + 1e-7):
        raise SolverFault(say("solver.measures-volume", volume=mix.volume))
    exact = _exact(problem, mix.volume)
    if exact is None:
        raise SolverFault(say("solver.measures-without-grams"))
    change = None if targets is None else int(np.abs(found.counts - targets).sum())
    return KitchenMix(
        mix,
        search.steps,
        found.counts,
        exact,
        least,
        most,
        change,
        found.gap,
        found.complete,
        found.program,
    )


def _exact(problem: Problem, volume: float) -> Mix | None:
    """The cheapest mix by the gram in a batch of this size."""
    there = build(problem.shelf, problem.bands, volume)
    result = optimise(there)
    if result is None:
        return None
    return finish(there, result.x * volume, Status.OPTIMAL, result.certificate)


def _too_coarse(shelf: Shelf, steps: Sequence[Step], most_volume: float) -> tuple[str, ...]:
    step, rest = np.array([s.grams for s in steps]), np.array([s.rest for s in steps])
    largest = largest_counts(shelf, step, rest, most_volume)
    return tuple(shelf.ids[j] for j in np.flatnonzero((largest < 1) & (rest == 0)))


def _check(
    shelf: Shelf, steps: tuple[Step, ...], least: float, most: float, time_limit: float
) -> None:
    if len(steps) != len(shelf.foods):
        raise InputError(say("mix.measures-for-foods", measures=len(steps), foods=len(shelf.foods)))
    if not 0 < least <= most < math.inf:
        raise InputError(
            say("mix.no-batches", least=least, most=most),
            say("mix.no-batches-remedy"),
        )
    if not time_limit > 0:
        raise InputError(say("mix.no-time", seconds=time_limit))
    shelf.require_prices()


def _known(foods: Mapping[str, float], shelf: Shelf, whose: str, least: float = 0.0) -> None:
    for food, value in foods.items():
        shelf.column(food, say("errors.put-on-shelf", whose=whose))
        if not (math.isfinite(value) and value > least):
            raise InputError(say("mix.no-such-amount", value=value, food=food, whose=whose))


def _wishes(
    shelf: Shelf,
    steps: tuple[Step, ...],
    most_volume: float,
    most_foods: int | None,
    use_up: Mapping[str, float] | None,
    favourite: Mapping[str, float] | None,
) -> Preferences:
    """Check the wishes and turn them into rows over counts."""
    if most_foods is not None and most_foods < 1:
        raise InputError(say("mix.no-food-left", count=most_foods), say("mix.no-food-left-remedy"))
    ranks = []
    if use_up:
        _known(use_up, shelf, say("mix.the-stock"), -math.inf)
        urgency = np.array([use_up.get(food, 0.0) for food in shelf.ids])
        ranks = [urgency == rank for rank in sorted(set(use_up.values()), reverse=True)]
    targets = None
    if favourite is not None:
        targets = _targets(shelf, steps, most_volume, favourite)
        if most_foods is not None and most_foods < len(favourite):
            raise InputError(say("mix.favourite-foods", has=len(favourite), allowed=most_foods))
    return Preferences(most_foods, targets, tuple(ranks))


def _targets(
    shelf: Shelf, steps: tuple[Step, ...], most_volume: float, favourite: Mapping[str, float]
) -> NDArray[np.intp]:
    """The favourite recipe in the nearest whole measures, at least one of each food of it."""
    if not favourite:
        raise InputError(say("mix.favourite-empty"), say("mix.favourite-empty-remedy"))
    _known(favourite, shelf, say("mix.favourite-recipe"))
    coarse = [food for food in _too_coarse(shelf, steps, most_volume) if food in favourite]
    if coarse:
        raise InputError(
            say("mix.favourite-coarse", foods=", ".join(coarse)),
            say("mix.favourite-coarse-remedy"),
        )
    targets = np.zeros(len(steps), dtype=np.intp)
    for food, grams in favourite.items():
        j = shelf.ids.index(food)
        step = steps[j]
        targets[j] = max(round((grams - step.rest) / step.grams), 0 if step.rest else 1)
    return targets
