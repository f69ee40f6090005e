"""Pictures of a season: how full the refrigerator gets, and what each milk costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from formulate.answers.season import SeasonAnswer
from formulate.base.messages import say
from formulate.report import words as tell
from formulate.report.pictures.look import INK, PALE, SOFT, look, new_figure
from formulate.shopping.plan import Shopping

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["draw_season", "draw_shopping"]


def draw_shopping(shopping: Shopping) -> Figure:
    """Draw the refrigerator day by day, and the money of each trip above it."""
    from matplotlib.dates import AutoDateLocator, ConciseDateFormatter, date2num

    task = shopping.task
    currency = task.pantry.currency
    litres = shopping.lots.room() / 1e3
    numbers = [float(date2num(task.date_of(d))) for d in range(len(litres))]  # type: ignore[no-untyped-call]
    with look():
        figure = new_figure(12, 7)
        money, room = figure.subplots(2, 1, sharex=True, height_ratios=(1, 2))
        days = [float(date2num(trip.day)) for trip in shopping.trips]  # type: ignore[no-untyped-call]
        money.bar(days, [trip.cost for trip in shopping.trips], width=0.7, color="0.35")
        money.set_ylabel(currency)
        title = say(
            "pictures.shop.title",
            money=tell.money(shopping.cost, currency),
            count=len(shopping.trips),
        )
        money.set_title(say("pictures.sample", title=title) if task.flock.invented else title)
        room.bar(numbers, litres, width=1.0, color=PALE, edgecolor=SOFT, linewidth=0.8)
        if np.isfinite(task.problem.room):
            have = task.problem.room / 1e3
            room.axhline(have, color=INK, linestyle="--", linewidth=2)
            room.annotate(
                say("pictures.shop.room", litres=have),
                (numbers[-1], have),
                (0, 6),
                fontsize=14,
                textcoords="offset points",
                ha="right",
            )
        room.set_ylabel(say("pictures.shop.refrigerator"))
        room.set_ylim(
            0,
            1.15
            * max(litres.max(), task.problem.room / 1e3 if np.isfinite(task.problem.room) else 0.0),
        )
        locator = AutoDateLocator()  # type: ignore[no-untyped-call]
        room.xaxis.set_major_locator(locator)
        room.xaxis.set_major_formatter(ConciseDateFormatter(locator))  # type: ignore[no-untyped-call]
    return figure


def draw_season(answer: SeasonAnswer) -> Figure:
    """Draw what a kilogram gained costs on each milk, low to high."""
    assert answer.own is not None  # a door draws nothing if no milk may be fed
    milks = [answer.own, *(other.season for other in answer.others)]
    own = answer.own
    names = [own.name if own.several else f"{own.name}\n({say('shop.season.in-use')})"]
    names += [
        f"{other.season.name}\n({'; '.join(other.remarks)})" if other.remarks else other.season.name
        for other in answer.others
    ]
    with look():
        figure = new_figure(11, 2.4 + 0.85 * len(milks))
        axes = figure.subplots()
        rows = np.arange(len(milks))[::-1]
        middle = np.array([milk.per_kilogram for milk in milks])
        low = np.array([milk.cost.low / milk.gained for milk in milks])
        high = np.array([milk.cost.high / milk.gained for milk in milks])
        axes.barh(rows, middle, height=0.6, color=["0.35", *["0.75"] * len(answer.others)])
        axes.errorbar(
            middle, rows, xerr=(middle - low, high - middle), fmt="none", ecolor=INK, capsize=5
        )
        for row, value, end in zip(rows, middle, high, strict=True):
            axes.text(end + 0.02 * high.max(), row, f"{value:.2f}", va="center", fontsize=15)
        axes.set_yticks(rows, names)
        axes.tick_params(axis="y", length=0)
        axes.set_xlim(0, 1.2 * high.max())
        currency = answer.shopping.pantry.currency
        axes.set_xlabel(say("pictures.season.cost", currency=currency))
        title = say("pictures.season.title")
        if answer.shopping.read.flock.invented:
            title = say("pictures.sample", title=title)
        figure.suptitle(title, x=0.02, ha="left")
    return figure
