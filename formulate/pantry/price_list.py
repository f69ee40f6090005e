"""Price lists: what foods cost somewhere, used in place of a pantry's own prices.

A CSV file, or a table with the same columns::

    food,price,package,currency,date
    whole-milk,3.89,1 gallon,USD,2026-11-02
    evaporated-milk,1.79,12 fl oz can,USD,2026-11-02

Columns may stand in any order. ``currency`` may be left out; then it is that of each pantry.
Packages mean the cups and gallons of the pantry. A food may stand in it several times, as with
several packages: the cheapest by weight counts. A food of the list that is not in a pantry is
not used there; a food of the pantry that the list lacks keeps the pantry's price.
"""

from __future__ import annotations

import copy
import csv
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from difflib import get_close_matches
from functools import lru_cache
from pathlib import Path
from typing import Any

from formulate.base.errors import (
    AmbiguousName,
    InputError,
    NotForLambs,
    UnknownName,
    quoted,
)
from formulate.base.faults import Faults
from formulate.base.files import read_text
from formulate.base.messages import listed as in_words
from formulate.base.messages import say
from formulate.base.units import parse_amount
from formulate.foods.food_table import name_key
from formulate.pantry.item import Item
from formulate.pantry.pantry import Pantry
from formulate.pantry.price import parse_price

__all__ = [
    "ListedPrice",
    "PriceList",
    "Pricing",
    "cell_of",
    "day_of",
    "load_price_list",
    "price_list_of",
    "repriced",
]

#: From here on two names are so alike that one is a slip of the pen for the other (0 to 1).
ALIKE = 0.8
#: Columns, and those that there must be.
COLUMNS = ("food", "price", "package", "currency", "date")
DEMANDED = ("food", "price", "package", "date")


@dataclass(frozen=True, slots=True)
class ListedPrice:
    """One line of a price list.

    Parameters
    ----------
    food : str
        As written.
    price : float
        [money]
    package : str
        As written: "1 gallon".
    priced_on : date
    line : int
        In the file; the header is line 1.
    """

    food: str
    price: float
    package: str
    priced_on: date
    line: int


@dataclass(frozen=True)
class PriceList:
    """What foods cost somewhere.

    Parameters
    ----------
    name : str
        What to call it.
    entries : tuple of ListedPrice
    currency : str
        Three letters; empty if it is that of each pantry.
    """

    name: str
    entries: tuple[ListedPrice, ...]
    currency: str = ""


def load_price_list(path: Path | str) -> PriceList:
    """Read a price list.

    Raises
    ------
    InputError
        If the file cannot be read, or has no such columns.
    ManyFaults
        With every line that cannot be read.
    """
    where = str(path)
    lines = read_text(Path(path)).splitlines()
    start = lines[0] if lines else ""
    comma = ";" if start.count(";") > start.count(",") else ","
    try:
        reader = csv.DictReader(lines, delimiter=comma, strict=True)
        rows = [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        raise InputError(
            say("many.not-csv", detail=error), say("many.columns", columns=",".join(COLUMNS)), where
        ) from error
    return _price_list(rows, where)


def price_list_of(rows: Iterable[Mapping[Any, Any]], name: str) -> PriceList:
    """Read a price list from rows with the columns of its file; see `load_price_list`.

    Parameters
    ----------
    rows : iterable of mapping
        As ``DataFrame.to_dict("records")`` gives them.
    name : str
        What to call it.
    """
    return _price_list(list(enumerate(rows, 2)), name)


def _price_list(rows: Sequence[tuple[int, Mapping[Any, Any]]], name: str) -> PriceList:
    """Rows with the numbers of their lines as a price list."""
    table = [{_column(key): cell_of(cell) for key, cell in row.items()} for _, row in rows]
    if not table:
        raise InputError(
            say("many.no-prices"), say("many.columns", columns=",".join(COLUMNS)), name
        )
    lacking = [column for column in DEMANDED if column not in table[0]]
    if lacking:
        raise InputError(
            say("many.no-column", columns=in_words(lacking), count=len(lacking)),
            say("many.columns", columns=",".join(COLUMNS)),
            name,
        )
    faults = Faults(name)
    entries = []
    for (line, _), row in zip(rows, table, strict=True):
        if any(row.get(column) is not None for column in DEMANDED):
            try:
                entries.append(_entry(row, line))
            except InputError as error:
                faults.keep(error.at(say("many.line", line=line)))
    money = {str(row.get("currency") or "") for row in table}
    currency = next(iter(money - {""}), "")
    if len(money) > 1:
        faults.add("currency", say("many.several-currencies"), say("many.one-currency"))
    elif currency and not (len(currency) == 3 and currency.isalpha() and currency.isupper()):
        faults.add("currency", say("many.no-currency", text=quoted(currency)), "")
    faults.settle()
    return PriceList(name, tuple(entries), currency)


@lru_cache(maxsize=64)
def _column(key: Any) -> str:
    """The name of a column, however it is written."""
    return str(key).strip().lower()


def cell_of(cell: Any) -> Any:
    """A cell without blanks; an empty one, NaN or NaT is None."""
    if cell is None or cell != cell:  # noqa: PLR0124
        return None
    return (cell.strip() or None) if isinstance(cell, str) else cell


def _entry(row: Mapping[str, Any], line: int) -> ListedPrice:
    for column in DEMANDED:
        if row.get(column) is None:
            raise InputError(say("many.empty", column=column))
    price = parse_price(str(row["price"]))
    if not price >= 0:
        raise InputError(say("many.no-price", text=quoted(row["price"])))
    package = str(row["package"])
    parse_amount(package)
    return ListedPrice(str(row["food"]), price, package, day_of(row["date"]), line)


def day_of(value: Any) -> date:
    """A day from a cell: a date, a moment, or "2026-11-02"."""
    if isinstance(value, date):
        return date(value.year, value.month, value.day)
    try:
        return date.fromisoformat(str(value)[:10])
    except ValueError:
        raise InputError(say("many.no-date", text=quoted(value)), say("many.a-date")) from None


class Pricing:
    """A pantry, to be priced by one list after another.

    Parameters
    ----------
    pantry : Pantry
    """

    def __init__(self, pantry: Pantry) -> None:
        self.pantry = pantry
        # Lists name the same foods and packages again and again: each is weighed once.
        self._weighed: dict[tuple[str, str], tuple[str, float] | InputError | None] = {}

    def prices(self, listed: PriceList) -> dict[str, tuple[ListedPrice, float]]:
        """The line of the list for each food of the pantry, with the weight of its package [g].

        Raises
        ------
        InputError
            If a name of the list means several foods, a package cannot be weighed, a name looks
            like a food of the pantry that the list lacks, or the currencies differ and the list
            lacks a food.
        """
        found: dict[str, tuple[ListedPrice, float]] = {}
        unknown: list[ListedPrice] = []
        for line in listed.entries:
            weighed = self._weigh(line)
            if isinstance(weighed, UnknownName):
                unknown.append(line)
            elif isinstance(weighed, InputError):
                raise _copied(weighed).at(f"{listed.name}: {say('many.line', line=line.line)}")
            elif weighed is not None:
                food, grams = weighed
                if food not in found or line.price / grams < found[food][0].price / found[food][1]:
                    found[food] = line, grams
        kept = [item for item in self.pantry.items if item.food.id not in found]
        if kept:
            _check_names(unknown, [item.food.id for item in kept], listed)
            self._check_currency(listed, kept)
        return found

    def _weigh(self, line: ListedPrice) -> tuple[str, float] | InputError | None:
        """The food and the weight of a package; None if the pantry does not have the food."""
        key = line.food, line.package
        if key not in self._weighed:
            try:
                self._weighed[key] = self._weighed_anew(line)
            except InputError as error:
                self._weighed[key] = error
        return self._weighed[key]

    def _weighed_anew(self, line: ListedPrice) -> tuple[str, float] | None:
        pantry = self.pantry
        try:
            item = pantry.item(line.food) or pantry.item(pantry.table.find(line.food).id)
        except AmbiguousName as error:
            if any(pantry.item(name) for name in error.choices):
                raise
            return None
        except NotForLambs:
            return None
        if item is None:
            return None
        grams = item.food.grams(parse_amount(line.package), pantry.kitchen)
        if not grams > 0:
            raise InputError(say("many.no-weight", package=quoted(line.package)))
        return item.food.id, grams

    def _check_currency(self, listed: PriceList, kept: Sequence[Item]) -> None:
        """Refuse a mixture of two currencies."""
        own = self.pantry.currency
        foods = [
            item.food.id
            for item in kept
            if item.in_mix and not item.food.drink_only and item.price is not None
        ]
        if foods and listed.currency and own and listed.currency != own:
            raise InputError(
                say("many.two-currencies", listed=listed.currency, own=own, foods=in_words(foods)),
                say("many.add-foods"),
                listed.name,
            )


def repriced(pantry: Pantry, prices: PriceList) -> Pantry:
    """A pantry at the prices of a list.

    Raises
    ------
    InputError
        As `Pricing.prices`.
    """
    found = Pricing(pantry).prices(prices)
    items = tuple(
        replace(
            item,
            price=found[item.food.id][0].price,
            package=found[item.food.id][0].package,
            package_grams=found[item.food.id][1],
            priced_on=found[item.food.id][0].priced_on,
            sizes=(),
        )
        if item.food.id in found
        else item
        for item in pantry.items
    )
    return replace(pantry, items=items, currency=prices.currency or pantry.currency)


def _check_names(unknown: Sequence[ListedPrice], lacking: Sequence[str], listed: PriceList) -> None:
    """Refuse a name that looks like a food of the pantry for which the list has no price."""
    for line in unknown:
        if get_close_matches(name_key(line.food), lacking, n=1, cutoff=ALIKE):
            where = f"{listed.name}: {say('many.line', line=line.line)}"
            raise UnknownName("food", line.food, lacking).at(where)


def _copied(error: InputError) -> InputError:
    """The same error once more, to be given another place."""
    return copy.copy(error)
