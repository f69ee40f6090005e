"""A season of buying, opening and using as arrays: lot sizing with spoilage.

Time runs in *batches* of milk, each mixed on one day and fed until another. A *lot* is a number
of packages of one size, bought on one trip and opened for one batch: it is known from the first
on which batch is the last that it may go into::

    last day = the earlier of   day of opening  + days it keeps open − 1
                                day of purchase + days it keeps closed

and a lot goes into a batch only if it is in date on the last day on which that batch is fed.
Food flows from lots to batches; what flows nowhere is thrown away or left over at the end. What a
batch needs of each food depends on the mix chosen for its stretch of days.

There are no dates here: days and batches are numbers from 0.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import SolverFault
from formulate.base.messages import say
from formulate.base.shown import brief_repr

__all__ = ["Good", "LotPlan", "LotProblem", "Lots", "Size", "Stock", "Trip", "audit"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

#: Shortfall, in packages, that is rounding error.
CLOSE = 1e-6


@dataclass(frozen=True, slots=True)
class Good:
    """A food as it keeps.

    Parameters
    ----------
    name : str
    opened_days : int
        Days it keeps once open; the day of opening is the first.
    closed_days : int
        Days it keeps closed after the day of purchase.
    millilitres : float
        Room that a gram takes [mL/g].
    chilled : bool
        Whether it stands in the refrigerator while closed.
    chilled_open : bool
        Whether it does once open.
    """

    name: str
    opened_days: int
    closed_days: int
    millilitres: float = 1.0
    chilled: bool = True
    chilled_open: bool = True


@dataclass(frozen=True, slots=True)
class Size:
    """A package that a food is sold in.

    Parameters
    ----------
    good : int
    grams : float
    label : str
    """

    good: int
    grams: float
    label: str = ""


@dataclass(frozen=True, slots=True)
class Trip:
    """A day on which food can be bought.

    Parameters
    ----------
    day : int
    first_batch : int
        The first batch that what is bought can go into.
    """

    day: int
    first_batch: int


@dataclass(frozen=True, slots=True)
class Stock:
    """Packages at home on the first day, already paid.

    Parameters
    ----------
    good : int
    grams : float
        Of one.
    count : int
    opened : bool
        Then it is open from the first batch on.
    last_day : int
        Last day on which it may be used.
    label : str
    """

    good: int
    grams: float
    count: int
    opened: bool
    last_day: int
    label: str = ""


@dataclass(frozen=True, eq=False)
class Lots(ByContent):
    """Every lot there can be, as arrays of shape (n_lots,).

    Parameters
    ----------
    size : ndarray of int
        −1 for stock.
    stock : ndarray of int
        −1 for what is bought.
    trip : ndarray of int
        −1 for stock.
    good, opened, last : ndarray of int
        Food, batch it is opened for, last batch it may go into.
    grams : ndarray
        Of one package.
    price : ndarray
        Of one package [money].
    """

    size: Whole
    stock: Whole
    trip: Whole
    good: Whole
    opened: Whole
    last: Whole
    grams: Array
    price: Array

    def __len__(self) -> int:
        return len(self.size)


@brief_repr
@dataclass(frozen=True, eq=False)
class LotProblem(ByContent):
    """What to buy, when, and which mix to make.

    Parameters
    ----------
    goods, sizes, trips, stocks : tuples
        Trips by day.
    mix_day, end_day : ndarray of int, shape (n_batches,)
        Day of mixing and last day of feeding of each batch.
    need : ndarray, shape (n_goods, n_batches, n_choices)
        Food that a batch takes if a choice is made [g]; choices made together add up.
    groups : tuple of tuple of int
        Choices of which exactly one is made; together all of them.
    milk : ndarray, shape (n_days, n_choices)
        Mixed milk in the refrigerator on a day [mL].
    price : ndarray, shape (n_sizes, n_trips)
        Of a package [money].
    trip_cost : ndarray, shape (n_trips,)
        Of going at all [money].
    room : float
        In the refrigerator [mL]; inf if there is no limit.
    """

    goods: tuple[Good, ...]
    sizes: tuple[Size, ...]
    trips: tuple[Trip, ...]
    stocks: tuple[Stock, ...]
    mix_day: Whole
    end_day: Whole
    need: Array
    groups: tuple[tuple[int, ...], ...]
    milk: Array
    price: Array
    trip_cost: Array
    room: float = np.inf

    @property
    def batches(self) -> int:
        """How many there are."""
        return len(self.mix_day)

    @cached_property
    def most(self) -> Array:
        """Most that a batch can need of each food [g], shape (n_goods, n_batches)."""
        total = np.zeros(self.need.shape[:2])
        for group in self.groups:
            total += self.need[:, :, list(group)].max(axis=2)
        return total

    @cached_property
    def latest_trip_does(self) -> bool:
        """Whether buying later is never worse: prices stay the same and trips cost nothing."""
        same = self.price.shape[1] == 0 or bool((self.price == self.price[:, :1]).all())
        return same and not self.trip_cost.any()

    def last_batch(self, last_day: int) -> int:
        """Last batch that is fed by a day; −1 where none is."""
        return int(np.searchsorted(self.end_day, last_day, side="right")) - 1

    def latest_trip(self, batch: int) -> int:
        """The last trip before a batch; −1 if there is none."""
        return max(
            (t for t, trip in enumerate(self.trips) if trip.first_batch <= batch), default=-1
        )

    @cached_property
    def lots(self) -> Lots:
        """Every lot worth considering."""
        rows: list[tuple[int, int, int, int, int, int, float, float]] = []
        for j, size in enumerate(self.sizes):
            good = self.goods[size.good]
            for b in np.flatnonzero(self.most[size.good] > 0):
                trips = [t for t, trip in enumerate(self.trips) if trip.first_batch <= b]
                for t in trips[-1:] if self.latest_trip_does else trips:
                    last_day = min(
                        int(self.mix_day[b]) + good.opened_days - 1,
                        self.trips[t].day + good.closed_days,
                    )
                    last = self.last_batch(last_day)
                    if last >= b:
                        price = float(self.price[j, t])
                        rows.append((j, -1, t, size.good, int(b), last, size.grams, price))
        for k, stock in enumerate(self.stocks):
            if stock.opened:
                continue
            good = self.goods[stock.good]
            for b in np.flatnonzero(self.most[stock.good] > 0):
                last_day = min(int(self.mix_day[b]) + good.opened_days - 1, stock.last_day)
                last = self.last_batch(last_day)
                if last >= b:
                    rows.append((-1, k, -1, stock.good, int(b), last, stock.grams, 0.0))
        table = np.array(rows, dtype=float).reshape(-1, 8).T
        size, stock, trip, food, opened, lasts = table[:6].astype(np.int64)
        return Lots(size, stock, trip, food, opened, lasts, table[6], table[7])

    def open_stock(self) -> list[tuple[int, int, float]]:
        """Open packages at home: food, last batch, grams."""
        return [
            (stock.good, self.last_batch(stock.last_day), stock.grams * stock.count)
            for stock in self.stocks
            if stock.opened
        ]


@brief_repr
@dataclass(frozen=True, eq=False)
class LotPlan(ByContent):
    """What is bought, opened and used.

    Parameters
    ----------
    problem : LotProblem
    choices : tuple of int
        The choice made of each group.
    count : ndarray of int, shape (n_lots,)
        Packages of each lot.
    flows : mapping of (good, opened, last, batch) to grams
        Food from the lots of one food that are opened for one batch and keep until another,
        into a batch. Stock that is open on the first day counts as opened for batch −1.
    bound : float
        No plan costs less [money].
    complete : bool
        Whether the search ended by itself, not at its time limit.
    """

    problem: LotProblem
    choices: tuple[int, ...]
    count: Whole
    flows: dict[tuple[int, int, int, int], float]
    bound: float
    complete: bool

    @cached_property
    def cost(self) -> float:
        """Of packages and trips [money]."""
        trips = self.problem.trip_cost[self.trips_made].sum() if self.trips_made else 0.0
        return float(self.count @ self.problem.lots.price + trips)

    @property
    def trips_made(self) -> list[int]:
        """Trips on which something is bought."""
        bought = self.problem.lots.trip[(self.count > 0) & (self.problem.lots.trip >= 0)]
        return sorted({int(t) for t in bought})

    @property
    def gap(self) -> float:
        """Proven relative distance from the cheapest."""
        return max(0.0, self.cost - self.bound) / max(abs(self.cost), 1e-12)

    @cached_property
    def needs(self) -> Array:
        """Food that each batch takes [g], shape (n_goods, n_batches)."""
        total: Array = self.problem.need[:, :, list(self.choices)].sum(axis=2)
        return total

    def used(self) -> dict[tuple[int, int, int], float]:
        """Grams used of each (good, opened, last)."""
        total: dict[tuple[int, int, int], float] = {}
        for (good, opened, last, _), grams in self.flows.items():
            total[good, opened, last] = total.get((good, opened, last), 0.0) + grams
        return total

    def supplies(self) -> dict[tuple[int, int, int], float]:
        """Grams opened of each (good, opened, last)."""
        lots = self.problem.lots
        total: dict[tuple[int, int, int], float] = {}
        for k in np.flatnonzero(self.count):
            key = (int(lots.good[k]), int(lots.opened[k]), int(lots.last[k]))
            total[key] = total.get(key, 0.0) + float(self.count[k] * lots.grams[k])
        for good, last, grams in self.problem.open_stock():
            total[good, -1, last] = total.get((good, -1, last), 0.0) + grams
        return total

    def room(self) -> Array:
        """Milk and food in the refrigerator each day [mL], shape (n_days,).

        At its fullest: after that day's mixing and its shopping. What will not be used is not
        kept.
        """
        problem, lots = self.problem, self.problem.lots
        days = np.arange(len(problem.milk))
        total: Array = problem.milk[:, list(self.choices)].sum(axis=1)
        for bought_lot in np.flatnonzero(self.count):
            good = problem.goods[lots.good[bought_lot]]
            if good.chilled and lots.trip[bought_lot] >= 0:
                bought = problem.trips[lots.trip[bought_lot]].day
                closed = (days >= bought) & (days < problem.mix_day[lots.opened[bought_lot]])
                total += closed * self.count[bought_lot] * lots.grams[bought_lot] * good.millilitres
        for k, stock in enumerate(problem.stocks):
            good = problem.goods[stock.good]
            if stock.opened or not good.chilled:
                continue
            left = np.full(len(days), float(stock.count))
            for lot in np.flatnonzero((lots.stock == k) & (self.count > 0)):
                left -= (days >= problem.mix_day[lots.opened[lot]]) * self.count[lot]
            total += (days <= stock.last_day) * left * stock.grams * good.millilitres
        for (i, opened, _, batch), grams in self.flows.items():
            good = problem.goods[i]
            if good.chilled_open:
                since = 0 if opened < 0 else int(problem.mix_day[opened])
                standing = (days >= since) & (days < problem.mix_day[batch])
                total += standing * grams * good.millilitres
        return total


def audit(plan: LotPlan) -> None:
    """Check a plan from its counts and flows alone.

    Raises
    ------
    SolverFault
        If a batch is short, a food is used out of date or beyond what is there, stock is used
        twice, or the refrigerator overflows.
    """
    problem, lots = plan.problem, plan.problem.lots
    unit = max((size.grams for size in problem.sizes), default=1.0)
    if (plan.count < 0).any():
        raise SolverFault(say("solver.less-than-nothing-bought"))
    for group, choice in zip(problem.groups, plan.choices, strict=True):
        if choice not in group:
            raise SolverFault(say("solver.mix-not-on-offer"))
    got = np.zeros_like(plan.needs)
    for (good, opened, last, batch), grams in plan.flows.items():
        if not max(opened, 0) <= batch <= last:
            raise SolverFault(say("solver.out-of-date", food=problem.goods[good].name))
        if grams < -CLOSE * unit:
            raise SolverFault(say("solver.less-than-nothing-used"))
        got[good, batch] += grams
    if np.abs(got - plan.needs).max(initial=0.0) > CLOSE * unit:
        raise SolverFault(say("solver.batch-short"))
    supplies = plan.supplies()
    for key, grams in plan.used().items():
        if grams > supplies.get(key, 0.0) + CLOSE * unit:
            raise SolverFault(say("solver.more-than-there-is", food=problem.goods[key[0]].name))
    for k, stock in enumerate(problem.stocks):
        if plan.count[lots.stock == k].sum() > stock.count:
            raise SolverFault(say("solver.stock-not-there"))
    if plan.room().max(initial=0.0) > problem.room * (1 + CLOSE) + CLOSE * unit:
        raise SolverFault(say("solver.refrigerator-too-full"))
