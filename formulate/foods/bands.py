"""Bands: the one way to state a demand on a mix.

A band is a range for the ratio of two linear measures, ``low ≤ scale · (n·x)/(d·x) ≤ high``.
Its *basis* names the denominator, so that percent as fed, percent of dry matter, grams per
litre, milliosmoles per kilogram of water and calcium per phosphorus are one concept:

==================  =========================  ======================
basis               denominator ``d``          unit ends in
==================  =========================  ======================
``as_fed``          weight                     ``/100 g``, ``/kg``
``dry_matter``      solids                     ``/100 g``, ``/kg``
``per_litre``       volume                     ``/L``
``per_megajoule``   metabolisable energy       ``/MJ``
``per_kg_water``    water                      ``/kg``
``ratio``           any measure (``over``)     none: ``1``
==================  =========================  ======================
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError, MissingComposition, UnknownName, WrongType
from formulate.base.messages import listed, number, say
from formulate.base.shown import Renderable, brief
from formulate.foods.food import Composition, row_number, row_numbers
from formulate.foods.measures import MASS, measure

__all__ = ["Band", "BandSet", "Basis", "Read", "Role", "Standing", "read", "read_all", "read_named"]

Array = NDArray[np.float64]


class Basis(StrEnum):
    """The basis of a value: what it is measured per."""

    AS_FED = "as_fed"
    DRY_MATTER = "dry_matter"
    PER_LITRE = "per_litre"
    PER_MEGAJOULE = "per_megajoule"
    PER_KG_WATER = "per_kg_water"
    RATIO = "ratio"

    @property
    def words(self) -> str:
        """Plain words that follow a number."""
        return say(f"bands.basis.{self.value}")


_DENOMINATOR = {
    Basis.AS_FED: MASS,
    Basis.DRY_MATTER: "solids",
    Basis.PER_LITRE: "volume",
    Basis.PER_MEGAJOULE: "metabolisable-energy",
    Basis.PER_KG_WATER: "water",
}
# How much of the denominator, in its own unit, the end of a unit names.
_PER: Mapping[Basis, Mapping[str, float]] = MappingProxyType(
    {
        Basis.AS_FED: {"100 g": 100.0, "kg": 1000.0},
        Basis.DRY_MATTER: {"100 g": 100.0, "kg": 1000.0},
        Basis.PER_LITRE: {"L": 1000.0},
        Basis.PER_MEGAJOULE: {"MJ": 1.0},
        Basis.PER_KG_WATER: {"kg": 1000.0},
        Basis.RATIO: {"": 1.0},
    }
)


class Role(StrEnum):
    """What a band is for."""

    DEMANDED = "demanded"  # a mix is designed to it, and it decides a check
    SAFETY = "safety"  # a ceiling or floor that is never relaxed
    SHOWN = "shown"  # shown beside its range, but decides nothing


#: Estimates that are no surer than two figures: osmolality is good to 15 %.
_ROUGH = frozenset({"osmoles"})
#: A value this close to an end, relative to the range, counts as on it.
EDGE = 1e-7


def _figures(value: float, figures: int) -> str:
    """A number to some figures, its thousands set apart."""
    if value == 0:
        return "0"
    decimals = figures - 1 - math.floor(math.log10(abs(value)))
    return f"{round(value, decimals):,.{max(decimals, 0)}f}"


def _figured(text: str) -> float:
    return float(text.replace(",", ""))


class Standing(StrEnum):
    """Where a value lies in its range."""

    INSIDE = "inside"
    BELOW = "below"
    ABOVE = "above"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Band:
    """A range for one measure on one basis.

    Parameters
    ----------
    measure : str
        Numerator, a name of `MEASURES`.
    basis : Basis
        Names the denominator.
    unit : str
        ``<unit of the measure>/<amount of the denominator>``, as "g/100 g".
    low, high : float
        Range; −inf and inf where open.
    role : Role
        Demanded, safety or shown.
    source : str
        Key of the source list.
    why : str
        The reasoning behind the numbers.
    over : str
        Denominator of a ratio.

    Raises
    ------
    InputError
        If low exceeds high, both are open (unless shown), or unit and basis do not fit.
    """

    measure: str
    basis: Basis
    unit: str
    low: float = -math.inf
    high: float = math.inf
    role: Role = Role.DEMANDED
    source: str = ""
    why: str = ""
    over: str = ""

    def __repr__(self) -> str:
        per = self.over or self.unit
        return brief(
            self, self.measure, f"{self.low:g} to {self.high:g} {per} {self.basis}, {self.role}"
        )

    def __post_init__(self) -> None:
        numerator = measure(self.measure)
        if (self.basis is Basis.RATIO) != bool(self.over):
            raise InputError(say("bands.ratio", measure=self.measure))
        if self.over and measure(self.over).unit != numerator.unit:
            raise InputError(
                say(
                    "bands.ratio-units",
                    measure=self.measure,
                    unit=numerator.unit,
                    over=self.over,
                    over_unit=measure(self.over).unit,
                )
            )
        unit, _, per = self.unit.partition("/")
        if unit != numerator.unit and self.basis is not Basis.RATIO:
            raise InputError(
                say("bands.other-unit", measure=self.measure, own_unit=numerator.unit, unit=unit),
                say("bands.write-unit", unit=f"{numerator.unit}/{next(iter(_PER[self.basis]))}"),
            )
        if self.basis is Basis.RATIO and self.unit != "1":
            raise InputError(
                say("bands.ratio-without-unit", measure=self.measure, over=self.over),
                say("bands.write-one"),
            )
        if per not in _PER[self.basis]:
            raise InputError(
                say("bands.other-basis", unit=self.unit, measure=self.measure, basis=self.basis),
                say(
                    "bands.write-units",
                    units=listed([f"{unit}/{per}" for per in _PER[self.basis]], either=True),
                ),
            )
        if math.isnan(self.low) or math.isnan(self.high) or self.low > self.high:
            raise InputError(
                say("bands.upside-down", measure=self.measure, low=self.low, high=self.high),
                say("bands.upside-down-remedy"),
            )
        if self.role is not Role.SHOWN and math.isinf(self.low) and math.isinf(self.high):
            raise InputError(
                say("bands.open", measure=self.measure, basis=self.basis.words, role=self.role),
                say("bands.open-remedy"),
            )

    @property
    def denominator(self) -> str:
        """Name of the measure in the denominator."""
        return self.over or _DENOMINATOR[self.basis]

    @cached_property
    def scale(self) -> float:
        """Value = scale · (numerator / denominator)."""
        return _PER[self.basis][self.unit.partition("/")[2]]

    @cached_property
    def rows(self) -> tuple[int, int]:
        """Rows of numerator and denominator in `Composition.per_gram`."""
        return row_number(self.measure), row_number(self.denominator)

    @property
    def label(self) -> str:
        """Plain words: "protein", "calcium to phosphorus"."""
        name = measure(self.measure).label
        if not self.over:
            return name
        return say("bands.ratio-label", measure=name, over=measure(self.over).label)

    @property
    def unit_words(self) -> str:
        """Unit and basis as said aloud: "% as fed", "mg/kg dry matter"."""
        quantity, _, per = self.unit.partition("/")
        weighed = self.basis in (Basis.AS_FED, Basis.DRY_MATTER)
        percent = "-percent" if weighed and (quantity, per) == ("g", "100 g") else ""
        return say(f"bands.unit.{self.basis.value}{percent}", unit=self.unit, quantity=quantity)

    @property
    def range_words(self) -> str:
        """The range as said aloud: "16 to 19", "up to 40", "" where there is none."""
        if math.isinf(self.low) and math.isinf(self.high):
            return ""
        if math.isinf(self.low):
            return say("bands.range.up-to", high=self.high)
        if math.isinf(self.high):
            return say("bands.range.at-least", low=self.low)
        return say("bands.range.between", low=self.low, high=self.high)

    def value_words(self, value: float) -> str:
        """A read as said aloud, with as many figures as its measure is worth.

        A value outside the range gets as many more as it takes not to look inside.
        """
        if not math.isfinite(value):
            return "?"
        said = _figures(value, 2) if self.measure in _ROUGH else number(value)
        figures = 3
        while self._missed(value) and not self._missed(_figured(said)) and figures < 9:
            said, figures = _figures(value, figures), figures + 1
        return said

    def miss_words(self, miss: float) -> str:
        """How far a read lies outside: "1.2", "less than 0.01"."""
        if 0 < miss < 0.005:
            return say("bands.range.hair")
        return _figures(miss, 2) if self.measure in _ROUGH else number(miss)

    def _missed(self, value: float) -> bool:
        return not self.low - EDGE * self.width <= value <= self.high + EDGE * self.width

    @property
    def width(self) -> float:
        """Width of the range, by which a miss is divided; an open end counts as a tenth."""
        if math.isinf(self.low) or math.isinf(self.high):
            end = self.high if math.isinf(self.low) else self.low
            return abs(end) / 10 or 1.0
        return (self.high - self.low) or abs(self.high) / 10 or 1.0

    @property
    def middle(self) -> float:
        """Middle of the range; if one end is open, the other end."""
        if math.isinf(self.low):
            return self.high
        return self.low if math.isinf(self.high) else (self.low + self.high) / 2

    def same_read(self, other: Band) -> bool:
        """Whether both read the same thing on the same basis."""
        return (self.measure, self.basis, self.over) == (other.measure, other.basis, other.over)


@dataclass(frozen=True, eq=False)
class Ends(ByContent):
    """The closed ends of b bands as e rows, so that a problem is built without a loop.

    Parameters
    ----------
    measures : frozenset of str
        Every measure that the bands read.
    numerator, denominator : ndarray of int, shape (e,)
        Rows of `Composition.per_gram`.
    band : ndarray of int, shape (e,)
        Whose end.
    is_low : ndarray of bool, shape (e,)
        Low ends demand at least, the others at most.
    ratio : ndarray, shape (e, 1)
        The end as a plain ratio: numerator per denominator, each in its own unit.
    """

    measures: frozenset[str]
    numerator: NDArray[np.intp]
    denominator: NDArray[np.intp]
    band: NDArray[np.intp]
    is_low: NDArray[np.bool_]
    ratio: Array


@dataclass(frozen=True)
class BandSet(Renderable):
    """A named reference: what a milk for somebody should read.

    Parameters
    ----------
    name : str
        Readable id, as ``lamb-replacer``.
    title : str
        Plain words.
    species : str
        "lamb" or "kid": decides the safety ceilings.
    bands : tuple of Band
        Demanded, safety and shown.
    note : str
        What the range is and is not.
    drink : bool
        Whether it is of a drink beside the milk: only then may a food that is for drinks only be
        used.
    """

    name: str
    title: str
    species: str
    bands: tuple[Band, ...]
    note: str = ""
    drink: bool = False

    def __repr__(self) -> str:
        demanded, safety = (len(self.in_role(role)) for role in (Role.DEMANDED, Role.SAFETY))
        return brief(self, self.name, self.title, f"{demanded} demanded", f"{safety} for safety")

    def in_role(self, *roles: Role) -> tuple[Band, ...]:
        """Bands in these roles, in order."""
        return tuple(band for band in self.bands if band.role in roles)

    @cached_property
    def binding(self) -> tuple[Band, ...]:
        """Bands that a mix must meet: demanded ones first, then safety."""
        return self.in_role(Role.DEMANDED) + self.in_role(Role.SAFETY)

    @cached_property
    def to_read(self) -> tuple[Band, ...]:
        """Every band, then the plain reads that none of them covers."""
        there = {(band.measure, band.basis, band.over) for band in self.bands}
        plain = (p for p in PLAIN_READS if (p.measure, p.basis, p.over) not in there)
        return (*self.bands, *plain)

    @cached_property
    def ends(self) -> Ends:
        """The closed ends of `binding`, as arrays."""
        ends = [
            (k, band, is_low, end)
            for k, band in enumerate(self.binding)
            for is_low, end in ((True, band.low), (False, band.high))
            if math.isfinite(end)
        ]
        return Ends(
            frozenset(name for band in self.binding for name in (band.measure, band.denominator)),
            row_numbers(band.measure for _, band, _, _ in ends),
            row_numbers(band.denominator for _, band, _, _ in ends),
            np.array([k for k, _, _, _ in ends], dtype=np.intp),
            np.array([is_low for _, _, is_low, _ in ends], dtype=bool),
            np.array([[end / band.scale] for _, band, _, end in ends]).reshape(-1, 1),
        )


@dataclass(frozen=True, slots=True)
class Read:
    """One read of a mix.

    Parameters
    ----------
    band : Band
        What is read, on which basis, against which range.
    value : float or None
        In the band's unit; None if a food's value is missing.
    standing : Standing or None
        None if the band has no range.
    lacks : tuple of str
        Foods in the mix without the value.
    assumed : tuple of str
        Foods that were given the upper end of similar foods, which a ceiling allows: the read
        counts, and may be higher than the truth.
    """

    band: Band
    value: float | None
    standing: Standing | None
    lacks: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()

    def __repr__(self) -> str:
        value = (
            "unknown"
            if self.value is None
            else f"{self.value:.4g} {self.band.over or self.band.unit}"
        )
        return brief(self, self.band.measure, f"{value} {self.band.basis}", self.standing or "")

    @property
    def miss(self) -> float:
        """How far outside the range, in the band's unit; 0 inside, NaN unknown."""
        if self.value is None:
            return math.nan
        return max(self.band.low - self.value, self.value - self.band.high, 0.0)


#: What people ask for first, where a measure is read on several bases.
_ORDER = (Role.DEMANDED, Role.SAFETY, Role.SHOWN)


def read_named(reads: Sequence[Read], key: str | tuple[str, str]) -> Read:
    """One of several reads: "fat", or ("fat", "as_fed").

    Parameters
    ----------
    reads : sequence of Read
    key : str or tuple of (str, str)
        Measure, or measure and basis. On several bases the one with a demanded range is meant,
        else one with a safety range, else the first.

    Raises
    ------
    WrongType
        If it is something else.
    UnknownName
        If there is no such value; the error suggests the nearest measures.
    """
    parts = key if isinstance(key, tuple) else (key,)
    if len(parts) not in (1, 2) or not all(isinstance(part, str) for part in parts):
        raise WrongType("measure", key, say("library.a-measure"))
    name = parts[0]
    found = [read for read in reads if read.band.measure == name]
    if not found:
        raise UnknownName("measure", name, {read.band.measure for read in reads})
    if len(parts) == 1:
        return min(found, key=lambda read: _ORDER.index(read.band.role))
    on_basis = [read for read in found if read.band.basis == parts[1]]
    if not on_basis:
        bases = sorted({str(read.band.basis) for read in found})
        hint = say("library.bases", measure=name, bases=listed(bases))
        raise UnknownName("basis", parts[1], bases, hint)
    return min(on_basis, key=lambda read: _ORDER.index(read.band.role))


#: What every mix is read for, whatever the set: solids, fat, protein and lactose as fed, and
#: what a kilogram of it carries.
PLAIN_READS = (
    *(
        Band(name, Basis.AS_FED, "g/100 g", role=Role.SHOWN)
        for name in ("solids", "fat", "protein", "lactose", "ash")
    ),
    Band("metabolisable-energy", Basis.PER_LITRE, "MJ/L", role=Role.SHOWN),
    Band("osmoles", Basis.PER_KG_WATER, "mOsm/kg", role=Role.SHOWN),
    Band("calcium", Basis.RATIO, "1", role=Role.SHOWN, over="phosphorus"),
)


def upper_end(band: Band, like: Composition, kind: str) -> float:
    """Largest numerator [per g] among table foods of one kind; NaN if none has a value."""
    row = like.row(band.measure)
    values = [v for v, food in zip(row, like.foods, strict=True) if food.kind == kind]
    known = [v for v in values if math.isfinite(v)]
    return max(known, default=math.nan)


def numerator_for(
    band: Band, composition: Composition, like: Composition | None
) -> tuple[Array, tuple[str, ...]]:
    """Numerator row of a band, with missing values stood in for where that is safe.

    A pure ceiling may use the upper end of similar foods (same kind, from the table `like`); a
    floor may not.

    Returns
    -------
    row : ndarray, shape (n_foods,)
        NaN where the value is missing and nothing may stand in.
    assumed : tuple of str
        Foods stood in for.
    """
    row = composition.row(band.measure)
    gaps = np.flatnonzero(np.isnan(row))
    if not gaps.size or like is None or not math.isinf(band.low) or math.isinf(band.high):
        return row, ()
    row = row.copy()
    for j in gaps:
        row[j] = upper_end(band, like, composition.foods[j].kind)
    return row, tuple(composition.ids[j] for j in gaps if math.isfinite(row[j]))


def require(band: Band, row: Array, composition: Composition) -> None:
    """Raise `MissingComposition` if the row has a gap, naming band and foods."""
    gaps = [composition.ids[j] for j in np.flatnonzero(np.isnan(row))]
    if gaps:
        end = "floor" if math.isfinite(band.low) else "ceiling"
        demand = say(f"bands.{end}-on", label=band.label, basis=band.basis.words)
        raise MissingComposition(measure(band.measure).label, gaps, demand)


def read(
    band: Band,
    composition: Composition,
    grams: Array,
    like: Composition | None = None,
    totals: Sequence[float] | None = None,
) -> Read:
    """Read one band of a mix.

    Parameters
    ----------
    band : Band
        What to read.
    composition : Composition
        Of the foods, n of them.
    grams : ndarray, shape (n,)
        Weight of each food [g as fed].
    like : Composition, optional
        The food table, for the upper end of similar foods.
    totals : sequence of float, optional
        ``composition.totals(grams)``, where several bands are read of one mix.
    """
    if totals is None:
        totals = composition.totals(grams)
    value = value_of(band, totals)
    if value is None:
        return _read_with_gaps(band, composition, grams, like)
    return Read(band, value, _standing(band, value))


def value_of(band: Band, totals: Sequence[float]) -> float | None:
    """The value of a band, in its unit, from the totals of every measure in a mix.

    None where a food that is used has no value, or there is nothing to divide by.
    """
    numerator, denominator = band.rows
    below = totals[denominator]
    value = band.scale * totals[numerator] / below if below > 0 else math.nan
    return None if math.isnan(value) else value


def _read_with_gaps(
    band: Band, composition: Composition, grams: Array, like: Composition | None
) -> Read:
    """The read of a band if a used food lacks a value, which similar foods may supply."""
    used = grams > 0
    row, assumed = numerator_for(band, composition, like)
    below = composition.row(band.denominator)
    gaps = used & (np.isnan(row) | np.isnan(below))
    assumed = tuple(name for name in assumed if used[composition.ids.index(name)])
    if gaps.any():
        lacks = tuple(composition.ids[j] for j in np.flatnonzero(gaps))
        return Read(band, None, Standing.UNKNOWN, lacks)
    denominator = float(below[used] @ grams[used])
    if denominator <= 0:
        return Read(band, None, Standing.UNKNOWN)
    value = band.scale * float(row[used] @ grams[used]) / denominator
    return Read(band, value, _standing(band, value), (), assumed)


def _standing(band: Band, value: float) -> Standing | None:
    if math.isinf(band.low) and math.isinf(band.high):
        return None
    slack = EDGE * band.width
    if value < band.low - slack:
        return Standing.BELOW
    return Standing.ABOVE if value > band.high + slack else Standing.INSIDE


def read_all(
    bands: BandSet,
    composition: Composition,
    grams: Array,
    like: Composition | None = None,
) -> tuple[Read, ...]:
    """Read every band, then the plain reads that no band has covered."""
    totals = composition.totals(grams)
    return tuple(read(band, composition, grams, like, totals) for band in bands.to_read)
