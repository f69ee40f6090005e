"""Results as plain text for the terminal, a pipe or a file."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from formulate.answers.compare import Compared, Per
from formulate.base.messages import listed
from formulate.base.units import Kitchen
from formulate.blend.mix import Mix
from formulate.foods.bands import Band, BandSet, Read, Role, Standing
from formulate.foods.tables import sources
from formulate.pantry.pantry import Pantry
from formulate.report import words as say

__all__ = [
    "bands_text",
    "compare_text",
    "heading",
    "set_text",
]


def heading(bands: BandSet, kitchen: Kitchen, pantry: Pantry | None) -> list[str]:
    """What it is for, whose prices, whose cups."""
    lines = [f"For: {bands.title} ({bands.name})"]
    if pantry:
        lines.append(f"Shelf: {pantry.name or pantry.where}{_price_words(pantry)}")
    lines.append(f"Cups and spoons: {kitchen.title}")
    return lines


def _price_words(pantry: Pantry) -> str:
    dates = pantry.price_dates()
    if not dates:
        return ""
    when = f"{dates[0]}" if dates[0] == dates[1] else f"{dates[0]} to {dates[1]}"
    return f"; prices of {when} in {pantry.currency}"


def _source_words(key: str) -> str:
    source = sources().get(key)
    return key if source is None else str(source)


def compare_text(rows: Sequence[Compared], per: Per, pantry: Pantry, bands: BandSet) -> str:
    """Recipes by cost, with what they read against the bands."""
    currency = pantry.currency
    table = [
        ("", "recipe", f"{currency}/L", f"{currency}/kg solids", f"{currency}/MJ", "solids", "")
    ]
    for rank, row in enumerate(rows, 1):
        solids = next(r for r in row.mix.reads if r.band.measure == "solids")
        unknown = [_plain(r) for r in row.mix.reads if _matters(r, Standing.UNKNOWN)]
        misses = [
            f"{_plain(r)} {'low' if r.standing is Standing.BELOW else 'high'}"
            for r in row.mix.misses
        ]
        remark = ", ".join(misses) or "in range"
        if unknown:
            remark += f"; not known: {', '.join(unknown)}"
        table.append(
            (
                f"{rank}.",
                _short(row.recipe.name),
                f"{row.per_litre:.2f}",
                f"{row.per_kg_dry_matter:.2f}",
                f"{row.per_megajoule:.3f}",
                f"{say.number(solids.value or 0.0)} %",
                remark,
            )
        )
    words = {
        Per.LITRE: "a litre",
        Per.DRY_MATTER: "a kilogram of solids (dry matter)",
        Per.MEGAJOULE: "a megajoule that a suckling lamb can use",
    }
    return "\n".join(
        [
            f"Cheapest first, by {words[per]}; ranges of {bands.name}; "
            f"shelf: {pantry.name or pantry.where}{_price_words(pantry)}",
            *say.table(table, right=(2, 3, 4, 5)),
            f"Cups and spoons: {_kitchens(rows)}. Water is counted as free.",
        ]
    )


def _plain(read: Read) -> str:
    """A label without what stands in brackets."""
    return read.band.label.partition(" (")[0]


def _kitchens(rows: Sequence[Compared]) -> str:
    """Whose cups the recipes mean."""
    return listed(list(dict.fromkeys(row.recipe.kitchen.title for row in rows)))


def _matters(read: Read, standing: Standing) -> bool:
    return read.standing is standing and read.band.role is not Role.SHOWN


def _short(text: str, most: int = 44) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"


def bands_text(sets: Iterable[BandSet]) -> str:
    """The list of reference sets."""
    rows = [(s.name, s.title, f"for a {s.species}") for s in sets]
    return "\n".join([*say.table(rows), 'See one with "formulate bands NAME".'])


def set_text(bands: BandSet) -> str:
    """One set with every number's source and reason."""
    lines = [f"{bands.name}: {bands.title}", say.bullet(bands.note, "  ")]
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
    lines = [f"  {band.label}: {say.range_words(band)} {say.unit_words(band)}"]
    if band.why:
        lines.append(say.bullet(band.why, "      "))
    lines.append(say.bullet(f"source: {_source_words(band.source)}", "      "))
    return lines


def answer_line(mix: Mix) -> str:
    """The answer to a check, in a sentence."""
    if not mix.misses:
        return f"Every demand of {mix.bands.name} that could be read is met."
    told = [
        f"{_plain(read)} {'too low' if read.standing is Standing.BELOW else 'too high'}"
        for read in mix.misses
    ]
    return f"Not in range of {mix.bands.name}: {listed(told)}."
