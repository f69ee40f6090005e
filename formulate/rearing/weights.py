"""Weights as people write them, and whether one is plausible."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from functools import lru_cache

from formulate.base.errors import InputError, UnitError, UnknownName
from formulate.base.messages import say
from formulate.base.units import Kitchen, UnitKind, parse_amount, unit_size, with_points
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, Weighing

__all__ = ["KG_PER_LB", "check_weighings", "out_of_line", "parse_weight"]

#: The international pound [kg].
KG_PER_LB = 0.45359237

_POUNDS_AND_OUNCES = re.compile(
    r"\s*(\d+(?:\.\d+)?)\s*(?:lbs?|pounds?)\.?\s+(\d+(?:\.\d+)?)\s*(?:oz|ounces?)\.?\s*"
)
#: A weighing may be this much above the quickest growth: full stomach, wet fleece, scale [kg].
_SLACK = 0.3


@lru_cache(maxsize=4096)
def parse_weight(text: str) -> float:
    """Read "6.4 kg", "14 lb" or "14 lb 3 oz" and return it [kg].

    Raises
    ------
    UnitError
        If there is no unit, or one that is not a weight.
    """
    both = _POUNDS_AND_OUNCES.fullmatch(with_points(text.lower()))
    if both and float(both[2]) >= 16:
        raise InputError(
            say("record.weight.many-ounces", text=text.strip()), say("record.weight.sixteen")
        )
    if both:
        ounces = float(both[1]) * 16 + float(both[2])
        return ounces * unit_size("oz weight") / 1e3
    remedy = say("record.weight.write-weight")
    try:
        amount = parse_amount(text)
    except UnitError:
        raise UnitError(say("record.weight.no-unit", text=text.strip()), remedy) from None
    except UnknownName:
        raise UnitError(say("record.weight.not-a-weight", text=text.strip()), remedy) from None
    if amount.kind not in (UnitKind.MASS, UnitKind.OUNCE):
        raise UnitError(say("record.weight.not-a-weight", text=text.strip()), remedy)
    return amount.size(Kitchen.US) / 1e3


def check_weighings(animal: Animal, today: date) -> Sequence[tuple[Weighing, InputError]]:
    """Find weights that cannot be true; those the person is sure of are believed.

    Each weight is compared with the one before it. If it does not fit that one but fits the
    weight before, and that one was an unlikely leap, the leap is the fault: a wrong heavy weight
    must not make the true one after it look wrong.

    Returns
    -------
    sequence of (Weighing, InputError)
        Each error with the day of the weighing as its place.
    """
    faults: list[tuple[Weighing, InputError]] = []
    believed: list[Weighing] = []
    for weighing in animal.all_weights:
        fault = _day_fault(animal, weighing, today)
        if fault is None and not weighing.sure:
            fault = _fault(animal, believed[-1] if believed else None, weighing)
            leap = out_of_line(animal, believed, weighing)
            if fault is not None and leap is not None:
                fault = None
                if not leap.sure:
                    believed.pop()
                    told = _not_borne_out(animal, believed[-1], leap, weighing)
                    faults.append((leap, told.at(_place(leap))))
        if fault is not None:
            faults.append((weighing, fault.at(_place(weighing))))
        else:
            believed.append(weighing)
    return faults


def out_of_line(animal: Animal, before: Sequence[Weighing], new: Weighing) -> Weighing | None:
    """The weight just before a new one, where the new one shows that it was wrong.

    It does if the new weight fits the one before the last but not the last, and the last was
    reached faster than lambs gain on their mothers, or confirmed although it looked wrong.
    """
    if len(before) < 2 or _fault(animal, before[-1], new) is None:
        return None
    earlier, last = before[-2:]
    days = max((last.day - earlier.day).days, 1)
    unlikely = last.sure or abs(last.kilograms - earlier.kilograms) / days > value("largest-gain")
    return last if unlikely and _fault(animal, earlier, new) is None else None


def _place(weighing: Weighing) -> str:
    return f"weight of {weighing.day}"


def _day_fault(animal: Animal, weighing: Weighing, today: date) -> InputError | None:
    if weighing.day < animal.born:
        return InputError(
            say("record.weight.before-birth", animal=animal.name, born=animal.born),
            say("record.weight.correct-one-day"),
        )
    if weighing.day > today:
        return InputError(
            say("today.day-to-come", day=weighing.day, today=today), say("today.correct-the-day")
        )
    return None


def _fault(animal: Animal, before: Weighing | None, weighing: Weighing) -> InputError | None:
    low, high = _bounds(animal, before, weighing.day)
    kilograms = weighing.kilograms
    if low < kilograms <= high:
        return None
    age = animal.age_days(weighing.day)
    if before is None:
        name = "first" if age else "newborn"
    else:
        name = "falls" if kilograms <= low else "rises"
    problem = say(
        f"record.weight.{name}",
        animal=animal.name,
        species=animal.species,
        days=age,
        kilograms=f"{kilograms:.3g}",
        pounds=f"{kilograms / KG_PER_LB:.3g}",
        before="" if before is None else f"{before.kilograms:.3g}",
        day=None if before is None else before.day,
    )
    guesses = [
        (kilograms * KG_PER_LB, "meant-pounds", kilograms),
        (kilograms / KG_PER_LB, "meant-kilograms", kilograms / KG_PER_LB),
        (kilograms / 10, "meant-tenth", kilograms / 10),
    ]
    meant = (
        say(f"record.weight.{name}", number=f"{number:.3g}")
        for guess, name, number in guesses
        if low < guess <= high
    )
    return InputError(problem, next(meant, say("record.weight.which-unit")))


def _not_borne_out(animal: Animal, before: Weighing, leap: Weighing, after: Weighing) -> InputError:
    return InputError(
        say(
            "record.weight.not-borne-out",
            animal=animal.name,
            kilograms=f"{leap.kilograms:.3g}",
            day=leap.day,
            before=f"{before.kilograms:.3g}",
            after=f"{after.kilograms:.3g}",
        )
    )


def _bounds(animal: Animal, before: Weighing | None, day: date) -> tuple[float, float]:
    if before is None:
        grown = value("fastest-gain") * animal.age_days(day)
        return value("light-at-birth") - 1e-9, value("heavy-at-birth") + grown
    grown = value("fastest-gain") * (day - before.day).days
    return value("falls-by-half") * before.kilograms, before.kilograms + grown + _SLACK
