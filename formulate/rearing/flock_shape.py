"""Shape of the flock file: which tables and keys there are, and what each may hold."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from formulate.base.errors import InputError, ManyFaults, UnknownName

__all__ = ["AnimalEntry", "FlockFile", "check_flock_shape"]

Text = Annotated[str, Field(min_length=1, max_length=500)]
Name = Annotated[str, Field(min_length=1, max_length=60, pattern=r"^[^\x00-\x1f]+$")]
Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class WeightEntry(_Entry):
    """One weighing."""

    on: date
    weight: Text
    sure: bool = False


class ColostrumEntry(_Entry):
    """Colostrum drunk."""

    at: datetime
    amount: Text
    what: str = ""


class CreepEntry(_Entry):
    """Creep eaten on a day."""

    on: date
    amount: Text


class AnimalEntry(_Entry):
    """One table under [animals]."""

    species: Literal["lamb", "kid"] | None = None
    born: datetime | date
    birth_weight: Text | None = None
    weights: list[WeightEntry] = Field(default_factory=list)
    colostrum: list[ColostrumEntry] = Field(default_factory=list)
    creep: list[CreepEntry] = Field(default_factory=list)
    temperature: Annotated[float, Field(allow_inf_nan=False)] | None = None
    veterinarians_cap: Text | None = None
    notes: str = ""


class ChangeEntry(_Entry):
    """The table [change]."""

    before: Text
    first_day: date
    days: Annotated[int, Field(ge=1, le=30)] | None = None


class FlockFile(_Entry):
    """The whole file."""

    name: str = ""
    sample: bool = False
    day: date | None = None
    species: Literal["lamb", "kid"] = "lamb"
    kitchen: Literal["us", "metric", "imperial"] = "us"
    pantry: Text | None = None
    mix: Text | None = None
    gain: Text | None = None
    feeding_times: list[Text | time] = Field(default_factory=list)
    jar: Text | None = None
    jars: Annotated[int, Field(ge=1, le=1000)] | None = None
    refrigerator: Text | None = None
    shopping_days: list[Weekday] = Field(default_factory=list)
    change: ChangeEntry | None = None
    animals: dict[Name, AnimalEntry] = Field(default_factory=dict)


#: What would be right, by key.
_RIGHT = {
    "born": "Write a day, or better a day and an hour: born = 2026-11-02T04:30:00.",
    "on": "Write a date without quotes, as on = 2026-11-09.",
    "at": "Write a day and an hour without quotes, as at = 2026-11-02T05:30:00.",
    "day": "Write a date without quotes, as day = 2026-11-14.",
    "first_day": "Write a date without quotes, as first_day = 2026-11-10.",
    "weight": 'Write text with its unit, as weight = "5.1 kg" or "11 lb 4 oz".',
    "birth_weight": 'Write text with its unit, as birth_weight = "4.2 kg".',
    "amount": 'Write text with its unit, as amount = "180 mL".',
    "temperature": "Write degrees Celsius as a number, as temperature = 38.9.",
    "species": 'Write species = "lamb" or "kid".',
    "kitchen": 'Write kitchen = "us", "metric" or "imperial".',
    "feeding_times": 'Write a list of times, as feeding_times = ["06:00", "12:00", "18:00"].',
    "shopping_days": 'Write a list of days, as shopping_days = ["saturday"].',
    "animals": "Write one table for each animal, as [animals.Pip].",
    "jars": "Write a whole number, as jars = 6.",
    "days": "Write a whole number from 1 to 30, as days = 4.",
    "weights": 'Write weights = [{ on = 2026-11-09, weight = "5.1 kg" }].',
    "colostrum": 'Write colostrum = [{ at = 2026-11-02T05:30:00, amount = "180 mL" }].',
    "creep": 'Write creep = [{ on = 2026-11-30, amount = "120 g" }].',
    "veterinarians_cap": 'Write text, as veterinarians_cap = "60 mL/kg".',
}
_MODELS: dict[str, type[BaseModel]] = {
    "weights": WeightEntry,
    "colostrum": ColostrumEntry,
    "creep": CreepEntry,
    "change": ChangeEntry,
    "animals": AnimalEntry,
}


def check_flock_shape(data: dict[str, Any], where: str) -> FlockFile:
    """Check tables, keys and types.

    Raises
    ------
    ManyFaults
        With every fault, each at its key.
    """
    try:
        return FlockFile.model_validate(data)
    except ValidationError as error:
        faults: dict[str, InputError] = {}
        for detail in error.errors():
            fault = _in_our_words(detail)
            faults.setdefault(fault.where, fault)
        raise ManyFaults([fault.at(where) for fault in faults.values()]) from None


def _in_our_words(detail: Any) -> InputError:
    place = [part for part in detail["loc"] if not _is_type_tag(part)]
    key = next((part for part in reversed(place) if isinstance(part, str)), "")
    where = ".".join(str(part + 1) if isinstance(part, int) else part for part in place)
    shown = repr(detail["input"])[:60]
    if detail["type"] == "extra_forbidden":
        model = next((_MODELS[p] for p in reversed(place[:-1]) if p in _MODELS), FlockFile)
        known = tuple(model.model_fields)
        return UnknownName("key", key, known, f"Keys here: {', '.join(known)}.").at(where)
    right = _RIGHT.get(key, "")
    if detail["type"] == "missing":
        return InputError(f"{key} is missing", right, where)
    return InputError(f"{shown} will not do for {key}", right, where)


def _is_type_tag(part: Any) -> bool:
    return isinstance(part, str) and part in (
        "str", "float", "date", "datetime", "time", "[key]", "constrained-str",
    )  # fmt: skip
