"""Labels for jars of mixed milk: for the animal, and plainly not for people.

Several to a sheet of plain paper, with lines to cut along; a sheet for each milk. As many as fit
with letters that can be read at an arm's length.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from formulate.answers.sheet import Sheet, SheetAmount, SheetMilk
from formulate.answers.verdict import Verdict
from formulate.base.errors import InputError
from formulate.base.messages import listed, say
from formulate.report import words as tell
from formulate.report.printed.paper import MARGIN, Paper, measure, save_pages, sheet_bytes
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
    Dates,
    day_words,
    drinkers,
    food_words,
    keep_hours,
    warm_words,
)
from formulate.report.verdict_words import headline

__all__ = ["GRIDS", "label_page", "label_piece", "labels_bytes", "save_labels"]

#: Labels across and down a sheet, the most first.
GRIDS = ((2, 4), (2, 3), (2, 2), (1, 2), (1, 1))
#: Room between a label's edge, where it is cut, and its letters [mm].
_ROOM = 4.0
#: More animals than this are not named on a label.
_NAMED = 4


def save_labels(
    sheet: Sheet, mixed: date | None, paper: Paper, path: Path, per_sheet: int | None = None
) -> int:
    """Write a sheet of labels for each milk; return how many labels there are.

    Raises
    ------
    InputError
        If so many do not fit, the file's ending is neither .pdf nor .png, or it cannot be
        written.
    """
    made = [label_page(milk, mixed, paper, per_sheet) for milk in sheet.milks]
    save_pages([page for page, _ in made], _title(sheet), path, sheet.pantry.decimal)
    return sum(count for _, count in made)


def labels_bytes(
    sheet: Sheet, mixed: date | None, paper: Paper, per_sheet: int | None = None
) -> bytes:
    """The labels as a PDF.

    Raises
    ------
    InputError
        If so many do not fit on a sheet.
    """
    pages = [label_page(milk, mixed, paper, per_sheet)[0] for milk in sheet.milks]
    return sheet_bytes(pages, _title(sheet), sheet.pantry.decimal)


def _title(sheet: Sheet) -> str:
    species = [fed.species for milk in sheet.milks for fed in milk.fed]
    return say("card.labels-title", drinkers=drinkers(species, many=True))


def label_page(
    milk: SheetMilk, mixed: date | None, paper: Paper, per_sheet: int | None = None
) -> tuple[Page, int]:
    """A sheet of labels, all alike, and how many are on it."""
    width = measure()
    piece = label_piece(milk, Dates.of(mixed))
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
        numbers = listed([str(n) for n in reversed(counts)], either=True)
        raise InputError(
            say("card.labels-uneven", count=per_sheet), say("card.labels-ask", counts=numbers)
        ).about("per_sheet")
    error = InputError(say("card.label-too-small"), say("card.fewer-labels"))
    raise error.about("per_sheet") if per_sheet is not None else error


def label_piece(milk: SheetMilk, dates: Dates) -> Piece:
    """One label."""
    who = drinkers([fed.species for fed in milk.fed]).upper()
    title = Boxed(
        Stack(
            (
                Paragraph(say("card.label-for", drinker=who), 17, bold=True, centred=True),
                Paragraph(say("card.label-not"), 17, bold=True, centred=True),
            )
        ),
        thickness=1.2,
        room=1.5,
    )
    pieces: list[Piece] = [title, Gap(1.5), *_verdict(milk)]
    animals = [name for fed in milk.fed for name in fed.animals]
    if 0 < len(animals) <= _NAMED:
        pieces.append(Paragraph(say("card.label-animals", animals=listed(animals)), bold=True))
    pieces += [
        Paragraph(_contents(milk)),
        Gap(1),
        Paragraph(say("card.mixed-on", day=day_words(dates.mixed)), 13, bold=True),
        Paragraph(say("card.use-by", day=day_words(dates.use_by)), 13, bold=True),
        Paragraph(say("card.label-shake"), 13, bold=True),
        Paragraph(say("card.label-keep", warm=warm_words(), hours=keep_hours())),
    ]
    return Stack(tuple(pieces))


def _verdict(milk: SheetMilk) -> list[Piece]:
    """Nothing where the milk is right; else the verdict, and the veterinarian's word."""
    pieces: list[Piece] = []
    for fed in milk.fed:
        if fed.verdict is Verdict.INSIDE:
            continue
        told = headline(fed.verdict)
        if len(milk.fed) > 1:
            who = drinkers([fed.species], many=True)
            told = say("card.verdict-for", drinkers=who, verdict=told)
        pieces.append(Paragraph(told, bold=True))
        if (word := fed.permission) is not None:
            day = day_words(word.on)
            allowed = say("card.label-word", veterinarian=word.name, day=day)
            pieces.append(Paragraph(allowed, bold=True))
    return pieces


def _contents(milk: SheetMilk) -> str:
    """The batch in the jar, or where none is made for it the day's."""
    if milk.jar is not None:
        return say("card.label-jar", jar=milk.container.words, foods=_foods(milk.jar))
    volume = tell.volume_words(milk.day.plan.final_volume)
    return say("card.label-batch", volume=volume, foods=_foods(milk.day))


def _foods(amount: SheetAmount) -> str:
    parts: Sequence[str] = [
        f"{step.words} {food_words(step.food)}"
        for step in amount.plan.steps
        if step.food is not None and step.grams > 0
    ]
    own = amount.plan.container.filled_with
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
    for x in (left + i * wide for i in range(across + 1)):
        marks.append(Stroke(x, top, x, bottom, 0.15))
    for y in (top + i * high for i in range(down + 1)):
        marks.append(Stroke(left, y, right, y, 0.15))
    return marks
