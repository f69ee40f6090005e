"""The card for the refrigerator door: what to mix, in which order, who gets how much."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from formulate.answers.cautions import Caution, cautions_for
from formulate.answers.day_and_jar import DayAndJar
from formulate.base.units import Kitchen, unit_size
from formulate.foods.bands import Basis
from formulate.kitchen.jug import JugPlan, JugStep, Keep
from formulate.pantry.pantry import Pantry
from formulate.rearing.growth import veterinary_signs
from formulate.report import words as say
from formulate.report.printed.card_feeds import blank_feeds, feed_pieces
from formulate.report.printed.paper import MARGIN, Paper, measure, save_pages
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
    day_words,
    drinker,
    food_words,
    how_words,
    keep_hours,
    warm_words,
)

__all__ = ["Dates", "card_pages", "card_sections", "save_card"]

_TITLE, _HEADING, _AMOUNT = 20.0, 15.0, 15.0


@dataclass(frozen=True, slots=True)
class Dates:
    """When it was mixed and until when it keeps; both None: to be written in by hand."""

    mixed: date | None
    use_by: date | None

    @classmethod
    def of(cls, mixed: date | None) -> Dates:
        """The dates of a mix; it keeps as long as the tables say."""
        return cls(mixed, None if mixed is None else mixed + timedelta(hours=keep_hours()))


def save_card(made: DayAndJar, pantry: Pantry, mixed: date | None, paper: Paper, path: Path) -> int:
    """Write the card; return how many pages it has.

    Raises
    ------
    InputError
        If the file's ending is neither .pdf nor .png, or it cannot be written.
    """
    pages = card_pages(made, pantry, mixed, paper)
    save_pages(pages, f"Milk for {drinker(made, many=True)}", path)
    return len(pages)


def card_pages(
    made: DayAndJar, pantry: Pantry, mixed: date | None, paper: Paper
) -> tuple[Page, ...]:
    """Pages of the card."""
    sections = card_sections(made, pantry, Dates.of(mixed))
    return fill(sections, paper.width, paper.height, MARGIN, measure())


def card_sections(made: DayAndJar, pantry: Pantry, dates: Dates) -> list[list[Piece]]:
    """Everything on the card, top to bottom."""
    cautions = [c for c in cautions_for(made.mix) if c.shown]
    first = [c for c in cautions if c.id == "not-for-the-first-day"]
    rest = [c for c in cautions if c.id != "not-for-the-first-day"]
    return [
        [*_head(made, pantry, dates), *_boxes(first), Gap(2), *_recipe(made, pantry.kitchen)],
        [Gap(2), *_feeds(made)],
        [Gap(2), *_signs()],
        [Gap(2), *_care(rest)],
    ]


def heading(text: str) -> Piece:
    """A section's heading, with a stroke below it."""
    return Stack((Paragraph(text, _HEADING, bold=True), Gap(1, 0.5)))


def _head(made: DayAndJar, pantry: Pantry, dates: Dates) -> list[Piece]:
    mix = made.mix
    reads = {read.band.measure: read.value for read in mix.reads if read.band.basis is Basis.AS_FED}
    parts = [
        f"{name} {say.number(value)} %"
        for name in ("solids", "fat", "protein")
        if (value := reads.get(name)) is not None
    ]
    title = Paragraph(f"Milk for {drinker(made, many=True)}", _TITLE, bold=True)
    invented = " (an invented sample)" if pantry.invented and "invented" not in pantry.name else ""
    shelf = (
        f"Shelf: {pantry.name or pantry.where}{invented}. " if pantry.name or pantry.where else ""
    )
    about = Paragraph(f"{shelf}{', '.join(parts).capitalize()}.")
    hours = keep_hours()
    mixed = Paragraph(f"Mixed on: {day_words(dates.mixed)}", 13, bold=True, shrinks=True)
    use_by = Paragraph(f"Use by: {day_words(dates.use_by)}", 13, bold=True, shrinks=True)
    keep = Paragraph(f"It keeps {hours} hours, covered and chilled. Pour out what is older.")
    return [title, about, Gap(1), Beside((mixed, use_by), (0.5, 0.5)), keep, Gap(1.5)]


def _boxes(cautions: Sequence[Caution]) -> list[Piece]:
    return [Boxed(Paragraph(c.text, 13, bold=True)) for c in cautions]


# --- recipe ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Row:
    """One food, in the order of mixing."""

    food: str
    how: str
    amounts: tuple[str, ...]


def _recipe(made: DayAndJar, kitchen: Kitchen) -> list[Piece]:
    plans = [made.day_plan] + ([made.jar_plan] if made.jar_plan else [])
    titles = [f"For a day: {_size(made.day_plan, kitchen)}"]
    if made.jar_plan and made.container:
        titles.append(f"For the {made.container.words}: {_size(made.jar_plan, kitchen)}")
    shares = (0.4, 0.3, 0.3) if len(plans) == 2 else (0.6, 0.4)
    top = Beside(
        (Paragraph("Mix in this order", _HEADING, bold=True),
         *(Paragraph(t, 12, bold=True) for t in titles)),
        shares,
    )  # fmt: skip
    rows = [_row_piece(n, row, shares) for n, row in enumerate(_rows(plans), 1)]
    pieces: list[Piece] = [Stack((top, Gap(1.2, 0.5), rows[0])), *rows[1:]]
    if made.jar_plan is None and made.container is not None:
        words = made.container.words
        jars = -(-made.mix.volume // made.container.most())
        pieces.append(
            Paragraph(
                f"No whole measures fill a {words}: mix the day's batch, and pour it into "
                f"{jars:.0f} of them."
            )
        )
    pieces += [
        Paragraph(text)
        for text in dict.fromkeys(_keep_words(k) for p in plans for k in p.keep if k.food != "mix")
    ]
    pieces.append(
        Paragraph(
            f"To feed: shake, and warm the bottle to {warm_words()}. Cups and spoons: "
            f"{kitchen.title}."
        )
    )
    return pieces


def _keep_words(keep: Keep) -> str:
    what = f"{food_words(keep.food).capitalize()} {keep.what}: "
    if keep.days is None:
        return f"{what}{keep.note}."
    days = "a day" if keep.days == 1 else f"{keep.days} days"
    return f"{what}covered and chilled, use within {days}."


def _size(plan: JugPlan, kitchen: Kitchen) -> str:
    text = say.volume_words(plan.final_volume)
    if kitchen.metric:
        return text
    return f"{plan.final_volume / unit_size('cup', kitchen):.1f} cups ({text})"


def _rows(plans: Sequence[JugPlan]) -> list[_Row]:
    """Foods in the order of mixing, with the amounts of every batch."""
    by_plan: list[dict[str, JugStep]] = []
    order: list[str] = []
    for plan in plans:
        steps = {step.food: step for step in plan.steps if step.food is not None}
        by_plan.append(steps)
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
        found = [steps.get(food) for steps in by_plan]
        off = [step for step in found if step is not None and step.grams < 0]
        into = [step for step in found if step is not None and step.grams > 0]
        how = " ".join([*(how_words(s) for s in into[:1]), *(_off_words(plans) for _ in off)])
        unnamed = how.replace(food_words(food), "")
        amounts = (_amount(s, food, p) for s, p in zip(found, plans, strict=True))
        rows.append(_Row(food, "The same way." if unnamed == before else how, tuple(amounts)))
        before = unnamed
    return rows


def _off_words(plans: Sequence[JugPlan]) -> str:
    words = next(p.container.words for p in plans if p.container.filled_with is not None)
    return f"From the {words}: pour off into a clean covered jar, and keep it chilled."


def _amount(step: JugStep | None, food: str, plan: JugPlan) -> str:
    if step is None:
        own = plan.container.filled_with
        return "all that is in it" if own is not None and own.id == food else "none"
    return f"pour off {step.words}" if step.grams < 0 else step.words


def _row_piece(number: int, row: _Row, shares: tuple[float, ...]) -> Piece:
    name = Paragraph(food_words(row.food), _AMOUNT, bold=True, mark=f"{number}", hang=1.9)
    amounts = [Paragraph(text, _AMOUNT, bold=True) for text in row.amounts]
    how = Paragraph(row.how, SMALLEST, hang=1.9 * _AMOUNT / SMALLEST)
    return Stack((Beside((name, *amounts), shares), how, Gap(1.6, 0.15)))


# --- the rest ----------------------------------------------------------------------------------


def _feeds(made: DayAndJar) -> list[Piece]:
    head = heading("How much each animal gets")
    rows = blank_feeds() if made.feeds is None else feed_pieces(made.feeds)
    return [Stack((head, rows[0])), *rows[1:]]


def _signs() -> list[Piece]:
    signs = veterinary_signs()
    bullets = [Paragraph(text, mark="•", hang=1.2) for text in signs.look]
    half = -(-len(bullets) // 2)
    columns = Beside((Stack(tuple(bullets[:half])), Stack(tuple(bullets[half:]))), (0.5, 0.5))
    telephone = Paragraph("Telephone: ______________________________")
    title = Paragraph(signs.text, _HEADING, bold=True)
    return [Boxed(Stack((title, Gap(1), columns, Gap(1.5), telephone)))]


def _care(cautions: Sequence[Caution]) -> list[Piece]:
    if not cautions:
        return []
    pieces: list[Piece] = [Paragraph(c.text, mark="•", hang=1.2) for c in cautions]
    return [Stack((heading("Take care"), pieces[0])), *pieces[1:]]
