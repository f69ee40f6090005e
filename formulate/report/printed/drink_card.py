"""The card for a scouring animal's drink: a separate sheet, never part of the milk's card.

A black bar stands across its top, so that nobody takes it for the milk.
"""

from __future__ import annotations

from pathlib import Path

from formulate.answers.rehydrate import Rehydration
from formulate.base.messages import say
from formulate.report.printed.card import heading
from formulate.report.printed.paper import MARGIN, Paper, measure, save_pages, sheet_bytes
from formulate.report.printed.typeset import (
    Beside,
    Boxed,
    Gap,
    Page,
    Paragraph,
    Piece,
    Stack,
    fill,
)
from formulate.report.rehydrate import (
    agreement_words,
    amount_words,
    day_sentences,
    measure_words_of,
    none_words,
    now_list,
    rules,
)

__all__ = ["drink_card_bytes", "drink_card_pages", "drink_card_sections", "save_drink_card"]

_TITLE, _AMOUNT = 22.0, 16.0
#: Lines to write animals on where the card knows none.
_BLANK = 3


def save_drink_card(answer: Rehydration, paper: Paper, path: Path) -> int:
    """Write the card; return how many pages it has.

    Raises
    ------
    InputError
        If the file's ending is neither .pdf nor .png, or it cannot be written.
    """
    pages = drink_card_pages(answer, paper)
    save_pages(pages, say("rehydrate.card.title"), path)
    return len(pages)


def drink_card_bytes(answer: Rehydration, paper: Paper) -> bytes:
    """The card as a PDF."""
    return sheet_bytes(drink_card_pages(answer, paper), say("rehydrate.card.title"))


def drink_card_pages(answer: Rehydration, paper: Paper) -> tuple[Page, ...]:
    """Pages of the card."""
    return fill(drink_card_sections(answer), paper.width, paper.height, MARGIN, measure())


def drink_card_sections(answer: Rehydration) -> list[list[Piece]]:
    """Everything on the card, top to bottom.

    Parameters
    ----------
    answer : Rehydration
        With a drink inside every range.
    """
    return [
        [*_head(answer), Gap(2), _signs()],
        [Gap(2), *_drink(answer)],
        [Gap(2), *_when(answer)],
    ]


def _head(answer: Rehydration) -> list[Piece]:
    title = Paragraph(say("rehydrate.card.title"), _TITLE, bold=True, shrinks=True, centred=True)
    agreed = Paragraph(agreement_words(answer), 14, bold=True)
    telephone = Paragraph(say("rehydrate.card.telephone"), 13, shrinks=True)
    return [
        Boxed(title, 3.0),
        Gap(1.5),
        agreed,
        Gap(1),
        telephone,
        Gap(1),
        Paragraph(say("rehydrate.calves")),
    ]


def _signs() -> Piece:
    bullets = [Paragraph(text, mark="•", hang=1.2) for text in now_list()]
    title = Paragraph(say("rehydrate.now-list"), 13, bold=True, shrinks=True)
    return Boxed(Stack((title, Gap(1), *bullets)))


def _drink(answer: Rehydration) -> list[Piece]:
    assert answer.drink is not None
    rows: list[Piece] = []
    for number, (line, grams) in enumerate(measure_words_of(answer.drink, level=False), 1):
        name = Paragraph(line, _AMOUNT, bold=True, mark=f"{number}", hang=1.7)
        rows.append(Stack((Beside((name, Paragraph(grams, 13)), (0.8, 0.2)), Gap(1, 0.15))))
    level = "" if answer.by_scale else f"{say('rehydrate.card.level')} "
    mix = Paragraph(f"{level}{say('rehydrate.mix-it')}")
    never = Boxed(Paragraph(say("rehydrate.never-milk"), 14, bold=True), 1.4)
    keeps = Paragraph(say("rehydrate.card.keeps"), 13, bold=True, shrinks=True)
    first = Stack((heading(say("rehydrate.card.mix")), rows[0]))
    return [first, *rows[1:], mix, Gap(1), never, Gap(1), keeps]


def _when(answer: Rehydration) -> list[Piece]:
    kinds = next((animal.amounts for animal in answer.animals if animal.amounts), ())
    shares = (0.28, *(0.72 / max(len(kinds), 1) for _ in kinds)) if kinds else (1.0,)
    pieces: list[Piece] = []
    if kinds:
        titles = (say("rehydrate.when.if-band", band=band.text) for band, _ in kinds)
        pieces.append(Beside((Paragraph(""), *(Paragraph(text) for text in titles)), shares))
    for animal in answer.animals:
        if animal.stopped:
            pieces.append(Paragraph(none_words(animal)))
            continue
        name = say(
            "rehydrate.card.animal" if animal.name else "rehydrate.card.animal-plain",
            name=animal.name,
            kilograms=f"{animal.kilograms:.1f}",
        )
        amounts = (amount_words(amount, answer.kitchen) for _, amount in animal.amounts)
        row = (
            Paragraph(name, 13, bold=True, shrinks=True),
            *(Paragraph(text, 13, bold=True, shrinks=True) for text in amounts),
        )
        pieces.append(Stack((Beside(row, shares), Gap(1, 0.15))))
    if not answer.animals:
        pieces += [Paragraph(say("rehydrate.card.blank"), 13, shrinks=True)] * _BLANK
    days = day_sentences(answer.animals[0]) if len(answer.animals) == 1 else []
    pieces += [Paragraph(text, mark="•", hang=1.2) for text in (*days, *rules())]
    for _ in range(_BLANK):
        pieces += [Gap(1), Paragraph(say("rehydrate.card.given"), shrinks=True)]
    return [Stack((heading(say("rehydrate.when.title")), pieces[0])), *pieces[1:]]
