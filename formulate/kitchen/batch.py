"""Make a batch: from a pantry and wishes to a mix, in whole measures or by the gram."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.base.units import Kitchen
from formulate.blend.mix import NoMix, optimise
from formulate.blend.problem import Problem, Shelf, build
from formulate.blend.whole.kitchen_mix import (
    TIME_LIMIT,
    KitchenMix,
    NoKitchenMix,
    design_kitchen,
    scaled,
    volume_range,
)
from formulate.blend.whole.steps import Step, kitchen_steps, step_from_words
from formulate.foods.bands import BandSet
from formulate.foods.food import Food
from formulate.pantry.item import Item
from formulate.pantry.pantry import Pantry
from formulate.pantry.recipe import Recipe

if TYPE_CHECKING:
    from formulate.blend.additions import Additions
    from formulate.blend.protect.chance import NotSure
    from formulate.blend.protect.chance_whole import SureKitchenMix
    from formulate.blend.whole.fewest_whole import FewestMix
    from formulate.kitchen.jug import Container, JugPlan

__all__ = [
    "Batch",
    "BatchWishes",
    "default_volume",
    "make_batch",
    "nearest_batch",
    "packages",
    "would_help",
]


def default_volume(kitchen: Kitchen) -> str:
    """The default amount to make: about a day's milk for two lambs."""
    return "2 L" if kitchen.metric else "2 quarts"


@dataclass(frozen=True)
class BatchWishes:
    """What a person wants of a batch, apart from a low price.

    Parameters
    ----------
    most_foods : int or None
        No more foods than this.
    use_up : bool
        Use up what is on hand, beginning with what spoils first.
    favourite : Recipe or None
        Keep every food of it and change it as little as possible.
    container : Container or None
        Mix in it, as much as fits.
    time_limit : float
        Seconds of search for whole measures.
    sure : float or None
        Chance that each range holds although cartons vary [%].
    """

    most_foods: int | None = None
    use_up: bool = False
    favourite: Recipe | None = None
    container: Container | None = None
    time_limit: float = TIME_LIMIT
    sure: float | None = None


@brief_repr
@dataclass(frozen=True)
class Batch:
    """A batch in whole measures.

    Parameters
    ----------
    kitchen_mix : KitchenMix
    problem : Problem
        By the gram, of the size that was asked.
    plan : JugPlan or None
        How to mix it in its container.
    protected : SureKitchenMix or None
        With how sure each range is, if that was asked for.
    fewest : FewestMix or None
        Where no food has a price.
    """

    kitchen_mix: KitchenMix
    problem: Problem
    plan: JugPlan | None = None
    protected: SureKitchenMix | None = None
    fewest: FewestMix | None = None


def make_batch(
    pantry: Pantry, bands: BandSet, volume: float, wishes: BatchWishes = BatchWishes()
) -> Batch | NoKitchenMix | NotSure | NoMix:
    """Find the cheapest batch in whole measures; without prices, that of the fewest foods.

    Parameters
    ----------
    pantry : Pantry
    bands : BandSet
    volume : float
        Least volume [mL]; not looked at where there is a container.
    wishes : BatchWishes

    Returns
    -------
    Batch, NoKitchenMix, NotSure or NoMix
        `NoMix` if the foods make no such mix by the gram either; `NotSure` if they do, but not
        with the chance asked for.

    Raises
    ------
    InputError
        If a wish makes no sense, such as a favourite food that is not on the shelf, or at most 0
        foods.
    """
    shelf = pantry.shelf()
    steps = pantry_steps(pantry, shelf)
    problem = build(shelf, bands, volume)
    bounds = volume_range(volume)
    task = None
    if wishes.container is not None:
        from formulate.kitchen.jug import prepare

        task = prepare(problem, steps, wishes.container, pantry.kitchen)
        problem, steps = task.problem, task.steps
        bounds = task.least_volume, task.most_volume
    if optimise(problem, None if pantry.has_prices else np.zeros(len(steps))) is None:
        from formulate.blend.design import explain_none

        return explain_none(problem)
    make = _cheapest if pantry.has_prices else _fewest
    found = make(pantry, problem, steps, bounds, wishes)
    if task is None or not isinstance(found, Batch):
        return found
    from formulate.kitchen.jug import plan_jug

    return replace(found, plan=plan_jug(task, found.kitchen_mix, pantry.kitchen))


def _cheapest(
    pantry: Pantry,
    problem: Problem,
    steps: tuple[Step, ...],
    bounds: tuple[float, float],
    wishes: BatchWishes,
) -> Batch | NoKitchenMix | NotSure | NoMix:
    """The cheapest batch, as sure as was asked."""
    favourite = None
    if wishes.favourite is not None:
        favourite = scaled(wishes.favourite.by_food(), problem.shelf, bounds[1])
    asked: dict[str, Any] = {
        "least_volume": bounds[0],
        "most_volume": bounds[1],
        "most_foods": wishes.most_foods,
        "use_up": _urgency(pantry) if wishes.use_up else None,
        "favourite": favourite,
        "fill": wishes.container is not None,
        "time_limit": wishes.time_limit,
    }
    if wishes.sure is None:
        found = design_kitchen(problem, steps, **asked)
        return found if isinstance(found, NoKitchenMix) else Batch(found, problem)
    from formulate.blend.protect.chance_whole import SureKitchenMix, design_kitchen_sure
    from formulate.foods.spread import spread_of
    from formulate.foods.tables import default_spreads

    spread = spread_of(problem.shelf.composition, default_spreads())
    sure = design_kitchen_sure(problem, spread, wishes.sure, steps, **asked)
    if not isinstance(sure, SureKitchenMix):
        return sure
    return Batch(sure.kitchen, problem, protected=sure)


def _fewest(
    pantry: Pantry,
    problem: Problem,
    steps: tuple[Step, ...],
    bounds: tuple[float, float],
    wishes: BatchWishes,
) -> Batch | NoKitchenMix:
    """The batch of the fewest foods, nearest to the middles of the ranges."""
    from formulate.blend.whole.fewest_whole import fewest_whole

    for name in ("use_up", "favourite", "sure"):
        if getattr(wishes, name):
            raise InputError(say("mix.needs-prices"), say("mix.give-prices")).about(name)
    found = fewest_whole(
        problem,
        steps,
        least_volume=bounds[0],
        most_volume=bounds[1],
        most_foods=wishes.most_foods,
        fill=wishes.container is not None,
        time_limit=wishes.time_limit,
    )
    if isinstance(found, NoKitchenMix):
        return found
    return Batch(found.kitchen, problem, fewest=found)


def pantry_steps(pantry: Pantry, shelf: Shelf) -> tuple[Step, ...]:
    """How each food of the shelf is measured: by the pantry's own steps, else by the kitchen's."""
    own: dict[str, Step] = {}
    for item in pantry.items:
        if item.step is not None:
            try:
                own[item.food.id] = step_from_words(
                    item.step, item.food, pantry.kitchen, item.package_grams
                )
            except InputError as error:
                raise error.at(f"{pantry.where}: foods.{item.food.id}.step") from None
    return kitchen_steps(shelf.foods, pantry.kitchen, pantry.measures, own)


def _urgency(pantry: Pantry) -> Mapping[str, float]:
    """What is on hand, by the day it must be used: the earlier the more urgent."""
    stock = [item for item in pantry.items if item.in_mix and item.on_hand is not None]
    if not stock:
        raise InputError(
            say("mix.no-stock"),
            say("mix.no-stock-remedy"),
            pantry.where,
        )
    never = -math.inf
    days = {i.food.id: -float(i.use_by.toordinal()) if i.use_by else never for i in stock}
    ranks = {day: rank for rank, day in enumerate(sorted(set(days.values())), 1)}
    return {food: float(ranks[day]) for food, day in days.items()}


def nearest_batch(result: NoMix, pantry: Pantry, *, time_limit: float = TIME_LIMIT) -> Batch | None:
    """The nearest mix in whole measures, for when there is no mix; None if none was found."""
    from formulate.blend.whole.nearest_whole import nearest_in_measures

    if result.nearest is None:
        return None
    problem = result.problem
    least, most = volume_range(problem.volume)
    found = nearest_in_measures(
        problem,
        result.nearest,
        pantry_steps(pantry, problem.shelf),
        least_volume=least,
        most_volume=most,
        time_limit=time_limit,
    )
    return None if found is None else Batch(found, problem)


def would_help(result: NoMix, pantry: Pantry, *, on_request: bool = False) -> Additions:
    """Foods of the whole table that would help, at the pantry's prices if it has them."""
    from formulate.blend.additions import what_would_help

    known = pantry.shelf().ids
    foods = [f for f in pantry.table.values() if f.id not in known and not f.drink_only]
    cans = {food.id: food.counts().get("can") for food in foods}
    sold = {food: ("can", weight) for food, weight in cans.items() if weight} | packages(pantry)
    candidates = _candidates(foods, pantry)
    return what_would_help(result.problem, candidates, on_request=on_request, packages=sold)


def _candidates(foods: list[Food], pantry: Pantry) -> Shelf:
    shares = [1.0 if f.largest_share is None else f.largest_share for f in foods]
    return Shelf(
        tuple(foods),
        price=np.array([pantry.price_per_gram(food.id) for food in foods]),
        largest_share=np.array(shares),
        currency=pantry.currency,
    )


def packages(pantry: Pantry) -> dict[str, tuple[str, float]]:
    """Words and weight [g] of each food's package, for prices as people know them."""

    def known(item: Item) -> bool:
        return item.package is not None and item.package_grams is not None

    return {
        item.food.id: (str(item.package), float(item.package_grams or 0.0))
        for item in pantry.items
        if known(item)
    }
