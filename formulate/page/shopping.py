"""The shopping list, ready to be shown."""

from __future__ import annotations

from dataclasses import dataclass

from formulate.page.words import counted
from formulate.pantry import Pantry
from formulate.rearing.flock_file import FlockRead
from formulate.rearing.mixes import flock_milk
from formulate.rearing.shopping import NoShopping, ShoppingTrip, plan_shopping
from formulate.rearing.shopping_task import Wishes, prepare_shopping
from formulate.report import words as say

__all__ = ["List", "Trip", "shopping_list"]

#: Longest search of one request [s].
PATIENCE = 5.0
#: Trips shown at once; the rest are one tap away.
SOON = 3


@dataclass(frozen=True)
class Trip:
    """One trip.

    Parameters
    ----------
    day, cost : str
    goods : tuple of str
    """

    day: str
    cost: str
    goods: tuple[str, ...]


@dataclass(frozen=True)
class List:
    """What to buy, trip by trip.

    Parameters
    ----------
    summary : str
    soon, later : tuple of Trip
    left : tuple of str
        What is thrown away or left over.
    why_not : tuple of str
        Why there is no list.
    """

    summary: str = ""
    soon: tuple[Trip, ...] = ()
    later: tuple[Trip, ...] = ()
    left: tuple[str, ...] = ()
    why_not: tuple[str, ...] = ()


def shopping_list(read: FlockRead, pantry: Pantry) -> List:
    """Plan the shopping for a flock to the end of its milk."""
    milk = flock_milk(read.flock, pantry)
    if milk.never_fed:
        return List(why_not=tuple(caution.text for caution in milk.never_fed))
    task = prepare_shopping(read.flock, pantry, read.now, None, Wishes(seconds=PATIENCE))
    found = plan_shopping(task)
    if isinstance(found, NoShopping):
        return List(why_not=(found.reason, found.remedy))
    currency = pantry.currency
    trips = tuple(_trip(trip, currency) for trip in found.trips)
    last = found.batches[-1].day
    summary = (
        f"{found.fed:.0f} L of milk to {last:%d %B %Y}, for {say.money(found.cost, currency)} "
        f"in {counted(len(trips), 'trip')}."
    )
    left = tuple(
        f"{'Left at the end, still good' if x.good else 'Thrown away, open too long'}: "
        f"{x.food.replace('-', ' ')}, {x.grams:,.0f} g"
        for x in found.leftovers
    )
    return List(summary, trips[:SOON], trips[SOON:], left)


def _trip(trip: ShoppingTrip, currency: str) -> Trip:
    goods = []
    for bought in trip.purchases:
        many = "" if bought.count == 1 else f"{bought.count} × "
        goods.append(f"{many}{bought.package} {bought.food.replace('-', ' ')}")
    return Trip(f"{trip.day:%A %d %B}", say.money(trip.cost, currency), tuple(goods))
