"""The shape of the pantry file: which tables and keys it may have, and what each may hold."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from formulate.base.shapes import (
    a_day,
    either,
    flag,
    key,
    list_of,
    number,
    one_of,
    record,
    table_of,
    text,
    whole,
)
from formulate.base.units import Kitchen

__all__ = ["BandEntry", "BandsEntry", "FoodEntry", "OwnEntry", "PantryFile", "SizeEntry"]

_SHARE = either(text(), number(0))
_DAYS = whole(1, 3650)


@dataclass(frozen=True, kw_only=True)
class SizeEntry:
    """Another package that a food is sold in."""

    price: float = key(number(0, 1e6))
    package: str = key(text())


@dataclass(frozen=True, kw_only=True)
class FoodEntry:
    """One table under [foods]."""

    price: float | None = key(number(0, 1e6), None)
    package: str | None = key(text(), None)
    sizes: list[SizeEntry] = key(list_of(record(SizeEntry)), [])
    keeps_closed: int | None = key(_DAYS, None)
    keeps_open: int | None = key(_DAYS, None)
    priced_on: date | None = key(a_day(), None)
    on_hand: str | None = key(text(), None)
    use_by: date | None = key(a_day(), None)
    largest_share: str | float | None = key(_SHARE, None)
    smallest: str | None = key(text(), None)
    step: str | None = key(text(), None)
    in_mix: bool = key(flag(), True)


@dataclass(frozen=True, kw_only=True)
class OwnEntry:
    """One table under [own]: by its composition, or by its label."""

    name: str | None = key(text(), None)
    kind: str | None = key(text(), None)
    sold_as: str | None = key(text(), None)
    like: str | None = key(text(), None)
    weighs: str | list[str] = key(either(text(), list_of(text())), [])
    per_100_g: dict[str, float] | None = key(table_of(number(0)), None)
    panel: dict[str, float | str] | None = key(table_of(either(text(), number())), None)
    at_least: dict[str, float] | None = key(table_of(number(0)), None)
    at_most: dict[str, float] | None = key(table_of(number(0)), None)
    largest_share: str | float | None = key(_SHARE, None)
    ingredients: str | list[str] = key(either(text(longest=2000), list_of(text())), [])
    source: str | None = key(text(), None)


@dataclass(frozen=True, kw_only=True)
class BandEntry:
    """One demand of a set of one's own."""

    measure: str = key(text())
    basis: str = key(text())
    unit: str = key(text())
    low: float | None = key(number(), None)
    high: float | None = key(number(), None)
    over: str | None = key(text(), None)
    source: str | None = key(text(), None)
    why: str | None = key(text(), None)


@dataclass(frozen=True, kw_only=True)
class BandsEntry:
    """One table under [bands]."""

    title: str | None = key(text(), None)
    like: str = key(text(), "lamb-replacer")
    demand: list[BandEntry] = key(list_of(record(BandEntry), fewest=1))


@dataclass(frozen=True, kw_only=True)
class PantryFile:
    """The whole file."""

    name: str = key(text(shortest=0), "")
    currency: str | None = key(text(pattern="[A-Z]{3}"), None)
    prices_on: date | None = key(a_day(), None)
    country: str | None = key(text(), None)
    table: str | None = key(text(), None)
    kitchen: str | None = key(one_of(*Kitchen), None)
    measures: str = key(one_of("cups", "scale"), "cups")
    foods: dict[str, FoodEntry] = key(table_of(record(FoodEntry)), {})
    own: dict[str, OwnEntry] = key(table_of(record(OwnEntry)), {})
    bands: dict[str, BandsEntry] = key(table_of(record(BandsEntry)), {})
    recipes: dict[str, str] = key(table_of(text(longest=2000)), {})
