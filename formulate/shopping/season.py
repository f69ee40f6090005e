"""The cost of a season: milk, money, hours, weights and dates, each with low and high.

Everything is counted from birth to weaning. The days before today count as logged; where the log
is empty, they count as the plan would have fed them on the milk in use. The days from today on are
those of the feed plan. Low and high follow the published range of growth: milk until the earliest
and until the latest day on which an animal may be ready.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

import numpy as np
from numpy.typing import NDArray

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.rearing.feed_plan import FeedPlan, Stage
from formulate.rearing.feeding import plan_feeds
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, Flock
from formulate.rearing.milk import Milk
from formulate.rearing.mixes import FlockMilk
from formulate.shopping.batches import Batches
from formulate.shopping.drinkers import MilkChoice

__all__ = ["AnimalSeason", "Estimate", "MilkSeason", "animal_seasons", "hours_of", "milk_season"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Estimate:
    """Low, expected and high."""

    low: float
    expected: float
    high: float

    def times(self, factor: float) -> Estimate:
        """All three times a factor."""
        return Estimate(self.low * factor, self.expected * factor, self.high * factor)

    def plus(self, other: Estimate) -> Estimate:
        """Sums of lows, of middles, of highs."""
        pairs = (self.low, other.low), (self.expected, other.expected), (self.high, other.high)
        return Estimate(*(a + b for a, b in pairs))


@brief_repr
@dataclass(frozen=True, slots=True)
class AnimalSeason:
    """One animal from birth to weaning.

    Parameters
    ----------
    name : str
    milk : str
        What it drinks.
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
    milk: str
    born: date
    ready: tuple[date | None, date | None, date | None]
    weight: float
    gained: float
    litres: Estimate
    cost: Estimate


@brief_repr
@dataclass(frozen=True, slots=True)
class MilkSeason:
    """All animals on the milk they have, or on one milk, from birth to weaning.

    Parameters
    ----------
    name : str
    litres : Estimate
        [L]
    cost : Estimate
        By weight of food [money].
    bought : float or None
        Whole packages from today on [money]; None if there is no plan of shopping.
    gained : float
        By all animals [kg].
    several : bool
        Whether the animals are on different milks.
    """

    name: str
    litres: Estimate
    cost: Estimate
    bought: float | None
    gained: float
    several: bool = False

    @property
    def per_litre(self) -> float:
        """[money/L]."""
        return self.cost.expected / self.litres.expected

    @property
    def per_kilogram(self) -> float:
        """Milk for a kilogram gained [money/kg]."""
        return self.cost.expected / self.gained


def milk_season(name: str, animals: Iterable[AnimalSeason], bought: float | None) -> MilkSeason:
    """The sum of the animals' seasons."""
    animals = tuple(animals)
    return MilkSeason(
        name,
        _total(a.litres for a in animals),
        _total(a.cost for a in animals),
        bought,
        sum(a.gained for a in animals),
        len({a.milk for a in animals}) > 1,
    )


def animal_seasons(
    choice: MilkChoice, before: FlockMilk | None, now: datetime, *, logged: bool = True
) -> tuple[AnimalSeason, ...]:
    """Each animal on a milk from birth to weaning.

    Parameters
    ----------
    choice : MilkChoice
    before : FlockMilk or None
        The milk that is still stirred in.
    now : datetime
    logged : bool
        Whether the days before today count as logged, not as this milk would have been given.

    Raises
    ------
    InputError
        If a food of a milk has no price.
    """
    per_litre, milk = _per_litre(choice.milk), choice.milk.milk
    found = []
    for plan in choice.plans:
        # On the days of a change each milk counts at its own price.
        paid = per_litre * plan.share_new
        if before is not None:
            paid = paid + _per_litre(before) * (1 - plan.share_new)
        for i, animal in enumerate(plan.flock.animals):
            known = animal if logged else replace(animal, milk=())
            past = _before(plan.flock, known, milk, now.date())
            litres, cost = _to_come(plan, i, paid)
            weight = _last_weight(plan, i)
            found.append(
                AnimalSeason(
                    animal.name,
                    milk.name,
                    animal.born,
                    _ready(plan, i),
                    weight,
                    weight - animal.all_weights[0].kilograms,
                    Estimate(past, past, past).plus(litres),
                    Estimate(past, past, past).times(per_litre).plus(cost),
                )
            )
    return tuple(found)


def _per_litre(milk: FlockMilk) -> float:
    cost = milk.mix.cost_per_litre
    if cost is None:
        raise InputError(say("shop.no-cost", milk=milk.milk.name))
    return cost


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


def _to_come(plan: FeedPlan, i: int, paid: Array) -> tuple[Estimate, Estimate]:
    """Milk [L] and its price [money] from today on, to the earliest and latest weaning."""
    litres = plan.litres[i]
    full = np.flatnonzero(plan.stage[i] == Stage.MILK)
    a_day = float(litres[full[-1]]) if full.size else 0.0
    earliest, ready, latest = _ready(plan, i)
    fewer = 0 if ready is None or earliest is None else (ready - earliest).days
    if latest is None:  # no milk is planned past an age
        animal = plan.flock.animals[i]
        latest = animal.born + timedelta(days=int(value("milk-last-age", animal.species)))
    more = 0 if ready is None else max((latest - ready).days, 0)
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
    """Litres a day that the plan gives an animal with only a first weight."""
    first = animal.all_weights[0]
    as_born = replace(
        animal, birth_weight=first.kilograms, weighings=(), milk=(), creep=(), colostrum=()
    )
    # Newborns are fed every three hours if necessary, whatever the household does today.
    alone = replace(
        flock,
        animals=(as_born,),
        change=None,
        feeding_times=tuple(time(hour) for hour in range(0, 24, 3)),
    )
    plan = plan_feeds(alone, milk, datetime.combine(animal.born, time(12)), days=max(days, 1))
    return dict(zip(plan.days, plan.litres_by_day().tolist(), strict=True))


def hours_of(batches: Batches) -> Estimate:
    """Hours of feeding and mixing from today on [h]."""
    bottles, mixings = int(batches.bottles.sum()), len(batches)
    low, middle, high = (
        (bottles * value(f"bottle-minutes{end}") + mixings * value(f"batch-minutes{end}")) / 60
        for end in ("-low", "", "-high")
    )
    return Estimate(low, middle, high)
