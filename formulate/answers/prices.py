"""Find which recipe is cheapest, by the gram, as the prices of foods move."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from formulate.answers.verdict import Judgement, Verdict, judge
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.shown import Renderable, brief
from formulate.blend.mix import Status, finish
from formulate.blend.prices.parametric import Sweep, sweep
from formulate.blend.prices.price_map import PriceMap, price_map
from formulate.blend.prices.staircase import Staircase, staircase
from formulate.blend.problem import Problem, build
from formulate.foods.bands import BandSet
from formulate.kitchen.batch import packages
from formulate.pantry.pantry import Pantry
from formulate.pantry.price_range import Vary, parse_vary

__all__ = ["MovingPrice", "PricesAnswer", "prices"]

#: Price vectors tried where more than two prices move.
SAMPLES = 20_000
#: Batch for which recipes are given [mL].
_VOLUME = 1000.0


@dataclass(frozen=True, slots=True)
class MovingPrice:
    """A price that moves.

    Parameters
    ----------
    food : str
        Id.
    package : str
        What it is for, as the pantry has it: "1 gallon".
    grams : float
        Weight of that [g].
    low, high : float
        Ends of the price [money/g].
    """

    food: str
    package: str
    grams: float
    low: float
    high: float


@dataclass(frozen=True)
class PricesAnswer(Renderable):
    """Which recipe is cheapest where.

    Parameters
    ----------
    pantry : Pantry
    bands : BandSet
    moving : tuple of MovingPrice
    found : Staircase, PriceMap, Sweep or None
        Of one price, of two, of more; None if these foods cannot make it at any price.
    judgements : tuple of Judgement
        Of each recipe, in the order of the steps or of the sweep's recipes.
    """

    pantry: Pantry
    bands: BandSet
    moving: tuple[MovingPrice, ...]
    found: Staircase | PriceMap | Sweep | None
    judgements: tuple[Judgement, ...] = ()

    def __repr__(self) -> str:
        moving = ", ".join(price.food for price in self.moving)
        verdicts = ", ".join(dict.fromkeys(str(one.verdict) for one in self.judgements))
        return brief(self, moving, f"{len(self.judgements)} recipes", verdicts or "no mix")

    @property
    def yes(self) -> bool:
        """Whether every recipe is inside every range that matters."""
        inside = [one.verdict is Verdict.INSIDE for one in self.judgements]
        return bool(inside) and all(inside)


def prices(
    pantry: Pantry,
    vary: Sequence[Vary | str],
    reference: BandSet | str = "lamb-replacer",
    *,
    points: int = 300,
    progress: Callable[[int, int], None] | None = None,
    executor: Executor | None = None,
) -> PricesAnswer:
    """Find which recipe is cheapest where: exact steps of one price, a map of two, else a sample.

    Parameters
    ----------
    pantry : Pantry
    vary : sequence of Vary or str
        Ranges of prices of a package, as "whole-milk=2.5..6".
    reference : BandSet or str
        What to design to.
    points : int
        Prices along each side of a map.
    progress : callable, optional
        Told how many prices of how many are done.
    executor : concurrent.futures.Executor, optional
        Works through a map or a sample, chunk by chunk.

    Raises
    ------
    InputError
        If a range cannot be read, no price moves, a food is not on the shelf or moves twice.
    """
    bands = pantry.ranges(reference) if isinstance(reference, str) else reference
    problem = build(pantry.shelf(), bands, _VOLUME)
    moving = _moving(pantry, problem, vary)
    if not moving:
        raise InputError(say("prices.nothing"), say("prices.nothing-remedy")).about("vary")
    first = moving[0]
    found: Staircase | PriceMap | Sweep | None
    if len(moving) == 1:
        found = staircase(problem, first.food, first.low, first.high)
        recipes = [] if found is None else [step.grams for step in found.steps]
    elif len(moving) == 2:
        one, other = ((price.low, price.high) for price in moving)
        sides = points, points
        where = moving[1].food
        found = price_map(
            problem, first.food, one, where, other, sides, progress=progress, executor=executor
        )
        recipes = [] if found is None else list(found.sweep.recipes)
    else:
        found = sweep(problem, _drawn(problem, moving), progress=progress, executor=executor)
        recipes = [] if found is None else list(found.recipes)
    judgements = tuple(judge(finish(problem, grams, Status.OPTIMAL)) for grams in recipes)
    return PricesAnswer(pantry, bands, moving, found, judgements)


def _moving(
    pantry: Pantry, problem: Problem, vary: Sequence[Vary | str]
) -> tuple[MovingPrice, ...]:
    """The prices that move, in money per gram."""
    known = packages(pantry)
    found: dict[str, MovingPrice] = {}
    for one in vary:
        asked = parse_vary(one) if isinstance(one, str) else one
        food = pantry.table.find(asked.food).id
        problem.shelf.column(food)
        if food in found:
            raise InputError(say("prices.twice", food=food), say("prices.once")).about("vary")
        words, grams = known[food]
        found[food] = MovingPrice(food, words, grams, asked.low / grams, asked.high / grams)
    return tuple(found.values())


def _drawn(problem: Problem, moving: Sequence[MovingPrice]) -> np.ndarray:
    """A seeded sample of the box of prices, shape (SAMPLES, n)."""
    random = np.random.default_rng(0)
    drawn = np.tile(problem.shelf.price, (SAMPLES, 1))
    for price in moving:
        drawn[:, problem.shelf.column(price.food)] = random.uniform(price.low, price.high, SAMPLES)
    return drawn
