"""Sets of ranges in words and as JSON."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from formulate.answers.bands import RangesAnswer
from formulate.foods.bands import Band, BandSet, Role
from formulate.report import words as tell
from formulate.report.milk import source_words
from formulate.report.shapes import band_shape

__all__ = ["ranges_shape", "ranges_words", "set_shape"]

Shape = dict[str, Any]


def ranges_words(answer: RangesAnswer) -> str:
    """The sets that there are, or the one that was named."""
    return set_text(answer.sets[0]) if answer.named else bands_text(answer.sets)


def ranges_shape(answer: RangesAnswer) -> Shape:
    """The same as JSON."""
    if answer.named:
        return set_shape(answer.sets[0])
    return {"sets": [set_shape(one) for one in answer.sets]}


def bands_text(sets: Iterable[BandSet]) -> str:
    """The list of reference sets."""
    rows = [(s.name, s.title, f"for a {s.species}") for s in sets]
    return "\n".join([*tell.table(rows), 'See one with "formulate bands NAME".'])


def set_text(bands: BandSet) -> str:
    """One set with every number's source and reason."""
    lines = [f"{bands.name}: {bands.title}", tell.bullet(bands.note, "  ")]
    roles = {
        Role.DEMANDED: "Demanded",
        Role.SHOWN: "Shown, not demanded",
        Role.SAFETY: "Safety, never relaxed",
    }
    for role, title in roles.items():
        chosen = bands.in_role(role)
        if chosen:
            lines.append(title)
            for band in chosen:
                lines += _band_lines(band)
    return "\n".join(lines)


def _band_lines(band: Band) -> list[str]:
    lines = [f"  {band.label}: {tell.range_words(band)} {tell.unit_words(band)}"]
    if band.why:
        lines.append(tell.bullet(band.why, "      "))
    lines.append(tell.bullet(f"source: {source_words(band.source)}", "      "))
    return lines


def set_shape(bands: BandSet) -> Shape:
    """A set of bands."""
    return {
        "name": bands.name,
        "title": bands.title,
        "species": bands.species,
        "note": bands.note,
        "bands": [band_shape(band) for band in bands.bands],
    }
