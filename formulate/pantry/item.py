"""One food on the shelf: its packages, prices and limits."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from formulate.base.shown import brief_repr
from formulate.foods.food import Food

__all__ = ["Item", "Package"]


@dataclass(frozen=True, slots=True)
class Package:
    """A package that a food is sold in.

    Parameters
    ----------
    words : str
        As written: "1/2 gallon".
    grams : float
    price : float
        [money]
    """

    words: str
    grams: float
    price: float


@brief_repr
@dataclass(frozen=True)
class Item:
    """One food on the shelf.

    Parameters
    ----------
    food : Food
    price : float or None
        Money per package.
    package : str or None
        As written.
    package_grams : float or None
        Weight of the package [g].
    priced_on : date or None
        Date of the price.
    on_hand : float or None
        All that is on hand [g]; None if more can be bought.
    largest_share : float or None
        Of the mix by weight [g/g]; None: the food's own.
    smallest : float or None
        Smallest useful amount [g].
    step : str or None
        As written: "1/4 cup", "whole package".
    use_by : date or None
        Of the stock on hand.
    in_mix : bool
        Whether a mix may be designed with it; otherwise only its price is used.
    sizes : tuple of Package
        Other packages than `package`.
    keeps_closed : int or None
        Days after it is bought, by its label; None: the table's.
    keeps_open : int or None
        Days once it is open.
    """

    food: Food
    price: float | None = None
    package: str | None = None
    package_grams: float | None = None
    priced_on: date | None = None
    on_hand: float | None = None
    largest_share: float | None = None
    smallest: float | None = None
    step: str | None = None
    use_by: date | None = None
    in_mix: bool = True
    sizes: tuple[Package, ...] = ()
    keeps_closed: int | None = None
    keeps_open: int | None = None

    @property
    def packages(self) -> tuple[Package, ...]:
        """Everything it is sold in."""
        if self.price is None or not self.package_grams:
            return self.sizes
        return (Package(self.package or "", self.package_grams, self.price), *self.sizes)

    @property
    def price_per_gram(self) -> float:
        """Money per gram; NaN without a price."""
        if self.price is None or not self.package_grams:
            return math.nan
        return self.price / self.package_grams
