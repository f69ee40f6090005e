"""Recipes ranked by cost: in words, as JSON, and as a picture."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from formulate.answers.compare import CompareAnswer, Compared
from formulate.answers.verdict import Verdict
from formulate.base.messages import listed, say
from formulate.foods.bands import Read, Role, Standing
from formulate.report import words as tell
from formulate.report.shapes import pantry_shape, read_shape
from formulate.report.text import shelf_words
from formulate.report.verdict_words import verdict_shape

__all__ = ["RankedTold", "compare_lines", "compare_shape", "compared_told", "write_picture"]

Shape = dict[str, Any]
#: Letters of a recipe's name in the table.
_LONGEST = 44


def compare_lines(answer: CompareAnswer) -> list[str]:
    """Recipes by verdict and cost, each with the reason for its place."""
    currency = answer.pantry.currency
    per_solids = say("compare.per-solids", currency=currency)
    rows = [("", say("compare.recipe"), f"{currency}/L", per_solids, f"{currency}/MJ",
             say("compare.solids"), "")]  # fmt: skip
    groups: list[tuple[int, str]] = []  # the line of the table that a heading stands before
    for rank, row in enumerate(answer.rows, 1):
        verdict = row.judgement.verdict.value
        if not groups or groups[-1][1] != verdict:
            groups.append((rank, verdict))
        solids = next(read for read in row.mix.reads if read.band.measure == "solids")
        rows.append(
            (
                f"{rank}.",
                _short(row.recipe.name),
                f"{row.per_litre:.2f}",
                f"{row.per_kg_dry_matter:.2f}",
                f"{row.per_megajoule:.3f}",
                f"{tell.number(solids.value or 0.0)} %",
                remark(row),
            )
        )
    kitchens = list(dict.fromkeys(row.recipe.kitchen.title for row in answer.rows))
    return [
        say(
            "compare.title",
            per=say(f"compare.per.{answer.per.value}"),
            bands=answer.bands.name,
            shelf=shelf_words(answer.pantry),
        ),
        *_in_groups(tell.table(rows, right=(2, 3, 4, 5)), groups),
        *_reasons(answer),
        say("compare.foot", kitchens=listed(kitchens)),
    ]


@dataclass(frozen=True, slots=True)
class RankedTold:
    """One recipe in its place.

    Parameters
    ----------
    rank : int
    name : str
    verdict : str
        One of the five.
    remark : str
        The verdict in a few words, and what is behind it.
    reason : str
        Why it may not be fed as it is; empty if it may.
    costs : tuple of str
        Of a litre, of a kilogram of solids, of a megajoule.
    solids : str
    """

    rank: int
    name: str
    verdict: str
    remark: str
    reason: str
    costs: tuple[str, str, str]
    solids: str


def compared_told(answer: CompareAnswer) -> tuple[RankedTold, ...]:
    """Recipes by verdict and cost, each in sentences."""
    currency, found = answer.pantry.currency, []
    for rank, row in enumerate(answer.rows, 1):
        solids = next(read for read in row.mix.reads if read.band.measure == "solids")
        barred = not row.judgement.may_be_fed and row.judgement.reasons
        found.append(
            RankedTold(
                rank,
                row.recipe.name,
                row.judgement.verdict.value,
                remark(row),
                row.judgement.reasons[0].text if barred else "",
                (
                    f"{row.per_litre:.2f} {currency}",
                    f"{row.per_kg_dry_matter:.2f} {currency}",
                    f"{row.per_megajoule:.3f} {currency}",
                ),
                f"{tell.number(solids.value or 0.0)} %",
            )
        )
    return tuple(found)


def _in_groups(lines: list[str], groups: list[tuple[int, str]]) -> list[str]:
    """The table with a heading before each group."""
    found = list(lines)
    for line, verdict in reversed(groups):
        found.insert(line, say(f"compare.group.{verdict}"))
    return found


def _reasons(answer: CompareAnswer) -> list[str]:
    """Why a recipe may not be fed as it is: the first reason of each."""
    return [
        tell.bullet(f"{_short(row.recipe.name)}: {row.judgement.reasons[0].text}")
        for row in answer.rows
        if not row.judgement.may_be_fed and row.judgement.reasons
    ]


def remark(row: Compared) -> str:
    """The verdict in a few words, and what is behind it."""
    verdict = row.judgement.verdict
    if verdict is Verdict.INSIDE:
        return say("compare.in-range")
    told = []
    if verdict is not Verdict.OUTSIDE:
        told.append(say(f"compare.verdict.{verdict.value}"))
    told += [
        say("compare.low" if r.standing is Standing.BELOW else "compare.high", label=_plain(r))
        for r in row.mix.misses
    ]
    unknown = [
        _plain(read)
        for read in row.mix.reads
        if read.standing is Standing.UNKNOWN and read.band.role is not Role.SHOWN
    ]
    words = ", ".join(told)
    if not unknown:
        return words
    not_known = say("compare.not-known", labels=", ".join(unknown))
    return f"{words}; {not_known}" if words else not_known


def _plain(read: Read) -> str:
    """A label without what stands in brackets."""
    return read.band.label.partition(" (")[0]


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"


def compare_shape(answer: CompareAnswer) -> Shape:
    """Recipes by verdict and cost."""
    return {
        "per": answer.per.value,
        **pantry_shape(answer.pantry),
        "recipes": [
            {
                "rank": rank,
                "name": row.recipe.name,
                **verdict_shape(row.judgement),
                "recipe": " ".join(row.recipe.text.split()),
                "kitchen": row.recipe.kitchen.value,
                "cost_per_litre": row.per_litre,
                "cost_per_kg_dry_matter": row.per_kg_dry_matter,
                "cost_per_megajoule": row.per_megajoule,
                "volume_ml": row.mix.volume,
                "reads": [read_shape(read) for read in row.mix.reads],
                "misses": [read.band.measure for read in row.mix.misses],
            }
            for rank, row in enumerate(answer.rows, 1)
        ],
    }


def write_picture(answer: CompareAnswer, path: Path | None) -> list[str]:
    """Draw the costs, where a file is named; return its name."""
    if path is None:
        return []
    from formulate.report.pictures.compare import compare_picture
    from formulate.report.pictures.look import save_picture

    invented = answer.pantry.invented
    save_picture(compare_picture(answer.rows, answer.per, invented=invented), path)
    return [str(path)]
