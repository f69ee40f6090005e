"""The input of shopping: batches and recipes as food by day, packages, days, and space.

Drinkers with their milks and feed plans, and a pantry, become the numbers of
`formulate.shopping.lots`. However many milks there are, it is one plan: they share packages and
the refrigerator. What is bought is used from the next mixing on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.pantry.item import Item
from formulate.pantry.pantry import Pantry
from formulate.rearing.flock import Flock
from formulate.rearing.mixes import FlockMilk
from formulate.shopping.batches import (
    Batches,
    batches_of,
    kept_days,
    mixing_hour,
    mixing_step,
    together,
)
from formulate.shopping.drinkers import Columns, Drinkers, columns_of, milks_in
from formulate.shopping.lots import LotProblem, Size, Trip
from formulate.shopping.shelf_life import ShelfLife, as_good, shelf_life, stock_at_home

__all__ = ["ShopRequest", "ShoppingTask", "prepare_shopping"]

Array = NDArray[np.float64]

#: Days between trips if a household names no shopping days, and the fewest days on one mix.
EVERY = 7
NOON = time(12)


@dataclass(frozen=True, slots=True)
class ShopRequest:
    """What a person can ask of the shopping.

    Parameters
    ----------
    also : tuple of str
        Other mixes that may be used: recipes or their names.
    keeps : int or None
        Days that mixed milk is kept; None: the table's.
    mix_at : time or None
        Hour of mixing; None: before the first feed after the longest gap.
    trip_cost : float
        What one trip costs [money].
    seconds : float
        Longest search.
    gap : float
        Relative gap at which to stop.

    Raises
    ------
    InputError
        If an amount is not one.
    """

    also: tuple[str, ...] = ()
    keeps: int | None = None
    mix_at: time | None = None
    trip_cost: float = 0.0
    seconds: float = 30.0
    gap: float = 0.01

    def __post_init__(self) -> None:
        for name, number in (("trip_cost", self.trip_cost), ("seconds", self.seconds)):
            if not (math.isfinite(number) and number >= 0):
                error = InputError(say("shop.no-amount", number=number), say("shop.from-zero"))
                raise error.about(name)
        kept_days(self.keeps)


@brief_repr
@dataclass(frozen=True, eq=False)
class ShoppingTask(ByContent):
    """Everything that shopping is planned from.

    Parameters
    ----------
    flock : Flock
    pantry : Pantry
    request : ShopRequest
    now : datetime
        The moment that is planned from.
    drinkers : tuple of Drinkers
    milks : tuple of FlockMilk
        Every milk that may have to be mixed, those drunk now first.
    batches : Batches
        Of the milks drunk now, all drinkers together.
    foods : tuple of Item
    lives : tuple of ShelfLife
        One for each food.
    columns : Columns
        Milks by drinkers and stretch of days.
    problem : LotProblem
    """

    flock: Flock
    pantry: Pantry
    request: ShopRequest
    now: datetime
    drinkers: tuple[Drinkers, ...]
    milks: tuple[FlockMilk, ...]
    batches: Batches
    foods: tuple[Item, ...]
    lives: tuple[ShelfLife, ...]
    columns: Columns
    problem: LotProblem

    @property
    def first_day(self) -> date:
        """Of the plan."""
        return self.batches.first_day

    def date_of(self, day: int) -> date:
        """The date of a day counted from the first."""
        return self.first_day + timedelta(days=int(day))


def prepare_shopping(
    flock: Flock,
    pantry: Pantry,
    now: datetime,
    drinkers: Sequence[Drinkers],
    request: ShopRequest | None = None,
) -> ShoppingTask:
    """Turn drinkers and a pantry into the problem to solve.

    Raises
    ------
    InputError
        If a food has no price, no milk is planned, or the refrigerator cannot hold a day's milk.
    """
    request = request or ShopRequest()
    at, keeps = request.mix_at or mixing_hour(flock), kept_days(request.keeps)
    thirsty, batches = _with_milk(drinkers, at, keeps)
    if not thirsty:
        raise InputError(say("shop.nothing-needed"), where=flock.where)
    _check_refrigerator(flock, thirsty)
    milks = milks_in(thirsty)
    foods, per_litre = _foods(milks, pantry)
    lives = tuple(shelf_life(item) for item in foods)
    count = max(len(b) for of_one in batches for b in of_one)
    now_drunk = together([of_one[0] for of_one in batches])
    trips = _trips(flock, now_drunk.first_day, count, keeps, at)
    columns = columns_of(
        thirsty, batches, _stretches(trips, count, keeps), mixing_step(flock.kitchen)
    )
    sizes = [
        (Size(f, package.grams, package.words), package.price)
        for f, item in enumerate(foods)
        for package in item.packages
    ]
    mix_day = np.arange(count, dtype=np.int64) * keeps
    problem = LotProblem(
        tuple(as_good(life, item) for life, item in zip(lives, foods, strict=True)),
        tuple(size for size, _ in sizes),
        trips,
        stock_at_home(foods, lives, now.date()),
        mix_day,
        mix_day + keeps - 1,
        np.einsum("mbc,mf->fbc", columns.mixed, per_litre),
        columns.groups,
        _milk_kept(columns, keeps),
        np.repeat(np.array([price for _, price in sizes])[:, None], len(trips), axis=1),
        np.full(len(trips), request.trip_cost),
        math.inf if flock.refrigerator is None else flock.refrigerator,
    )
    return ShoppingTask(
        flock, pantry, request, now, thirsty, milks, now_drunk, foods, lives, columns, problem
    )


def _with_milk(
    drinkers: Sequence[Drinkers], at: time, keeps: int
) -> tuple[tuple[Drinkers, ...], list[list[Batches]]]:
    """The animals that still drink, and the batches of each of their milks."""
    thirsty, batches = [], []
    for who in drinkers:
        mine = [
            together([batches_of(plan, at, keeps) for plan in choice.plans])
            for choice in who.choices
        ]
        if len(mine[0]):
            thirsty.append(who)
            batches.append(mine)
    return tuple(thirsty), batches


def _check_refrigerator(flock: Flock, drinkers: Sequence[Drinkers]) -> None:
    """Reject a refrigerator that is smaller than the fullest day's milk."""
    plans = [plan for who in drinkers for plan in who.now.plans]
    days = max(len(plan.days) for plan in plans)
    litres = sum(np.pad(plan.litres_by_day(), (0, days - len(plan.days))) for plan in plans)
    fullest, room = 1e3 * float(np.max(litres)), flock.refrigerator
    if room is not None and room < fullest:
        raise InputError(
            say("shop.no-room", room=room / 1e3, fullest=fullest / 1e3),
            say("shop.make-room"),
            f"{flock.where}: refrigerator" if flock.where else "refrigerator",
        )


def _foods(milks: Sequence[FlockMilk], pantry: Pantry) -> tuple[tuple[Item, ...], Array]:
    """Foods to have, and how much a litre of each milk takes [g/L], shape (n_milks, n_foods)."""
    found: dict[str, Item] = {}
    for milk in milks:
        for food in milk.recipe.foods:
            item = pantry.item(food.id)
            if food.kind == "water" or food.id in found:
                continue
            if item is None or not item.packages:
                raise InputError(
                    say("shop.no-price", milk=milk.milk.name, food=food.id),
                    say("shop.add-price", food=food.id),
                    pantry.where,
                )
            found[food.id] = item
    per_litre = np.zeros((len(milks), len(found)))
    for m, milk in enumerate(milks):
        for food, grams in zip(milk.recipe.foods, milk.recipe.grams, strict=True):
            if food.id in found:
                per_litre[m, list(found).index(food.id)] = grams / (milk.mix.volume / 1e3)
    return tuple(found.values()), per_litre


def _trips(flock: Flock, first: date, count: int, keeps: int, at: time) -> tuple[Trip, ...]:
    """Today, before the first mixing, and every shopping day after it.

    What is bought is there for the next mixing: the day after where that is in the morning.
    """
    later = 0 if at >= NOON else 1
    trips = [Trip(0, 0)]
    for day in range(1, count * keeps):
        weekday = (first + timedelta(days=day)).weekday()
        wanted = weekday in flock.shopping_days if flock.shopping_days else day % EVERY == 0
        batch = -(-(day + later) // keeps)
        if wanted and batch < count:
            trips.append(Trip(day, batch))
    return tuple(trips)


def _stretches(trips: tuple[Trip, ...], count: int, keeps: int) -> tuple[int, ...]:
    """First batches of the stretches in which the mix stays: a week at least, from a trip on."""
    starts = [0]
    for trip in trips[1:]:
        if min(trip.first_batch - starts[-1], count - trip.first_batch) * keeps >= EVERY:
            starts.append(trip.first_batch)
    return tuple(starts)


def _milk_kept(columns: Columns, keeps: int) -> Array:
    """Mixed milk in the refrigerator each day [mL], shape (n_days, n_columns).

    In full on the day of mixing, less what the days before fed of it on later ones.
    """
    total = columns.mixed.sum(axis=0)
    days = [total - columns.fed * day / keeps for day in range(keeps)]
    return np.asarray(np.stack(days, axis=1).reshape(-1, total.shape[1]) * 1e3)
