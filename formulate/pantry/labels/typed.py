"""A label as a person types it, piece by piece."""

from __future__ import annotations

import re
from collections.abc import Iterable

from formulate.base.errors import InputError, UnknownName
from formulate.base.messages import say
from formulate.base.units import Kitchen, parse_decimal
from formulate.foods.food import KINDS
from formulate.pantry.label_figures import NEEDED, names_in_law
from formulate.pantry.labels.carton import Label
from formulate.pantry.labels.panel import parse_serving
from formulate.pantry.labels.rounding import Rounding

__all__ = ["KINDS", "food_id_of", "lacking", "parse_guarantees", "parse_name",
           "parse_size"]  # fmt: skip

#: Other words for what a bag guarantees.
_ALSO = {"moisture": "water", "fiber": "fibre"}


def food_id_of(name: str) -> str:
    """A short name from what a person calls a food: "farm-cream" from "Farm cream".

    Raises
    ------
    InputError
        If there is nothing to make it from.
    """
    food_id = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")
    if not food_id:
        raise InputError(say("label.no-name"), say("label.no-name-remedy")).about("name")
    return food_id


def parse_name(text: str, law: str | None = None) -> dict[str, str]:
    """Read what a food is sold as, or of what kind it is: a field of `Label` with its value.

    Raises
    ------
    UnknownName
        If it is neither.
    """
    word, names = " ".join(text.lower().split()), names_in_law(law)
    if word in names:
        return {"sold_as": word}
    if word not in KINDS:
        raise UnknownName(say("label.named-or-kind"), text, [*names, *KINDS])
    return {"kind": word}


def parse_size(text: str) -> dict[str, str]:
    """Read "1 cup (240 mL)" or "per 100 g": a key of a panel with its value.

    Raises
    ------
    InputError
        If it is not a size.
    """
    size = " ".join(text.split())
    if not size:
        raise InputError(say("label.no-serving"), say("label.no-serving-remedy")).about("serving")
    per = size.lower().startswith("per ")
    size = size[4:] if per else size
    parse_serving(size, True, Kitchen.US, Rounding.US)
    return {"per" if per else "serving": size}


def parse_guarantees(pairs: Iterable[str], field: str) -> dict[str, float]:
    """Read "protein=23" and "ash=8 %".

    Parameters
    ----------
    pairs : iterable of str
    field : str
        "at_least" or "at_most", for an error.

    Raises
    ------
    InputError
        If one of them is not a guarantee.
    """
    found: dict[str, float] = {}
    for pair in pairs:
        name, equals, text = pair.partition("=")
        if not equals:
            problem, remedy = say("label.not-a-guarantee", text=pair), say("label.guarantee-remedy")
            raise InputError(problem, remedy).about(field)
        try:
            value = parse_decimal(text.strip().removesuffix("%").strip())
        except InputError as error:
            raise error.at(name.strip()).about(field) from None
        name = name.strip().lower().replace("_", "-")
        found[_ALSO.get(name, name)] = value
    return found


def lacking(label: Label) -> tuple[tuple[str, ...], ...]:
    """What is missing to read a label: for each gap, the fields that would fill it."""
    gaps: list[tuple[str, ...]] = [] if label.kind or label.sold_as else [("sold_as", "kind")]
    if label.panel or not (label.at_least or label.at_most):
        if not {"serving", "per"} & set(label.panel):
            gaps.append(("serving", "per"))
        gaps += [(name,) for name in NEEDED if name not in label.panel]
    return tuple(gaps)
