"""What a protected mix promises and costs, or the most that is possible: in words and as JSON."""

from __future__ import annotations

import math
from typing import Any

from formulate.base.messages import say
from formulate.blend.protect.budgeted import BudgetedMix, OverBudget
from formulate.blend.protect.chance import NotSure, SureMix
from formulate.blend.protect.chance_whole import SureKitchenMix
from formulate.report import words as tell
from formulate.report.confidence_words import chance_words

__all__ = [
    "budgeted_lines",
    "budgeted_shape",
    "not_sure_lines",
    "not_sure_shape",
    "over_budget_lines",
    "over_budget_shape",
    "promise_lines",
    "promise_shape",
]

Shape = dict[str, Any]


def promise_lines(found: SureMix | SureKitchenMix | BudgetedMix, currency: str) -> list[str]:
    """What a protected mix promises and what that costs."""
    if isinstance(found, BudgetedMix):
        return budgeted_lines(found, currency)
    return sure_lines(found, currency)


def promise_shape(found: SureMix | SureKitchenMix | BudgetedMix) -> Shape:
    """The same as JSON."""
    return budgeted_shape(found) if isinstance(found, BudgetedMix) else sure_shape(found)


def sure_lines(found: SureMix | SureKitchenMix, currency: str) -> list[str]:
    """What a protected mix promises and what that costs."""
    least = chance_words(min(found.chances, default=1.0))
    lines = [say("sure.promise", sure=found.sure, least=least)]
    if isinstance(found, SureMix):
        lines.append(_price(found.price_of_protection, currency))
        if found.gap > 1e-3:
            lines.append(say("sure.gap", gap=100 * found.gap))
    return lines


def _price(extra: float, currency: str) -> str:
    """What protection costs."""
    return say("sure.price", money=tell.money(max(extra, 0.0), currency))


def not_sure_lines(result: NotSure) -> list[str]:
    """How sure a mix of this shelf can be at most."""
    if result.most is None:
        return [say("sure.never-sure", asked=result.asked)]
    return [
        say("sure.not-so-sure", asked=result.asked, most=result.most),
        say("sure.or-else"),
    ]


def budgeted_lines(found: BudgetedMix, currency: str) -> list[str]:
    """What a mix guarded against the worst promises."""
    promise = say("sure.guarded", count=_whole(found.budget))
    return [promise, _price(found.price_of_protection, currency)]


def over_budget_lines(result: OverBudget) -> list[str]:
    """How many foods may be off at most."""
    most = math.floor(result.most)
    if most == 0:
        return [say("sure.never-guarded")]
    return [say("sure.not-guarded", count=_whole(result.asked), most=most)]


def _whole(budget: float) -> float:
    """A whole number of foods as one, so that it is said without decimals."""
    return int(budget) if budget == int(budget) else budget


def sure_shape(found: SureMix | SureKitchenMix) -> Shape:
    """What was promised, for the JSON of a protected mix: under its key ``protection``."""
    promised = {"sure": found.sure, "least_chance": min(found.chances, default=1.0)}
    if isinstance(found, SureKitchenMix):
        return promised
    return promised | {
        "extra_per_litre": found.price_of_protection,
        "plain_cost_per_litre": found.plain.cost_per_litre,
        "lower_bound_per_litre": found.bound,
        "gap": found.gap,
    }


def budgeted_shape(found: BudgetedMix) -> Shape:
    """The same of a mix guarded against the worst case."""
    return {
        "budget": found.budget,
        "chance_missed_at_most": found.chance_missed,
        "extra_per_litre": found.price_of_protection,
        "plain_cost_per_litre": found.plain.cost_per_litre,
    }


def not_sure_shape(result: NotSure) -> Shape:
    """A no: what was asked, and the most there is."""
    return {"status": "not-sure", "asked": result.asked, "most": result.most}


def over_budget_shape(result: OverBudget) -> Shape:
    """A no: what was asked, and the most there is."""
    return {"status": "not-guarded", "asked": result.asked, "most": result.most}
