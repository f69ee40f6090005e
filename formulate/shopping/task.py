"""What shopping is planned from: batches and recipes as food by day, packages, days, room.

A flock, its feed plan and a pantry become the numbers of `formulate.shopping.lots`. How foods
keep: the day of opening is the first of the days once open; the days closed count after the day
of purchase. What is bought is used from the next mixing on.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError
from formulate.blend.mix import Mix
from formulate.foods.tables import storage_days
from formulate.pantry.pantry import Item, Pantry
from formulate.rearing.feed_plan import FeedPlan
from formulate.rearing.feeding import check_refrigerator, plan_feeds, shortfall
from formulate.rearing.figures import value
from formulate.rearing.flock import Flock
from formulate.rearing.mixes import FlockMilk, flock_milk
from formulate.shopping.batches import (
    Batches,
    batches_of,
    kept_days,
    mixing_hour,
    mixing_step,
    round_up,
)
from formulate.shopping.lots import Good, LotProblem, Size, Stock, Trip

__all__ = [
    "Refused",
    "ShelfLife",
    "ShopRequest",
    "ShoppingTask",
    "prepare_shopping",
    "shelf_life",
]

#: Why a mix must not be fed; empty where it may be.
Refused = Callable[[Mix], str]

Array = NDArray[np.float64]

#: Days between trips where a household names no shopping days, and the least on one mix.
EVERY = 7
NOON = time(12)


@dataclass(frozen=True, slots=True)
class ShopRequest:
    """What a person can set.

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
        Stop when the plan is proved to be within this of the cheapest.
    """

    also: tuple[str, ...] = ()
    keeps: int | None = None
    mix_at: time | None = None
    trip_cost: float = 0.0
    seconds: float = 30.0
    gap: float = 0.01


@dataclass(frozen=True, slots=True)
class ShelfLife:
    """How long a food keeps here, and who says so.

    Parameters
    ----------
    food : str
    closed_days, open_days : int
    chilled, chilled_open : bool
    closed_source, open_source : str
        Keys of the source list; "label" for the person's own.
    note : str
    """

    food: str
    closed_days: int
    open_days: int
    chilled: bool
    chilled_open: bool
    closed_source: str
    open_source: str
    note: str


@dataclass(frozen=True, eq=False)
class ShoppingTask(ByContent):
    """Everything that shopping is planned from.

    Parameters
    ----------
    flock : Flock
    pantry : Pantry
    request : ShopRequest
    milks : tuple of FlockMilk
        Allowed, the flock's own first.
    plans : tuple of FeedPlan
        One for each.
    batches : tuple of Batches
        One for each.
    foods : tuple of Item
    keeps : tuple of ShelfLife
        One for each food.
    left_out : tuple of (name, reason)
        Mixes that were asked for and are not allowed.
    now : datetime
        The moment that is planned from.
    problem : LotProblem
    stint_starts : tuple of int
        First batch of each stretch on one mix.
    fed : ndarray, shape (n_batches, n_choices)
        Fed from each batch [L].
    mixed : ndarray, shape (n_milks + 1, n_batches, n_choices)
        Mixed of each milk, the milk before last [L].
    old_name : str
        Of the milk before; empty where there is none.
    """

    flock: Flock
    pantry: Pantry
    request: ShopRequest
    milks: tuple[FlockMilk, ...]
    plans: tuple[FeedPlan, ...]
    batches: tuple[Batches, ...]
    foods: tuple[Item, ...]
    keeps: tuple[ShelfLife, ...]
    left_out: tuple[tuple[str, str], ...]
    now: datetime
    problem: LotProblem
    stint_starts: tuple[int, ...]
    fed: Array
    mixed: Array
    old_name: str

    @property
    def first_day(self) -> date:
        """Of the plan."""
        return self.batches[0].first_day

    def date_of(self, day: int) -> date:
        """The date of a day counted from the first."""
        return self.first_day + timedelta(days=int(day))


def prepare_shopping(
    flock: Flock,
    pantry: Pantry,
    now: datetime,
    refused: Refused,
    named: str | None = None,
    request: ShopRequest | None = None,
) -> ShoppingTask:
    """Turn a flock and a pantry into the problem to solve.

    Raises
    ------
    InputError
        If a mix must not be fed, a food has no price, or the refrigerator cannot hold a day's
        milk.
    """
    request = request or ShopRequest()
    for name, number in (("--trip-cost", request.trip_cost), ("--seconds", request.seconds)):
        if not (math.isfinite(number) and number >= 0):
            raise InputError(f"{number:g} is not an amount", "Write a number from 0.", name)
    milks, plans, left_out = _allowed(flock, pantry, now, refused, named, request)
    check_refrigerator(plans[0])
    at = request.mix_at or mixing_hour(flock)
    keeps = kept_days(request.keeps)
    batches = tuple(batches_of(plan, at, keeps) for plan in plans)
    if not len(batches[0]):
        raise InputError("no milk is planned", "Every animal is weaned.", flock.where)
    old = None if flock.change is None else flock_milk(flock, pantry, flock.change.from_mix)
    foods, per_litre = _foods([*milks, *([old] if old else [])], pantry)
    kept = tuple(shelf_life(item) for item in foods)
    count = max(len(b) for b in batches)
    trips = _trips(flock, batches[0].first_day, count, keeps, at)
    starts = _stint_starts(trips, count, keeps) if len(milks) > 1 else (0,)
    fed, mixed, groups = _choices(flock, batches, count, starts)
    need = np.einsum("mbc,mf->fbc", mixed[: len(per_litre)], per_litre)
    goods = tuple(
        Good(
            k.food,
            k.open_days,
            k.closed_days,
            1.0 / (item.food.density or 1.0),
            k.chilled,
            k.chilled_open,
        )
        for k, item in zip(kept, foods, strict=True)
    )
    sizes = [
        (Size(f, package.grams, package.words), package.price)
        for f, item in enumerate(foods)
        for package in item.packages
    ]
    mix_day = np.arange(count, dtype=np.int64) * keeps
    problem = LotProblem(
        goods,
        tuple(size for size, _ in sizes),
        trips,
        tuple(_stock(foods, kept, now.date())),
        mix_day,
        mix_day + keeps - 1,
        need,
        groups,
        _milk_kept(mixed, fed, keeps),
        np.repeat(np.array([price for _, price in sizes])[:, None], len(trips), axis=1),
        np.full(len(trips), request.trip_cost),
        math.inf if flock.refrigerator is None else flock.refrigerator,
    )
    return ShoppingTask(
        flock,
        pantry,
        request,
        milks,
        plans,
        batches,
        foods,
        kept,
        left_out,
        now,
        problem,
        starts,
        fed,
        mixed,
        old.milk.name if old else "",
    )


def _allowed(
    flock: Flock,
    pantry: Pantry,
    now: datetime,
    refused: Refused,
    named: str | None,
    request: ShopRequest,
) -> tuple[tuple[FlockMilk, ...], tuple[FeedPlan, ...], tuple[tuple[str, str], ...]]:
    """Mixes that may be used, with their feed plans; the others with the reason."""
    own = flock_milk(flock, pantry, named)
    if why := refused(own.mix):
        raise InputError(f"{own.milk.name} must not be fed: {why}")
    change = flock.change
    old = None if change is None else flock_milk(flock, pantry, change.from_mix).milk
    milks, plans = [own], [plan_feeds(flock, own.milk, now, old_milk=old)]
    weak = _any_short(plans[0])
    left_out: list[tuple[str, str]] = []
    for name in request.also:
        milk = flock_milk(flock, pantry, name)
        if milk.milk.name in [other.milk.name for other in milks]:
            continue
        if why := refused(milk.mix):
            left_out.append((milk.milk.name, f"it must not be fed: {why}"))
            continue
        plan = plan_feeds(flock, milk.milk, now, old_milk=old)
        if _any_short(plan) and not weak:
            left_out.append((milk.milk.name, "too weak for some animal at these feeding times"))
            continue
        milks.append(milk)
        plans.append(plan)
    return tuple(milks), tuple(plans), tuple(left_out)


def _any_short(plan: FeedPlan) -> bool:
    return any(shortfall(plan, i) for i in range(len(plan.flock.animals)))


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
                    f"{milk.milk.name} takes {food.id}, which has no price in the pantry",
                    f"Add a table [foods.{food.id}] with its price and package.",
                    pantry.where,
                )
            found[food.id] = item
    per_litre = np.zeros((len(milks), len(found)))
    for m, milk in enumerate(milks):
        for food, grams in zip(milk.recipe.foods, milk.recipe.grams, strict=True):
            if food.id in found:
                per_litre[m, list(found).index(food.id)] = grams / (milk.mix.volume / 1e3)
    return tuple(found.values()), per_litre


def shelf_life(item: Item) -> ShelfLife:
    """How long a food keeps: by the person's own label, else by the shorter published figure."""
    table = storage_days()[item.food.kind]
    return ShelfLife(
        item.food.id,
        item.keeps_closed or table.unopened_days,
        item.keeps_open or table.opened_days,
        table.chilled,
        table.chilled_open,
        "label" if item.keeps_closed else table.unopened_source,
        "label" if item.keeps_open else table.source,
        f"closed: {table.unopened_note}; open: {table.note}",
    )


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


def _stint_starts(trips: tuple[Trip, ...], count: int, keeps: int) -> tuple[int, ...]:
    """First batches of the stretches in which the mix stays: a week at least, from a trip on."""
    starts = [0]
    for trip in trips[1:]:
        if min(trip.first_batch - starts[-1], count - trip.first_batch) * keeps >= EVERY:
            starts.append(trip.first_batch)
    return tuple(starts)


def _choices(
    flock: Flock, batches: tuple[Batches, ...], count: int, starts: tuple[int, ...]
) -> tuple[Array, Array, tuple[tuple[int, ...], ...]]:
    """What each choice of mix in each stretch feeds and mixes; a change of mix is gradual.

    The flock's own milk, the first, is what it drinks before; while it is only changing to that,
    nothing else is offered.

    Returns
    -------
    fed : ndarray, shape (n_batches, n_choices)
    mixed : ndarray, shape (n_milks + 1, n_batches, n_choices)
    groups : tuple of tuple of int
    """
    mixes, stints = len(batches), len(starts)
    keeps, days = batches[0].keeps, value("change-days")
    step = mixing_step(flock.kitchen)
    fed = np.zeros((count, stints * mixes))
    mixed = np.zeros((mixes + 1, count, stints * mixes))
    for m, mine in enumerate(batches):
        new, old = (np.pad(a, (0, count - len(mine))) for a in (mine.new, mine.old))
        made, made_old = round_up(new, step), round_up(old, step)
        for b in range(count):
            k = int(np.searchsorted(starts, b, side="right")) - 1
            since = (b - starts[k]) * keeps
            share = min((since + 1) / (days + 1), 1.0)
            if k == 0 and m == 0:
                share = 1.0
            # The rest is the milk of the stretch before; before the first, the flock's own.
            columns = [(k * mixes + m, share)]
            if k > 0:
                columns.append(((k - 1) * mixes + m, 1.0 - share))
            elif m == 0:
                columns += [
                    (other, 1.0 - min((since + 1) / (days + 1), 1.0)) for other in range(1, mixes)
                ]
            for choice, part in columns:
                if part > 0:
                    fed[b, choice] += part * (new[b] + old[b])
                    mixed[m, b, choice] += part * made[b]
                    mixed[mixes, b, choice] += part * made_old[b]
    groups = [tuple(range(k * mixes, (k + 1) * mixes)) for k in range(stints)]
    if batches[0].old.any():
        groups[0] = (0,)
    return fed, mixed, tuple(groups)


def _milk_kept(mixed: Array, fed: Array, keeps: int) -> Array:
    """Mixed milk in the refrigerator each day [mL], shape (n_days, n_choices).

    In full on the day of mixing, less what the days before fed of it on later ones.
    """
    total = mixed.sum(axis=0)
    days = [total - fed * day / keeps for day in range(keeps)]
    return np.asarray(np.stack(days, axis=1).reshape(-1, total.shape[1]) * 1e3)


def _stock(foods: tuple[Item, ...], kept: tuple[ShelfLife, ...], today: date) -> list[Stock]:
    """What is at home: whole packages are closed, the rest is open since today."""
    found = []
    for f, (item, keeps) in enumerate(zip(foods, kept, strict=True)):
        if not item.on_hand:
            continue
        package = item.package_grams or math.inf
        whole = int(item.on_hand / package + 1e-9)
        rest = item.on_hand - whole * package if whole else item.on_hand
        by = math.inf if item.use_by is None else (item.use_by - today).days
        if whole:
            last = int(min(keeps.closed_days, by))
            found.append(Stock(f, package, whole, False, last, item.package or ""))
        if rest > 1e-6 * item.on_hand:
            last = int(min(keeps.open_days - 1, by))
            found.append(Stock(f, rest, 1, True, last, "open package"))
    return [stock for stock in found if stock.last_day >= 0]
