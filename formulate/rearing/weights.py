"""Weights as people write them, and whether one can be true."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from formulate.base.errors import InputError, UnitError
from formulate.base.units import Kitchen, UnitKind, parse_amount, unit_size
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, Weighing

__all__ = ["check_weighings", "parse_weight"]

_POUNDS_AND_OUNCES = re.compile(
    r"\s*(\d+(?:\.\d+)?)\s*(?:lbs?|pounds?)\.?\s+(\d+(?:\.\d+)?)\s*(?:oz|ounces?)\.?\s*"
)
#: A weighing may be this much above the quickest growth: full stomach, wet fleece, scale [kg].
_SLACK = 0.3


def parse_weight(text: str) -> float:
    """Read "6.4 kg", "14 lb" or "14 lb 3 oz" and return it [kg].

    Raises
    ------
    UnitError
        If there is no unit, or one that is no weight.
    """
    both = _POUNDS_AND_OUNCES.fullmatch(text.lower())
    if both:
        ounces = float(both[1]) * 16 + float(both[2])
        return ounces * unit_size("oz weight") / 1e3
    try:
        amount = parse_amount(text)
    except UnitError:
        raise UnitError(
            f'"{text.strip()}" has no unit', "Write kg or lb, as 6.4kg or 14lb."
        ) from None
    if amount.kind not in (UnitKind.MASS, UnitKind.OUNCE):
        raise UnitError(f'"{text.strip()}" is not a weight', "Write kg or lb, as 6.4kg or 14lb.")
    return amount.size(Kitchen.US) / 1e3


def check_weighings(animal: Animal, today: date) -> Sequence[tuple[Weighing, InputError]]:
    """Find weights that cannot be true; those the person is sure of are believed.

    Returns
    -------
    sequence of (Weighing, InputError)
        Each error with the day of the weighing as its place. Weights are held against the one
        before them that can be true.
    """
    faults = []
    before: Weighing | None = None
    for weighing in animal.all_weights:
        fault = None if weighing.sure else _fault(animal, before, weighing)
        if weighing.day < animal.born:
            fault = InputError(
                f"{animal.name} was weighed before it was born on {animal.born}",
                "Correct one of the days.",
            )
        elif weighing.day > today:
            fault = InputError(f"{weighing.day} is still to come", "Correct the day.")
        if fault is not None:
            faults.append((weighing, fault.at(f"weight of {weighing.day}")))
        else:
            before = weighing
    return faults


def _fault(animal: Animal, before: Weighing | None, weighing: Weighing) -> InputError | None:
    low, high = _bounds(animal, before, weighing.day)
    kilograms = weighing.kilograms
    if low < kilograms <= high:
        return None
    age = animal.age_days(weighing.day)
    if before is None:
        what = f"a {animal.species} of {age} days" if age else f"a newborn {animal.species}"
        problem = f"{kilograms:.3g} kg ({_pounds(kilograms):.3g} lb) cannot be right for {what}"
    else:
        way = "falls" if kilograms <= low else "rises"
        problem = (
            f"{kilograms:.3g} kg ({_pounds(kilograms):.3g} lb) cannot be right: "
            f"{animal.name} {way} from {before.kilograms:.3g} kg on {before.day}"
        )
    guesses = [
        (kilograms * _KG_PER_LB, f"{kilograms:.3g} lb, not kg"),
        (kilograms / _KG_PER_LB, f"{_pounds(kilograms):.3g} kg, not lb"),
        (kilograms / 10, f"{kilograms / 10:.3g} kg"),
    ]
    meant = next((words for guess, words in guesses if low < guess <= high), "")
    remedy = f"Did you mean {meant}?" if meant else "Is the unit right, kg or lb?"
    return InputError(
        problem, f"{remedy} If it is right, add --sure (in the flock file sure = true)."
    )


def _bounds(animal: Animal, before: Weighing | None, day: date) -> tuple[float, float]:
    if before is None:
        grown = value("fastest-gain") * animal.age_days(day)
        return value("light-at-birth") - 1e-9, value("heavy-at-birth") + grown
    grown = value("fastest-gain") * (day - before.day).days
    return value("falls-by-half") * before.kilograms, before.kilograms + grown + _SLACK


_KG_PER_LB = 0.45359237


def _pounds(kilograms: float) -> float:
    return kilograms / _KG_PER_LB
