"""Pictures of a mix. Each function makes a figure; `save_picture` writes it."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np

from formulate.base.errors import InputError
from formulate.base.messages import listed, say
from formulate.blend.mix import Mix
from formulate.foods.bands import Read, Role, Standing
from formulate.report import words
from formulate.report.pictures.look import INK, look, new_figure
from formulate.report.prices import food_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = [
    "cost_picture",
    "reads_picture",
]


def reads_picture(mix: Mix, title: str = "") -> Figure:
    """Draw each read of a mix as a mark on a rule of its own: the white gap is its range."""
    reads = [r for r in mix.reads if r.band.role is not Role.SHOWN and r.standing is not None]
    with look():
        figure = new_figure(12, 1.6 + 0.95 * len(reads))
        axes = figure.subplots()
        for row, read in enumerate(reads):
            _draw_read(axes, -row, read)
        axes.set_xlim(-2.35, 3.7)
        axes.set_ylim(-len(reads) + 0.4, 0.75)
        axes.axis("off")
        axes.set_title(title or say("pictures.reads", title=mix.bands.title))
        return figure


def _draw_read(axes: Axes, y: float, read: Read) -> None:
    """One rule from 0 to 3, the range between 1 and 2; an open range begins at its left end."""
    band, value = read.band, read.value
    start, end = (0.0 if math.isinf(band.low) else 1.0), (3.0 if math.isinf(band.high) else 2.0)
    bar: dict[str, Any] = {"height": 0.34, "linewidth": 1.4, "edgecolor": INK}
    axes.barh(y, 3, left=0, color="0.75", hatch="////", **bar)
    axes.barh(y, end - start, left=start, color="white", **bar)
    small: dict[str, Any] = {"fontsize": 12, "va": "top", "ha": "center"}
    if start:
        axes.text(start, y - 0.2, words.bound(band.low), **small)
    if end < 3:
        axes.text(end, y - 0.2, words.bound(band.high), **small)
    name = textwrap.fill(band.label, 24)
    axes.text(-0.12, y, f"{name}\n{words.unit_words(band)}", ha="right", va="center", fontsize=14)
    outside = read.standing in (Standing.BELOW, Standing.ABOVE)
    shown = "?" if value is None else words.number(value)
    axes.text(
        3.12,
        y,
        f"{shown}  {words.standing_words(read)}",
        va="center",
        fontsize=15,
        fontweight="bold" if outside else "normal",
    )
    if value is None:
        return
    place = _place(read, value)
    beyond = place != min(max(place, 0.06), 2.94)
    place = min(max(place, 0.06), 2.94)
    marker = ("<" if place < 1 else ">") if beyond else "D"
    axes.plot(place, y, marker, ms=15, color=INK, mec="white", mew=2, zorder=5)


def _place(read: Read, value: float) -> float:
    """Where a value lies on the rule."""
    band = read.band
    if math.isinf(band.low):
        return 2 * value / band.high if band.high > 0 else 1.0
    if math.isinf(band.high):
        return value / band.low if band.low > 0 else 2.0
    return 1 + (value - band.low) / ((band.high - band.low) or band.width)


def cost_picture(mix: Mix, title: str = "") -> Figure:
    """Draw what each food of a mix costs, the dearest first."""
    used = [int(j) for j in np.flatnonzero(mix.grams > 0)]
    if not used or mix.cost is None:
        unpriced = [mix.shelf.ids[j] for j in used if not math.isfinite(mix.costs[j])]
        if not unpriced:
            raise InputError(say("pictures.cost.empty"))
        raise InputError(say("pictures.cost.no-price", foods=listed(unpriced)))
    used.sort(key=lambda j: (-mix.costs[j], j))
    currency, total = mix.shelf.currency, mix.cost
    with look():
        figure = new_figure(11, 2.2 + 0.85 * len(used))
        axes = figure.subplots()
        costs = [float(mix.costs[j]) for j in used]
        rows = range(len(used), 0, -1)
        axes.barh(list(rows), costs, height=0.6, color="0.35")
        longest = max(costs) or 1.0
        for y, cost in zip(rows, costs, strict=True):
            share = f", {words.share_words(cost / total)}" if total > 0 else ""
            axes.text(
                cost + 0.015 * longest,
                y,
                f"{words.money(cost, currency)}{share}",
                va="center",
                fontsize=15,
            )
        axes.set_yticks(
            list(rows),
            [
                f"{food_words(mix.shelf.ids[j])}\n{words.number(float(mix.grams[j]))} g"
                for j in used
            ],
        )
        axes.tick_params(axis="y", length=0)
        axes.set_xlim(0, longest * 1.3)
        axes.set_xlabel(say("pictures.cost.axis", currency=currency))
        per_litre = words.money(mix.cost_per_litre, currency)
        axes.set_title(
            title
            or say(
                "pictures.cost.title",
                volume=words.volume_words(mix.volume),
                money=words.money(total, currency),
                per_litre=per_litre,
            )
        )
        return figure
