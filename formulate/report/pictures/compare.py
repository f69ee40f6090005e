"""A picture of what recipes cost: per litre, per kilogram of solids, per megajoule."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from formulate.answers.compare import Compared, Per
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.foods.bands import Read, Standing
from formulate.report.pictures.look import INK, look, new_figure

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["compare_picture"]

#: More recipes than this are not drawn on one sheet.
MOST = 12


def compare_picture(compared: Iterable[Compared], per: Per, *, invented: bool = False) -> Figure:
    """Draw what each recipe costs, the cheapest first.

    Hatched bars are recipes that miss a range; what they miss stands under their name.

    Parameters
    ----------
    compared : iterable of Compared
        In the order of drawing; the first twelve are drawn, and the title says so.
    per : Per
        What they are ranked by: drawn first.
    invented : bool
        Whether the prices are a sample's; the title says so.

    Raises
    ------
    InputError
        If there is nothing to draw.
    """
    rows = tuple(compared)
    if not rows:
        raise InputError(say("compare.nothing"), say("compare.nothing-remedy"))
    shown = rows[:MOST]
    order = [per, *(other for other in Per if other is not per)]
    currency = shown[0].mix.shelf.currency
    with look():
        figure = new_figure(14, 2.4 + 1.15 * len(shown))
        panels = figure.subplots(1, len(order), sharey=True)
        for number, (axes, by) in enumerate(zip(panels, order, strict=True)):
            _panel(axes, shown, by, currency, first=not number)
        title = say("pictures.compare.title", per=say(f"pictures.compare.per.{per}"))
        if len(shown) < len(rows):
            title = say("pictures.some", title=title, shown=MOST, count=len(rows))
        if invented:
            title = say("pictures.sample", title=title)
        if any(row.mix.misses for row in shown):
            title += "\n" + say("pictures.compare.hatched")
        figure.suptitle(title, x=0.012, ha="left", fontsize=19)
    return figure


def _panel(axes: Axes, rows: Sequence[Compared], by: Per, currency: str, *, first: bool) -> None:
    costs = [row.cost_per(by) for row in rows]
    longest = max(costs) or 1.0
    at = list(range(len(rows), 0, -1))
    for y, row, cost in zip(at, rows, costs, strict=True):
        missed = bool(row.mix.misses)
        axes.barh(
            y,
            cost,
            height=0.56,
            color="white" if missed else "0.35",
            hatch="///" if missed else None,
            edgecolor=INK,
            linewidth=1.2,
        )
        axes.text(cost + 0.03 * longest, y, cost_words(cost), va="center", fontsize=15)
    axes.set_xlim(0, longest * 1.32)
    told = say(f"pictures.compare.axis.{by}", currency=currency)
    axes.set_xlabel(told, fontweight="bold" if first else "normal")
    axes.set_yticks(at, [_name(row) for row in rows])
    axes.tick_params(axis="y", length=0)


def cost_words(cost: float) -> str:
    """A cost with as many figures as tell recipes apart."""
    return f"{cost:.2f}" if cost >= 1 else f"{cost:.3f}"


def _name(row: Compared) -> str:
    """Its name, and what it misses."""
    name = textwrap.shorten(row.recipe.name, 56, placeholder=" …")
    missed = ", ".join(_miss(read) for read in row.mix.misses)
    lines = textwrap.wrap(name, 26)
    if missed:
        lines += textwrap.wrap(f"({missed})", 30)
    return "\n".join(lines)


def _miss(read: Read) -> str:
    way = "low" if read.standing is Standing.BELOW else "high"
    return say(f"compare.{way}", label=read.band.label.partition(" (")[0])
