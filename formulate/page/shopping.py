"""The shopping list, ready to be shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from formulate.answers.milks import refusal, refusals
from formulate.answers.verdict import judge
from formulate.page.words import counted
from formulate.pantry.pantry import Pantry
from formulate.rearing.flock_file import FlockRead
from formulate.rearing.mixes import flock_milk
from formulate.report import words as say
from formulate.shopping.plan import NoShopping, ShoppingTrip, UnusedFood, plan_shopping
from formulate.shopping.task import ShopRequest, prepare_shopping

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
    if why := refusals(judge(milk.mix)):
        return List(why_not=why)
    task = prepare_shopping(
        read.flock, pantry, read.now, refusal, None, ShopRequest(seconds=PATIENCE)
    )
    found = plan_shopping(task)
    if isinstance(found, NoShopping):
        return List(why_not=(found.reason, found.remedy))
    currency = pantry.currency
    trips = tuple(_trip(trip, currency) for trip in found.trips)
    last = found.batches[-1].day
    summary = (
        f"{found.fed:.0f} L of milk to {last.day} {last:%B %Y}, for "
        f"{say.money(found.cost, currency)} in {counted(len(trips), 'trip')}."
    )
    return List(summary, trips[:SOON], trips[SOON:], _left(found.leftovers))


def _left(leftovers: Sequence[UnusedFood]) -> tuple[str, ...]:
    """What no batch takes, food by food."""
    sums: dict[tuple[bool, str], float] = {}
    for one in leftovers:
        key = one.good, one.food
        sums[key] = sums.get(key, 0.0) + one.grams
    fate = {True: "Left at the end, still good", False: "Thrown away, too old"}
    return tuple(
        f"{fate[good]}: {food.replace('-', ' ')}, {grams:,.0f} g"
        for (good, food), grams in sorted(sums.items())
    )


def _trip(trip: ShoppingTrip, currency: str) -> Trip:
    goods = []
    for bought in trip.purchases:
        many = "" if bought.count == 1 else f"{bought.count} × "
        goods.append(f"{many}{bought.package} {bought.food.replace('-', ' ')}")
    return Trip(
        f"{trip.day:%A} {trip.day.day} {trip.day:%B}", say.money(trip.cost, currency), tuple(goods)
    )
