"""Price lists: what foods cost somewhere, used in place of a pantry's own prices.

A CSV file, or a table with the same columns::

    food,price,package,currency,date
    whole-milk,3.89,1 gallon,USD,2026-11-02
    evaporated-milk,1.79,12 fl oz can,USD,2026-11-02

Columns may stand in any order. ``currency`` may be left out; then it is that of each pantry.
Packages mean the cups and gallons of the pantry. A food may appear several times, for example in
several packages: the cheapest by weight counts. A food of the list that is not in a pantry is
not used there; a food of the pantry that the list lacks keeps the pantry's price.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

from formulate.base.errors import InputError, quoted
from formulate.base.faults import Faults
from formulate.base.files import read_text
from formulate.base.messages import listed as in_words
from formulate.base.messages import say
from formulate.base.units import parse_amount
from formulate.pantry.price import parse_price

__all__ = [
    "ListedPrice",
    "PriceList",
    "cell_of",
    "day_of",
    "load_price_list",
    "price_list_of",
]

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

    @cached_property
    def layout(self) -> tuple[tuple[str, str], ...]:
        """Food and package of each line: lists of one layout fit a pantry in one way."""
        return tuple((line.food, line.package) for line in self.entries)


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
    """A cell without surrounding blanks; an empty one, NaN or NaT gives None."""
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
