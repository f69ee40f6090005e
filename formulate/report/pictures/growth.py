"""Growth as a picture: what the scale said, what the feed should give, when milk may end."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING

import numpy as np

from formulate.answers.today import AnimalToday, Today
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.rearing.growth import published_gains
from formulate.rearing.weaning import criteria_of
from formulate.report.pictures.look import INK, PALE, SOFT, look, new_figure

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["draw_growth"]

#: More animals than this are not drawn on one sheet.
MOST = 12


def draw_growth(today: Today) -> Figure:
    """Draw each animal's weights over its age, with the forecast and its spread.

    Parameters
    ----------
    today : Today
        The first twelve animals that have a plan are drawn; the title says so where there are
        more.

    Raises
    ------
    InputError
        If no animal has a plan.
    """
    checks = [one for one in today.animals if one.plan is not None]
    if not checks:
        raise InputError(say("today.nothing-to-draw"), say("today.see-why"))
    shown = checks[:MOST]
    columns = 1 if len(shown) == 1 else 2
    rows = math.ceil(len(shown) / columns)
    with look():
        figure = new_figure(7.5 * columns, 4.6 * rows)
        grid = np.atleast_1d(figure.subplots(rows, columns, squeeze=False).ravel())
        for axes, one in zip(grid, shown, strict=False):
            _panel(axes, one)
        for axes in grid[len(shown) :]:
            axes.axis("off")
        some = "" if len(shown) == len(checks) else f", first {MOST} of {len(checks)}"
        sample = " (an invented sample)" if today.flock.invented else ""
        figure.suptitle(
            f"Weights and what milk should give{some}{sample}\n"
            f"{textwrap.fill(say('growth.picture'), 90)}",
            fontsize=13,
        )
    return figure


def _panel(axes: Axes, one: AnimalToday) -> None:
    animal, plan, i = one.animal, one.plan, one.row
    assert plan is not None
    weights = animal.all_weights
    axes.plot(
        [animal.age_days(w.day) for w in weights],
        [w.kilograms for w in weights],
        "o-",
        color=INK,
        markersize=9,
        linewidth=1,
    )
    ages = np.array([animal.age_days(day) for day in plan.days])
    low, middle, high = plan.weight[:, i]
    known = np.isfinite(middle)
    axes.fill_between(ages[known], low[known], high[known], color=PALE)
    axes.plot(ages[known], middle[known], color=SOFT, linewidth=2)
    if animal.birth_weight is not None:
        for gain in published_gains(animal.species):
            oldest = ages[known][-1] if known.any() else ages[0]
            end = animal.birth_weight + gain.value * oldest
            axes.plot([0, oldest], [animal.birth_weight, end], color=SOFT, linewidth=0.8)
    heavy = criteria_of(animal).heaviest
    axes.axhline(heavy, color=SOFT, linestyle=":", linewidth=1.5)
    axes.annotate(
        f"{heavy:.1f} kg for weaning", (0, heavy), (0, 4), textcoords="offset points", fontsize=11
    )
    ready = plan.weaning[i].ready
    if ready is not None:
        age = animal.age_days(ready)
        axes.axvline(age, color=SOFT, linestyle="--", linewidth=1.5)
        axes.annotate(
            f"{ready:%d %b}", (age, 0), (-4, 6), textcoords="offset points", ha="right", fontsize=11
        )
    axes.set_title(f"{animal.name}{'  (look)' if one.alarms else ''}")
    axes.set_xlabel("age, days")
    axes.set_ylabel("weight, kg")
    axes.set_xlim(left=0)
    axes.set_ylim(bottom=0)
