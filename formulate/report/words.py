"""How numbers, units and ranges are written. All text for people goes through here."""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Sequence

from formulate.base.messages import listed, number, say
from formulate.foods.bands import Band, Read, Role, Standing
from formulate.foods.food import Food
from formulate.foods.national import said

__all__ = [
    "bullet",
    "cost_words",
    "food_words",
    "money",
    "number",
    "paragraph",
    "range_words",
    "read_words",
    "share_words",
    "sign",
    "standing_words",
    "table",
    "tied",
    "track",
    "unbroken",
    "unit_words",
    "value_words",
    "volume_words",
]

WIDTH = 88
#: A no-break space.
_KEPT = "\u00a0"


def bound(value: float) -> str:
    """An end of a range, as it was written."""
    return f"{value:,g}"


def money(value: float | None, currency: str) -> str:
    """An amount of money, to the cent."""
    return say("words.no-price") if value is None else f"{value:,.2f} {currency}".rstrip()


def cost_words(value: float | None, currency: str) -> str:
    """An amount of money; empty if it is not known."""
    return "" if value is None or not math.isfinite(value) else money(value, currency)


def value_words(value: float, band: Band) -> str:
    """A read with as many figures as its measure is worth."""
    return band.value_words(value)


def share_words(share: float) -> str:
    """A share in per cent."""
    return f"{100 * share:.0f} %" if share >= 0.1 else f"{100 * share:.1f} %"


def unit_words(band: Band) -> str:
    """Unit and basis as said aloud: "% as fed", "mg/kg dry matter"."""
    return band.unit_words


def range_words(band: Band) -> str:
    """The range: "16 to 19", "up to 40", "" where there is none."""
    return band.range_words


def standing_words(read: Read) -> str:
    """What to make of a read: "in range", "too low by 1.2"."""
    if read.standing is None:
        return ""
    if read.standing is Standing.UNKNOWN:
        if not read.lacks:
            return say("mix.standing.unknown")
        foods, count = listed(read.lacks), len(read.lacks)
        return say("mix.standing.unknown-foods", foods=foods, count=count)
    assumed = "-assumed" if read.assumed else ""
    if read.standing is Standing.INSIDE:
        return say(f"mix.standing.inside{assumed}")
    low = read.standing is Standing.BELOW
    if read.band.role is Role.SHOWN:
        word = "below" if low else "above"
    else:
        word = "too-low" if low else "too-high"
    return say(f"mix.standing.{word}{assumed}", miss=read.band.miss_words(read.miss))


def sign(read: Read) -> str:
    """The standing of a read that matters as a sign that needs no colour; else nothing."""
    if read.band.role is Role.SHOWN or read.standing is None:
        return ""
    signs = {Standing.INSIDE: "✓", Standing.BELOW: "▼", Standing.ABOVE: "▲"}
    return signs.get(read.standing, "?")


def food_words(food: Food) -> str:
    """A food as said: its own name where a person gave it one, else its id with spaces."""
    return food.name if food.own else said(food)


def track(read: Read, length: int = 9) -> str:
    """A read drawn against its range: ``[--o------]`` inside, ``o[---]`` outside."""
    band = read.band
    if read.value is None or read.standing is None or math.isinf(band.high):
        return ""
    low = 0.0 if math.isinf(band.low) else band.low
    if read.standing is Standing.BELOW:
        return f"o[{'-' * length}] "
    if read.standing is Standing.ABOVE:
        return f" [{'-' * length}]o"
    place = (read.value - low) / ((band.high - low) or 1.0)
    at = min(max(round(place * (length - 1)), 0), length - 1)
    return f" [{'-' * at}o{'-' * (length - 1 - at)}] "


def read_words(read: Read) -> Sequence[str]:
    """One line of the table of reads: label, value, unit, track, range, verdict."""
    return (
        read.band.label,
        "?" if read.value is None else value_words(read.value, read.band),
        unit_words(read.band),
        range_words(read.band),
        track(read),
        standing_words(read),
    )


def volume_words(millilitres: float) -> str:
    """A volume in mL or L."""
    return f"{millilitres:,.0f} mL" if millilitres < 1000 else f"{millilitres / 1e3:,.2f} L"


#: Between a number and its unit, or a whole and a fraction.
_TIES = re.compile(r"(?<=\d) (?=[%°A-Za-zµ]|\d/\d)|(?<=\bfl) (?=oz\b)")


def tied(text: str) -> str:
    """A text in which no number parts from its unit at a line's end."""
    return _TIES.sub(_KEPT, text)


def unbroken(text: str) -> str:
    """A text that no line's end parts, such as a name with its amount."""
    return text.replace(" ", _KEPT)


def bullet(text: str, indent: str = "  - ") -> str:
    """A paragraph with a mark before it, wrapped; a number keeps its unit on its line."""
    filled = textwrap.fill(
        tied(text), WIDTH, initial_indent=indent, subsequent_indent=" " * len(indent)
    )
    return filled.replace(_KEPT, " ")


def paragraph(text: str) -> str:
    """A paragraph, wrapped."""
    return bullet(text, "")


def table(
    rows: Sequence[Sequence[str]], right: Sequence[int] = (), indent: str = "  "
) -> list[str]:
    """Rows with their columns lined up; the columns numbered in `right` end together.

    Plain text of its own width: the same on a screen, in a pipe and in a file.
    """
    if not rows:
        return []
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = (
            cell.rjust(width) if i in right else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        lines.append((indent + "  ".join(cells)).rstrip())
    return lines
