"""A season on one page: the verdict, litres, money and hours, by animal and by milk."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from formulate.answers.season import SeasonAnswer
from formulate.base.messages import dated, listed, say
from formulate.report import words as tell
from formulate.report.reason_words import capital
from formulate.report.shopping_text import money_and_proof, shopping_heading, why_none
from formulate.shopping.plan import NoShopping
from formulate.shopping.season import AnimalSeason, Estimate, MilkSeason

__all__ = ["SEASON_FIGURES", "milk_rows", "season_text", "total_rows", "totals"]

#: Rows of a season that are parts of the one above them.
_PARTS = (2, 3)
#: Animals told one by one.
MOST_ANIMALS = 12

#: Figures that hours and weighings rest on.
SEASON_FIGURES = (
    "bottle-minutes", "bottle-minutes-low", "bottle-minutes-high",
    "batch-minutes", "batch-minutes-low", "batch-minutes-high", "weigh-every",
)  # fmt: skip


def season_text(answer: SeasonAnswer, notes: Sequence[str] = ()) -> str:
    """The whole answer; the verdict comes first, then what a door has to note."""
    lines = shopping_heading(answer.shopping, notes)
    if answer.own is None:
        return "\n".join([*lines, "", *why_none(answer.shopping)])
    lines += ["", *_table(answer), "", *_from_today(answer), "", *_animal_lines(answer)]
    lines += ["", *_milk_lines(answer, answer.own), "", say("shop.season.notes-title")]
    meaning = (
        say("shop.season.note-range"),
        say("shop.season.note-cost"),
        say("shop.season.note-log"),
        say("shop.season.note-safe"),
    )
    return "\n".join([*lines, *map(tell.bullet, meaning)])


def totals(answer: SeasonAnswer) -> dict[str, Estimate]:
    """The rows of a season: milk, money, money by animal and by kilogram, hours."""
    own, count = answer.own, len(answer.animals)
    if own is None:
        return {}
    return {
        "milk": own.litres,
        "cost": own.cost,
        "per-animal": own.cost.times(1 / count),
        "per-kilogram": own.cost.times(1 / own.gained),
        "hours": answer.hours,
    }


def total_rows(answer: SeasonAnswer) -> list[tuple[str, ...]]:
    """Each row of a season: its name, its low, expected and high figure, and their unit."""
    currency = answer.shopping.pantry.currency
    rows = []
    for name, estimate in totals(answer).items():
        unit = {"milk": "L", "hours": "h"}.get(name, currency)
        figures = (estimate.low, estimate.expected, estimate.high)
        rows.append(
            (say(f"shop.season.{name}"), *(_figure(value, unit) for value in figures), unit)
        )
    return rows


def _table(answer: SeasonAnswer) -> list[str]:
    rows: list[tuple[str, ...]] = [
        ("", say("shop.season.low"), say("shop.season.expected"), say("shop.season.high"), "")
    ]
    rows += (
        (f"  {name}" if at in _PARTS else name, *rest)
        for at, (name, *rest) in enumerate(total_rows(answer))
    )
    title = say("shop.season.title", animals=len(answer.animals))
    return [title, *tell.table(rows, right=(1, 2, 3))]


def _figure(value: float, unit: str) -> str:
    return f"{value:,.0f}" if unit in ("L", "h") else f"{value:,.2f}"


def _from_today(answer: SeasonAnswer) -> list[str]:
    shopping, lines = answer.shopping.shopping, [say("shop.season.from-today")]
    if shopping is None:
        return []
    if isinstance(shopping, NoShopping):
        lines.append(tell.bullet(say("shop.season.no-shopping", reason=shopping.reason)))
        return [*lines, tell.bullet(shopping.remedy)]
    currency = answer.shopping.pantry.currency
    bought = say(
        "shop.season.bought",
        trips=len(shopping.trips),
        litres=tell.number(shopping.fed),
        money=tell.money(shopping.cost, currency),
    )
    thrown = sum(left.worth for left in shopping.leftovers if not left.good)
    lines += [tell.bullet(bought), *map(tell.bullet, money_and_proof(shopping)[1:])]
    lines.append(tell.bullet(say("shop.season.thrown", money=tell.money(thrown, currency))))
    return lines


def _animal_lines(answer: SeasonAnswer) -> list[str]:
    several = len({animal.milk for animal in answer.animals}) > 1
    top = [
        say("shop.season.column-animal"),
        say("shop.season.column-born"),
        say("shop.season.column-ready"),
        say("shop.season.column-weight"),
        say("shop.season.column-drinks"),
        answer.shopping.pantry.currency,
    ]
    rows = [(*top, say("shop.season.column-milk") if several else "")]
    rows += [_animal_row(animal, several) for animal in answer.animals[:MOST_ANIMALS]]
    lines = [say("shop.season.animals-title"), *tell.table(rows, right=(3, 4, 5))]
    more = len(answer.animals) - MOST_ANIMALS
    if more > 0:
        lines.append(f"  ({say('shop.season.more-animals', count=more)})")
        ready = sorted(a.ready[1] for a in answer.animals if a.ready[1] is not None)
        if ready:
            lines.append(f"  {say('shop.season.all-ready', first=ready[0], last=ready[-1])}")
    return lines


def _animal_row(animal: AnimalSeason, several: bool) -> tuple[str, ...]:
    earliest, ready, latest = animal.ready
    dates = say("shop.season.not-ready") if ready is None else f"{ready}"
    if ready is not None and (earliest, latest) != (ready, ready):
        dates = say(
            "shop.season.ready", ready=ready, earliest=_short(earliest), latest=_short(latest)
        )
    return (
        animal.name,
        f"{animal.born}",
        dates,
        f"{animal.weight:.1f} kg",
        f"{animal.litres.expected:,.0f} L",
        f"{animal.cost.expected:,.2f}",
        animal.milk if several else "",
    )


def _short(day: date | None) -> str:
    return say("shop.season.later") if day is None else dated(day, "%d %b")


def milk_rows(answer: SeasonAnswer, own: MilkSeason) -> list[tuple[str, ...]]:
    """The names of the columns, then the milk in use and every other recipe."""
    count = len(answer.animals)
    return [
        (
            say("shop.season.column-milk"),
            "L",
            answer.shopping.pantry.currency,
            say("shop.season.column-per-animal"),
            say("shop.season.column-per-kilogram"),
            say("shop.season.column-to-buy"),
            "",
        ),
        _milk_row(own, count, "" if own.several else say("shop.season.in-use")),
        *(_milk_row(other.season, count, "") for other in answer.others),
    ]


def _milk_lines(answer: SeasonAnswer, own: MilkSeason) -> list[str]:
    rows = milk_rows(answer, own)
    lines = [say("shop.season.others-title"), *tell.table(rows, right=(1, 2, 3, 4, 5))]
    remarks: dict[str, list[str]] = {say("shop.season.weak"): [own.name]} if answer.too_weak else {}
    for other in answer.others:
        for remark in other.remarks:
            remarks.setdefault(remark, []).append(other.season.name)
    for remark, names in remarks.items():
        told = say("shop.season.remark", remark=capital(remark), milks=listed(names))
        lines.append(tell.bullet(told))
    return lines + [tell.bullet(f"{out.name}: {out.why}") for out in answer.left_out]


def _milk_row(milk: MilkSeason, count: int, remark: str) -> tuple[str, ...]:
    return (
        milk.name,
        f"{milk.litres.expected:,.0f}",
        f"{milk.cost.expected:,.2f}",
        f"{milk.cost.expected / count:,.2f}",
        f"{milk.per_kilogram:,.2f}",
        say("shop.season.no-fit") if milk.bought is None else f"{milk.bought:,.2f}",
        remark,
    )
