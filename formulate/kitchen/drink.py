"""Design a drink for a scouring animal from what is in the kitchen.

The bands, the program and the solver are those of a milk. Only the objective differs: of all
drinks inside the ranges, take the one whose worst single slip does the least harm. The highest
sodium counts first, then the highest osmolality, then the amount of powder. By the gram a linear
program proves it; in level spoons or whole grams, an integer program does. Honey is used only if
there is no glucose: half its sugar is fructose, of which a young lamb makes little use, and no
drink made with it is as weak as blood.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError, SolverFault
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.base.units import Amount, Kitchen
from formulate.blend.design import explain_none
from formulate.blend.least_worst import Ratios, keeping, least_worst
from formulate.blend.mix import Mix, NoMix, Status, finish, optimise
from formulate.blend.mixed_integer import solve_integer
from formulate.blend.problem import Problem, Shelf, build
from formulate.blend.program import LinearProgram
from formulate.blend.solve import Infeasible, Optimal, solve
from formulate.blend.whole.steps import Step, kitchen_steps, step_words
from formulate.foods.bands import Standing, read_all
from formulate.foods.food import Food
from formulate.foods.tables import drink_bands, food_table
from formulate.kitchen.drink_slips import SlipRead, slip_ratios, slip_table, slips_of
from formulate.pantry.pantry import Pantry

__all__ = [
    "KITCHEN_FOODS",
    "Drink",
    "DrinkMeasured",
    "NoSpoons",
    "design_drink",
    "drink_shelf",
    "what_is_missing",
]

Array = NDArray[np.float64]
Whole = NDArray[np.intp]

#: Foods that are named to a kitchen which cannot make a drink: what shops sell for cooking.
KITCHEN_FOODS = (
    "table-salt",
    "low-sodium-salt",
    "baking-soda",
    "dextrose",
    "glucose-powder",
    "honey",
)
#: A wish that is met is kept within this relative tolerance while the next is met. A tighter one
#: would hold the next program between two rows that nearly coincide.
KEPT = 1e-6
#: No food takes more than this share of the water, which is far beyond every range.
MOST = 0.1
#: Other amounts of water that are tried where spoons do not come out, over the one asked for.
OTHER_SIZES = (1.5, 2.0, 0.5, 3.0, 4.0)
#: Least and most water a drink is made with [g].
LEAST_WATER, MOST_WATER = 100.0, 20_000.0
TIME_LIMIT = 10.0


class DrinkMeasured(NamedTuple):
    """One line of a drink: food, what hands take, and its weight [g]."""

    food: str
    words: str
    grams: float


@brief_repr
@dataclass(frozen=True, eq=False)
class Drink(ByContent):
    """A drink in whole measures.

    Parameters
    ----------
    mix : Mix
        Grams and reads; every range holds, but that of osmolality where `strong`.
    water : Amount
        As it is poured.
    steps : tuple of Step, length n
    counts : ndarray of int, shape (n,)
        Whole measures of each food; of water one.
    exact : Mix
        The best by the gram, with the certificate that proves it.
    slips : tuple of SlipRead
        What every slip makes of it.
    by_scale : bool
        Whether it is weighed.
    complete : bool
        Whether the search in whole measures ended by itself.
    strong : bool
        Whether these foods make no drink as weak as newer advice wants it.
    """

    mix: Mix
    water: Amount
    steps: tuple[Step, ...]
    counts: Whole
    exact: Mix
    slips: tuple[SlipRead, ...]
    by_scale: bool
    complete: bool
    strong: bool = False

    @property
    def measures(self) -> tuple[DrinkMeasured, ...]:
        """The recipe, water first."""
        shelf = self.mix.shelf
        order = sorted(range(len(shelf.ids)), key=lambda j: shelf.foods[j].kind != "water")
        return tuple(
            DrinkMeasured(
                shelf.ids[j],
                step_words(self.steps[j], int(self.counts[j])),
                float(self.mix.grams[j]),
            )
            for j in order
            if self.counts[j]
        )

    @property
    def worst_sodium(self) -> float:
        """Highest sodium after one slip [mmol/kg water]."""
        return max(slip.sodium for slip in self.slips if slip.sodium is not None)

    @property
    def worst_osmolality(self) -> float:
        """Highest osmolality after one slip [mOsm/kg water]."""
        return max(slip.osmolality for slip in self.slips if slip.osmolality is not None)


@dataclass(frozen=True, eq=False)
class NoSpoons(ByContent):
    """These foods make a drink by the gram, but not in whole measures with this much water.

    Parameters
    ----------
    exact : Mix
    nearest : Drink or None
        With another amount of water.
    """

    exact: Mix
    nearest: Drink | None


def drink_shelf(pantry: Pantry) -> Shelf:
    """Water, and what the pantry has for drinks."""
    items = [item for item in pantry.items if item.food.drink_only and item.in_mix]
    foods = (food_table()["water"], *(item.food for item in items))
    price = [pantry.price_per_gram(food.id) for food in foods]
    stock = [math.inf, *(math.inf if i.on_hand is None else i.on_hand for i in items)]
    return Shelf(
        foods,
        price=np.array(price),
        largest_share=np.ones(len(foods)),
        on_hand=np.array(stock),
        currency=pantry.currency,
    )


def design_drink(
    shelf: Shelf, water: Amount, kitchen: Kitchen, *, scale: float | None = None
) -> Drink | NoSpoons | NoMix:
    """Design the drink whose worst slip does least harm.

    Parameters
    ----------
    shelf : Shelf
        Water, salts, alkalis and glucose; see `drink_shelf`.
    water : Amount
        How much water it is made with, mass or volume.
    kitchen : Kitchen
        Whose spoons.
    scale : float, optional
        What a scale shows [g]: everything but water is weighed in its steps. Left out: level
        spoons.

    Raises
    ------
    InputError
        If the amount of water makes no sense, or a food lacks a value.
    """
    poured = _water_grams(shelf, water, kitchen)
    if not LEAST_WATER <= poured <= MOST_WATER:
        raise InputError(
            say("rehydrate.ask.no-drink", water=water),
            say("rehydrate.ask.no-drink-remedy", least=LEAST_WATER / 1e3, most=MOST_WATER / 1e3),
        )
    chosen = _sparing(shelf, poured)
    if chosen is None:
        return explain_none(build(shelf, drink_bands(), poured))
    found = _design(*chosen, water, kitchen, scale)
    if isinstance(found, Drink):
        return found
    for times in OTHER_SIZES:
        other = replace(water, number=water.number * times)
        if LEAST_WATER <= _water_grams(shelf, other, kitchen) <= MOST_WATER:
            nearest = _design(*chosen, other, kitchen, scale)
            if isinstance(nearest, Drink):
                return replace(found, nearest=nearest)
    return found


def what_is_missing(shelf: Shelf) -> tuple[tuple[str, ...], ...]:
    """The fewest kitchen foods that would make a drink possible: every smallest set of ids."""
    spare = [food_table()[name] for name in KITCHEN_FOODS if name not in shelf.ids]
    for size in range(1, len(spare) + 1):
        found = [
            tuple(food.id for food in added)
            for added in combinations(spare, size)
            if _sparing(_free((*shelf.foods, *added)), LEAST_WATER) is not None
        ]
        if found:
            return tuple(found)
    return ()


def _free(foods: Sequence[Food]) -> Shelf:
    """The foods as free of charge and without limits."""
    return Shelf(tuple(foods), price=np.zeros(len(foods)), largest_share=np.ones(len(foods)))


def _sparing(shelf: Shelf, poured: float) -> tuple[Shelf, bool] | None:
    """The foods of a drink, honey only if it must be; and whether the drink must be strong."""
    plain = [j for j, food in enumerate(shelf.foods) if food.kind != "sweetener"]
    for foods, strong in ((shelf.take(plain), False), (shelf, False), (shelf, True)):
        problem = build(foods, drink_bands(strong), poured)
        if optimise(problem, np.zeros(len(foods.foods))) is not None:
            return foods, strong
    return None


def _water_grams(shelf: Shelf, water: Amount, kitchen: Kitchen) -> float:
    return shelf.foods[_water_column(shelf)].grams(water, kitchen)


def _water_column(shelf: Shelf) -> int:
    for j, food in enumerate(shelf.foods):
        if food.kind == "water":
            return j
    raise InputError(say("rehydrate.ask.needs-water"), say("rehydrate.ask.needs-water-remedy"))


def _design(
    shelf: Shelf, strong: bool, water: Amount, kitchen: Kitchen, scale: float | None
) -> Drink | NoSpoons:
    """The best of foods that make a drink by the gram."""
    at, poured = _water_column(shelf), _water_grams(shelf, water, kitchen)
    problem = build(shelf, drink_bands(strong), poured)
    steps = _steps(shelf, water, poured, kitchen, scale)
    slips = slips_of(shelf.foods, [step.unit for step in steps], kitchen)
    wishes = [slip_ratios(slips, shelf.composition, name) for name in ("sodium-ions", "dissolved")]
    exact = _by_the_gram(problem, wishes, at, poured)
    found = _in_measures(problem, wishes, steps, at)
    if found is None:
        return NoSpoons(exact, None)
    counts, complete = found
    mix = finish(problem, counts * np.array([step.grams for step in steps]), Status.OPTIMAL)
    binding = problem.bands.binding
    if any(read.standing is not Standing.INSIDE for read in mix.reads if read.band in binding):
        raise SolverFault(say("solver.drink-misses"))
    if strong:  # as strong as the older school allows, but told against what is wanted
        wanted = drink_bands()
        mix = replace(mix, bands=wanted, reads=read_all(wanted, shelf.composition, mix.grams))
    table = slip_table(slips, shelf.composition, mix.grams)
    return Drink(mix, water, steps, counts, exact, table, scale is not None, complete, strong)


def _steps(
    shelf: Shelf, water: Amount, poured: float, kitchen: Kitchen, scale: float | None
) -> tuple[Step, ...]:
    """How each is measured: water as it was asked for, in one; honey by the half tablespoon."""
    own = {
        food.id: Step("tbsp", 0.5, food.grams(Amount(0.5, "tbsp"), kitchen))
        for food in shelf.foods
        if food.kind == "sweetener"
    }
    if scale is not None:
        own = {food.id: Step("g", scale, scale) for food in shelf.foods}
    at = _water_column(shelf)
    own[shelf.ids[at]] = Step(water.unit, water.number, poured)
    return kitchen_steps(shelf.foods, kitchen, own=own)


def _by_the_gram(problem: Problem, wishes: Sequence[Ratios], at: int, poured: float) -> Mix:
    """The best by the gram, proved."""
    program = problem.program(np.zeros(len(problem.shelf.foods)))
    for wish in wishes:
        best = least_worst(program, wish)
        if best is None:
            raise SolverFault(say("solver.drink-lost"))
        program = keeping(program, wish, best.worst * (1 + KEPT))
    powder = np.array([0.0 if food.kind == "water" else 1.0 for food in problem.shelf.foods])
    least = solve(replace(program, cost=powder))
    if not isinstance(least, Optimal):
        raise SolverFault(say("solver.best-drink-lost"))
    grams = least.x * (poured / least.x[at])
    return finish(problem, grams, Status.OPTIMAL, least.certificate)


def _in_measures(
    problem: Problem, wishes: Sequence[Ratios], steps: Sequence[Step], at: int
) -> tuple[Whole, bool] | None:
    """Counts of the best in whole measures, and whether the search finished."""
    step = np.array([s.grams for s in steps])
    program, complete = _over_counts(problem, step, at), True
    every = np.ones(step.size, dtype=bool)
    for wish in wishes:
        counted = Ratios(wish.above * step, wish.below * step)
        best = least_worst(program, counted, every, TIME_LIMIT)
        if best is None:
            return None
        complete &= best.complete
        program = keeping(program, counted, best.worst * (1 + KEPT))
    rank = np.argsort(np.argsort(np.array(problem.shelf.ids)))
    fewest = np.where(np.arange(step.size) == at, 0.0, 1.0 + 1e-4 * rank)
    last = solve_integer(replace(program, cost=fewest), every, time_limit=TIME_LIMIT)
    if isinstance(last, Infeasible):
        raise SolverFault(say("solver.drink-in-measures-lost"))
    return np.rint(last.x).astype(np.intp), complete and last.complete


def _over_counts(problem: Problem, step: Array, at: int) -> LinearProgram:
    """The ranges over counts of measures; the water is poured once."""
    most = np.floor(np.minimum(problem.shelf.on_hand, MOST * step[at]) / step + 1e-9)
    least = np.zeros(step.size)
    most[at] = least[at] = 1.0
    keep = [k for k, limit in enumerate(problem.limits) if limit.band is not None]
    rows, low = problem.rows[keep] * step, problem.is_low[keep]
    scale = np.abs(rows).max(axis=1)
    scale[scale == 0] = 1.0
    return LinearProgram(
        cost=np.zeros(step.size),
        matrix=rows / scale[:, None],
        row_lower=np.where(low, 0.0, -math.inf),
        row_upper=np.where(low, math.inf, 0.0),
        col_lower=least,
        col_upper=most,
    )
