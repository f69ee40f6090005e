"""Find the single mistake in making a mix that explains what the instruments read.

Every slip is tried: a food left out or put in twice, one measure of it too much or too little,
one food taken for another, and water that got in, of which as much is taken as fits best. What
the slipped mix should read is foretold as the recipe itself is, and the slips are ranked by
their chi-square over all readings together. Water has an amount to choose, so it fits any one
reading: it is charged 2 for that, as Akaike's criterion does (from memory). Slips are taken to
be equally common; nobody has counted them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError
from formulate.base.shown import brief_repr
from formulate.base.units import Amount, UnitKind
from formulate.blend.whole.steps import Step, kitchen_steps, measure_words, pouring_step
from formulate.foods.food import Food
from formulate.foods.tables import food_table
from formulate.instruments.hold import Bench, HeldRecipe
from formulate.instruments.readings import Reading
from formulate.instruments.rules import swaps
from formulate.pantry.recipe import Recipe

__all__ = ["Explained", "Slip", "SlipKind", "find_slips"]

Array = NDArray[np.float64]

#: 95 % points of chi-square for 1 to 4 readings: what 19 of 20 right mixes stay under.
_POINTS = (3.841, 5.991, 7.815, 9.488)
#: What a free amount costs.
_CHARGE = 2.0
#: Most water that is looked for, over the weight of the mix.
_MOST_WATER = 1.0
#: How many amounts of water are tried at most.
_AMOUNTS = 400
#: Batches smaller than this [g] are searched for water by the tablespoon, or by 10 mL.
_SMALL = 1000.0


class SlipKind(StrEnum):
    """What went wrong."""

    LEFT_OUT = "left-out"
    DOUBLED = "doubled"
    MORE = "more"
    LESS = "less"
    SWAPPED = "swapped"
    WATER = "water"


@dataclass(frozen=True, eq=False)
class Slip(ByContent):
    """One thing that may have gone wrong.

    Parameters
    ----------
    kind : SlipKind
    food : str
        Id of the food it happened to; "water" for added water.
    amount : str
        How much too much or too little, as hands measure; empty if it is all of it.
    taken : str
        Id of what went in instead.
    grams : ndarray, shape (n,)
        What is then in the mix, over `Explained.foods`.
    would_read : tuple of float
        On each instrument.
    chi_square : float
        How far the readings are from that, in squared standard deviations.
    free : int
        Amounts that were chosen to fit.
    explains : bool
        Whether 19 of 20 such mixes would read as near as this.
    """

    kind: SlipKind
    food: str
    amount: str
    taken: str
    grams: Array
    would_read: tuple[float, ...]
    chi_square: float
    free: int
    explains: bool

    @property
    def score(self) -> float:
        """What slips are ranked by; the least is the likeliest."""
        return self.chi_square + _CHARGE * self.free


@brief_repr
@dataclass(frozen=True)
class Explained:
    """Readings of a recipe, and the slips that may be behind them.

    Parameters
    ----------
    held : tuple of HeldRecipe
        Each reading against the recipe.
    foods : tuple of Food
        The recipe's, then what may have got in besides.
    chi_square : float
        Of the recipe as written.
    slips : tuple of Slip
        The likeliest first.
    unseen_water : str
        Most added water that such readings do not show, as hands measure; empty for none.
    """

    held: tuple[HeldRecipe, ...]
    foods: tuple[Food, ...]
    chi_square: float
    slips: tuple[Slip, ...]
    unseen_water: str

    @property
    def agrees(self) -> bool:
        """Whether every reading is what it should be."""
        return all(held.agrees for held in self.held)

    @property
    def likely(self) -> tuple[Slip, ...]:
        """Slips that explain the readings, and better than no slip does."""
        return tuple(s for s in self.slips if s.explains and s.score < self.chi_square)


@dataclass(frozen=True)
class _Try:
    """A slip before it is compared with the readings."""

    kind: SlipKind
    food: str
    grams: Array
    amount: str = ""
    taken: str = ""


def find_slips(recipe: Recipe, readings: Sequence[Reading]) -> Explained:
    """Hold a recipe to its readings and rank what may have gone wrong.

    Parameters
    ----------
    recipe : Recipe
    readings : sequence of Reading
        At least one.

    Raises
    ------
    MissingComposition
        If a food lacks what a reading is foretold from.
    """
    foods = _with_others(recipe)
    written = np.zeros(len(foods))
    written[: len(recipe.foods)] = recipe.grams
    bench = Bench(foods, written, tuple(readings))
    values = np.array([reading.value for reading in readings])
    limit = _POINTS[len(values) - 1]
    as_written = bench.foretell(written[None, :])

    def held_to(tries: Sequence[_Try], free: int) -> list[Slip]:
        told = bench.foretell(np.array([t.grams for t in tries]))
        distances = told.chi_square(values)
        return [
            Slip(
                t.kind,
                t.food,
                t.amount,
                t.taken,
                t.grams,
                tuple(float(v) for v in reads),
                float(distance),
                free,
                bool(distance <= limit),
            )
            for t, reads, distance in zip(tries, told.values, distances, strict=True)
            if not np.allclose(reads, as_written.values[0], rtol=1e-9, atol=0)
        ]

    tries = list(_different(_tries(recipe, foods, written), written))
    slips = held_to(tries, 0) if tries else []
    watered = held_to(list(_water(recipe, foods, written)), 1)
    if watered:
        best = min(watered, key=lambda slip: slip.chi_square)
        if not any(np.allclose(best.grams, slip.grams) for slip in slips):
            slips.append(best)
    unseen = [slip.amount for slip in watered if slip.explains]
    return Explained(
        bench.held(),
        foods,
        float(as_written.chi_square(values)[0]),
        # Equal ones stay in the order they were tried.
        tuple(sorted(slips, key=lambda slip: round(slip.score, 9))),
        unseen[-1] if unseen else "",
    )


def _with_others(recipe: Recipe) -> tuple[Food, ...]:
    """The recipe's foods, then water and what may be taken for one of them."""
    ids = [food.id for food in recipe.foods]
    known = {*ids, *(food.same_food for food in recipe.foods)}  # whatever a country calls it
    others = ["water"]
    others += [swap.taken for swap in swaps() if known.intersection(swap.asked)]
    table = food_table()
    return (*recipe.foods, *(table[name] for name in dict.fromkeys(others) if name not in ids))


def _different(tries: Iterable[_Try], written: Array) -> Iterator[_Try]:
    """Each mix once, no empty one, and never the recipe itself made larger or smaller.

    Mixes of the same shares but other amounts stay: too little milk and too much water read
    alike, and both are worth a look.
    """
    seen: list[Array] = []
    for t in tries:
        total = t.grams.sum()
        if total <= 0 or np.allclose(t.grams / total, written / written.sum(), atol=1e-12):
            continue
        if not any(np.allclose(t.grams, other, rtol=1e-9, atol=1e-9) for other in seen):
            seen.append(t.grams)
            yield t


def _tries(recipe: Recipe, foods: Sequence[Food], written: Array) -> Iterator[_Try]:
    """Slips without an amount to choose, those of whole foods first."""

    def changed(j: int, by: float) -> Array:
        grams = written.copy()
        grams[j] += by
        return grams

    for j, food in enumerate(recipe.foods):
        yield _Try(SlipKind.LEFT_OUT, food.id, changed(j, -written[j]))
    for j, food in enumerate(recipe.foods):
        yield _Try(SlipKind.DOUBLED, food.id, changed(j, written[j]))
    yield from _swapped(recipe, foods, written)
    for j, (food, amount) in enumerate(zip(recipe.foods, recipe.amounts, strict=True)):
        for step in _steps(food, amount, recipe):
            words = measure_words(step, 1, recipe.kitchen)
            if step.grams < written[j]:
                yield _Try(SlipKind.LESS, food.id, changed(j, -step.grams), words)
            yield _Try(SlipKind.MORE, food.id, changed(j, step.grams), words)


def _steps(food: Food, amount: Amount, recipe: Recipe) -> list[Step]:
    """One of what the recipe counts in ("a cup of the seven"), and the kitchen's own measure."""
    found = []
    if amount.kind in (UnitKind.VOLUME, UnitKind.COUNT) and amount.unit and amount.number > 1:
        one = Amount(1.0, amount.unit)
        found.append(Step(amount.unit, 1.0, food.grams(one, recipe.kitchen)))
    try:
        (step,) = kitchen_steps((food,), recipe.kitchen)
    except InputError:  # no cup weight is known: only what the recipe counts in
        return found
    return [*found, step]


def _swapped(recipe: Recipe, foods: Sequence[Food], written: Array) -> Iterator[_Try]:
    ids = [food.id for food in foods]
    for j, (food, amount) in enumerate(zip(recipe.foods, recipe.amounts, strict=True)):
        for swap in swaps():
            if food.id not in swap.asked:
                continue
            k = ids.index(swap.taken)
            grams = written.copy()
            grams[k] += _same_measure(food, foods[k], amount, float(written[j]), recipe)
            grams[j] = 0.0
            yield _Try(SlipKind.SWAPPED, food.id, grams, taken=swap.taken)


def _same_measure(asked: Food, taken: Food, amount: Amount, grams: float, recipe: Recipe) -> float:
    """Weight of another food by the same measure: as many cans, as many cups."""
    for unit, weight in asked.counts().items():
        cans = grams / weight
        if unit in taken.counts() and math.isclose(cans, round(cans), abs_tol=0.02):
            return round(cans) * taken.counts()[unit]
    try:
        return taken.grams(amount, recipe.kitchen)
    except InputError:
        return grams


def _water(recipe: Recipe, foods: Sequence[Food], written: Array) -> Iterator[_Try]:
    """Added water, by the measure it is poured in."""
    j = next(k for k, food in enumerate(foods) if food.id == "water")
    step = pouring_step(foods[j], recipe.kitchen)
    if written.sum() < _SMALL:
        small = Amount(10.0, "mL") if recipe.kitchen.metric else Amount(1.0, "tbsp")
        step = Step(small.unit, small.number, foods[j].grams(small, recipe.kitchen))
    most = max(1, int(_MOST_WATER * written.sum() / step.grams))
    for count in range(1, most + 1, math.ceil(most / _AMOUNTS)):
        grams = written.copy()
        grams[j] += count * step.grams
        words = measure_words(step, count, recipe.kitchen)
        yield _Try(SlipKind.WATER, "water", grams, words)
