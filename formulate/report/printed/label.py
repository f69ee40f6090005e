"""Labels for jars of mixed milk: for the animal, and plainly not for people.

Several to a sheet of plain paper, with lines to cut along. As many as fit with letters that can
be read at an arm's length.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from formulate.answers.day_and_jar import DayAndJar
from formulate.base.errors import InputError
from formulate.base.messages import listed
from formulate.kitchen.jug import JugPlan
from formulate.report import words as say
from formulate.report.printed.card import Dates
from formulate.report.printed.paper import MARGIN, Paper, measure, save_pages
from formulate.report.printed.typeset import (
    Boxed,
    Gap,
    Mark,
    Page,
    Paragraph,
    Piece,
    Placed,
    Stack,
    Stroke,
    moved,
    place_inside,
)
from formulate.report.printed.wording import (
    day_words,
    drinker,
    food_words,
    keep_hours,
    warm_words,
)

__all__ = ["GRIDS", "label_page", "label_piece", "save_labels"]

#: Labels across and down a sheet, the most first.
GRIDS = ((2, 4), (2, 3), (2, 2), (1, 2), (1, 1))
#: Room between a label's edge, where it is cut, and its letters [mm].
_ROOM = 4.0


def save_labels(
    made: DayAndJar, mixed: date | None, paper: Paper, path: Path, per_sheet: int | None = None
) -> int:
    """Write a sheet of labels; return how many are on it.

    Raises
    ------
    InputError
        If so many do not fit, the file's ending is neither .pdf nor .png, or it cannot be
        written.
    """
    page, count = label_page(made, mixed, paper, per_sheet)
    save_pages([page], f"Jar labels: milk for the {drinker(made)}, not for people", path)
    return count


def label_page(
    made: DayAndJar, mixed: date | None, paper: Paper, per_sheet: int | None = None
) -> tuple[Page, int]:
    """A sheet of labels, all alike, and how many are on it."""
    width = measure()
    piece = label_piece(made, Dates.of(mixed))
    for across, down in GRIDS:
        if per_sheet is not None and across * down != per_sheet:
            continue
        size = ((paper.width - 2 * MARGIN) / across, (paper.height - 2 * MARGIN) / down)
        found = place_inside(piece, size[0] - 2 * _ROOM, size[1] - 2 * _ROOM, width)
        if found is not None:
            placed, scale = found
            marks = _sheet(placed, across, down, size)
            return Page(paper.width, paper.height, tuple(marks), scale), across * down
    counts = [a * d for a, d in GRIDS]
    if per_sheet is not None and per_sheet not in counts:
        raise InputError(
            f"{per_sheet} labels do not part a sheet evenly",
            f"Ask for {listed([str(n) for n in reversed(counts)], 'or')}.",
            "--per-sheet",
        )
    raise InputError(
        "the label does not fit with letters that can be read",
        "Ask for fewer to a sheet, or mix of fewer foods.",
        "--per-sheet" if per_sheet is not None else "label",
    )


def label_piece(made: DayAndJar, dates: Dates) -> Piece:
    """One label."""
    who = drinker(made).upper()
    plan, of = _contents(made)
    title = Boxed(
        Stack(
            (
                Paragraph(f"FOR THE {who}", 17, bold=True, centred=True),
                Paragraph("NOT FOR PEOPLE", 17, bold=True, centred=True),
            )
        ),
        thickness=1.2,
        room=1.5,
    )
    return Stack(
        (
            title,
            Gap(1.5),
            Paragraph(f"{of}: {_foods(plan)}."),
            Gap(1),
            Paragraph(f"Mixed on: {day_words(dates.mixed)}", 13, bold=True),
            Paragraph(f"Use by: {day_words(dates.use_by)}", 13, bold=True),
            Paragraph("SHAKE WELL", 13, bold=True),
            Paragraph(
                f"Warm to {warm_words()}. Keep covered and chilled, {keep_hours()} hours at most. "
                "Not for a newborn's first day."
            ),
        )
    )


def _contents(made: DayAndJar) -> tuple[JugPlan, str]:
    """The batch in the jar, or where none is made for it the day's, and how to call it."""
    if made.jar_plan is not None and made.container is not None:
        return made.jar_plan, f"In this {made.container.words}"
    return made.day_plan, f"Of a batch of {say.volume_words(made.day_plan.final_volume)}"


def _foods(plan: JugPlan) -> str:
    parts: Sequence[str] = [
        f"{step.words} {food_words(step.food)}"
        for step in plan.steps
        if step.food is not None and step.grams > 0
    ]
    own = plan.container.filled_with
    if own is not None:
        parts = [food_words(own.id), *parts]
    return ", ".join(parts)


def _sheet(placed: Placed, across: int, down: int, size: tuple[float, float]) -> list[Mark]:
    """The same label in every place, and lines to cut along."""
    marks: list[Mark] = []
    wide, high = size
    left, top = MARGIN, MARGIN
    spare = (high - 2 * _ROOM - placed.height) / 2
    for row in range(down):
        for column in range(across):
            x, y = left + column * wide + _ROOM, top + row * high + _ROOM + spare
            marks += moved(placed.marks, x, y)
    right, bottom = left + across * wide, top + down * high
    marks += [
        Stroke(left + i * wide, top, left + i * wide, bottom, 0.15) for i in range(across + 1)
    ]
    marks += [Stroke(left, top + i * high, right, top + i * high, 0.15) for i in range(down + 1)]
    return marks
