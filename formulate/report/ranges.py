"""Sets of ranges in words and as JSON."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from formulate.answers.bands import RangesAnswer
from formulate.base import messages
from formulate.foods.bands import Band, BandSet, Role
from formulate.report import words as tell
from formulate.report.milk import source_words
from formulate.report.shapes import band_shape

__all__ = ["BandTold", "SetTold", "ranges_shape", "ranges_words", "set_shape", "set_told"]

Shape = dict[str, Any]


_ROLES = (Role.DEMANDED, Role.SHOWN, Role.SAFETY)


@dataclass(frozen=True, slots=True)
class BandTold:
    """One range: what it is of, from where to where, why, and who says so.

    Parameters
    ----------
    label, range, why, source : str
    """

    label: str
    range: str
    why: str
    source: str


@dataclass(frozen=True, slots=True)
class SetTold:
    """A set of ranges.

    Parameters
    ----------
    name, title, note : str
    parts : tuple of (str, tuple of BandTold)
        By role: its heading and its ranges.
    """

    name: str
    title: str
    note: str
    parts: tuple[tuple[str, tuple[BandTold, ...]], ...]


def set_told(bands: BandSet) -> SetTold:
    """A set with every number's source and reason, in parts."""
    parts = tuple(
        (messages.say(f"bands.{role}"), tuple(_told(band) for band in chosen))
        for role in _ROLES
        if (chosen := bands.in_role(role))
    )
    return SetTold(bands.name, bands.title, bands.note, parts)


def _told(band: Band) -> BandTold:
    words = f"{tell.range_words(band)} {tell.unit_words(band)}".strip()
    return BandTold(band.label, words, band.why, source_words(band.source))


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
    rows = [
        (
            s.name,
            s.title,
            messages.say("bands.for", species=messages.say(f"words.species.{s.species}")),
        )
        for s in sets
    ]
    return "\n".join([*tell.table(rows), messages.say("bands.see-one")])


def set_text(bands: BandSet) -> str:
    """One set with every number's source and reason."""
    lines = [f"{bands.name}: {bands.title}", tell.bullet(bands.note, "  ")]
    for role in _ROLES:
        chosen = bands.in_role(role)
        if chosen:
            lines.append(messages.say(f"bands.{role}"))
            for band in chosen:
                lines += _band_lines(band)
    return "\n".join(lines)


def _band_lines(band: Band) -> list[str]:
    lines = [f"  {band.label}: {tell.range_words(band)} {tell.unit_words(band)}"]
    if band.why:
        lines.append(tell.bullet(band.why, "      "))
    lines.append(
        tell.bullet(messages.say("bands.source", source=source_words(band.source)), "      ")
    )
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
