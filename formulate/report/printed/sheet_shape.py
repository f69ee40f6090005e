"""A card or labels as JSON: what was printed, and what must not be."""

from __future__ import annotations

from datetime import date
from typing import Any

from formulate.answers.sheet import Sheet, SheetAmount, SheetMilk
from formulate.report.fed_milks import fed_milk_shape, fed_verdict_shape
from formulate.report.milk import plan_shape
from formulate.report.printed.wording import Dates

__all__ = ["sheet_shape"]

Shape = dict[str, Any]


def sheet_shape(sheet: Sheet, mixed: date | None) -> Shape:
    """What stands on a sheet."""
    dates = Dates.of(mixed)
    return {
        **fed_verdict_shape(sheet.fed),
        "mixed_on": dates.mixed,
        "use_by": dates.use_by,
        "milks": [_milk_shape(milk) for milk in sheet.milks],
        "refused": [fed_milk_shape(fed) for fed in sheet.refused],
        "not_fed_now": [{"id": bar.id, "text": bar.text} for bar in sheet.bars],
        "too_weak_for": list(sheet.too_weak_for),
    }


def _milk_shape(milk: SheetMilk) -> Shape:
    return {
        "name": milk.name,
        "verdict": milk.verdict.value,
        "fed": [fed_milk_shape(fed) for fed in milk.fed],
        "day": _amount_shape(milk.day),
        "jar": None if milk.jar is None else _amount_shape(milk.jar),
        "jar_words": milk.container.words,
        "jars_for_a_day": milk.jars,
    }


def _amount_shape(amount: SheetAmount) -> Shape:
    return {"shift": amount.portion.shift, **plan_shape(amount.plan)}
