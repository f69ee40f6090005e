"""A pantry priced by one list after another.

Many lists have the same layout: how their lines fit a pantry is worked out once for each layout.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

from formulate.base.errors import AmbiguousName, InputError, NotForLambs, UnknownName, quoted
from formulate.base.messages import listed as in_words
from formulate.base.messages import say
from formulate.base.units import parse_amount
from formulate.foods.food_table import name_key
from formulate.pantry.item import Item
from formulate.pantry.pantry import Pantry
from formulate.pantry.price_list import ListedPrice, PriceList

__all__ = ["Pricing", "repriced"]

#: Two names at least this alike (0 to 1) are taken for a typing mistake.
ALIKE = 0.8


@dataclass(frozen=True, slots=True)
class _Fit:
    """How the lines of a list fit a pantry.

    Parameters
    ----------
    packages : mapping of str to tuple of (int, float)
        For each food of the pantry that the list has, the lines and what their packages weigh [g].
    kept : tuple of Item
        Items that keep their own price.
    fault : tuple of (int, InputError) or None
        The first line that cannot be used, and why.
    """

    packages: Mapping[str, tuple[tuple[int, float], ...]]
    kept: tuple[Item, ...]
    fault: tuple[int, InputError] | None


class Pricing:
    """A pantry, to be priced by one list after another.

    Parameters
    ----------
    pantry : Pantry
    """

    def __init__(self, pantry: Pantry) -> None:
        self.pantry = pantry
        self._fits: dict[tuple[tuple[str, str], ...], _Fit] = {}

    def prices(self, listed: PriceList) -> dict[str, tuple[ListedPrice, float]]:
        """The line of the list for each food of the pantry, with the weight of its package [g].

        Raises
        ------
        InputError
            If a name of the list means several foods, a package cannot be weighed, a name looks
            like a food of the pantry that the list lacks, or the currencies differ and the list
            lacks a food.
        """
        fit = self._fit(listed)
        found = {}
        for food, packages in fit.packages.items():
            number, grams = packages[0]
            if len(packages) > 1:  # the cheapest by weight
                number, grams = min(packages, key=lambda one: listed.entries[one[0]].price / one[1])
            found[food] = listed.entries[number], grams
        return found

    def _fit(self, listed: PriceList) -> _Fit:
        if listed.layout not in self._fits:
            self._fits[listed.layout] = self._fitted(listed.entries)
        fit = self._fits[listed.layout]
        if fit.fault is not None:
            number, error = fit.fault
            line = say("many.line", line=listed.entries[number].line)
            raise copy.copy(error).at(f"{listed.name}: {line}")
        if fit.kept:
            self._check_currency(listed, fit.kept)
        return fit

    def _fitted(self, entries: Sequence[ListedPrice]) -> _Fit:
        packages: dict[str, list[tuple[int, float]]] = {}
        unknown: list[int] = []
        fault: tuple[int, InputError] | None = None
        for number, line in enumerate(entries):
            try:
                weighed = self._weighed(line)
            except UnknownName:
                unknown.append(number)
            except InputError as error:
                fault = fault or (number, error)
            else:
                if weighed is not None:
                    packages.setdefault(weighed[0], []).append((number, weighed[1]))
        kept = tuple(item for item in self.pantry.items if item.food.id not in packages)
        lacking = [item.food.id for item in kept]
        for number in unknown:
            name = entries[number].food
            if get_close_matches(name_key(name), lacking, n=1, cutoff=ALIKE):
                fault = fault or (number, UnknownName("food", name, lacking))
        return _Fit({food: tuple(lines) for food, lines in packages.items()}, kept, fault)

    def _weighed(self, line: ListedPrice) -> tuple[str, float] | None:
        """The food and the weight of a package; None if the pantry does not have the food."""
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
        """Reject a mixture of two currencies."""
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
