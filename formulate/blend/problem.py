"""The mix problem as arrays.

Every demand is a *homogeneous* row in the grams ``y`` of the foods: a band's end, a largest
share, a stock. One more row fixes the size: a millilitre of mix for a design, a gram of mix
for the search of the nearest mix. So a batch of any size is the same small problem, and the
answer scales.

    band low    (n − low·d)·y ≥ 0          share   y_i − s_i · (m·y) ≤ 0
    band high   (n − high·d)·y ≤ 0         stock   y_i − stock_i / V · (v·y) ≤ 0
    size        v·y = 1   or   m·y = 1

with n, d, v, m the band's numerator, its denominator, volume and weight per gram of each food,
and V the batch.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from formulate.bands import Band, BandSet, Basis, Role, numerator_for, require
from formulate.blend.solve import LinearProgram
from formulate.errors import InputError
from formulate.foods import Composition, Food

__all__ = ["Limit", "LimitKind", "Problem", "Shelf", "build"]

Array = NDArray[np.float64]


class LimitKind(StrEnum):
    """What a row demands."""

    BAND_LOW = "band-low"
    BAND_HIGH = "band-high"
    SHARE = "largest-share"
    STOCK = "on-hand"
    SMALLEST = "smallest-amount"


@dataclass(frozen=True, slots=True)
class Limit:
    """One demand, as people would name it.

    Parameters
    ----------
    kind : LimitKind
    band : Band or None
        Of a band's end.
    food : str
        Id, of a limit on one food.
    value : float
        The end in the band's unit, the share [g/g], or the stock or smallest amount [g].
    """

    kind: LimitKind
    band: Band | None = None
    food: str = ""
    value: float = math.nan

    @property
    def relaxable(self) -> bool:
        """Whether the nearest mix may miss it: demanded bands only, never safety."""
        return self.band is not None and self.band.role is Role.DEMANDED


@dataclass(frozen=True)
class Shelf:
    """What is to hand, as arrays over n foods.

    Parameters
    ----------
    foods : tuple of Food
    price : ndarray, shape (n,), optional
        Money per gram; NaN where a food has no price. None: nothing has.
    largest_share : ndarray, shape (n,), optional
        Largest share by weight [g/g]; from the foods themselves where left out.
    on_hand : ndarray, shape (n,), optional
        Grams there are; inf where there is no end (it can be bought).
    smallest : ndarray, shape (n,), optional
        Smallest useful amount [g] where a food is used at all.
    currency : str
        Of the prices.
    """

    foods: tuple[Food, ...]
    price: Array = field(default_factory=lambda: np.empty(0))
    largest_share: Array = field(default_factory=lambda: np.empty(0))
    on_hand: Array = field(default_factory=lambda: np.empty(0))
    smallest: Array = field(default_factory=lambda: np.empty(0))
    currency: str = ""
    composition: Composition = field(init=False, repr=False)

    def __post_init__(self) -> None:
        n = len(self.foods)
        if not n:
            raise InputError("no foods to mix", "Put at least one food on the shelf.")
        shares = np.array([1.0 if f.largest_share is None else f.largest_share for f in self.foods])
        for name, value in (
            ("price", np.full(n, math.nan)),
            ("largest_share", shares),
            ("on_hand", np.full(n, math.inf)),
            ("smallest", np.zeros(n)),
        ):
            if not getattr(self, name).size:
                object.__setattr__(self, name, value)
            if getattr(self, name).shape != (n,):
                raise InputError(f"{name} is not one number for each of {n} foods")
        object.__setattr__(self, "composition", Composition.of(self.foods))

    @property
    def ids(self) -> tuple[str, ...]:
        """Food ids, in order."""
        return self.composition.ids

    def take(self, columns: Sequence[int]) -> Shelf:
        """The same shelf with some of its foods only."""
        pick = list(columns)
        return Shelf(
            tuple(self.foods[j] for j in pick),
            self.price[pick],
            self.largest_share[pick],
            self.on_hand[pick],
            self.smallest[pick],
            self.currency,
        )

    def with_price(self, price: Array) -> Shelf:
        """The same shelf at other prices [money per g]."""
        return replace(self, price=price)


@dataclass(frozen=True)
class Problem:
    """A mix to design: n foods, m limits.

    Parameters
    ----------
    shelf : Shelf
    bands : BandSet
    volume : float
        Batch [mL].
    limits : tuple of Limit, length m
        What each row means.
    rows : ndarray, shape (m, n)
        Homogeneous; a row whose limit is a low end demands ≥ 0, every other ≤ 0. Each is
        divided by its largest entry, `row_scale`, so that tolerances mean the same in all.
    row_scale : ndarray, shape (m,)
    """

    shelf: Shelf
    bands: BandSet
    volume: float
    limits: tuple[Limit, ...]
    rows: Array
    row_scale: Array

    @property
    def is_low(self) -> NDArray[np.bool_]:
        """Which rows demand ≥ 0, shape (m,)."""
        return np.array([limit.kind is LimitKind.BAND_LOW for limit in self.limits], dtype=bool)

    def program(
        self,
        cost: Array | None = None,
        keep: Sequence[int] | None = None,
        size: Array | None = None,
    ) -> LinearProgram:
        """Arrays for the solver; amounts come back per unit of size.

        Parameters
        ----------
        cost : ndarray, shape (n,), optional
            Objective per gram; the shelf's prices where left out.
        keep : sequence of int, optional
            Rows to demand; all where left out.
        size : ndarray, shape (n,), optional
            The row that equals 1; volume where left out.
        """
        composition = self.shelf.composition
        size = composition.row("volume") if size is None else size
        pick = slice(None) if keep is None else list(keep)
        low = self.is_low[pick]
        n = len(self.shelf.foods)
        return LinearProgram(
            cost=self.shelf.price if cost is None else cost,
            matrix=np.vstack((self.rows[pick], size)),
            row_lower=np.append(np.where(low, 0.0, -math.inf), 1.0),
            row_upper=np.append(np.where(low, math.inf, 0.0), 1.0),
            col_lower=np.zeros(n),
            col_upper=np.full(n, math.inf),
        )


def build(shelf: Shelf, bands: BandSet, volume: float, like: Composition | None = None) -> Problem:
    """Turn a shelf and a set of bands into a problem.

    Parameters
    ----------
    shelf : Shelf
    bands : BandSet
        Demanded and safety bands become rows.
    volume : float
        Batch [mL].
    like : Composition, optional
        The food table: its like foods stand in for values missing under a ceiling.

    Raises
    ------
    MissingComposition
        If a floor needs a value that a food lacks.
    """
    composition = shelf.composition
    weight, room = composition.row("mass"), composition.row("volume")
    require(_VOLUME_BAND, room, composition)
    limits: list[Limit] = []
    rows: list[Array] = []
    for band in bands.binding:
        n, _ = numerator_for(band, composition, like)
        d = composition.row(band.denominator)
        require(band, n, composition)
        require(band, d, composition)
        if band.low > -math.inf:
            limits.append(Limit(LimitKind.BAND_LOW, band, value=band.low))
            rows.append(n - (band.low / band.scale) * d)
        if band.high < math.inf:
            limits.append(Limit(LimitKind.BAND_HIGH, band, value=band.high))
            rows.append(n - (band.high / band.scale) * d)
    for j in np.flatnonzero(shelf.largest_share < 1.0):
        limits.append(Limit(LimitKind.SHARE, food=shelf.ids[j], value=shelf.largest_share[j]))
        row = -shelf.largest_share[j] * weight
        row[j] += 1.0
        rows.append(row)
    for j in np.flatnonzero(np.isfinite(shelf.on_hand)):
        limits.append(Limit(LimitKind.STOCK, food=shelf.ids[j], value=shelf.on_hand[j]))
        row = -(shelf.on_hand[j] / volume) * room
        row[j] += 1.0
        rows.append(row)
    matrix = np.array(rows).reshape(len(rows), len(shelf.foods))
    scale = np.abs(matrix).max(axis=1, initial=0.0)
    scale[scale == 0] = 1.0
    return Problem(shelf, bands, volume, tuple(limits), matrix / scale[:, None], scale)


_VOLUME_BAND = Band("volume", Basis.AS_FED, "mL/100 g")
