"""A picture of what protection costs: probability against money."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from formulate.base import messages
from formulate.base.messages import say
from formulate.blend.protect.chance import ProtectionPoint
from formulate.report.pictures.look import INK, SOFT, look, new_figure, note

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["protection_picture"]


def protection_picture(points: Sequence[ProtectionPoint], currency: str, title: str = "") -> Figure:
    """Draw the cost of a litre against how sure every range is to hold.

    Parameters
    ----------
    points : sequence of ProtectionPoint
        Of `formulate.blend.protect.chance.protection_curve`; points without a mix are marked.
    currency : str
    title : str

    Returns
    -------
    matplotlib.figure.Figure
    """
    made = [point for point in points if point.mix is not None]
    missing = [point.sure for point in points if point.mix is None and point.sure is not None]
    with look():
        figure = new_figure(10, 6.5)
        axes = figure.subplots()
        x = [100 * point.chance for point in made]
        y = [point.cost_per_litre for point in made]
        axes.plot(x, y, color=INK, marker="o", markersize=7, linewidth=2)
        axes.set_title(title or say("pictures.sure.title"))
        axes.set_xlabel(say("pictures.sure.chance"))
        axes.set_ylabel(say("pictures.front.cost", currency=currency))
        axes.set_xlim(min([45.0, *x]) - 2, 104)
        axes.grid(axis="y", color="0.85", linewidth=0.8)
        axes.set_axisbelow(True)
        if made:
            room = 0.16 * (max(y) - min(y)) or 0.05 * max(*y, 1e-9)
            axes.set_ylim(min(y) - room, max(y) + 1.6 * room)
        for point, at, cost in zip(made, x, y, strict=True):
            if point.sure is None:
                note(axes, say("pictures.sure.average"), (at, cost), (8, -18))
            elif point.sure >= 90:
                note(axes, f"{point.sure:g} %", (at, cost), (-44, 8))
        if missing:
            axes.axvspan(min(missing), 104, color="0.9", zorder=0)
            axes.text(
                min(missing) + 0.5,
                0.02,
                messages.say("sure.no-mix"),
                color=SOFT,
                transform=axes.get_xaxis_transform(),
            )
        return figure
