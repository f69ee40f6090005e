"""The shipped tables as objects: sources, storage, standards, bands, and the foods of a kitchen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from formulate.base.errors import InputError, UnknownName, check_type
from formulate.base.messages import say
from formulate.foods.bands import Band, BandSet, Basis, Role
from formulate.foods.food import Composition
from formulate.foods.food_table import FoodTable
from formulate.foods.national import country_foods, not_for_lambs
from formulate.foods.shipped import read_rows, read_toml
from formulate.foods.spread import DefaultSpread

__all__ = [
    "Source",
    "Standard",
    "Storage",
    "band_from",
    "band_set",
    "band_sets",
    "default_spreads",
    "drink_bands",
    "food_table",
    "not_for_lambs",
    "read_toml",
    "safety_bands",
    "sources",
    "standards",
    "storage_days",
    "table_composition",
]


@dataclass(frozen=True, slots=True)
class Source:
    """Where a number comes from.

    Parameters
    ----------
    key : str
    citation : str
    year : str
    status : str
        seen | memory | judgement | common-practice | definition.
    where : str
        Table, section or record.
    """

    key: str
    citation: str
    year: str
    status: str
    where: str

    def __str__(self) -> str:
        place = f"; {self.where}" if self.where else ""
        recalled = " (from memory)" if self.status == "memory" else ""
        year = f" ({self.year})" if self.year else ""
        return f"{self.citation}{year}{place}{recalled}"


@dataclass(frozen=True, slots=True)
class Storage:
    """How long something keeps, the shorter where sources differ.

    Parameters
    ----------
    kind : str
        Kind of food; "mix" is the mixed milk, "reconstituted" powder stirred into water.
    opened_days : int
        Days once open, chilled (powders: cool and dry).
    source : str
        Key of the source list, of the days once open.
    note : str
        What the sources say, or how to keep it.
    unopened_days : int
        Days after it was bought, closed; 0 for what is not bought.
    chilled : bool
        Whether it stands in the refrigerator while closed.
    chilled_open : bool
        Whether it does once open.
    unopened_source, unopened_note : str
        The same of the days closed.
    """

    kind: str
    opened_days: int
    source: str
    note: str
    unopened_days: int
    chilled: bool
    chilled_open: bool
    unopened_source: str
    unopened_note: str


@dataclass(frozen=True, slots=True)
class Standard:
    """One demand of the law on what is sold under a name.

    Parameters
    ----------
    name : str
        What it is sold as.
    law : str
        "us" or "eu".
    kind : str
        Kind of food.
    like : str
        Food of the table that it resembles; empty if none is near enough.
    measure : str
        fat, solids, solids-not-fat or water.
    low, high : float
        Percent as fed; −inf and inf where open.
    source : str
        Key of the source list.
    note : str
    """

    name: str
    law: str
    kind: str
    like: str
    measure: str
    low: float
    high: float
    source: str
    note: str


@cache
def sources() -> Mapping[str, Source]:
    """Every source of a number, by its key.

    Returns
    -------
    mapping of str to Source
    """
    return {row["key"]: Source(**row) for row in read_rows("sources.csv")}


def food_table(country: str | None = None) -> FoodTable:
    """The foods of a country's kitchen; see `formulate.foods.national.country_foods`.

    Parameters
    ----------
    country : str, optional
        As "uk"; the default country's where left out.

    Returns
    -------
    FoodTable

    Raises
    ------
    WrongType, UnknownName
        If there is no such country here.
    """
    return country_foods(country)


@cache
def table_composition() -> Composition:
    """The whole food table as one matrix: where similar foods are looked up."""
    return Composition.of(food_table().values())


def band_from(entry: Mapping[str, Any], role: Role = Role.DEMANDED) -> Band:
    """Make a band of a TOML table."""
    fields = dict(entry)
    try:
        basis = Basis(fields.pop("basis"))
    except ValueError as error:
        raise UnknownName("basis", str(entry["basis"]), list(Basis)) from error
    return Band(
        measure=fields.pop("measure"),
        basis=basis,
        unit=fields.pop("unit"),
        low=float(fields.pop("low", "-inf")),
        high=float(fields.pop("high", "inf")),
        role=Role(fields.pop("role", role)),
        **fields,
    )


@cache
def storage_days() -> Mapping[str, Storage]:
    """How long each kind of food keeps, open and closed; kinds without a figure are not there."""
    return {
        row["kind"]: Storage(
            row["kind"],
            int(row["opened_days"]),
            row["source"],
            row["note"],
            int(row["unopened_days"] or 0),
            row["unopened_place"] == "refrigerator",
            row["opened_place"] == "refrigerator",
            row["unopened_source"],
            row["unopened_note"],
        )
        for row in read_rows("storage.csv")
    }


@cache
def standards() -> tuple[Standard, ...]:
    """What the law demands of foods by the names they are sold under, in the file's order."""
    return tuple(
        Standard(
            **{key: row[key] for key in ("name", "law", "kind", "like", "measure")},
            low=float(row["low"] or "-inf"),
            high=float(row["high"] or "inf"),
            source=row["source"],
            note=row["note"],
        )
        for row in read_rows("standards.csv")
    )


@cache
def default_spreads() -> Mapping[tuple[str, str], DefaultSpread]:
    """Spread between cartons by kind of food and measure; kind "*" is any other."""
    return {
        (row["kind"], row["measure"]): DefaultSpread(
            row["kind"], row["measure"], float(row["relative_sd"]), row["source"], row["why"]
        )
        for row in read_rows("spreads.csv")
    }


@cache
def shown_bands() -> tuple[Band, ...]:
    """Ranges that are shown beside every set's own, never demanded."""
    shown = read_toml("bands.toml")["shown"]["bands"]
    return tuple(band_from(entry, Role.SHOWN) for entry in shown)


@cache
def safety_bands(species: str) -> tuple[Band, ...]:
    """Safety ceilings of a species, which every set of it has."""
    table = read_toml("bands.toml")["safety"]
    if species not in table:
        raise UnknownName("species", species, table)
    return tuple(band_from(entry, Role.SAFETY) for entry in table[species]["bands"])


@cache
def band_sets() -> Mapping[str, BandSet]:
    """The built-in references by their names.

    Returns
    -------
    mapping of str to BandSet
    """
    return {
        name: BandSet(
            name,
            entry["title"],
            entry["species"],
            (
                *(band_from(b) for b in entry["bands"]),
                *shown_bands(),
                *safety_bands(entry["species"]),
            ),
            " ".join(entry["note"].split()),
        )
        for name, entry in read_toml("bands.toml")["sets"].items()
    }


@cache
def drink_bands(older_school: bool = False) -> BandSet:
    """What is wanted of a drink for a scouring animal; no milk is designed to it.

    Parameters
    ----------
    older_school : bool
        Whether it may be as strong as the older school wanted it.
    """
    entry = read_toml("drink.toml")
    bands = tuple(band_from(band) for band in entry["bands"])
    if older_school:
        top = float(entry["schools"]["older_high"])
        bands = tuple(replace(b, high=top) if b.measure == "dissolved" else b for b in bands)
    return BandSet("drink", entry["title"], "lamb", bands, entry["note"].strip(), drink=True)


def band_set(name: str, own: Mapping[str, BandSet] | None = None) -> BandSet:
    """Find a reference by its name, a person's own ones first.

    Parameters
    ----------
    name : str
        As "lamb-replacer".
    own : mapping of str to BandSet, optional
        A person's own, by name; as ``pantry.own_bands``.

    Returns
    -------
    BandSet

    Raises
    ------
    WrongType
        If the name is not text.
    UnknownName
        With the nearest names.
    """
    check_type(name, (str,), say("library.what.reference"), say("library.a-reference"))
    known = {**band_sets(), **(own or {})}
    key = "-".join(name.lower().replace("_", "-").split())
    if key not in known:
        raise UnknownName(
            "set-of-bands", name, known, say("errors.known.sets", names=", ".join(known))
        )
    if not known[key].bands:
        raise InputError(say("bands.demands-nothing", name=name))
    return known[key]
