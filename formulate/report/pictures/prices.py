"""Pictures of prices: which recipe is cheapest where, and the steps of one price."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from formulate.base.messages import listed, say
from formulate.blend.prices.price_map import PriceMap
from formulate.blend.prices.staircase import PriceStep, Staircase
from formulate.report import words
from formulate.report.pictures.look import INK, PALE, SOFT, halo, look, new_figure, note, paragraphs
from formulate.report.prices import (
    KILOGRAM,
    PricedPackage,
    food_words,
    grams_words,
    letters,
    recipe_words,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["price_map_picture", "staircase_picture"]

Array = NDArray[np.float64]

#: Tone and hatch of each recipe in turn: neighbours differ in both.
TONES = (
    ("1.0", ""),
    ("0.72", ""),
    ("0.92", "//"),
    ("0.82", ".."),
    ("0.97", "\\\\"),
    ("0.62", ""),
    ("0.88", "xx"),
    ("0.95", "oo"),
)

#: How many recipes a map draws separately; rarer ones are drawn as one.
MOST_RECIPES = len(TONES)


def price_map_picture(
    found: PriceMap,
    per_a: PricedPackage = KILOGRAM,
    per_b: PricedPackage = KILOGRAM,
    title: str = "",
) -> Figure:
    """Draw which recipe is cheapest at which two prices, and where today lies.

    Each recipe is written once: in its region where it has room there, else in the key below.
    """
    shelf = found.sweep.problem.shelf
    with look():
        lines = 1 + min(len(found.sweep.recipes), MOST_RECIPES + 1)
        figure = new_figure(11, 8.6 + 0.25 * lines)
        axes, below = figure.subplots(2, 1, height_ratios=(8.2, 0.25 * lines))
        key: list[str] = []
        a, b = found.price_a * per_a.grams, found.price_b * per_b.grams
        names = letters(found.sweep)
        order = np.argsort(-found.sweep.times, kind="stable")
        dearer = _dearer_than_the_best_other(found)
        taken = _mark_today(axes, found, per_a, per_b)
        axes.set_facecolor("0.5")
        for rank, k in enumerate(order[:MOST_RECIPES]):
            tone, hatch = TONES[rank]
            _region(axes, a, b, dearer[k], tone, hatch)
            where = (found.recipe == k) & ~taken
            litre = found.sweep.recipes[k] / found.sweep.problem.volume * 1e3
            if not _name_region(axes, a, b, where, names[k], shelf.ids, litre):
                key.append(_key_words(found, int(k), names[k]))
        if len(order) > MOST_RECIPES:
            key.append(say("pictures.map.others"))
        axes.set_xlim(a[0], a[-1])
        axes.set_ylim(b[0], b[-1])
        axes.set_xlabel(_price_words(found.food_a, per_a, shelf.currency))
        axes.set_ylabel(_price_words(found.food_b, per_b, shelf.currency))
        axes.set_title(title or say("pictures.map.title"))
        paragraphs(below, [say("pictures.map.litre"), *key])
        return figure


def _dearer_than_the_best_other(found: PriceMap) -> Array:
    """Cost of each recipe less that of the cheapest other, shape (R, B, A).

    Below 0 where the recipe is cheapest; linear between grid points, so the borders are drawn
    straight where they are straight.
    """
    ids, recipes = found.sweep.problem.shelf.ids, found.sweep.recipes
    rest = np.where(
        np.isfinite(found.sweep.problem.shelf.price), found.sweep.problem.shelf.price, 0
    )
    a, b = ids.index(found.food_a), ids.index(found.food_b)
    rest[[a, b]] = 0.0
    costs = (
        (recipes @ rest)[:, None, None]
        + recipes[:, a, None, None] * found.price_a
        + recipes[:, b, None, None] * found.price_b[:, None]
    )
    if len(costs) == 1:
        return np.full_like(costs, -1.0)
    best_two = np.partition(costs, 1, axis=0)[:2]
    other = np.where(costs == best_two[0], best_two[1], best_two[0])
    return np.asarray(costs - other)


def _region(axes: Axes, a: Array, b: Array, dearer: Array, tone: str, hatch: str) -> None:
    lowest = min(float(dearer.min()), -1.0) * 2
    axes.contourf(a, b, dearer, levels=[lowest, 0.0], colors=[tone], hatches=[hatch])
    if dearer.max() > 0:
        axes.contour(a, b, dearer, levels=[0.0], colors=[INK], linewidths=1.6)


def _name_region(
    axes: Axes, a: Array, b: Array, where: Any, letter: str, ids: Sequence[str], grams: Array
) -> bool:
    """Write a recipe into its region where it has room, else only its letter.

    Returns
    -------
    bool
        Whether the recipe is written there.
    """
    weighed = grams_words(ids, grams)
    for lines in ([letter, *weighed.split(", ")], [f"{letter}: {weighed}"], [letter]):
        # Shares of the drawing that letters of this size take, with some air.
        air = 0.02 if len(lines[0]) + len(lines) > 2 else 0.008
        wide = (0.012 * max(map(len, lines)) + air) * where.shape[1]
        high = (0.034 * len(lines) + 0.012) * where.shape[0]
        place = _room_for(where, math.ceil(high), math.ceil(wide))
        if place is not None:
            axes.annotate(
                "\n".join(lines),
                (a[place[1]], b[place[0]]),
                ha="center",
                va="center",
                fontsize=14,
                fontweight="bold" if lines == [letter] else "normal",
                path_effects=halo(),
            )
            return lines != [letter]
    return False


def _room_for(where: Any, high: int, wide: int) -> tuple[int, int] | None:
    """Middle of the box of this size that lies inside a region, nearest the region's own."""
    from scipy.ndimage import minimum_filter

    fits = np.argwhere(minimum_filter(where, size=(high, wide), mode="constant", cval=False))
    if not fits.size:
        return None
    middle = np.argwhere(where).mean(axis=0)
    i, j = fits[int(((fits - middle) ** 2).sum(axis=1).argmin())]
    return int(i), int(j)


def _key_words(found: PriceMap, k: int, letter: str) -> str:
    problem = found.sweep.problem
    grams = found.sweep.recipes[k] / problem.volume * 1e3
    return f"{letter}:  {grams_words(problem.shelf.ids, grams)}"


def _mark_today(axes: Axes, found: PriceMap, per_a: PricedPackage, per_b: PricedPackage) -> Any:
    """Mark today's prices; return which part of the map, shape (B, A), the mark takes."""
    shelf = found.sweep.problem.shelf
    taken = np.zeros(found.recipe.shape, dtype=bool)
    at = [shelf.price[shelf.ids.index(food)] for food in (found.food_a, found.food_b)]
    x, y = (
        (price - grid[0]) / (grid[-1] - grid[0])
        for price, grid in zip(at, (found.price_a, found.price_b), strict=True)
    )
    if not (0 <= x <= 1 and 0 <= y <= 1):
        return taken
    point = (at[0] * per_a.grams, at[1] * per_b.grams)
    axes.plot(*point, "o", ms=15, mfc="white", mec=INK, mew=3, zorder=6)
    axes.plot(*point, "o", ms=4, color=INK, zorder=7)
    left, under = x > 0.8, y > 0.9
    axes.annotate(
        say("pictures.today"),
        point,
        (-14 if left else 14, -10 if under else 10),
        textcoords="offset points",
        ha="right" if left else "left",
        va="top" if under else "baseline",
        fontsize=16,
        fontweight="bold",
        path_effects=halo(5),
        zorder=6,
    )
    across = (np.linspace(0, 1, found.price_a.size) - x) * (-1 if left else 1)
    up = (np.linspace(0, 1, found.price_b.size) - y) * (-1 if under else 1)
    taken |= ((up > -0.025) & (up < 0.06))[:, None] & ((across > -0.02) & (across < 0.12))
    return taken


def _price_words(food: str, per: PricedPackage, currency: str) -> str:
    package = per.words.removeprefix("1 ")
    return say("pictures.price", food=food_words(food), currency=currency, package=package)


def staircase_picture(stairs: Staircase, per: PricedPackage = KILOGRAM, title: str = "") -> Figure:
    """Draw how much of a food the cheapest mix holds at each price of it, and what it costs."""
    shelf, food = stairs.problem.shelf, food_words(stairs.food)
    with look():
        figure = new_figure(11, 9)
        upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(3, 2))
        prices = np.array([s.low for s in stairs.steps] + [stairs.steps[-1].high]) * per.grams
        amounts = np.array([step.amount for step in stairs.steps])
        upper.stairs(amounts, prices, baseline=None, color=INK, linewidth=4)
        upper.stairs(amounts, prices, fill=True, color=PALE)
        top = max(float(amounts.max()), 1.0)
        upper.set_ylim(0, top * 1.25)
        for step in stairs.steps:
            _name_step(upper, stairs, step, per)
        upper.set_ylabel(say("pictures.stairs.amount", food=food))
        upper.set_title(title or say("pictures.stairs.title", food=food))
        costs = [step.cost_low for step in stairs.steps] + [stairs.steps[-1].cost_high]
        lower.plot(prices, costs, color=INK, linewidth=3)
        lower.plot(prices[1:-1], costs[1:-1], "o", color=INK, ms=8)
        for x in prices[1:-1]:
            for axes in (upper, lower):
                axes.axvline(x, color=SOFT, linewidth=1, linestyle=(0, (2, 3)))
        lower.set_ylim(0, max(costs) * 1.2)
        lower.set_ylabel(say("pictures.stairs.cost", currency=shelf.currency))
        lower.set_xlabel(_price_words(stairs.food, per, shelf.currency))
        today = float(shelf.price[shelf.ids.index(stairs.food)]) * per.grams
        if prices[0] <= today <= prices[-1]:
            _today_line((upper, lower), today, say("pictures.today-at", price=words.number(today)))
        lower.set_xlim(prices[0], prices[-1])
        return figure


def _name_step(axes: Axes, stairs: Staircase, step: PriceStep, per: PricedPackage) -> None:
    """Say what a step holds: in words where they fit, else its grams beside it."""
    food, top = food_words(stairs.food), max(s.amount for s in stairs.steps)
    start, end = step.low * per.grams, step.high * per.grams
    share = (step.high - step.low) / (stairs.steps[-1].high - stairs.steps[0].low)
    amount = words.number(step.amount)
    grams = say(f"pictures.stairs.{'grams' if step.amount else 'none'}", grams=amount, food=food)
    if share < 0.14:
        if step.amount:
            note(axes, grams, (end, step.amount), (7, 0), ha="left", va="center")
        return
    foods = recipe_words(stairs.problem.shelf.ids, step.grams).split(" + ")
    others = [name for name in foods if name not in (food, "water")]
    told = say(
        "pictures.stairs.with" if step.amount else "pictures.stairs.but", foods=listed(others)
    )
    beside = textwrap.fill(told, int(70 * share)) if others else ""
    # Inside the tread where there is room: the grams of narrow steps stand beside it.
    high = step.amount > 0.35 * top
    place = ((start + end) / 2, step.amount)
    text = f"{grams}\n{beside}".strip()
    note(axes, text, place, (0, -10 if high else 10), ha="center", va="top" if high else "bottom")


def _today_line(all_axes: Sequence[Axes], x: float, text: str) -> None:
    for axes in all_axes:
        axes.axvline(x, color=INK, linewidth=2.5, linestyle=(0, (5, 2)))
    all_axes[0].annotate(
        text,
        (x, 1),
        (6, -4),
        xycoords=("data", "axes fraction"),
        textcoords="offset points",
        va="top",
        fontsize=15,
        fontweight="bold",
        path_effects=halo(5),
    )
