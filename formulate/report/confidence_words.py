"""How sure a mix is: in words, as JSON, and as rows of what protection costs.

"In 19 batches out of 20" is said of batches of one carton of each food.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from formulate.base.messages import listed, say
from formulate.blend.protect.confidence import Confidence, ReadConfidence
from formulate.foods.bands import Role, Standing
from formulate.report import words as tell

__all__ = [
    "chance_words",
    "confidence_lines",
    "likely_words",
    "tenths_words",
    "with_confidence",
]

Shape = dict[str, Any]


#: A chance of more is as good as certain.
CERTAIN = 0.999


def chance_words(chance: float | None) -> str:
    """A chance: "95 %", "above 99.9 %", "below 0.1 %"; rounded down, never surer than it is."""
    if chance is None:
        return say("sure.not-read")
    if chance >= 0.9995:
        return say("sure.almost-every")
    if chance < 0.001:
        return say("sure.hardly-one")
    percent = 100 * chance
    if percent >= 99:
        return f"{math.floor(percent * 10 + 1e-3) / 10:g} %"
    if percent < 1:
        return f"{math.floor(percent * 10 + 1e-3) / 10:g} %"
    return f"{math.floor(percent + 0.05):.0f} %"


def confidence_lines(confidence: Confidence, *, everything: bool = False) -> list[str]:
    """Between what 19 of 20 cartons read, and the chance that each band and all of them hold.

    Parameters
    ----------
    confidence : Confidence
    everything : bool
        Also safety limits that are as good as certain, and the reads that are only shown.
    """
    certain = [
        sure
        for sure in confidence.reads
        if sure.read.band.role is Role.SAFETY and (sure.chance_inside or 0.0) > CERTAIN
    ]
    told = confidence.reads
    if not everything:
        told = tuple(
            sure
            for sure in told
            if sure not in certain and (sure.chance_inside is not None or _missed(sure))
        )
    lines = [say("sure.title"), *tell.table([*map(_row, told)])]
    if certain and not everything:
        names = listed([sure.read.band.label for sure in certain])
        lines.append(tell.bullet(say("sure.safety", names=names), "  "))
    if confidence.chance_all_inside is None:
        lines.append(f"  {say('sure.all-unknown')}")
    else:
        chance = chance_words(confidence.chance_all_inside)
        lines.append(f"  {say('sure.all', chance=chance)}")
    lines.append(tell.bullet(say("sure.one-carton"), "  "))
    return lines


def tenths_words(chance: float | None) -> str:
    """The chance that all ranges hold, as people say it: "about 5 in 10"."""
    if chance is None:
        return say("sure.tenths-unknown")
    if chance >= 0.95:
        return say("sure.nearly-all")
    if chance < 0.05:
        return say("sure.hardly-any")
    return say("sure.tenths", tenths=round(chance * 10) or 1)


def likely_words(sure: ReadConfidence | None) -> str:
    """Between what 19 batches in 20 lie; empty if that is not known."""
    if sure is None or sure.low95 is None or sure.high95 is None:
        return ""
    band = sure.read.band
    low, high = tell.value_words(sure.low95, band), tell.value_words(sure.high95, band)
    return say("sure.between", low=low, high=high)


def _missed(sure: ReadConfidence) -> bool:
    """Whether a read that matters is not known."""
    read = sure.read
    return read.standing is Standing.UNKNOWN and read.band.role is not Role.SHOWN


def _row(sure: ReadConfidence) -> tuple[str, ...]:
    band = sure.read.band
    if sure.read.value is None or sure.low95 is None or sure.high95 is None:
        return (band.label, say("sure.not-read"), tell.unit_words(band), "")
    chance = ""
    if sure.chance_inside is not None:
        chance = say("sure.in-range", chance=chance_words(sure.chance_inside))
    return (band.label, likely_words(sure), tell.unit_words(band), chance)


def with_confidence(shape: Mapping[str, Any], confidence: Confidence) -> Shape:
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
        for read, sure in zip(shape["reads"], confidence.reads, strict=True)
    ]
    return {
        **shape,
        "reads": reads,
        "chance_all_inside": confidence.chance_all_inside,
    }
