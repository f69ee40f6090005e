"""A carton's label in words and as JSON."""

from __future__ import annotations

from dataclasses import dataclass

from formulate.base import messages
from formulate.base.messages import listed
from formulate.foods.measures import COMPONENTS, MEASURES
from formulate.pantry.labels import Carton, Rounding
from formulate.report import words as say
from formulate.report.shapes import Shape

__all__ = ["CartonRow", "carton_rows", "carton_shape", "carton_text"]

_ORDER = ("solids", *COMPONENTS)


@dataclass(frozen=True, slots=True)
class CartonRow:
    """One measure of a label's food, in 100 g as fed.

    Parameters
    ----------
    label, value, unit : str
    ends : str
        Between what it can lie; empty if it is as given.
    """

    label: str
    value: str
    unit: str
    ends: str


def carton_rows(carton: Carton) -> tuple[CartonRow, ...]:
    """What is in 100 g of it, and how sure that is."""
    return tuple(
        CartonRow(
            MEASURES[name].label,
            say.number(value),
            MEASURES[name].unit,
            f"{say.number(low)} to {say.number(high)}" if low < high else "",
        )
        for name, (value, low, high) in _rows(carton).items()
    )


def carton_text(carton: Carton) -> str:
    """What a label says and leaves open, line by line."""
    food, panel = carton.food, carton.panel
    what = carton.label.sold_as or food.kind
    if panel is None:
        origin = messages.say("carton.guarantee")
    else:
        whose = (
            messages.say("carton.us-rounding")
            if carton.rounding is Rounding.US
            else messages.say("carton.other-rounding")
        )
        size = panel.serving.text
        origin = messages.say("carton.panel", size=size, rounding=whose)
    lines = [f"{food.id} ({what}), {origin}", ""]
    rows = [
        (
            messages.say("carton.in-100-g"),
            messages.say("carton.taken-as"),
            "",
            messages.say("carton.can-be"),
        )
    ]
    rows += [
        (r.label, r.value, r.unit, r.ends or messages.say("carton.as-given"))
        for r in carton_rows(carton)
    ]
    lines += say.table(rows, right=(1,))
    for household in food.household:
        how = f" {household.note}" if household.note else ""
        size = "1 " + household.unit
        if household.millilitres is not None:
            size = say.volume_words(household.millilitres)
        lines += [
            "",
            messages.say("carton.weighs", size=size, grams=say.number(household.grams), how=how),
        ]
    told = []
    if carton.coarse and panel is not None:
        parts = listed([f"{n} ±{say.number(h)} %" for n, h in carton.coarse.items()])
        told.append(messages.say("carton.small-serving", serving=panel.serving.text, parts=parts))
    told += carton.notes
    if panel is not None:
        told.append(messages.say("carton.meaning"))
    unknown = missing(carton)
    told.append(messages.say("carton.unknown", what=listed([MEASURES[n].label for n in unknown])))
    return "\n".join([*lines, "", *(say.bullet(text) for text in told)])


def missing(carton: Carton) -> tuple[str, ...]:
    """Measures a lamb's keeper may want that the label does not give."""
    wanted = ("lactose", "calcium", "phosphorus", "sodium", "potassium", "copper")
    return tuple(name for name in wanted if name not in carton.food.values)


def carton_shape(carton: Carton) -> Shape:
    """A carton as JSON: values in 100 g as fed, each with its interval."""
    food = carton.food
    return {
        "food": {"id": food.id, "name": food.name, "kind": food.kind},
        "sold_as": carton.label.sold_as or None,
        "rounding": carton.rounding.value,
        "serving": None if carton.panel is None else carton.panel.serving.text,
        "basis": messages.say("foods.per-100-g"),
        "measures": {
            name: {"value": value, "low": low, "high": high, "unit": MEASURES[name].unit}
            for name, (value, low, high) in _rows(carton).items()
        },
        "household": [
            {"unit": h.unit, "grams": h.grams, "millilitres": h.millilitres, "note": h.note}
            for h in food.household
        ],
        "figures_alone_tell_within": dict(carton.coarse),
        "missing": list(missing(carton)),
        "notes": list(carton.notes),
    }


def _rows(carton: Carton) -> dict[str, tuple[float, float, float]]:
    """Value, low and high of each measure, solids first."""
    values = carton.food.values
    found = {}
    for name in _ORDER:
        if name == "solids":
            water = values["water"]
            low, high = carton.intervals["water"]
            found[name] = (100 - water.value, 100 - high, 100 - low)
        elif name in values:
            value = values[name]
            low, high = carton.intervals.get(name, (value.value, value.value))
            found[name] = (value.value, low, high)
    return found
