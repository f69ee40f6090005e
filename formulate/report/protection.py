"""What it costs to be surer: as a table, as JSON, and as a picture."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from formulate.answers.protection import ProtectionAnswer
from formulate.base.messages import say
from formulate.report import words as tell
from formulate.report.confidence_words import chance_words

__all__ = ["protection_lines", "protection_rows", "protection_shape", "write_picture"]


def protection_rows(answer: ProtectionAnswer) -> list[tuple[str, str, str]]:
    """For each chance its name, what a litre costs, and how much more that is."""
    rows = []
    for point in answer.points:
        name = say("sure.average") if point.sure is None else say("sure.chance", sure=point.sure)
        if point.mix is None:
            rows.append((name, say("sure.no-mix"), ""))
            continue
        if point.sure is None:
            name += f" ({chance_words(point.chance)})"
        rows.append((name, f"{point.cost_per_litre:.3f}", f"{point.extra_per_litre:.3f}"))
    return rows


def protection_lines(answer: ProtectionAnswer) -> list[str]:
    """A line for each chance."""
    return [say("sure.curve"), *tell.table(protection_table(answer), right=(1, 2))]


def protection_table(answer: ProtectionAnswer) -> list[tuple[str, str, str]]:
    """The names of the columns, then a row for each chance."""
    per_litre = say("sure.per-litre", currency=answer.pantry.currency)
    return [(say("sure.each-range"), per_litre, say("sure.more")), *protection_rows(answer)]


def protection_shape(answer: ProtectionAnswer) -> dict[str, Any]:
    """A row for each chance."""
    return {
        "status": "optimal" if any(point.mix for point in answer.points) else "infeasible",
        "bands": answer.bands.name,
        "protection": [
            {
                "sure": point.sure,
                "least_chance": point.chance,
                "cost_per_litre": point.cost_per_litre,
                "extra_per_litre": point.extra_per_litre,
                "verdict": None if judgement is None else judgement.verdict.value,
            }
            for point, judgement in zip(answer.points, answer.judgements, strict=True)
        ],
    }


def write_picture(answer: ProtectionAnswer, path: Path | None) -> list[str]:
    """Draw it, where a file is named; return its name."""
    if path is None:
        return []
    from formulate.report.pictures.look import save_picture
    from formulate.report.pictures.protection import protection_picture

    save_picture(protection_picture(answer.points, answer.pantry.currency), path)
    return [str(path)]
