"""Plan the shopping for a season of milk: which packages to buy, and which mix to make, when.

The feed plan's milk becomes batches, the recipe turns batches into food
(`formulate.shopping.task`), and `formulate.shopping.lot_solve` finds the cheapest
packages that keep. What it returns in numbers of days and batches is given here in dates and
foods.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time

import numpy as np

from formulate.base.clock import Clock
from formulate.base.errors import OutOfTime
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.blend.solve import Infeasible
from formulate.shopping.batches import jars_for
from formulate.shopping.lot_solve import least_room, solve_lots
from formulate.shopping.lots import LotPlan
from formulate.shopping.task import ShoppingTask

__all__ = [
    "MixedBatch",
    "NoShopping",
    "Opening",
    "Purchase",
    "Shopping",
    "ShoppingTrip",
    "Stint",
    "UnusedFood",
    "plan_shopping",
]


@dataclass(frozen=True, slots=True)
class Purchase:
    """Packages of one size bought on one trip.

    Parameters
    ----------
    food, package : str
    count : int
    grams : float
        Of one.
    price : float
        Of one [money].
    use_by : date
        Last day on which it may be opened and fed.
    """

    food: str
    package: str
    count: int
    grams: float
    price: float
    use_by: date

    @property
    def cost(self) -> float:
        """Of all of them [money]."""
        return self.count * self.price


@brief_repr
@dataclass(frozen=True, slots=True)
class ShoppingTrip:
    """One trip.

    Parameters
    ----------
    day : date
    purchases : tuple of Purchase
    """

    day: date
    purchases: tuple[Purchase, ...]

    @property
    def cost(self) -> float:
        """Of what is bought [money]."""
        return sum(purchase.cost for purchase in self.purchases)


@dataclass(frozen=True, slots=True)
class Opening:
    """Packages opened for a batch.

    Parameters
    ----------
    food, package : str
    count : int
    until : date
        Last day on which what is left of it may be used.
    """

    food: str
    package: str
    count: int
    until: date


@brief_repr
@dataclass(frozen=True, slots=True)
class MixedBatch:
    """One batch.

    Parameters
    ----------
    day : date
    at : time
    mixed, fed : float
        [L]
    milks : tuple of (name, litres)
        What is mixed of each.
    takes : tuple of (food, grams)
    opens : tuple of Opening
    room : float
        Fullest refrigerator of the days that it is fed on [mL].
    jars : int or None
        That hold it, each with one milk; None if no size of jar is named.
    """

    day: date
    at: time
    mixed: float
    fed: float
    milks: tuple[tuple[str, float], ...]
    takes: tuple[tuple[str, float], ...]
    opens: tuple[Opening, ...]
    room: float
    jars: int | None


@dataclass(frozen=True, slots=True)
class UnusedFood:
    """Food that no batch takes.

    Parameters
    ----------
    food : str
    grams : float
    last_day : date
        Of its use.
    good : bool
        Whether it is still good after the last feed.
    worth : float
        Its share of the price of its package [money]; 0 of stock.
    """

    food: str
    grams: float
    last_day: date
    good: bool
    worth: float


@dataclass(frozen=True, slots=True)
class Stint:
    """A stretch of days that some animals spend on one milk.

    Parameters
    ----------
    animals : tuple of str
        Their names.
    milk : str
    first_day : date
    """

    animals: tuple[str, ...]
    milk: str
    first_day: date


@brief_repr
@dataclass(frozen=True)
class Shopping:
    """A season's shopping.

    Parameters
    ----------
    task : ShoppingTask
    lots : LotPlan
    trips : tuple of ShoppingTrip
    batches : tuple of MixedBatch
    leftovers : tuple of UnusedFood
    stints : tuple of Stint
    """

    task: ShoppingTask
    lots: LotPlan
    trips: tuple[ShoppingTrip, ...]
    batches: tuple[MixedBatch, ...]
    leftovers: tuple[UnusedFood, ...]
    stints: tuple[Stint, ...]

    @property
    def cost(self) -> float:
        """Of packages and trips [money]."""
        return self.lots.cost

    @property
    def food_cost(self) -> float:
        """Of packages [money]."""
        return sum(trip.cost for trip in self.trips)

    @property
    def mixed(self) -> float:
        """Milk mixed [L]."""
        return sum(batch.mixed for batch in self.batches)

    @property
    def fed(self) -> float:
        """Milk fed [L]."""
        return sum(batch.fed for batch in self.batches)

    @property
    def wasted_milk(self) -> float:
        """Mixed and not fed [L]."""
        return self.mixed - self.fed


@brief_repr
@dataclass(frozen=True)
class NoShopping:
    """There is no plan.

    Parameters
    ----------
    task : ShoppingTask
    reason, remedy : str
    """

    task: ShoppingTask
    reason: str
    remedy: str


def plan_shopping(task: ShoppingTask, clock: Clock | None = None) -> Shopping | NoShopping:
    """Find the cheapest shopping for a season.

    Parameters
    ----------
    task : ShoppingTask
    clock : Clock, optional
        By default as long as was asked for, from now.
    """
    clock = clock or Clock(task.request.seconds)
    problem = task.problem
    apart = _too_far_apart(task)
    if apart:
        return apart
    try:
        answer = solve_lots(problem, clock=clock, relative_gap=task.request.gap)
    except OutOfTime:
        reason = say("shop.no.time", seconds=clock.seconds)
        return NoShopping(task, reason, say("shop.no.time-remedy"))
    if isinstance(answer, Infeasible):
        return _why_not(task, clock)
    return _told(task, answer)


def _too_far_apart(task: ShoppingTask) -> NoShopping | None:
    """A food that goes out of date between two shopping days."""
    problem = task.problem
    lots = problem.lots
    sure = problem.need.min(axis=2) if len(problem.groups) == 1 else problem.most
    for f, good in enumerate(problem.goods):
        covered = np.zeros(problem.batches, dtype=bool)
        for k in np.flatnonzero(lots.good == f):
            covered[lots.opened[k] : lots.last[k] + 1] = True
        for g, last, _ in problem.open_stock():
            if g == f:
                covered[: last + 1] = True
        gaps = np.flatnonzero(~covered & (sure[f] > 0))
        if gaps.size:
            day = task.date_of(int(problem.mix_day[gaps[0]]))
            reason = say("shop.no.apart", food=good.name, days=good.closed_days, day=day)
            return NoShopping(task, reason, say("shop.no.apart-remedy"))
    return None


def _why_not(task: ShoppingTask, clock: Clock) -> NoShopping:
    """Explain that the refrigerator is too small, and say how large it would have to be."""
    room = least_room(task.problem, clock)
    if room is None:
        needed = say("shop.no.room-more")
    else:
        needed = say("shop.no.room-about", litres=math.ceil(room / 100) / 10)
    reason = say("shop.no.room", have=task.problem.room / 1e3, needed=needed)
    return NoShopping(task, reason, say("shop.no.room-remedy"))


def _told(task: ShoppingTask, plan: LotPlan) -> Shopping:
    problem, lots = task.problem, task.problem.lots
    trips = []
    for t, trip in enumerate(problem.trips):
        bought = []
        for j, size in enumerate(problem.sizes):
            count = int(plan.count[(lots.size == j) & (lots.trip == t)].sum())
            if count:
                good = problem.goods[size.good]
                bought.append(
                    Purchase(
                        good.name,
                        size.label,
                        count,
                        size.grams,
                        float(problem.price[j, t]),
                        task.date_of(trip.day + good.closed_days),
                    )
                )
        if bought:
            trips.append(ShoppingTrip(task.date_of(trip.day), tuple(bought)))
    return Shopping(
        task,
        plan,
        tuple(trips),
        tuple(_mixed_batch(task, plan, b) for b in range(problem.batches)),
        tuple(_leftovers(task, plan)),
        _stints(task, plan),
    )


def _stints(task: ShoppingTask, plan: LotPlan) -> tuple[Stint, ...]:
    """Who is on which milk from when; stretches on one milk are one."""
    found: list[Stint] = []
    for chosen in plan.choices:
        column = task.columns.columns[chosen]
        animals, name = task.drinkers[column.drinkers].animals, column.milk.milk.name
        if found and (found[-1].animals, found[-1].milk) == (animals, name):
            continue
        first = task.date_of(int(task.problem.mix_day[column.first_batch]))
        found.append(Stint(animals, name, first))
    return tuple(found)


def _mixed_batch(task: ShoppingTask, plan: LotPlan, b: int) -> MixedBatch:
    problem, lots = task.problem, task.problem.lots
    choices = list(plan.choices)
    names = [milk.milk.name for milk in task.milks]
    litres = task.columns.mixed[:, b, :][:, choices].sum(axis=1)
    opens = []
    for k in np.flatnonzero((lots.opened == b) & (plan.count > 0)):
        stock = int(lots.stock[k])
        label = problem.sizes[lots.size[k]].label if stock < 0 else problem.stocks[stock].label
        opens.append(
            Opening(
                problem.goods[lots.good[k]].name,
                label,
                int(plan.count[k]),
                task.date_of(int(problem.end_day[lots.last[k]])),
            )
        )
    days = slice(int(problem.mix_day[b]), int(problem.end_day[b]) + 1)
    return MixedBatch(
        task.date_of(int(problem.mix_day[b])),
        task.batches.at,
        float(litres.sum()),
        float(task.columns.fed[b, choices].sum()),
        tuple((n, float(v)) for n, v in zip(names, litres, strict=True) if v > 1e-9),
        tuple(
            (problem.goods[f].name, float(plan.needs[f, b]))
            for f in range(len(problem.goods))
            if plan.needs[f, b] > 0
        ),
        tuple(opens),
        float(plan.room()[days].max()),
        _jars(task, choices, b),
    )


def _jars(task: ShoppingTask, choices: Sequence[int], b: int) -> int | None:
    """Jars for a batch; the milk of one group of drinkers is mixed together."""
    litres = np.zeros(len(task.drinkers))
    for column in choices:
        litres[task.columns.columns[column].drinkers] += task.columns.mixed[:, b, column].sum()
    jars = [jars_for(float(volume), task.flock.jar) for volume in litres]
    return None if None in jars else sum(count for count in jars if count)


def _leftovers(task: ShoppingTask, plan: LotPlan) -> list[UnusedFood]:
    """What is opened and not used, and stock that is never opened."""
    problem, lots = task.problem, task.problem.lots
    used, end = plan.used(), int(problem.end_day[-1])
    found = []
    for key, grams in sorted(plan.supplies().items()):
        left = grams - used.get(key, 0.0)
        good, opened, last = key
        if left <= 1e-3:
            continue
        mine = (lots.good == good) & (lots.opened == opened) & (lots.last == last)
        paid = float(plan.count[mine] @ lots.price[mine])
        # Food within its days on the last day is kept, not thrown away.
        keeps = problem.goods[good].opened_days
        last_day = 0 if opened < 0 else int(problem.mix_day[opened]) + keeps - 1
        found.append(
            UnusedFood(
                problem.goods[good].name,
                left,
                task.date_of(max(last_day, int(problem.end_day[last]))),
                last_day > end,
                paid * left / grams,
            )
        )
    for k, stock in enumerate(problem.stocks):
        closed = 0 if stock.opened else stock.count - int(plan.count[lots.stock == k].sum())
        if closed:
            found.append(
                UnusedFood(
                    problem.goods[stock.good].name,
                    closed * stock.grams,
                    task.date_of(stock.last_day),
                    stock.last_day > end,
                    0.0,
                )
            )
    return found
