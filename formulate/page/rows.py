"""The shelf as a form: one row for each food, read as a pantry or as edits to the file."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from werkzeug.datastructures import MultiDict

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.units import Kitchen, parse_amount
from formulate.pantry.edit import Edits
from formulate.pantry.item import Item
from formulate.pantry.pantry import Pantry
from formulate.pantry.price import parse_price
from formulate.report.words import food_words

__all__ = ["Row", "edits_of", "pantry_with", "rebased", "rows_from", "rows_of", "rows_typed",
           "with_food"]  # fmt: skip

Form = MultiDict[str, str]

MOST_ROWS = 120


@dataclass(frozen=True)
class Row:
    """A food on the shelf as the person has it on the page.

    Parameters
    ----------
    item : Item
        The food as the pantry has it; new where it was not on the shelf.
    ticked : bool
        To be used in the mix.
    price : str
        As typed: what a package costs.
    package : str
        As typed.
    money : float or None
        The price read; None if there is none, or it cannot be read.
    grams : float or None
        Weight of the package [g].
    faults : tuple of str
        What is wrong with what was typed.
    needs_price : bool
        Whether other foods have prices, so that this one needs one too.
    usual : tuple of str
        Packages it is usually sold in, the commonest first.
    """

    item: Item
    ticked: bool
    price: str = ""
    package: str = ""
    money: float | None = None
    grams: float | None = None
    faults: tuple[str, ...] = ()
    needs_price: bool = True
    usual: tuple[str, ...] = ("1 quart",)

    @property
    def id(self) -> str:
        """The food's."""
        return self.item.food.id

    @property
    def words(self) -> str:
        """The food as said."""
        return food_words(self.item.food)

    @property
    def priced(self) -> bool:
        """Whether a mix can be costed with it."""
        return self.money is not None and self.grams is not None

    @property
    def usable(self) -> bool:
        """Whether a mix can be designed with it."""
        return self.priced or not (self.needs_price or self.faults)

    @property
    def settled(self) -> bool:
        """Whether its price and package are the file's, with nothing wrong in them."""
        item = self.item
        same = self.price == _price_words(item.price) and self.package == (item.package or "")
        return same and not self.faults

    @property
    def sizes(self) -> tuple[tuple[str, str], ...]:
        """Other packages it is sold in: package and price."""
        return tuple((size.words, _price_words(size.price)) for size in self.item.sizes)

    def is_changed(self, pantry: Pantry) -> bool:
        """Whether it is not as the pantry has it."""
        was = pantry.item(self.id)
        if was is None:
            return bool(self.ticked or self.price or self.package)
        typed = (self.ticked, self.price, self.package)
        return typed != (was.in_mix, _price_words(was.price), was.package or "")


def rows_of(pantry: Pantry) -> tuple[Row, ...]:
    """The rows of a pantry as it is in the file."""
    return _rows(
        (
            (i, i.in_mix, _price_words(i.price), i.package or "")
            for i in pantry.items
            if not i.food.drink_only
        ),
        pantry,
    )


def _rows(typed: Iterable[tuple[Item, bool, str, str]], pantry: Pantry) -> tuple[Row, ...]:
    """Rows of food, tick, price and package as typed; where none is priced, none needs a price."""
    typed = tuple(typed)
    priced = any(price or package for _, _, price, package in typed)
    return tuple(_row(*one, pantry, priced) for one in typed)


def rows_from(form: Form, pantry: Pantry) -> tuple[Row, ...]:
    """The rows that a form brings, with what is wrong in each.

    Raises
    ------
    InputError
        If it names a food that there is not.
    """
    ids = list(dict.fromkeys(form.getlist("row")))[:MOST_ROWS]
    ticked = set(form.getlist("on"))
    return _rows(
        (
            (
                _item(food_id, pantry),
                food_id in ticked,
                form.get(f"price.{food_id}", "").strip(),
                " ".join(form.get(f"package.{food_id}", "").split()),
            )
            for food_id in ids
        ),
        pantry,
    )


def rows_typed(typed: Mapping[str, tuple[bool, str, str]], pantry: Pantry) -> tuple[Row, ...]:
    """Rows of tick, price and package as typed, by food."""
    return _rows(((_item(name, pantry), *told) for name, told in typed.items()), pantry)


def with_food(rows: Sequence[Row], name: str, pantry: Pantry) -> tuple[Row, ...]:
    """The rows with one food ticked, put at the end if it is not there yet."""
    item = _item(name, pantry)
    if any(row.id == item.food.id for row in rows):
        return tuple(replace(r, ticked=True) if r.id == item.food.id else r for r in rows)
    priced = any(row.price or row.package for row in rows)
    return (*rows, _row(item, True, "", "", pantry, priced))


def _item(name: str, pantry: Pantry) -> Item:
    """A food as the pantry has it, or new."""
    food = pantry.table.find(name)
    return pantry.item(food.id) or Item(food)


def _price_words(price: float | None) -> str:
    if price is None:
        return ""
    return f"{price:.2f}" if round(price, 2) == price else repr(price)


def _row(
    item: Item, ticked: bool, price: str, package: str, pantry: Pantry, needs_price: bool
) -> Row:
    faults = []
    money = grams = None
    usual = _usual(item, pantry)
    if price:
        try:
            money = parse_price(price)
        except InputError as error:
            faults.append(str(error))
    if package:
        try:
            grams = item.food.grams(parse_amount(package), pantry.kitchen)
        except InputError as error:
            faults.append(str(error))
        else:
            if not 0 < grams < 1e8:
                grams = None
                faults.append(say("page.no-package-size", text=package[:30], example=usual[0]))
    if not price and (package or (ticked and needs_price)):
        faults.append(say("page.no-price"))
    if not package and (price or (ticked and needs_price)):
        example = f"{usual[0]} or {'2 lb' if pantry.kitchen is Kitchen.US else '500 g'}"
        faults.append(say("page.what-it-buys", example=example))
    return Row(item, ticked, price, package, money, grams, tuple(faults), needs_price, usual)


def _usual(item: Item, pantry: Pantry) -> tuple[str, ...]:
    """Packages of a food in the kitchen's country."""
    if pantry.stated:
        found = pantry.country.packages.get(item.food.kind)
        if found:
            return found
    return ("1 L",) if pantry.kitchen.metric else ("1 quart",)


def pantry_with(rows: Iterable[Row], pantry: Pantry) -> Pantry:
    """The pantry as the page has it: ticked foods may be used, where prices matter with one."""
    items = []
    for row in rows:
        if not row.usable:
            continue
        items.append(
            replace(
                row.item,
                price=row.money,
                package=row.package or None,
                package_grams=row.grams,
                in_mix=row.ticked,
            )
        )
    drinks = (item for item in pantry.items if item.food.drink_only)
    return replace(pantry, items=(*items, *drinks))


def edits_of(rows: Iterable[Row], pantry: Pantry, today: date) -> Edits:
    """What the page has that the pantry has not, as keys to set.

    A price that was changed is of today. A new food that is neither ticked nor priced is left
    out.
    """
    edits: Edits = {}
    for row in rows:
        was = pantry.item(row.id)
        if was is None:
            if not (row.ticked or row.priced):
                continue
            edits[row.id] = {}
            if row.priced:
                edits[row.id] = {"price": row.money, "package": row.package, "priced_on": today}
            if not row.ticked:
                edits[row.id]["in_mix"] = False
            continue
        changed: dict[str, Any] = {}
        if row.money != was.price:
            changed |= {"price": row.money, "priced_on": None if row.money is None else today}
        if row.package != " ".join((was.package or "").split()):
            changed["package"] = row.package or None
        if row.ticked != was.in_mix:
            changed["in_mix"] = row.ticked
        if changed:
            edits[row.id] = changed
    return edits


def rebased(rows: Sequence[Row], edits: Edits, now: Pantry) -> tuple[Row, ...]:
    """The rows of the file of now, with the person's own edits put on top."""
    mine: Mapping[str, Row] = {row.id: row for row in rows}
    result = []
    for theirs in rows_of(now):
        edit, own = edits.get(theirs.id, {}), mine.get(theirs.id, theirs)
        ticked = own.ticked if "in_mix" in edit else theirs.ticked
        price = own.price if "price" in edit else theirs.price
        package = own.package if "package" in edit else theirs.package
        result.append((theirs.item, ticked, price, package))
    there = {item.food.id for item, *_ in result}
    new = (row for row in rows if row.id in edits and row.id not in there)
    result += [(row.item, row.ticked, row.price, row.package) for row in new]
    return _rows(result, now)
