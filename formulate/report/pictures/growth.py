"""Growth as a picture: weights, the weights the milk should support, and when milk may end."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from formulate.answers.today import AnimalToday, Today
from formulate.base.errors import InputError
from formulate.base.messages import dated, say
from formulate.rearing.growth import published_gains
from formulate.rearing.weaning import criteria_of
from formulate.report.pictures.look import INK, PALE, SOFT, look, new_figure, note

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["draw_growth"]

Array = NDArray[np.float64]

#: More animals than this are not drawn on one sheet.
MOST = 12


def draw_growth(today: Today) -> Figure:
    """Draw each animal's weights over its age, with the forecast and its spread.

    All animals share one scale, so that one can be compared with another, and each line says
    what it is.

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
        figure = new_figure(7.5 * columns, 4.6 * rows + 1.2)
        grid = figure.subplots(rows, columns, squeeze=False, sharex=True, sharey=True).ravel()
        oldest, heaviest = _scale(shown)
        for axes, one in zip(grid, shown, strict=False):
            axes.set_xlim(0, oldest * _ROOM)
            axes.set_ylim(0, heaviest * 1.04)
            _panel(axes, one)
        for axes in grid[len(shown) :]:
            axes.axis("off")
        title = say("pictures.growth.title")
        if len(shown) < len(checks):
            title = say("pictures.some", title=title, shown=MOST, count=len(checks))
        if today.flock.invented:
            title = say("pictures.sample", title=title)
        about = say("pictures.growth.about")
        figure.suptitle(
            f"{title}\n{textwrap.fill(about, 62 * columns)}", x=0.02, ha="left", fontsize=14
        )
    return figure


#: Width of a panel against its oldest age: there is room for words beside the lines.
_ROOM = 1.3
#: Least distance between two words beside lines, as a share of the height.
_APART = 0.075


def _forecast(one: AnimalToday) -> tuple[Array, Array]:
    """Ages [d] and low, expected and high weight [kg] to the end of milk, shape (3, n)."""
    assert one.plan is not None
    ages = np.array([one.animal.age_days(day) for day in one.plan.days])
    weights = one.plan.weight[:, one.row]
    known = np.isfinite(weights[1])
    return ages[known], weights[:, known]


def _published(one: AnimalToday, age: float) -> list[tuple[str, float]]:
    """What published gains lead to at an age, with the words beside the line [kg]."""
    animal = one.animal
    if animal.birth_weight is None:
        return []
    gains = [gain.value for gain in published_gains(animal.species)]
    return [
        (say("pictures.growth.gain", grams=1e3 * gain), animal.birth_weight + gain * age)
        for gain in gains
    ]


def _scale(shown: Sequence[AnimalToday]) -> tuple[float, float]:
    """The greatest age [d] and weight [kg] that any animal is drawn to."""
    oldest, heaviest = 7.0, 1.0
    for one in shown:
        ages, weights = _forecast(one)
        last = ages[-1] if len(ages) else one.animal.age_days(one.plan.days[0])  # type: ignore[union-attr]
        weighed = [w.kilograms for w in one.animal.all_weights]
        published = [end for _, end in _published(one, last)]
        heavy = criteria_of(one.animal).heaviest
        oldest = max(oldest, last, *(one.animal.age_days(w.day) for w in one.animal.all_weights))
        heaviest = max(heaviest, heavy, *weighed, *published, *weights.ravel())
    return oldest, heaviest


def _panel(axes: Axes, one: AnimalToday) -> None:
    """One animal."""
    animal, plan = one.animal, one.plan
    assert plan is not None
    dates, kilograms = zip(
        *((animal.age_days(w.day), w.kilograms) for w in animal.all_weights), strict=True
    )
    axes.plot(dates, kilograms, "o-", color=INK, markersize=9, linewidth=1, clip_on=False)
    ages, (low, middle, high) = _forecast(one)
    last = ages[-1] if len(ages) else max(dates)
    words = []
    if len(ages):
        axes.fill_between(ages, low, high, color=PALE)
        axes.plot(ages, middle, color=SOFT, linewidth=2)
        words.append((say("pictures.growth.expected"), float(middle[-1])))
    for gain, end in _published(one, last):
        axes.plot([0, last], [animal.birth_weight or 0.0, end], color=SOFT, linewidth=0.8)
        words.append((gain, end))
    _beside(axes, last, words)
    heavy = criteria_of(animal).heaviest
    axes.axhline(heavy, color=SOFT, linestyle=":", linewidth=1.5)
    told = say("pictures.growth.heavy", kilograms=heavy)
    note(axes, told, (0, heavy), (8, 4), va="bottom")
    ready = plan.weaning[one.row].ready
    if ready is not None:
        age = animal.age_days(ready)
        axes.axvline(age, color=SOFT, linestyle="--", linewidth=1.5)
        told = say("pictures.growth.ready", day=ready.day, month=dated(ready, "%b"))
        note(axes, told, (age, 0), (-6, 8), ha="right", va="bottom")
    name = "look" if one.alarms else "name"
    axes.set_title(say(f"pictures.growth.{name}", animal=animal.name))
    axes.set_xlabel(say("pictures.growth.age"))
    axes.set_ylabel(say("pictures.growth.weight"))
    axes.tick_params(labelbottom=True, labelleft=True)


def _beside(axes: Axes, age: float, words: Sequence[tuple[str, float]]) -> None:
    """Write beside the ends of lines, from the lowest up, none over another."""
    apart = _APART * axes.get_ylim()[1]
    free = -math.inf
    for text, end in sorted(words, key=lambda word: word[1]):
        free = max(end, free + apart)
        note(axes, text, (age, free), (8, 0), va="center")
