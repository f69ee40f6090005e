"""The shape of the flock file: which tables and keys it may have, and what each may hold."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time

from formulate.base.moments import WEEK
from formulate.base.shapes import (
    a_day,
    a_moment,
    a_time,
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
from formulate.rearing.flock import MilkEnd

__all__ = [
    "AnimalEntry",
    "ChangeEntry",
    "ColostrumEntry",
    "CreepEntry",
    "FlockFile",
    "PermissionEntry",
    "TemperatureEntry",
    "WeightEntry",
]

_SPECIES = one_of("lamb", "kid")
#: Remarks may have several lines.
_REMARK = text(shortest=0, longest=5000, pattern=r"[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f]*")


@dataclass(frozen=True, kw_only=True)
class WeightEntry:
    """One weighing."""

    on: date = key(a_day())
    weight: str = key(text())
    sure: bool = key(flag(), False)


@dataclass(frozen=True, kw_only=True)
class ColostrumEntry:
    """Colostrum drunk."""

    at: datetime = key(a_moment())
    amount: str = key(text())
    what: str = key(text(shortest=0), "")


@dataclass(frozen=True, kw_only=True)
class CreepEntry:
    """Creep eaten on a day."""

    on: date = key(a_day())
    amount: str = key(text())


@dataclass(frozen=True, kw_only=True)
class TemperatureEntry:
    """A temperature taken."""

    at: datetime = key(a_moment())
    celsius: float = key(number())


@dataclass(frozen=True, kw_only=True)
class AnimalEntry:
    """One table under [animals]."""

    species: str | None = key(_SPECIES, None)
    born: datetime | date = key(either(a_moment(), a_day()))
    birth_weight: str | None = key(text(), None)
    weights: list[WeightEntry] = key(list_of(record(WeightEntry)), [])
    colostrum: list[ColostrumEntry] = key(list_of(record(ColostrumEntry)), [])
    creep: list[CreepEntry] = key(list_of(record(CreepEntry)), [])
    temperature: float | None = key(number(), None)
    temperatures: list[TemperatureEntry] = key(list_of(record(TemperatureEntry)), [])
    veterinarians_cap: str | None = key(text(), None)
    notes: str = key(_REMARK, "")
    mix: str | None = key(text(), None)
    level: str | None = key(text(), None)
    weaning: str | None = key(one_of(*MilkEnd), None)


@dataclass(frozen=True, kw_only=True)
class PermissionEntry:
    """One table of [[veterinarian]]."""

    recipe: str = key(text())
    name: str = key(text())
    on: date = key(a_day())
    allows: str = key(text())


@dataclass(frozen=True, kw_only=True)
class ChangeEntry:
    """The table [change]."""

    before: str = key(text())
    first_day: date = key(a_day())
    days: int | None = key(whole(1, 30), None)


@dataclass(frozen=True, kw_only=True)
class FlockFile:
    """The whole file."""

    name: str = key(text(shortest=0), "")
    sample: bool = key(flag(), False)
    day: date | None = key(a_day(), None)
    species: str = key(_SPECIES, "lamb")
    kitchen: str | None = key(one_of(*Kitchen), None)
    pantry: str | None = key(text(), None)
    mix: str | None = key(text(), None)
    level: str | None = key(text(), None)
    cold: bool = key(flag(), False)
    weaning: str = key(one_of(*MilkEnd), MilkEnd.STEPPED)
    bottle_marks: str | None = key(text(), None)
    feeding_times: list[str | time] = key(list_of(either(text(), a_time())), [])
    jar: str | None = key(text(), None)
    jars: int | None = key(whole(1, 1000), None)
    refrigerator: str | None = key(text(), None)
    shopping_days: list[str] = key(list_of(one_of(*WEEK)), [])
    change: ChangeEntry | None = key(record(ChangeEntry), None)
    veterinarian: list[PermissionEntry] = key(list_of(record(PermissionEntry)), [])
    animals: dict[str, AnimalEntry] = key(table_of(record(AnimalEntry)), {})
