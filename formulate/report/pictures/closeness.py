"""A picture of how close to a reference a mix comes as it costs more."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from formulate.base.messages import say
from formulate.blend.goal import Front
from formulate.blend.mix import Mix
from formulate.report import words
from formulate.report.pictures.look import INK, SOFT, look, new_figure, note, paragraphs
from formulate.report.prices import cost_steps, grams_words

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["front_picture"]

#: Steps of money that are drawn: the first that leaves at most nine.
_STEPS = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
#: A step below this share of the first distance is not worth a label.
_LITTLE = 0.04


def front_picture(front: Front, step: float | None = None, title: str = "") -> Figure:
    """Draw how far each mix is from the middles of its ranges, against what a litre costs.

    Parameters
    ----------
    front : Front
    step : float, optional
        Money a litre from one mix to the next [money/L]; by default such that nine steps or
        fewer are drawn.
    title : str
    """
    shelf, reference = front.problem.shelf, front.problem.bands
    span = float(front.costs[-1] - front.costs[0])
    step = step or next((s for s in _STEPS if span / s <= 9), 10.0)
    with look():
        figure = new_figure(11, 9.6)
        axes, below = figure.subplots(2, 1, height_ratios=(6, 1))
        told = [(c, p) for c in cost_steps(front, step) if (p := front.at(c)) is not None]
        grid = np.unique(np.concatenate((np.linspace(told[0][0], told[-1][0], 120), front.costs)))
        curve = [(c, p.deviation) for c in grid if (p := front.at(float(c))) is not None]
        whole = told[0][1].deviation or 1.0
        axes.plot(*(np.array(curve) * (1.0, 100 / whole)).T, color=INK, linewidth=3.5)
        far = [100 * p.deviation / whole for _, p in told]
        axes.plot([cost for cost, _ in told], far, "o", color=INK, ms=9)
        little: list[str] = []
        for (left, right), (high, low) in zip(
            pairwise(c for c, _ in told), pairwise(far), strict=True
        ):
            if high - low > 100 * _LITTLE:
                axes.plot([left, right, right], [high, high, low], color=SOFT, linewidth=1.2)
                text = say("pictures.front.closer", share=high - low)
                note(axes, text, (right, (high + low) / 2), (8, 0), va="center")
            elif not little:
                little = [say("pictures.front.little", money=words.money(left, shelf.currency))]
        axes.set_ylim(0, 112)
        room = span or 0.1
        axes.set_xlim(told[0][0] - 0.03 * room, told[-1][0] + 0.17 * room)
        axes.set_xlabel(say("pictures.front.cost", currency=shelf.currency))
        axes.set_ylabel(say("pictures.front.far"))
        money = words.money(step, shelf.currency)
        axes.set_title(title or say("pictures.front.title", money=money))
        lines = [say("pictures.front.ranges", title=reference.title)]
        for which, (cost, point) in (("first", told[0]), ("last", told[-1])):
            recipe = _litre_words(point.mix)
            money = words.money(cost, shelf.currency)
            lines.append(say(f"pictures.front.{which}", money=money, recipe=recipe))
        paragraphs(below, [*lines, *little])
        return figure


def _litre_words(mix: Mix) -> str:
    return grams_words(mix.shelf.ids, mix.grams / mix.volume * 1e3)
