"""The mix problem as arrays.

Every demand is a *homogeneous* row in the grams ``y`` of the foods: a band's end, a largest
share, a stock. One more row fixes the size: a millilitre of mix for a design, a gram of mix
for the search of the nearest mix. So a batch of any size is the same small problem, and the
answer scales.

    band low    (n − low·d)·y ≥ 0          share   y_i − s_i · (m·y) ≤ 0
    band high   (n − high·d)·y ≤ 0         stock   y_i − stock_i / V · (v·y) ≤ 0
    to read     d·y − δ · (v·y) ≥ 0
    size        v·y = 1   or   m·y = 1

with n, d, v, m the band's numerator, its denominator, volume and weight per gram of each food,
and V the batch. In a mix without any d, a band would be a ratio of nothing to nothing, which meets
no demand. If some foods have no d and no other demand excludes a mix of them alone, a row asks for
a trace of it (δ is `TRACE` times what the food with the most of it has).
"""

from __future__ import annotations

import copy
import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError, UnknownName
from formulate.base.messages import say
from formulate.base.quantities import Quantity, magnitude
from formulate.base.shown import brief_repr
from formulate.blend.solve import LinearProgram
from formulate.foods.bands import Band, BandSet, Basis, Role, numerator_for, require
from formulate.foods.food import Composition, Food
from formulate.foods.tables import table_composition

__all__ = ["Limit", "LimitKind", "Problem", "Shelf", "build"]

Array = NDArray[np.float64]


#: Least amount of a denominator, as a share of what the food with the most of it has by volume: a
#: millionth.
TRACE = 1e-6
#: A difference this small, relative to its terms, is rounding error.
ROUNDING = 1e-13


class LimitKind(StrEnum):
    """What a row demands."""

    BAND_LOW = "band-low"
    BAND_HIGH = "band-high"
    SHARE = "largest-share"
    STOCK = "on-hand"
    SMALLEST = "smallest-amount"
    READABLE = "something-to-read"


@brief_repr
@dataclass(frozen=True, slots=True)
class Limit:
    """One demand, as people would name it.

    Parameters
    ----------
    kind : LimitKind
    band : Band or None
        Of a band's end; of what there is to read, the first band that is taken per it.
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
    def exact(self) -> bool:
        """Whether it is an end of a band whose ends are equal."""
        return self.band is not None and self.band.low == self.band.high

    @property
    def relaxable(self) -> bool:
        """Whether the nearest mix may miss it: demanded bands only, never safety."""
        return (
            self.band is not None
            and self.band.role is Role.DEMANDED
            and self.kind is not LimitKind.READABLE
        )


@brief_repr
@dataclass(frozen=True, eq=False)
class Shelf(ByContent):
    """The foods on hand, as arrays over n foods.

    Parameters
    ----------
    foods : tuple of Food
    price : ndarray, shape (n,), optional
        Money per gram; NaN where a food has no price. None: nothing has.
    largest_share : ndarray, shape (n,), optional
        Largest share by weight [g/g]; from the foods themselves where left out.
    on_hand : ndarray, shape (n,), optional
        Grams on hand; inf if more can be bought.
    smallest : ndarray, shape (n,), optional
        Smallest useful amount [g] where a food is used at all.
    currency : str
        Of the prices.
    like : Composition or None
        The food table: where a food has no value under a ceiling, the upper end of similar foods
        stands in. None: nothing stands in.
    country : str
        Key of the country it stands in; empty if nobody has said.
    """

    foods: tuple[Food, ...]
    price: Array = field(default_factory=lambda: np.empty(0))
    largest_share: Array = field(default_factory=lambda: np.empty(0))
    on_hand: Array = field(default_factory=lambda: np.empty(0))
    smallest: Array = field(default_factory=lambda: np.empty(0))
    currency: str = ""
    like: Composition | None = field(default_factory=table_composition, repr=False)
    country: str = ""
    composition: Composition = field(init=False, repr=False)

    def __post_init__(self) -> None:
        n = len(self.foods)
        if not n:
            raise InputError(say("mix.no-foods"), say("mix.no-foods-remedy"))
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
                raise InputError(say("mix.each-food", name=name, count=n))
        object.__setattr__(self, "composition", Composition.of(self.foods))

    @property
    def ids(self) -> tuple[str, ...]:
        """Food ids, in order."""
        return self.composition.ids

    @cached_property
    def for_milk(self) -> Shelf:
        """The same shelf without any of the foods that are for drinks only."""
        barred = [j for j, food in enumerate(self.foods) if food.drink_only]
        if not barred:
            return self
        shares = self.largest_share.copy()
        shares[barred] = 0.0
        return replace(self, largest_share=shares, smallest=np.where(shares > 0, self.smallest, 0))

    @cached_property
    def shared(self) -> NDArray[np.intp]:
        """Columns of the foods with a largest share below the whole."""
        return np.flatnonzero(self.largest_share < 1.0)

    @cached_property
    def stocked(self) -> NDArray[np.intp]:
        """Columns of the foods whose stock is limited."""
        return np.flatnonzero(np.isfinite(self.on_hand))

    @cached_property
    def share_rows(self) -> Array:
        """Rows of the largest shares, in the order of `shared`."""
        return _row_each(self.shared, self.largest_share, self.composition.row("mass"))

    @cached_property
    def has_smallest(self) -> bool:
        """Whether some food has a smallest useful amount."""
        return bool((self.smallest > 0).any())

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
            self.like,
            self.country,
        )

    def require_prices(self, *varied: int) -> None:
        """Check that every food has a price, except those whose price varies.

        Parameters
        ----------
        *varied : int
            Columns whose price is given elsewhere.

        Raises
        ------
        InputError
            Naming the foods without a price.
        """
        gaps = [self.ids[j] for j in np.flatnonzero(~np.isfinite(self.price)) if j not in varied]
        if gaps:
            raise InputError(say("mix.unpriced", foods=", ".join(gaps)))

    def column(self, food_id: str, hint: str = "") -> int:
        """Column of a food.

        Raises
        ------
        UnknownName
            If it is not on the shelf, with the nearest that are; `hint` says what to do.
        """
        if food_id not in self.ids:
            there = hint or say("errors.on-shelf", foods=", ".join(self.ids))
            raise UnknownName(say("errors.food-on-shelf"), food_id, self.ids, there)
        return self.ids.index(food_id)

    def with_price(self, price: Array) -> Shelf:
        """The same shelf at other prices [money per g]; what the foods are made of is shared."""
        if price.shape != (len(self.foods),):
            raise InputError(say("mix.each-food", name="price", count=len(self.foods)))
        other = copy.copy(self)
        other.__dict__.pop("for_milk", None)  # it holds the old prices
        object.__setattr__(other, "price", price)
        return other


@brief_repr
@dataclass(frozen=True, eq=False)
class Problem(ByContent):
    """A mix to design: n foods, m limits.

    Parameters
    ----------
    shelf : Shelf
    bands : BandSet
    volume : float
        Batch [mL].
    rows : ndarray, shape (m, n)
        Homogeneous, in the order of `limits`; a row whose limit is a low end demands ≥ 0, every
        other ≤ 0. Each is divided by its largest entry, `row_scale`, so that tolerances mean
        the same in all.
    row_scale : ndarray, shape (m,)
    read : tuple of Band
        Bands with whose denominators the last rows are about; see the top of this module.
    """

    shelf: Shelf
    bands: BandSet
    volume: float
    rows: Array
    row_scale: Array
    read: tuple[Band, ...] = ()

    @cached_property
    def limits(self) -> tuple[Limit, ...]:
        """What each row means, length m.

        Ends of bands, then largest shares, then stocks, then what there must be to read.
        """
        return tuple(map(self.limit, range(len(self.rows))))

    def limit(self, row: int) -> Limit:
        """What one row means."""
        ends = self.bands.ends
        if row < ends.band.size:
            band, low = self.bands.binding[ends.band[row]], bool(ends.is_low[row])
            kind = LimitKind.BAND_LOW if low else LimitKind.BAND_HIGH
            return Limit(kind, band, value=band.low if low else band.high)
        row -= ends.band.size
        for kind, columns, most in (
            (LimitKind.SHARE, self.shelf.shared, self.shelf.largest_share),
            (LimitKind.STOCK, self.shelf.stocked, self.shelf.on_hand),
        ):
            if row < columns.size:
                j = columns[row]
                return Limit(kind, food=self.shelf.ids[j], value=float(most[j]))
            row -= columns.size
        return Limit(LimitKind.READABLE, self.read[row], value=0.0)

    @cached_property
    def is_low(self) -> NDArray[np.bool_]:
        """Which rows demand ≥ 0, shape (m,)."""
        low = np.zeros(self.rows.shape[0], dtype=bool)
        low[: self.bands.ends.is_low.size] = self.bands.ends.is_low
        low[low.size - len(self.read) :] = True
        return low

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
        size = self.shelf.composition.row("volume") if size is None else size
        rows, low = self.rows, self.is_low
        if keep is not None:
            rows, low = rows[list(keep)], low[list(keep)]
        m, n = rows.shape
        row_lower, row_upper = np.full(m + 1, -math.inf), np.zeros(m + 1)
        row_lower[:m][low], row_upper[:m][low] = 0.0, math.inf
        row_lower[m] = row_upper[m] = 1.0
        return LinearProgram(
            cost=self.shelf.price if cost is None else cost,
            matrix=np.concatenate((rows, size[None, :])),
            row_lower=row_lower,
            row_upper=row_upper,
            col_lower=np.zeros(n),
            col_upper=np.full(n, math.inf),
        )


def build(shelf: Shelf, bands: BandSet, volume: float | Quantity) -> Problem:
    """Turn a shelf and a set of bands into a problem.

    A food that is for drinks only has the largest share 0 unless the bands are of a drink.

    Parameters
    ----------
    shelf : Shelf
    bands : BandSet
        Demanded and safety bands become rows.
    volume : float or pint.Quantity
        Batch [mL].

    Raises
    ------
    MissingComposition
        If a floor needs a value that a food lacks.
    """
    shelf = shelf if bands.drink else shelf.for_milk
    volume = magnitude(volume, "millilitre", "volume")
    composition, ends = shelf.composition, bands.ends
    per_gram, room = composition.per_gram, composition.row("volume")
    numerators = per_gram[ends.numerator]
    if not (composition.gaps.isdisjoint(ends.measures) and "volume" not in composition.gaps):
        _fill_gaps(numerators, shelf, bands)
    below = per_gram[ends.denominator]
    of_bands = numerators - ends.ratio * below
    # What is zero by definition, such as solids less solids, stays zero: rounding is not a demand.
    of_bands[np.abs(of_bands) <= ROUNDING * np.abs(numerators)] = 0.0
    blocks = [of_bands, shelf.share_rows]
    if shelf.stocked.size:
        blocks.append(_row_each(shelf.stocked, shelf.on_hand / volume, room))
    read: tuple[Band, ...] = ()
    if (below <= 0).any():
        read, traces = _to_read(of_bands, below, room, bands)
        blocks += traces
    rows = np.concatenate(blocks)
    scale = np.abs(rows).max(axis=1)
    scale += scale == 0  # a row of nothing stays as it is
    return Problem(shelf, bands, volume, rows / scale[:, None], scale, read)


def _to_read(
    of_bands: Array, below: Array, room: Array, bands: BandSet
) -> tuple[tuple[Band, ...], list[Array]]:
    """Bands that some mix could make nothing over nothing, one a denominator, with their rows.

    Parameters
    ----------
    of_bands, below : ndarray, shape (e, n)
        Row and denominator of each end [per g].
    room : ndarray, shape (n,)
        Volume [mL/g].
    """
    ends, found = bands.ends, {}
    gain = np.where(ends.is_low, 1.0, -1.0)[:, None] * of_bands / room  # each end demands ≥ 0
    for k, row in enumerate(below / room):
        band = bands.binding[ends.band[k]]
        trace = TRACE * float(row.max())
        without = row <= trace
        if band.denominator not in found and without.any() and not _kept(gain, row, without):
            # Where no food has any, no mix will do.
            found[band.denominator] = band, ((row - (trace or 1.0)) * room)[None, :]
    return tuple(band for band, _ in found.values()), [row for _, row in found.values()]


def _kept(gain: Array, row: Array, without: NDArray[np.bool_]) -> bool:
    """Whether some end keeps a mix from having no more than a trace of a denominator.

    An end that each food without it misses needs others, at least by the share at which the
    most that these gain makes up for the least that those lose.
    """
    if without.all():
        return False
    lost = -gain[:, without].max(axis=1)
    made_up = gain[:, ~without].max(axis=1)
    needing = lost > 0
    share = lost[needing] / (np.maximum(made_up[needing], 0.0) + lost[needing])
    least = share * float(row[~without].min())
    return bool((least >= TRACE * float(row.max())).any())


def _fill_gaps(numerators: Array, shelf: Shelf, bands: BandSet) -> None:
    """Fill in missing values in place, where a ceiling allows it; reject the others."""
    composition = shelf.composition
    require(_VOLUME_BAND, composition.row("volume"), composition)
    for k, band in enumerate(bands.binding):
        row, _ = numerator_for(band, composition, shelf.like)
        require(band, row, composition)
        require(band, composition.row(band.denominator), composition)
        numerators[bands.ends.band == k] = row


def _row_each(columns: NDArray[np.intp], most: Array, whole: Array) -> Array:
    """Rows ``y_j − most_j · (whole·y)``, one for each of some columns j."""
    rows = -most[columns, None] * whole
    rows[np.arange(columns.size), columns] += 1.0
    return rows


_VOLUME_BAND = Band("volume", Basis.AS_FED, "mL/100 g", role=Role.SHOWN)
