"""How long foods keep, and what is at home already.

The day of opening is the first of the days open; the days closed are counted from the day after
purchase.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from formulate.base.messages import say
from formulate.foods.tables import storage_days
from formulate.pantry.item import Item
from formulate.shopping.lots import Good, Stock

__all__ = ["ShelfLife", "as_good", "shelf_life", "stock_at_home"]


@dataclass(frozen=True, slots=True)
class ShelfLife:
    """How long a food keeps here, and who says so.

    Parameters
    ----------
    food : str
    closed_days, open_days : int
    chilled, chilled_open : bool
        Whether it is kept in the refrigerator while closed, and once open.
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
        say("shop.kept", closed=table.unopened_note, open=table.note),
    )


def as_good(life: ShelfLife, item: Item) -> Good:
    """A food as the lots need it."""
    return Good(
        life.food,
        life.open_days,
        life.closed_days,
        1.0 / (item.food.density or 1.0),
        life.chilled,
        life.chilled_open,
    )


def stock_at_home(
    items: Sequence[Item], lives: Sequence[ShelfLife], today: date
) -> tuple[Stock, ...]:
    """What is at home and in date: whole packages are closed, the rest is open since today."""
    found = []
    for f, (item, life) in enumerate(zip(items, lives, strict=True)):
        if not item.on_hand:
            continue
        package = item.package_grams or math.inf
        whole = int(item.on_hand / package + 1e-9)
        rest = item.on_hand - whole * package if whole else item.on_hand
        by = math.inf if item.use_by is None else (item.use_by - today).days
        if whole:
            last = int(min(life.closed_days, by))
            found.append(Stock(f, package, whole, False, last, item.package or ""))
        if rest > 1e-6 * item.on_hand:
            last = int(min(life.open_days - 1, by))
            found.append(Stock(f, rest, 1, True, last, say("shop.open-package")))
    return tuple(stock for stock in found if stock.last_day >= 0)
