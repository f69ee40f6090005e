"""A shelf typed as names of foods, for a first answer without a file."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from formulate.base.errors import InputError, ManyFaults
from formulate.base.messages import listed, say
from formulate.base.units import Kitchen, number_ahead, parse_amount
from formulate.foods.country import Country
from formulate.pantry.country import bare_pantry
from formulate.pantry.item import Item
from formulate.pantry.pantry import Pantry
from formulate.pantry.price import parse_price

__all__ = ["typed_pantry"]


def typed_pantry(
    texts: Sequence[str], kitchen: Kitchen | None = None, country: str | None = None
) -> Pantry:
    """Read "whole-milk evaporated-milk" or "whole-milk=3.80/gallon evaporated-milk=1.79/can".

    Parameters
    ----------
    texts : sequence of str
        A food each, with its price or without; all of them or none have a price.
    kitchen : Kitchen, optional
        Whose cups and spoons; those of the country where left out.
    country : str, optional
        Whose foods and money; foods are those of the default country where left out, and
        prices have no currency.

    Raises
    ------
    InputError
        If a food is not known or named twice, a price cannot be read, or only some have one.
    """
    bare = bare_pantry(country)
    table, whose = bare.table, kitchen or bare.kitchen
    items: list[Item] = []
    faults: list[InputError] = []
    for text in texts:
        name, priced, price = (part.strip() for part in text.partition("="))
        try:
            item = Item(table.find(name))
            if item.food.id in (one.food.id for one in items):
                raise InputError(say("typed.twice", food=item.food.id), say("typed.once"))
            items.append(_priced(item, price, whose, bare.country) if priced else item)
        except InputError as error:
            faults.append(error)
    if faults:
        raise faults[0] if len(faults) == 1 else ManyFaults(faults)
    unpriced = [item.food.id for item in items if item.price is None]
    if 0 < len(unpriced) < len(items):
        raise InputError(
            say("typed.some-prices", foods=listed(unpriced), count=len(unpriced)),
            say("typed.all-or-none", food=unpriced[0], package=bare.country.milk_package),
        )
    shelf = say("typed.shelf")
    return replace(
        bare,
        items=tuple(items),
        currency="" if country is None or unpriced else bare.currency,
        kitchen=whose,
        name=shelf,
        where=shelf,
    )


def _priced(item: Item, text: str, kitchen: Kitchen, country: Country) -> Item:
    """An item with the price that was typed: "3.80/gallon"."""
    per_package = re.sub(r"\s+(?:per|an?)\s+", "/", text, count=1, flags=re.IGNORECASE)
    money, slash, package = (part.strip() for part in per_package.partition("/"))
    price = parse_price(money)
    if not slash and price == 0:
        package = "1 kg"
    elif not package:
        raise InputError(
            say("typed.no-package", food=item.food.id, price=money),
            say(
                "typed.say-package",
                food=item.food.id,
                price=money,
                package=country.milk_package,
            ),
        )
    if not re.match(number_ahead, package, re.IGNORECASE):
        package = f"1 {package}"
    grams = item.food.grams(parse_amount(package), kitchen)
    return Item(item.food, price, package, grams)
