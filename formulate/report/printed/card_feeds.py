"""The card's table of feeds: a week of each animal, or an empty one to fill in."""

from __future__ import annotations

from formulate.base.messages import listed
from formulate.base.units import Kitchen, unit_size
from formulate.rearing.bottle import bottle_words
from formulate.rearing.feed_plan import FeedPlan, Stage
from formulate.rearing.feeding import shortfall
from formulate.rearing.figures import value
from formulate.report.printed.typeset import Beside, Boxed, Gap, Paragraph, Piece, Stack
from formulate.report.printed.wording import day_words

__all__ = ["blank_feeds", "feed_pieces"]

_DAYS = 7
_NAME = 0.145
_LETTERS = 12.5
_CELLS = tuple([_NAME] + [(1 - _NAME) / _DAYS] * _DAYS)
#: Rows to write in, where no flock is given.
_BLANK_ROWS = 3


def feed_pieces(plan: FeedPlan) -> list[Piece]:
    """A week of feeds, an animal a row, and today's times."""
    days = range(min(_DAYS, len(plan.days)))
    top = [day_words(plan.days[d], year=False).replace(" ", "\n", 1) for d in days]
    top[0] = "Today\n" + top[0].split("\n")[1]
    pieces: list[Piece] = [
        Paragraph("Feeds a day × the size of one feed."),
        _row("", top, bold=True),
        Gap(1, 0.3),
    ]
    pieces = [Stack(tuple(pieces))]
    pieces += _change(plan, days)
    for i in range(len(plan.flock.animals)):
        pieces.append(_animal(plan, i, days))
    pieces += _short(plan)
    pieces.append(
        Paragraph(
            "Never make one feed bigger to make up for one missed: a full young stomach kills. "
            "Weigh every week, then print a new card."
        )
    )
    return pieces


def _row(name: str, cells: list[str], *, bold: bool = False) -> Piece:
    cells = cells + [""] * (_DAYS - len(cells))
    pieces: list[Piece] = [Paragraph(name, _LETTERS, bold=True, shrinks=True)]
    for number, cell in enumerate(cells):
        pieces.append(Paragraph(cell, _LETTERS, bold=bold or not number, shrinks=True))
    return Beside(tuple(pieces), _CELLS, gap=2.0, rules=0.15)


def _animal(plan: FeedPlan, i: int, days: range) -> Piece:
    animal = plan.flock.animals[i]
    cells = [_cell(plan, i, d) for d in days]
    times = " ".join(f"{t:%H:%M}" for t in plan.times(i, 0))
    words = f"today at {times}" if times else "no milk today"
    if plan.stage[i, 0] == Stage.COLOSTRUM:
        until = animal.colostrum_until
        words = f"colostrum only until {until:%H:%M} on {day_words(until.date(), year=False)}" + (
            f", then {words}" if times else ""
        )
    lines: list[Piece] = [_row(animal.name, cells), Paragraph(words)]
    return Stack((*lines, Gap(1.4, 0.15)))


def _cell(plan: FeedPlan, i: int, d: int) -> str:
    feeds = int(plan.feeds[i, d])
    if feeds:
        size, unit = _feed(float(plan.millilitres[i, d]), plan.flock.kitchen)
        return f"{feeds} × {size}\n{unit}"
    if plan.stage[i, d] == Stage.WEANED:
        return "no milk"
    return "colos-\ntrum"


def _feed(millilitres: float, kitchen: Kitchen) -> tuple[str, str]:
    """One feed and its unit, in the bottle's own marks where it stands on one."""
    words = bottle_words(millilitres, kitchen)
    ounces = words.partition("(")[2].removesuffix(" fl oz)")
    if ounces:
        return ounces.replace("1/2", "½").replace(" ½", "½"), "fl oz"
    return words.removesuffix(" mL"), "mL"


def _change(plan: FeedPlan, days: range) -> list[Piece]:
    change = plan.flock.change
    if change is None or plan.old_milk is None or all(plan.share_new[d] == 1 for d in days):
        return []
    parts = change.days + 1
    cells = [f"{round(plan.share_new[d] * parts)} of {parts}" for d in days]
    text = (
        f"Changing over from {plan.old_milk.name}: so many parts of each day's milk are this "
        "one, the rest the old one."
    )
    return [Stack((_row("this milk", cells), Paragraph(text), Gap(1.4, 0.15)))]


def _short(plan: FeedPlan) -> list[Piece]:
    names = [a.name for i, a in enumerate(plan.flock.animals) if shortfall(plan, i)]
    if not names:
        return []
    text = (
        f"This milk is too weak for {listed(names)}: its feeding times cannot hold what "
        'it needs. "formulate feed" tells what would do.'
    )
    return [Boxed(Paragraph(text, bold=True)), Gap(1)]


def blank_feeds() -> list[Piece]:
    """A table to fill in by hand."""
    shares = (0.25, 0.2, 0.25, 0.3)
    titles = ("Name", "Feeds a day", "One feed", "At these times")
    head = Beside(tuple(Paragraph(t, bold=True) for t in titles), shares)
    rows = [Gap(9) for _ in range(_BLANK_ROWS)]
    lines = [Stack((row, Gap(0.6, 0.3))) for row in rows]
    cap = value("cap-per-feed")
    ounces = cap * unit_size("lb") / 1e3 / unit_size("fl oz", Kitchen.US)
    text = (
        f"No feed above {cap:g} mL for each kilogram of the animal (1 lb: {_down(ounces)} fl oz): "
        "more feeds, never bigger ones. Plan them by weight with: formulate feed"
    )
    return [Stack((head, Gap(1, 0.3))), *lines, Gap(1), Paragraph(text)]


def _down(ounces: float) -> str:
    """Quarters of an ounce, rounded down: a cap must not be passed."""
    return f"{int(4 * ounces)}/4"
