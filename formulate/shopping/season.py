"""The cost of a season: milk, money, trips, hours, weights and dates, each with low and high.

Everything is reckoned from birth to weaning. The days before today count as logged; where the
log has nothing, as the plan would have given on the milk in use. The days from today are the
feed plan's. Low and high are those of the published accounts of growth: milk until the earliest
and until the latest day on which an animal may be ready.

Beside it stands what the same animals would have cost on other milks, all of their lives.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

import numpy as np
from numpy.typing import NDArray

from formulate.base.errors import InputError
from formulate.pantry.pantry import Pantry
from formulate.rearing.feed_plan import FeedPlan, Stage
from formulate.rearing.feeding import plan_feeds, shortfall
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, Flock
from formulate.rearing.milk import Milk
from formulate.rearing.mixes import FlockMilk, flock_milk
from formulate.shopping.plan import NoShopping, Shopping, plan_shopping
from formulate.shopping.task import Refused, ShopRequest, prepare_shopping

__all__ = ["AnimalSeason", "Estimate", "MilkSeason", "Season", "season_of"]

Array = NDArray[np.float64]

#: Longest search for the shopping of another milk that is only compared [s].
COMPARED_SECONDS = 5.0


@dataclass(frozen=True, slots=True)
class Estimate:
    """Low, expected and high."""

    low: float
    expected: float
    high: float

    def times(self, factor: float) -> Estimate:
        """Each times a factor."""
        return Estimate(self.low * factor, self.expected * factor, self.high * factor)

    def plus(self, other: Estimate) -> Estimate:
        """Sums of lows, of middles, of highs."""
        return Estimate(
            self.low + other.low, self.expected + other.expected, self.high + other.high
        )


@dataclass(frozen=True, slots=True)
class AnimalSeason:
    """One animal from birth to weaning.

    Parameters
    ----------
    name : str
    born : date
    ready : tuple of date or None
        Earliest, expected and latest day on which it may be ready.
    weight : float
        Expected on the day it may be ready [kg].
    gained : float
        Since birth, or since the first weight [kg].
    litres : Estimate
        [L]
    cost : Estimate
        [money]
    """

    name: str
    born: date
    ready: tuple[date | None, date | None, date | None]
    weight: float
    gained: float
    litres: Estimate
    cost: Estimate


@dataclass(frozen=True, slots=True)
class MilkSeason:
    """The same animals on one milk, from birth to weaning.

    Parameters
    ----------
    name : str
    litres : Estimate
        [L]
    cost : Estimate
        Of what is drunk, by weight of food [money].
    bought : float or None
        Whole packages from today on [money]; None where there is no plan of shopping.
    gained : float
        By all animals [kg].
    per_litre : float
        [money/L]
    remark : str
        Why it may not do; empty where nothing speaks against it.
    """

    name: str
    litres: Estimate
    cost: Estimate
    bought: float | None
    gained: float
    per_litre: float
    remark: str = ""

    def per_kilogram(self) -> float:
        """Milk for a kilogram gained [money/kg]."""
        return self.cost.expected / self.gained


@dataclass(frozen=True)
class Season:
    """A season.

    Parameters
    ----------
    flock : Flock
    pantry : Pantry
    milk : FlockMilk
    plan : FeedPlan
    shopping : Shopping or NoShopping
        From today on.
    animals : tuple of AnimalSeason
    own : MilkSeason
    others : tuple of MilkSeason
        The cheapest first.
    forbidden : tuple of (name, reason)
        Recipes of the pantry that are not compared.
    hours : Estimate
        Of feeding and mixing from today on [h].
    """

    flock: Flock
    pantry: Pantry
    milk: FlockMilk
    plan: FeedPlan
    shopping: Shopping | NoShopping
    animals: tuple[AnimalSeason, ...]
    own: MilkSeason
    others: tuple[MilkSeason, ...]
    forbidden: tuple[tuple[str, str], ...]
    hours: Estimate


def season_of(
    flock: Flock,
    pantry: Pantry,
    now: datetime,
    refused: Refused,
    named: str | None = None,
    request: ShopRequest | None = None,
) -> Season:
    """Reckon a season.

    Raises
    ------
    InputError
        If a food of the milk in use has no price.
    """
    request = request or ShopRequest()
    task = prepare_shopping(flock, pantry, now, refused, named, request)
    shopping = plan_shopping(task)
    plan, milk = task.plans[0], task.milks[0]
    per_litre = _per_litre(milk)
    old = None if flock.change is None else flock_milk(flock, pantry, flock.change.from_mix)
    animals = []
    for i, animal in enumerate(flock.animals):
        before = _before(flock, animal, milk.milk, now.date())
        # On the days of a change each milk counts at its own price.
        shares = plan.share_new
        paid = per_litre * shares
        if old is not None:
            paid = paid + _per_litre(old) * (1 - shares)
        litres, cost = _spread(plan, i, paid)
        animals.append(
            AnimalSeason(
                animal.name,
                animal.born,
                _ready(plan, i),
                _last_weight(plan, i),
                _last_weight(plan, i) - animal.all_weights[0].kilograms,
                Estimate(before, before, before).plus(litres),
                Estimate(before, before, before).times(per_litre).plus(cost),
            )
        )
    own = MilkSeason(
        milk.milk.name,
        _total(a.litres for a in animals),
        _total(a.cost for a in animals),
        shopping.food_cost if isinstance(shopping, Shopping) else None,
        sum(a.gained for a in animals),
        per_litre,
        "too weak for some animal" if _weak(plan) else "",
    )
    others, forbidden = _others(flock, pantry, now, refused, request, milk.milk.name)
    return Season(
        flock,
        pantry,
        milk,
        plan,
        shopping,
        tuple(animals),
        own,
        tuple(sorted(others, key=lambda other: (other.cost.expected, other.name))),
        tuple(forbidden),
        _hours(plan, task.batches[0].bottles.sum(), len(task.batches[0])),
    )


def _per_litre(milk: FlockMilk) -> float:
    cost = milk.mix.cost_per_litre
    if cost is None:
        raise InputError(f"{milk.milk.name} has no cost, since a food of it has no price here")
    return cost


def _weak(plan: FeedPlan) -> bool:
    return any(shortfall(plan, i) for i in range(len(plan.flock.animals)))


def _total(spreads: Iterable[Estimate]) -> Estimate:
    total = Estimate(0.0, 0.0, 0.0)
    for spread in spreads:
        total = total.plus(spread)
    return total


def _ready(plan: FeedPlan, i: int) -> tuple[date | None, date | None, date | None]:
    weaning = plan.weaning[i]
    return weaning.earliest, weaning.ready, weaning.latest


def _last_weight(plan: FeedPlan, i: int) -> float:
    """Expected on the day it is ready, or on the last day looked at [kg]."""
    ready = plan.weaning[i].ready
    day = len(plan.days) - 1 if ready is None else max((ready - plan.days[0]).days, 0)
    weight = float(plan.weight[1, i, min(day, len(plan.days) - 1)])
    if np.isnan(weight):
        return plan.flock.animals[i].last_weight.kilograms
    return weight


def _spread(plan: FeedPlan, i: int, paid: Array) -> tuple[Estimate, Estimate]:
    """Milk [L] and its price [money] from today on, to the earliest and latest weaning."""
    litres = plan.litres[i]
    full = np.flatnonzero(plan.stage[i] == Stage.MILK)
    a_day = float(litres[full[-1]]) if full.size else 0.0
    earliest, ready, latest = _ready(plan, i)
    fewer = 0 if ready is None or earliest is None else (ready - earliest).days
    more = 0 if ready is None or latest is None else (latest - ready).days
    total = float(litres.sum())
    low = max(total - fewer * a_day, 0.0)
    high = total + more * a_day
    cost = float(litres @ paid)
    last = float(paid[-1])
    return (
        Estimate(low, total, high),
        Estimate(max(cost - (total - low) * last, 0.0), cost, cost + (high - total) * last),
    )


def _before(flock: Flock, animal: Animal, milk: Milk, today: date) -> float:
    """Milk that an animal had before today [L]: as logged, else as the plan would have given."""
    logged: dict[date, float] = {}
    for drunk in animal.milk:
        day = drunk.at.date()
        logged[day] = logged.get(day, 0.0) + drunk.millilitres / 1e3
    days = [animal.born + timedelta(days=k) for k in range(max((today - animal.born).days, 0))]
    if all(day in logged for day in days):
        return sum(logged[day] for day in days)
    given = _from_birth(flock, animal, milk, len(days))
    return sum(logged.get(day, given.get(day, 0.0)) for day in days)


def _from_birth(flock: Flock, animal: Animal, milk: Milk, days: int) -> dict[date, float]:
    """Litres a day that the plan gives an animal of which only its first weight is known."""
    first = animal.all_weights[0]
    as_born = replace(
        animal, birth_weight=first.kilograms, weighings=(), milk=(), creep=(), colostrum=()
    )
    # Newborns are fed every three hours where need be, whatever the household does today.
    alone = replace(
        flock,
        animals=(as_born,),
        change=None,
        feeding_times=tuple(time(hour) for hour in range(0, 24, 3)),
    )
    plan = plan_feeds(alone, milk, datetime.combine(animal.born, time(12)), days=max(days, 1))
    return dict(zip(plan.days, plan.litres_by_day().tolist(), strict=True))


def _others(
    flock: Flock,
    pantry: Pantry,
    now: datetime,
    refused: Refused,
    request: ShopRequest,
    own: str,
) -> tuple[list[MilkSeason], list[tuple[str, str]]]:
    """The pantry's other recipes, and those that cannot be compared."""
    found, forbidden = [], []
    settled = replace(flock, change=None)
    for name in pantry.recipes:
        if name == own:
            continue
        try:
            milk = flock_milk(flock, pantry, name)
            per_litre = _per_litre(milk)
        except InputError as error:
            forbidden.append((name, error.problem))
            continue
        if why := refused(milk.mix):
            forbidden.append((name, f"it must not be fed: {why}"))
            continue
        plan = plan_feeds(settled, milk.milk, now)
        litres = Estimate(0.0, 0.0, 0.0)
        gained = 0.0
        for i, animal in enumerate(flock.animals):
            before = _before(
                replace(flock, change=None), replace(animal, milk=()), milk.milk, now.date()
            )
            later, _ = _spread(plan, i, np.ones(len(plan.days)))
            litres = litres.plus(later).plus(Estimate(before, before, before))
            gained += _last_weight(plan, i) - animal.all_weights[0].kilograms
        remark = "too weak for some animal" if _weak(plan) else ""
        found.append(
            MilkSeason(
                name,
                litres,
                litres.times(per_litre),
                _bought(settled, pantry, now, refused, name, request),
                gained,
                per_litre,
                remark,
            )
        )
    return found, forbidden


def _bought(
    flock: Flock,
    pantry: Pantry,
    now: datetime,
    refused: Refused,
    name: str,
    request: ShopRequest,
) -> float | None:
    """Whole packages from today on [money]; None where they cannot be had or kept."""
    hurried = replace(request, also=(), seconds=min(request.seconds, COMPARED_SECONDS))
    try:
        shopping = plan_shopping(prepare_shopping(flock, pantry, now, refused, name, hurried))
    except InputError:
        return None
    return shopping.food_cost if isinstance(shopping, Shopping) else None


def _hours(plan: FeedPlan, bottles: int, batches: int) -> Estimate:
    low, middle, high = (
        (bottles * value(f"bottle-minutes{end}") + batches * value(f"batch-minutes{end}")) / 60
        for end in ("-low", "", "-high")
    )
    return Estimate(float(low), float(middle), float(high))
