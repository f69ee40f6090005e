"""Pantries from a table with one row for each food, such as a spreadsheet or a DataFrame.

The columns ``food``, ``price``, ``package``, ``currency`` and ``date`` are those of a price list.
Any key that a food's table may have in a pantry file is a column too (``on_hand``,
``largest_share``, ``smallest``, ``step``, ``in_mix``, ``use_by`` …), and so are ``country``,
``kitchen`` and ``table``, which say the same in every row. A column ``pantry`` names the pantry
that a row belongs to. Prices may be left out, for all foods of a pantry.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields
from typing import Any

from formulate.base.errors import InputError, UnknownName
from formulate.base.messages import say
from formulate.pantry.pantry import Pantry, read_pantry
from formulate.pantry.pantry_shape import FoodEntry
from formulate.pantry.price_list import cell_of, day_of

__all__ = ["pantries_of_rows", "pantry_of_rows"]

#: Columns that are keys of the whole pantry.
WHOLE = ("currency", "country", "kitchen", "table")
#: Columns that a food's table has under another name.
RENAMED = {"date": "priced_on"}
DAYS = ("priced_on", "use_by")
WHOLE_NUMBERS = ("keeps_closed", "keeps_open")
_FOOD_KEYS = tuple(field.name for field in fields(FoodEntry) if field.name != "sizes")
COLUMNS = ("pantry", "food", *WHOLE, *RENAMED, *_FOOD_KEYS)


def pantries_of_rows(
    rows: Iterable[Mapping[Any, Any]], name: str
) -> dict[str, tuple[dict[str, Any], ...]]:
    """Rows by the pantry that they belong to, in the order of its first row.

    Parameters
    ----------
    rows : iterable of mapping
        As ``DataFrame.to_dict("records")`` gives them.
    name : str
        Of the pantry, where no column says it.

    Raises
    ------
    UnknownName
        If there is a column that means nothing here.
    InputError
        If there is no column of foods, or no row.
    """
    by_pantry: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        cells = {str(key).strip().lower(): cell_of(cell) for key, cell in row.items()}
        by_pantry.setdefault(str(cells.pop("pantry", None) or name), []).append(cells)
    first = next((row for rows in by_pantry.values() for row in rows), None)
    if first is None:
        raise InputError(say("many.no-foods"), "", name)
    for column in first:
        if column not in COLUMNS:
            raise UnknownName("column", column, COLUMNS).at(name)
    if "food" not in first:
        columns = "food,price,package,currency,date"
        raise InputError(
            say("many.no-column", columns="food", count=1),
            say("many.columns", columns=columns),
            name,
        )
    return {one: tuple(rows) for one, rows in by_pantry.items()}


def pantry_of_rows(rows: Iterable[Mapping[str, Any]], name: str) -> Pantry:
    """One pantry from its rows, without empty cells counted; see the top of this module.

    Raises
    ------
    InputError
        As of a pantry file; its place is the pantry and the food.
    """
    whole: dict[str, Any] = {"name": name}
    foods: dict[str, dict[str, Any]] = {}
    for row in rows:
        food = str(row.get("food") or "")
        if food in foods:
            raise InputError(say("typed.twice", food=food), say("typed.once"), name)
        entry: dict[str, Any] = {}
        for column, cell in row.items():
            if cell is None or column == "food":
                continue
            key = RENAMED.get(column, column)
            if column not in WHOLE:
                entry[key] = _plain(key, cell)
            elif whole.setdefault(key, str(cell)) != str(cell):
                raise InputError(say("many.not-one", column=column), "", name)
        foods[food] = entry
    if not any("price" in entry for entry in foods.values()):
        whole.pop("currency", None)
    return read_pantry({**whole, "foods": foods}, name)


def _plain(key: str, cell: Any) -> Any:
    """A cell as a pantry file would hold it: numbers and flags of numpy's become Python's own."""
    if key in DAYS:
        return day_of(cell)
    plain = cell.item() if hasattr(cell, "item") else cell
    if key in WHOLE_NUMBERS and isinstance(plain, float) and plain.is_integer():
        return int(plain)
    return plain
