"""The shopping list, ready to be shown."""

from __future__ import annotations

from dataclasses import dataclass

from formulate.answers.household import Home
from formulate.answers.shop import ShopAnswer, ShopRequest, shop
from formulate.report import words as tell
from formulate.report.fed_milks import MilkTold, milks_told
from formulate.report.shopping_text import (
    answer_lines,
    goods_words,
    price_rows,
    waste_texts,
    why_none,
)

__all__ = ["ShoppingShown", "TripShown", "shopping_list", "shown"]

#: Longest search of one request [s].
PATIENCE = 5.0
#: Trips shown at once; the rest are one tap away.
SOON = 3


@dataclass(frozen=True)
class TripShown:
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
class ShoppingShown:
    """What to buy, trip by trip.

    Parameters
    ----------
    verdict : tuple of MilkTold
        On every milk, the worst first.
    summary : tuple of str
    soon, later : tuple of TripShown
    prices : tuple of (food, package, price, date)
        Every package that was weighed against the others.
    left : tuple of str
        What is thrown away or left over.
    left_out : tuple of str
        Milks that are not used.
    why_not : tuple of str
        Why there is no list.
    """

    verdict: tuple[MilkTold, ...]
    summary: tuple[str, ...] = ()
    soon: tuple[TripShown, ...] = ()
    later: tuple[TripShown, ...] = ()
    prices: tuple[tuple[str, str, str, str], ...] = ()
    left: tuple[str, ...] = ()
    why_not: tuple[str, ...] = ()


def shopping_list(home: Home) -> ShoppingShown:
    """Plan the shopping for a flock to the end of its milk."""
    return shown(shop(home.read, home.pantry, ShopRequest(seconds=PATIENCE)))


def shown(answer: ShopAnswer) -> ShoppingShown:
    """An answer as the page has it: foods without hyphens, and trips in two parts."""
    verdict = tuple(milks_told(answer.milks))
    plan = answer.plan
    if plan is None:
        return ShoppingShown(verdict, why_not=tuple(why_none(answer)))
    currency = answer.pantry.currency
    trips = tuple(
        TripShown(
            f"{trip.day:%A} {trip.day.day} {trip.day:%B}",
            tell.money(trip.cost, currency),
            tuple(goods_words(p.count, p.package, _plain(p.food)) for p in trip.purchases),
        )
        for trip in plan.trips
    )
    rows = price_rows(answer)
    prices = tuple((_plain(food), package, price, day) for food, package, price, day in rows)
    return ShoppingShown(
        verdict,
        tuple(answer_lines(plan)),
        trips[:SOON],
        trips[SOON:],
        prices,
        tuple(waste_texts(plan, _plain)),
    )


def _plain(food: str) -> str:
    return food.replace("-", " ")
