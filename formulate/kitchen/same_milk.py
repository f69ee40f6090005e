"""The same milk in another amount: whole measures, with the foods in the same proportion.

Whole measures are rounded, so the proportions shift a little. A batch counts as the same milk
while what an animal gets from it — solids, fat, protein, milk sugar, sodium, energy — stays within
a few per cent of the recipe's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError
from formulate.base.shown import brief_repr
from formulate.base.units import Kitchen
from formulate.blend.problem import Shelf
from formulate.blend.whole.steps import Step, step_from_words
from formulate.foods.food import Food
from formulate.kitchen.jug import Container, Measures, jug_steps

__all__ = ["SAME_WITHIN", "Portion", "fill_container", "same_milk", "shifts", "ways_to_measure"]

Array = NDArray[np.float64]
Whole = NDArray[np.intp]

#: A batch is the same milk while no part of it shifts by more than this share (judgement: cartons
#: of one food differ by as much).
SAME_WITHIN = 0.03
#: What an animal gets from a milk, by volume.
_MET = ("solids", "fat", "protein", "carbohydrate", "sodium", "metabolisable-energy")
#: Largest batch over what is needed, tried in this order: never short (judgement).
_MOST_ABOVE = (1.05, 1.25)
#: Most factors tried of a range, and most foods of which both neighbours are tried.
_MOST_FACTORS, _MOST_COARSE = 400, 8
#: Most batches of a range that are put to `accept`, the nearest first.
_MOST_ASKED = 40
#: How full a container is at least, tried in this order (judgement).
_FULL = (0.9, 0.75)
#: Units that count whole things, which can be opened and used in part.
_COUNTED = ("can", "package")
#: Fine measures of what is poured (True) and what is spooned, by whether the kitchen is metric.
_SPOONS = {
    (True, False): "1 tbsp",
    (True, True): "10 mL",
    (False, False): "1 tsp",
    (False, True): "1 tsp",
}


@brief_repr
@dataclass(frozen=True, eq=False)
class Portion(ByContent):
    """A recipe in one amount.

    Parameters
    ----------
    measured : Measures
        The recipe's foods, no others.
    shift : float
        Largest relative difference from the recipe in what an animal gets.
    full_count : int
        Whole measures of its own milk that the container holds; 0 where it was empty.
    """

    measured: Measures
    shift: float
    full_count: int = 0

    @property
    def volume(self) -> float:
        """[mL], of composition."""
        return float(self.measured.shelf.composition.row("volume") @ self.measured.grams)


def shifts(shelf: Shelf, grams: Array, recipe: Array) -> Array:
    """Largest relative difference of mixes from a recipe of the same foods, by volume.

    Only what is known of every food, and is in the recipe, is compared.

    Parameters
    ----------
    shelf : Shelf
    grams : ndarray, shape (n_mixes, n_foods)
    recipe : ndarray, shape (n_foods,)

    Returns
    -------
    ndarray, shape (n_mixes,)
    """
    rows = np.stack([shelf.composition.row(measure) for measure in _MET])
    rows = rows[np.isfinite(rows).all(axis=1)]
    rows = rows[rows @ recipe > 0]
    volume = shelf.composition.row("volume")
    here = grams @ rows.T / (grams @ volume)[:, None]
    found: Array = np.abs(here / (rows @ recipe / (volume @ recipe)) - 1.0).max(axis=1, initial=0.0)
    return found


def ways_to_measure(
    foods: Sequence[Food], usual: Sequence[Step], kitchen: Kitchen
) -> Iterator[tuple[Step, ...]]:
    """Ever finer measures for the same foods: the usual ones, opened cans, spoons, grams."""
    yield tuple(usual)
    opened = tuple(
        _spoons(food, step, kitchen) if step.unit in _COUNTED else step
        for food, step in zip(foods, usual, strict=True)
    )
    if opened != tuple(usual):
        yield opened
    yield tuple(_spoons(food, step, kitchen) for food, step in zip(foods, usual, strict=True))
    yield tuple(Step("g", 1.0, 1.0) for _ in foods)


def _spoons(food: Food, step: Step, kitchen: Kitchen) -> Step:
    """A spoon of a food, or a few millilitres of what is poured; eggs stay whole."""
    try:
        return step_from_words(_SPOONS[food.liquid, kitchen.metric], food, kitchen)
    except InputError:
        return step


def same_milk(
    shelf: Shelf,
    recipe: Array,
    usual: Sequence[Step],
    volume: float,
    kitchen: Kitchen,
    accept: Callable[[Array], bool] = lambda grams: True,
) -> Portion | None:
    """The recipe in whole measures, at least this much of it.

    Parameters
    ----------
    shelf : Shelf
        The recipe's foods.
    recipe : ndarray, shape (n,)
        [g], all above 0.
    usual : sequence of Step, length n
        How each food is measured if possible; otherwise part of a can is used, or the foods are
        spooned or weighed.
    volume : float
        Least volume [mL].
    kitchen : Kitchen
    accept : callable, optional
        Whether these grams will do, besides being the same milk.

    Returns
    -------
    Portion or None
        Of batches not much larger, the one nearest to the recipe; None if none is the same
        milk.
    """
    for steps in ways_to_measure(shelf.foods, usual, kitchen):
        for most in _MOST_ABOVE:
            found = _nearest(shelf, recipe, steps, volume, most * volume, accept)
            if found is not None:
                return found
    return None


def fill_container(
    shelf: Shelf,
    recipe: Array,
    usual: Sequence[Step],
    container: Container,
    kitchen: Kitchen,
    accept: Callable[[Array], bool] = lambda grams: True,
) -> Portion | None:
    """The recipe in whole measures that fill a container; see `same_milk`.

    None if none are the same milk, or a jug is full of a milk that is not in the recipe.
    """
    milk, most = container.filled_with, container.most()
    if milk is not None and milk.id not in shelf.ids:
        return None
    for measures in ways_to_measure(shelf.foods, usual, kitchen):
        steps, full_count = jug_steps(shelf, measures, container, kitchen)
        largest = np.full(len(steps), np.inf)
        if milk is not None:
            largest[shelf.ids.index(milk.id)] = full_count
        for least in _FULL:
            found = _nearest(shelf, recipe, steps, least * most, most, accept, largest)
            if found is not None:
                return replace(found, full_count=full_count)
    return None


def _nearest(
    shelf: Shelf,
    recipe: Array,
    steps: Sequence[Step],
    least: float,
    most: float,
    accept: Callable[[Array], bool],
    largest: Array | None = None,
) -> Portion | None:
    """Of all volumes in a range, the whole measures nearest to the recipe; the larger of equals.

    None if none is the same milk.
    """
    room = shelf.composition.row("volume")
    weight = np.array([step.grams for step in steps])
    rest = np.array([step.rest for step in steps])
    whole = float(room @ recipe)
    counts = _roundings(recipe, weight, rest, least / whole, most / whole)
    grams = rest + counts * weight
    volume = grams @ room
    fits = (volume >= least * (1 - 1e-9)) & (volume <= most * (1 + 1e-9))
    if largest is not None:
        fits &= (counts <= largest).all(axis=1)
    if not fits.any():
        return None
    counts, grams, volume = counts[fits], grams[fits], volume[fits]
    shift = shifts(shelf, grams, recipe)
    for k in np.lexsort((-volume, np.round(shift, 6)))[:_MOST_ASKED]:
        if shift[k] > SAME_WITHIN:
            break
        if accept(grams[k]):
            return Portion(Measures(shelf, tuple(steps), counts[k], grams[k]), float(shift[k]))
    return None


def _roundings(recipe: Array, weight: Array, rest: Array, low: float, high: float) -> Whole:
    """Whole measures near the recipe times each factor from `low` to `high`, one row each.

    Of each food the whole measure below and the one above are tried, in every combination, for
    the foods whose measures are coarsest; the others are rounded. Below and above change only
    where some food reaches a whole measure, so one factor between two such places is enough.
    A little beyond either end is tried too: rounding moves the volume.
    """
    low, high = 0.8 * low, 1.25 * high
    ends = [np.array([low, high])]
    for grams, step, extra in zip(recipe, weight, rest, strict=True):
        first, last = np.ceil((low * grams - extra) / step), np.floor((high * grams - extra) / step)
        ends.append((np.arange(first, last + 1) * step + extra) / grams)
    places = np.unique(np.concatenate(ends))
    factors = (places[:-1] + places[1:]) / 2
    if factors.size > _MOST_FACTORS:
        factors = factors[np.linspace(0, factors.size - 1, _MOST_FACTORS).astype(int)]
    exact = (factors[:, None] * recipe - rest) / weight
    coarse = np.argsort(-weight / recipe, kind="stable")[:_MOST_COARSE]
    either = np.array(list(product((0, 1), repeat=coarse.size)))
    counts = np.repeat(np.round(exact)[:, None, :], len(either), axis=1)
    counts[:, :, coarse] = np.floor(exact)[:, None, coarse] + either
    least = np.where(rest > 0, 0, 1)
    found: Whole = np.unique(
        np.maximum(counts, least).reshape(-1, recipe.size).astype(np.intp), axis=0
    )
    return found
