"""The card for the refrigerator door: what to mix, in which order, and who gets how much."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from formulate.answers.cautions import Caution
from formulate.answers.sheet import Sheet, SheetAmount, SheetMilk
from formulate.answers.verdict import Verdict
from formulate.base.messages import listed, say
from formulate.base.units import Kitchen, unit_size
from formulate.foods.bands import Basis
from formulate.kitchen.jug import JugStep, Keep
from formulate.rearing.growth import veterinary_signs
from formulate.report import words as tell
from formulate.report.fed_milks import animal_words
from formulate.report.printed.card_feeds import blank_feeds, feed_pieces
from formulate.report.printed.paper import MARGIN, Paper, measure, save_pages, sheet_bytes
from formulate.report.printed.typeset import (
    SMALLEST,
    Beside,
    Boxed,
    Gap,
    Page,
    Paragraph,
    Piece,
    Stack,
    fill,
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

__all__ = ["card_bytes", "card_pages", "card_sections", "save_card"]

_TITLE, _HEADING, _AMOUNT = 20.0, 15.0, 15.0
#: Told at the top, not among the rest.
_FIRST = "not-for-the-first-day"


def save_card(sheet: Sheet, mixed: date | None, paper: Paper, path: Path) -> int:
    """Write the card; return how many pages it has.

    Raises
    ------
    InputError
        If the file's ending is neither .pdf nor .png, or it cannot be written.
    """
    pages = card_pages(sheet, mixed, paper)
    save_pages(pages, _title(sheet), path, sheet.pantry.decimal)
    return len(pages)


def card_bytes(sheet: Sheet, mixed: date | None, paper: Paper) -> bytes:
    """The card as a PDF."""
    return sheet_bytes(card_pages(sheet, mixed, paper), _title(sheet), sheet.pantry.decimal)


def card_pages(sheet: Sheet, mixed: date | None, paper: Paper) -> tuple[Page, ...]:
    """Pages of the card."""
    sections = card_sections(sheet, Dates.of(mixed))
    return fill(sections, paper.width, paper.height, MARGIN, measure())


def card_sections(sheet: Sheet, dates: Dates) -> list[list[Piece]]:
    """Everything on the card, top to bottom; the verdict comes before anything to do."""
    reasons = {r.text for milk in sheet.milks for fed in milk.fed for r in fed.judgement.reasons}
    cautions = {c.text: c for milk in sheet.milks for c in milk.cautions if c.text not in reasons}
    first = [c for c in cautions.values() if c.id == _FIRST]
    head: list[Piece] = [
        Paragraph(_title(sheet), _TITLE, bold=True),
        *_refused(sheet),
        *(Boxed(Paragraph(bar.text, 13, bold=True)) for bar in sheet.bars),
        *_boxes(first),
        *_dates(sheet, dates),
    ]
    sections: list[list[Piece]] = []
    for milk in sheet.milks:
        several = len(sheet.milks) > 1
        sections.append([*head, Gap(2), *_milk(milk, sheet, several=several)])
        sections.append([Gap(2), *_feeds(milk, several=several)])
        head = []
    if any(milk.plans for milk in sheet.milks):
        sections[-1].append(Paragraph(say("card.never-make-up")))
    sections.append([Gap(2), *_signs()])
    return [*sections, [Gap(2), *_care([c for c in cautions.values() if c.id != _FIRST])]]


def heading(text: str) -> Piece:
    """A section's heading, with a stroke below it."""
    return Stack((Paragraph(text, _HEADING, bold=True), Gap(1, 0.5)))


def _title(sheet: Sheet) -> str:
    species = [fed.species for milk in sheet.milks for fed in milk.fed]
    return say("card.title", drinkers=drinkers(species, many=True))


def _refused(sheet: Sheet) -> list[Piece]:
    """Milks that may not be fed: who would drink them, and why not."""
    pieces: list[Piece] = []
    for fed in sheet.refused:
        told = say("card.refused", milk=fed.name, animals=animal_words(fed.animals),
                   verdict=headline(fed.verdict))  # fmt: skip
        reasons = [Paragraph(reason.text) for reason in fed.why_not]
        pieces += [Boxed(Stack((Paragraph(told, 13, bold=True), *reasons))), Gap(1)]
    return pieces


def _dates(sheet: Sheet, dates: Dates) -> list[Piece]:
    pantry, pieces = sheet.pantry, []
    if shelf := pantry.name or pantry.where:
        if pantry.invented and "invented" not in pantry.name:
            pieces.append(Paragraph(say("card.shelf-invented", shelf=shelf)))
        else:
            pieces.append(Paragraph(say("card.shelf", shelf=shelf)))
    mixed = say("card.mixed-on", day=day_words(dates.mixed))
    use_by = say("card.use-by", day=day_words(dates.use_by))
    both = tuple(Paragraph(text, 13, bold=True, shrinks=True) for text in (mixed, use_by))
    keep = Paragraph(say("card.keeps", hours=keep_hours()))
    return [*pieces, Gap(1), Beside(both, (0.5, 0.5)), keep]


def _boxes(cautions: Sequence[Caution]) -> list[Piece]:
    return [Boxed(Paragraph(c.text, 13, bold=True)) for c in cautions]


# --- one milk ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Row:
    """One food, in the order of mixing."""

    food: str
    how: str
    amounts: tuple[str, ...]


def _milk(milk: SheetMilk, sheet: Sheet, *, several: bool) -> list[Piece]:
    animals = [name for fed in milk.fed for name in fed.animals]
    pieces: list[Piece] = []
    if several:
        name = say("card.for-animals", milk=milk.name, animals=animal_words(animals))
        pieces.append(heading(name))
    pieces += [*_verdict(milk), Paragraph(_strength(milk)), Gap(1)]
    return [*pieces, *_recipe(milk, sheet.pantry.kitchen)]


def _verdict(milk: SheetMilk) -> list[Piece]:
    """The verdict for each species; in a frame where it is anything but right."""
    pieces: list[Piece] = []
    for fed in milk.fed:
        told = headline(fed.verdict)
        if len(milk.fed) > 1:
            who = drinkers([fed.species], many=True)
            told = say("card.verdict-for", drinkers=who, verdict=told)
        if fed.verdict is Verdict.INSIDE:
            pieces.append(Paragraph(told))
            continue
        lines = [Paragraph(told, 13, bold=True)]
        lines += [Paragraph(r.text, mark="•", hang=1.2) for r in fed.judgement.reasons]
        if (word := fed.permission) is not None:
            allowed = say("card.word", veterinarian=word.name, day=day_words(word.on),
                          allows=word.allows.rstrip("."))  # fmt: skip
            lines.append(Paragraph(allowed, 13, bold=True))
        pieces += [Boxed(Stack(tuple(lines))), Gap(1)]
    return pieces


def _strength(milk: SheetMilk) -> str:
    """Solids, fat and protein as fed."""
    reads = {
        read.band.measure: read
        for read in milk.fed[0].mix.reads
        if read.band.basis is Basis.AS_FED and read.value is not None
    }
    shares = [
        say("card.share", measure=read.band.label, value=tell.number(read.value or 0.0))
        for name in ("solids", "fat", "protein")
        if (read := reads.get(name)) is not None
    ]
    return say("card.strength", shares=", ".join(shares))


def _recipe(milk: SheetMilk, kitchen: Kitchen) -> list[Piece]:
    amounts = [milk.day] + ([milk.jar] if milk.jar else [])
    titles = [say("card.for-a-day", size=_size(milk.day, kitchen))]
    if milk.jar:
        titles.append(
            say("card.for-the-jar", jar=milk.container.words, size=_size(milk.jar, kitchen))
        )
    shares = (0.4, 0.3, 0.3) if len(amounts) == 2 else (0.6, 0.4)
    top = Beside(
        (Paragraph(say("card.order"), _HEADING, bold=True),
         *(Paragraph(t, 12, bold=True) for t in titles)),
        shares,
    )  # fmt: skip
    rows = [_row_piece(n, row, shares) for n, row in enumerate(_rows(amounts), 1)]
    pieces: list[Piece] = [Stack((top, Gap(1.2, 0.5), rows[0])), *rows[1:]]
    if milk.jar is None:
        jar = milk.container.words
        pieces.append(Paragraph(say("card.no-jar", jar=jar, jars=milk.jars)))
    kept = dict.fromkeys(
        _keep_words(keep) for amount in amounts for keep in amount.plan.keep if keep.food != "mix"
    )
    pieces += [Paragraph(text) for text in kept]
    feed = say("card.to-feed", warm=warm_words(), cups=kitchen.title)
    return [*pieces, Paragraph(feed)]


def _keep_words(keep: Keep) -> str:
    food = food_words(keep.food).capitalize()
    if keep.days is None:
        return say("card.keep-note", food=food, what=keep.what, note=keep.note)
    return say("card.keep", food=food, what=keep.what, days=keep.days)


def _size(amount: SheetAmount, kitchen: Kitchen) -> str:
    volume = amount.plan.final_volume
    text = tell.volume_words(volume)
    if kitchen.metric:
        return text
    return say("card.cups", cups=volume / unit_size("cup", kitchen), volume=text)


def _rows(amounts: Sequence[SheetAmount]) -> list[_Row]:
    """Foods in the order of mixing, with the amounts of every batch."""
    by_amount: list[dict[str, JugStep]] = []
    order: list[str] = []
    for amount in amounts:
        steps = {step.food: step for step in amount.plan.steps if step.food is not None}
        by_amount.append(steps)
        place = 0
        for food in steps:
            if food in order:
                place = order.index(food) + 1
            else:
                order.insert(place, food)
                place += 1
    rows: list[_Row] = []
    before = ""
    for food in order:
        found = [steps.get(food) for steps in by_amount]
        how = " ".join(_hows(found, amounts))
        unnamed = how.replace(food_words(food), "")
        words = [_amount(step, food, a) for step, a in zip(found, amounts, strict=True)]
        rows.append(_Row(food, say("card.same-way") if unnamed == before else how, tuple(words)))
        before = unnamed
    return rows


def _hows(found: Sequence[JugStep | None], amounts: Sequence[SheetAmount]) -> list[str]:
    """What to do with a food: put it in, and pour it off where a jug is full of it."""
    into = [step.how for step in found if step is not None and step.grams > 0]
    off = [
        say("card.from-the-jug", jug=amount.plan.container.words, how=step.how)
        for step, amount in zip(found, amounts, strict=True)
        if step is not None and step.grams < 0
    ]
    return [*into[:1], *off]


def _amount(step: JugStep | None, food: str, amount: SheetAmount) -> str:
    if step is None:
        own = amount.plan.container.filled_with
        inside = own is not None and own.id == food
        return say("card.all-inside") if inside else say("card.none")
    return say("card.pour-off", amount=step.words) if step.grams < 0 else step.words


def _row_piece(number: int, row: _Row, shares: tuple[float, ...]) -> Piece:
    name = Paragraph(food_words(row.food), _AMOUNT, bold=True, mark=f"{number}", hang=1.9)
    amounts = [Paragraph(text, _AMOUNT, bold=True) for text in row.amounts]
    how = Paragraph(row.how, SMALLEST, hang=1.9 * _AMOUNT / SMALLEST)
    return Stack((Beside((name, *amounts), shares), how, Gap(1.6, 0.15)))


# --- the rest ----------------------------------------------------------------------------------


def _feeds(milk: SheetMilk, *, several: bool) -> list[Piece]:
    if not milk.plans:
        head, rows = heading(say("card.feeds")), blank_feeds()
        return [Stack((head, rows[0])), *rows[1:]]
    before = "" if milk.before is None else milk.before.name
    rows = feed_pieces(milk.plans, before, milk.too_weak_for)
    if several:
        animals = listed([name for plan in milk.plans for name in plan.flock.names])
        head = heading(say("card.feeds-of", milk=milk.name) if len(animals) > 60
                       else say("card.feeds-for", animals=animals))  # fmt: skip
    else:
        head = heading(say("card.feeds"))
    return [Stack((head, rows[0])), *rows[1:]]


def _signs() -> list[Piece]:
    signs = veterinary_signs()
    bullets = [Paragraph(text, mark="•", hang=1.2) for text in signs.look]
    half = -(-len(bullets) // 2)
    columns = Beside((Stack(tuple(bullets[:half])), Stack(tuple(bullets[half:]))), (0.5, 0.5))
    telephone = Paragraph(say("card.telephone"))
    title = Paragraph(signs.text, _HEADING, bold=True)
    return [Boxed(Stack((title, Gap(1), columns, Gap(1.5), telephone)))]


def _care(cautions: Sequence[Caution]) -> list[Piece]:
    if not cautions:
        return []
    pieces: list[Piece] = [Paragraph(c.text, mark="•", hang=1.2) for c in cautions]
    return [Stack((heading(say("card.care")), pieces[0])), *pieces[1:]]
