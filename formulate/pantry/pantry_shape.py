"""Shape of the pantry file: which tables and keys there are, and what each may hold."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from formulate.base.errors import InputError, ManyFaults, UnknownName

__all__ = ["BandsEntry", "FoodEntry", "OwnEntry", "PantryFile", "check_shape"]

Number = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Price = Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False)]
Text = Annotated[str, Field(min_length=1, max_length=500)]
Days = Annotated[int, Field(ge=1, le=3650)]
Name = Annotated[str, Field(min_length=1, max_length=60)]
Figure = int | float | Text


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class SizeEntry(_Entry):
    """Another package that a food is sold in."""

    price: Price
    package: Text


class FoodEntry(_Entry):
    """One table under [foods]."""

    price: Price | None = None
    package: Text | None = None
    sizes: list[SizeEntry] = Field(default_factory=list)
    keeps_closed: Days | None = None
    keeps_open: Days | None = None
    priced_on: date | None = None
    on_hand: Text | None = None
    use_by: date | None = None
    largest_share: Text | Number | None = None
    smallest: Text | None = None
    step: Text | None = None
    in_mix: bool = True


class OwnEntry(_Entry):
    """One table under [own]: by its composition, or by its label."""

    name: Text | None = None
    kind: Text | None = None
    sold_as: Text | None = None
    like: Text | None = None
    weighs: Text | list[Text] = Field(default_factory=list)
    per_100_g: dict[str, Number] | None = None
    panel: dict[str, Figure] | None = None
    at_least: dict[str, Number] | None = None
    at_most: dict[str, Number] | None = None
    largest_share: Text | Number | None = None
    source: Text | None = None


class BandEntry(_Entry):
    """One demand of a set of one's own."""

    measure: Text
    basis: Text
    unit: Text
    low: Annotated[float, Field(allow_inf_nan=False)] | None = None
    high: Annotated[float, Field(allow_inf_nan=False)] | None = None
    over: Text | None = None
    source: Text | None = None
    why: Text | None = None


class BandsEntry(_Entry):
    """One table under [bands]."""

    title: Text | None = None
    like: Text = "lamb-replacer"
    demand: Annotated[list[BandEntry], Field(min_length=1)]


class PantryFile(_Entry):
    """The whole file."""

    name: str = ""
    currency: Annotated[str, Field(pattern="^[A-Z]{3}$")] | None = None
    prices_on: date | None = None
    kitchen: Literal["us", "metric", "imperial"] = "us"
    measures: Literal["cups", "scale"] = "cups"
    foods: dict[Name, FoodEntry] = Field(default_factory=dict)
    own: dict[Name, OwnEntry] = Field(default_factory=dict)
    bands: dict[Name, BandsEntry] = Field(default_factory=dict)
    recipes: dict[Name, Text] = Field(default_factory=dict)


#: What would be right, by key.
_RIGHT = {
    "price": "Write a number of at least 0, as price = 3.89.",
    "package": 'Write text, as package = "1 gallon".',
    "currency": 'Write three capital letters, as currency = "USD".',
    "prices_on": "Write a date without quotes, as prices_on = 2026-11-02.",
    "priced_on": "Write a date without quotes, as priced_on = 2026-11-02.",
    "use_by": "Write a date without quotes, as use_by = 2026-11-09.",
    "kitchen": 'Write kitchen = "us", "metric" or "imperial".',
    "measures": 'Write measures = "cups" or "scale".',
    "sizes": 'Write sizes = [{ price = 2.19, package = "1/2 gallon" }].',
    "keeps_closed": "Write whole days, as keeps_closed = 10.",
    "keeps_open": "Write whole days, as keeps_open = 5.",
    "on_hand": 'Write text, as on_hand = "2 cans".',
    "smallest": 'Write text, as smallest = "1/4 cup".',
    "step": 'Write text, as step = "1/4 cup" or "whole package".',
    "in_mix": "Write in_mix = true or false.",
    "largest_share": 'Write largest_share = "30 %" or 0.3.',
    "weighs": 'Write weighs = "1 cup = 240 g".',
    "per_100_g": "Write a table of numbers, as protein = 3.4.",
    "panel": 'Write panel = { serving = "1 cup (240 mL)", fat = 8, protein = 8 }, and so on.',
    "at_least": "Write what the bag guarantees in percent: at_least = { protein = 23, fat = 20 }.",
    "at_most": "Write what the bag guarantees in percent: at_most = { ash = 8, water = 5 }.",
    "sold_as": 'Write the name the law knows, as sold_as = "whole milk".',
    "like": 'Write a food of the table, as like = "whole-milk".',
    "foods": "Write one table for each food, as [foods.whole-milk].",
    "own": "Write one table for each food of your own, as [own.our-cream].",
    "recipes": 'Write text, as jug = "1 gallon whole-milk + 2 cups heavy-cream".',
    "kind": 'Write a kind of food, as kind = "cream".',
    "demand": 'Write demand = [{ measure = "fat", basis = "as_fed", unit = "g/100 g", low = 6 }].',
}
_MODELS: dict[str, type[BaseModel]] = {"foods": FoodEntry, "own": OwnEntry, "bands": BandsEntry}


def check_shape(data: dict[str, Any], where: str) -> PantryFile:
    """Check tables, keys and types.

    Raises
    ------
    ManyFaults
        With every fault, each at its key.
    """
    try:
        return PantryFile.model_validate(data)
    except ValidationError as error:
        faults: dict[str, InputError] = {}
        for detail in error.errors():
            fault = _in_our_words(detail)
            faults.setdefault(fault.where, fault)  # one word for a union's several complaints
        raise ManyFaults([fault.at(where) for fault in faults.values()]) from None


def _in_our_words(detail: Any) -> InputError:
    place = [part for part in detail["loc"] if not _is_type_tag(part)]
    key = next((part for part in reversed(place) if isinstance(part, str)), "")
    where = ".".join(str(part + 1) if isinstance(part, int) else part for part in place)
    kind, shown = detail["type"], repr(detail["input"])[:60]
    if kind == "extra_forbidden":
        model = PantryFile if len(place) == 1 else _MODELS.get(str(place[0]), BandEntry)
        if "demand" in place:
            model = BandEntry
        elif "sizes" in place:
            model = SizeEntry
        known = tuple(model.model_fields)
        unknown = UnknownName("key", key, known, f"Keys here: {', '.join(known)}.")
        return unknown.at(where)
    right = _RIGHT.get(key) or _RIGHT.get(str(place[-2]) if len(place) > 1 else "", "")
    if kind == "missing":
        return InputError(f"{key} is missing", right, where)
    if kind == "too_short":
        return InputError(f"{key} is empty", right, where)
    return InputError(f"{shown} will not do for {key}", right or "Write a number.", where)


def _is_type_tag(part: Any) -> bool:
    """Pydantic names the member of a union it tried; people need not see that."""
    return isinstance(part, str) and (
        part in ("str", "int", "float", "list", "[key]")
        or part.startswith(("constrained", "list["))
    )
