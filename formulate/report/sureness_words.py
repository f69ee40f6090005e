"""How sure a mix is, in words, as JSON, and as rows of what protection costs.

"In 19 of 20 cartons" is said of a batch of one carton of each food.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from formulate.blend.protect.budgeted import GuardedMix, NotGuarded
from formulate.blend.protect.chance import NotSure, ProtectionPoint, SureMix
from formulate.blend.protect.chance_whole import SureKitchenMix
from formulate.blend.protect.confidence import Sureness, SureRead
from formulate.foods.bands import Role
from formulate.report import words as say

__all__ = [
    "chance_words",
    "guarded_lines",
    "guarded_shape",
    "not_guarded_lines",
    "not_sure_lines",
    "protection_rows",
    "protection_table",
    "sure_lines",
    "sure_shape",
    "sureness_lines",
    "with_sureness",
]

Shape = dict[str, Any]


#: A chance of more is as good as certain.
CERTAIN = 0.999


def chance_words(chance: float | None) -> str:
    """A chance: "95 %", "above 99.9 %", "below 0.1 %"; rounded down, never surer than it is."""
    if chance is None:
        return "not known"
    if chance >= 0.9995:
        return "above 99.9 %"
    if chance < 0.001:
        return "below 0.1 %"
    percent = 100 * chance
    if percent >= 99:
        return f"{math.floor(percent * 10 + 1e-3) / 10:g} %"
    return f"{math.floor(percent + 0.05):.0f} %"


def sureness_lines(sureness: Sureness, *, everything: bool = False) -> list[str]:
    """Between what 19 of 20 cartons read, and the chance that each band and all of them hold.

    Parameters
    ----------
    sureness : Sureness
    everything : bool
        Also safety limits that are as good as certain, and the reads that are only shown.
    """
    answered = [sure for sure in sureness.reads if sure.chance_inside is not None]
    certain = [
        sure
        for sure in answered
        if sure.read.band.role is Role.SAFETY and (sure.chance_inside or 0.0) > CERTAIN
    ]
    told = sureness.reads if everything else [sure for sure in answered if sure not in certain]
    lines = ["How sure, since cartons differ: 19 of 20 give", *say.table([*map(_row, told)])]
    if certain and not everything:
        lines.append("  safety limits: each holds, above 99.9 %")
    if sureness.chance_all_inside is None:
        lines.append("  The chance of all ranges together is not known: a read is missing.")
    else:
        lines.append(
            f"  Chance of all ranges together: {chance_words(sureness.chance_all_inside)}."
        )
    lines.append(say.bullet("One carton of each food is meant; several even each other out.", "  "))
    return lines


def _row(sure: SureRead) -> tuple[str, ...]:
    band = sure.read.band
    if sure.read.value is None or sure.low95 is None or sure.high95 is None:
        return (band.label, "not known", say.unit_words(band), "")
    between = f"{say.number(sure.low95)} to {say.number(sure.high95)}"
    chance = "" if sure.chance_inside is None else f"in range: {chance_words(sure.chance_inside)}"
    return (band.label, between, say.unit_words(band), chance)


def sure_lines(found: SureMix | SureKitchenMix, currency: str) -> list[str]:
    """What a protected mix promises and what that costs."""
    least = min(found.chances, default=1.0)
    lines = [
        f"Each range holds with a chance of {found.sure:g} % or more "
        f"(the least sure: {chance_words(least)})."
    ]
    if isinstance(found, SureMix):
        extra = found.price_of_protection
        lines.append(
            f"That costs {say.money(max(extra, 0.0), currency)} a litre more than the cheapest mix "
            "of average cartons."
        )
        if found.gap > 1e-3:
            lines.append(f"A mix as sure may be up to {100 * found.gap:.1f} % cheaper, no more.")
    return lines


def not_sure_lines(result: NotSure) -> list[str]:
    """How sure a mix of this shelf can be at most."""
    asked = f"No mix of these foods is {result.asked:g} % sure of every range"
    if result.most is None:
        return [f"{asked}: cartons differ too much for any to be right more often than not."]
    return [
        f"{asked}. The most there is: {result.most:g} %.",
        f'Ask for that ("--sure {result.most:g}"), widen a range, or add a food.',
    ]


def guarded_lines(found: GuardedMix, currency: str) -> list[str]:
    """What a mix guarded against the worst promises."""
    foods = "one food is at its" if found.budget == 1 else f"{found.budget:g} foods are at their"
    return [
        f"Every range holds even if any {foods} worst at once: the end of what 19 of 20 cartons "
        "keep to, or of what a carton's own figures allow.",
        f"That costs {say.money(max(found.price_of_protection, 0.0), currency)} a litre more than "
        "the cheapest mix of average cartons.",
    ]


def not_guarded_lines(result: NotGuarded) -> list[str]:
    """How many foods may be off at most."""
    most = math.floor(result.most)
    if most == 0:
        return ["No mix of these foods holds if even one of them is off at its worst."]
    return [
        f"No mix of these foods holds with {result.asked:g} of them at their worst at once. "
        f"The most there is: {most}."
    ]


def with_sureness(shape: Mapping[str, Any], sureness: Sureness) -> Shape:
    """A mix as JSON, with ``low95``, ``high95`` and ``chance_inside`` in each read.

    And ``chance_all_inside`` beside them.
    """
    reads = [
        {
            **read,
            "low95": sure.low95,
            "high95": sure.high95,
            "chance_inside": sure.chance_inside,
        }
        for read, sure in zip(shape["reads"], sureness.reads, strict=True)
    ]
    return {
        **shape,
        "reads": reads,
        "chance_all_inside": sureness.chance_all_inside,
        "draws": sureness.draws,
    }


def sure_shape(found: SureMix) -> Shape:
    """What was promised, for the JSON of a protected mix: under its key ``protection``."""
    return {
        "sure": found.sure,
        "least_chance": min(found.chances, default=1.0),
        "extra_per_litre": found.price_of_protection,
        "plain_cost_per_litre": found.plain.cost_per_litre,
        "lower_bound_per_litre": found.bound,
        "gap": found.gap,
    }


def guarded_shape(found: GuardedMix) -> Shape:
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


def not_guarded_shape(result: NotGuarded) -> Shape:
    """A no: what was asked, and the most there is."""
    return {"status": "not-guarded", "asked": result.asked, "most": result.most}


def protection_rows(points: Sequence[ProtectionPoint]) -> list[Shape]:
    """What protection costs, a row for each chance, for a table, a file or a picture."""
    return [
        {
            "sure": point.sure,
            "least_chance": point.chance,
            "cost_per_litre": point.cost_per_litre,
            "extra_per_litre": point.extra_per_litre,
        }
        for point in points
    ]


def protection_table(points: Sequence[ProtectionPoint], currency: str) -> list[str]:
    """The same as lines of text."""
    rows = [("each range holds", f"{currency} a litre", "more")]
    for point in points:
        name = "average cartons" if point.sure is None else f"{point.sure:g} % sure"
        if point.mix is None:
            rows.append((name, "no mix", ""))
            continue
        if point.sure is None:
            name += f" ({chance_words(point.chance)})"
        rows.append((name, f"{point.cost_per_litre:.3f}", f"{point.extra_per_litre:.3f}"))
    return say.table(rows, right=(1, 2))
