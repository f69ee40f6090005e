"""The card's table of feeds: a week for each animal, or an empty table to fill in."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import groupby

from formulate.base.messages import listed, say
from formulate.base.units import Kitchen, unit_size
from formulate.rearing.feed_plan import FeedPlan, Stage
from formulate.rearing.figures import value
from formulate.rearing.weaning import criteria_of
from formulate.report.printed.typeset import Beside, Boxed, Gap, Paragraph, Piece, Stack
from formulate.report.printed.wording import day_words

__all__ = ["blank_feeds", "feed_pieces"]

_DAYS = 7
_NAME = 0.145
_LETTERS = 12.5
_CELLS = tuple([_NAME] + [(1 - _NAME) / _DAYS] * _DAYS)
#: Rows to write in, where no flock is given.
_BLANK_ROWS = 3
#: A feed lies on a mark of half an ounce if it misses it by less [fl oz].
_ON_MARK = 0.004


def feed_pieces(plans: Sequence[FeedPlan], before: str, too_weak_for: Sequence[str]) -> list[Piece]:
    """A week of feeds, an animal a row, each with its times.

    Parameters
    ----------
    plans : sequence of FeedPlan
        From one day on.
    before : str
        Name of the milk that is still stirred in; may be empty.
    too_weak_for : sequence of str
        Animals that cannot drink enough of it.
    """
    longest = max(plans, key=lambda plan: len(plan.days))
    days = longest.days[:_DAYS]
    pieces: list[Piece] = [Stack((Paragraph(say("card.feeds-how")), *_top(days), Gap(1, 0.3)))]
    if before:
        pieces += _change(plans, before)
    for plan in plans:
        pieces += [_animal(plan, i, days) for i in range(len(plan.flock.animals))]
    if any(_weaning(plan, i, days) for plan in plans for i in range(len(plan.flock.animals))):
        pieces.append(Paragraph(say("weaning.coccidia")))
    if too_weak_for:
        text = say("card.too-weak", animals=listed(too_weak_for))
        pieces += [Boxed(Paragraph(text, bold=True)), Gap(1)]
    return pieces


def _top(days: Sequence[date]) -> list[Piece]:
    cells = [day_words(day, year=False).replace(" ", "\n", 1) for day in days]
    cells[0] = f"{say('card.today')}\n{cells[0].split(chr(10))[1]}"
    return [_row("", cells, bold=True)]


def _row(name: str, cells: Sequence[str], *, bold: bool = False) -> Piece:
    cells = [*cells, *[""] * (_DAYS - len(cells))]
    pieces: list[Piece] = [Paragraph(name, _LETTERS, bold=True, shrinks=True)]
    for number, cell in enumerate(cells):
        pieces.append(Paragraph(cell, _LETTERS, bold=bold or not number, shrinks=True))
    return Beside(tuple(pieces), _CELLS, gap=2.0, rules=0.15)


def _animal(plan: FeedPlan, i: int, days: Sequence[date]) -> Piece:
    animal = plan.flock.animals[i]
    cells = [_cell(plan, i, d) if d < len(plan.days) else say("card.no-milk") for d in
             range(len(days))]  # fmt: skip
    words = _times(plan, i, days)
    if plan.stage[i, 0] == Stage.COLOSTRUM:
        until = animal.colostrum_until
        day = day_words(until.date(), year=False)
        if words:
            words = say("card.colostrum-then", until=until, day=day, times=words)
        else:
            words = say("card.colostrum", until=until, day=day)
    elif not plan.feeds[i, 0]:
        words = say("card.no-milk-today")
    lines = [Paragraph(words), *(Paragraph(text) for text in _weaning(plan, i, days))]
    return Stack((_row(animal.name, cells), *lines, Gap(1.4, 0.15)))


def _weaning(plan: FeedPlan, i: int, days: Sequence[date]) -> list[str]:
    """What is asked of an animal whose milk becomes less within these days."""
    ready = plan.weaning[i].begins
    if ready is None or ready > days[-1] or not plan.feeds[i].any():
        return []
    criteria = criteria_of(plan.flock.animals[i])
    day = day_words(ready, year=False)
    if ready < days[0]:
        return [say("weaning.card-begun", day=day)]
    asked = say(
        "weaning.card",
        day=day,
        age=criteria.age,
        weight=criteria.heaviest,
        creep=criteria.creep,
    )
    return [asked]


def _times(plan: FeedPlan, i: int, days: Sequence[date]) -> str:
    """When it is fed on each of the days; days with the same times are listed together."""
    known = range(min(len(days), len(plan.days)))
    runs = [list(run) for _, run in groupby(known, lambda d: plan.times(i, d))]
    told = []
    for run in runs:
        times = " ".join(f"{t:%H:%M}" for t in plan.times(i, run[0]))
        first, last = (day_words(plan.days[d], year=False) for d in (run[0], run[-1]))
        if not times:
            continue
        if len(run) == _DAYS:
            told.append(say("card.each-day", times=times))
        elif run[0]:
            told.append(say("card.from-day", day=first, times=times))
        elif len(run) == 1:
            told.append(say("card.today-at", times=times))
        else:
            told.append(say("card.until-day", day=last, times=times))
    return "; ".join(told)


def _cell(plan: FeedPlan, i: int, d: int) -> str:
    feeds, kitchen = int(plan.feeds[i, d]), plan.flock.kitchen
    if feeds:
        millilitres = float(plan.millilitres[i, d])
        ounces = _mark(millilitres, kitchen)
        if ounces is not None:
            return say("card.cell-ounces", feeds=feeds, ounces=_halves(ounces))
        return say("card.cell", feeds=feeds, millilitres=millilitres)
    if plan.stage[i, d] == Stage.WEANED:
        return say("card.no-milk")
    return say("card.cell-colostrum")


def _mark(millilitres: float, kitchen: Kitchen) -> float | None:
    """A feed in fluid ounces where it lies on a mark of half of one."""
    if kitchen.metric:
        return None
    ounces = millilitres / unit_size("fl oz", kitchen)
    halves = round(2 * ounces)
    return halves / 2 if halves and abs(2 * ounces - halves) <= _ON_MARK else None


def _halves(ounces: float) -> str:
    """Whole and half ounces: "8½"."""
    whole, half = divmod(round(2 * ounces), 2)
    return f"{whole or ''}{'½' if half else ''}"


def _change(plans: Sequence[FeedPlan], before: str) -> list[Piece]:
    """So many parts of each day's milk are the new one, on the days of a change."""
    plan = next(plan for plan in plans if plan.old_milk is not None)
    assert plan.flock.change is not None
    days = range(min(_DAYS, len(plan.days)))
    if all(plan.share_new[d] == 1 for d in days):
        return []
    parts = plan.flock.change.days + 1
    cells = [
        say("card.parts", new=round(float(plan.share_new[d]) * parts), parts=parts) for d in days
    ]
    text = say("card.change", milk=before)
    row = _row(say("card.this-milk"), cells)
    return [Stack((row, Paragraph(text), Gap(1.4, 0.15)))]


def blank_feeds() -> list[Piece]:
    """A table to fill in by hand."""
    shares = (0.25, 0.2, 0.25, 0.3)
    titles = (
        say("card.blank-name"),
        say("card.blank-feeds"),
        say("card.blank-size"),
        say("card.blank-times"),
    )
    head = Beside(tuple(Paragraph(t, bold=True) for t in titles), shares)
    rows = [Gap(9) for _ in range(_BLANK_ROWS)]
    lines = [Stack((row, Gap(0.6, 0.3))) for row in rows]
    cap = value("cap-per-feed")
    ounces = cap * unit_size("lb") / 1e3 / unit_size("fl oz", Kitchen.US)
    # Quarters of an ounce, rounded down: a cap must not be passed.
    text = say("card.cap", cap=cap, quarters=int(4 * ounces))
    return [Stack((head, Gap(1, 0.3))), *lines, Gap(1), Paragraph(text)]
