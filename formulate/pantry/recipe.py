"""Typed recipes: "2 quarts whole-milk + 1 can evaporated-milk + 2 cups lowfat-buttermilk".

::

    recipe = part { "+" part }          a line break joins as "+" does
    part   = AMOUNT [UNIT] [of] FOOD    the unit may be left out for a food that is counted
    AMOUNT = 3 | 1.5 | .5 | 1/2 | 1 1/2 | ½ | 1½
    UNIT   = g kg mg oz lb  mL L  tsp tbsp "fl oz" cup pint quart gallon
             "oz weight"    can egg yolk white stick scoop        plurals too
    FOOD   = an id or another plain name of one food; spaces or hyphens
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import AmbiguousName, InputError, NotForLambs, UnitError, UnknownName
from formulate.base.units import LARGEST, Amount, Kitchen, known_unit_words, parse_number, take_unit
from formulate.foods.food import Food
from formulate.foods.food_table import FoodTable

__all__ = ["Recipe", "parse_amount_of", "parse_parts", "parse_recipe"]

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Recipe(ByContent):
    """Foods and their weights.

    Parameters
    ----------
    name : str
        What to call it; the text itself where it has no name.
    text : str
        As written.
    foods : tuple of Food
        Each once.
    amounts : tuple of Amount
        As written, one for each food.
    grams : ndarray, shape (n_foods,)
        Weight of each [g].
    kitchen : Kitchen
        Whose cups and spoons were read.
    """

    name: str
    text: str
    foods: tuple[Food, ...]
    amounts: tuple[Amount, ...]
    grams: Array
    kitchen: Kitchen

    def by_food(self) -> Mapping[str, float]:
        """Weight [g] by food id."""
        return {f.id: float(g) for f, g in zip(self.foods, self.grams, strict=True)}


def parse_recipe(
    text: str, table: FoodTable, kitchen: Kitchen = Kitchen.US, name: str = ""
) -> Recipe:
    """Read a recipe.

    Raises
    ------
    InputError
        Naming the part that cannot be read: unknown or ambiguous food, unknown unit, an amount
        that is no amount, a food that stands twice.
    NotForLambs
        If a part must not be fed; the worst of them.
    """
    recipe, unfit = parse_parts(text, table, kitchen, name)
    if unfit:
        raise min(unfit, key=lambda error: error.verdict != "never")
    assert recipe is not None
    return recipe


def parse_parts(
    text: str, table: FoodTable, kitchen: Kitchen = Kitchen.US, name: str = ""
) -> tuple[Recipe | None, tuple[NotForLambs, ...]]:
    """Read the parts of a recipe that may be in it, and those that must not be fed.

    Returns
    -------
    recipe : Recipe or None
        Without what must not be fed; None where nothing is left.
    unfit : tuple of NotForLambs
        One for each part that must not be fed, in the recipe's order.

    Raises
    ------
    InputError
        As `parse_recipe`.
    """
    if not text.strip():
        raise InputError("the recipe is empty", 'Write AMOUNT UNIT FOOD, as "1 gallon whole-milk".')
    foods: list[Food] = []
    amounts: list[Amount] = []
    grams: list[float] = []
    unfit: list[NotForLambs] = []
    for part in _parts(text):
        try:
            amount, food = parse_amount_of(part, table)
        except NotForLambs as error:
            unfit.append(error)
            continue
        if food in foods:
            raise InputError(
                f"{food.id} stands in the recipe twice", "Write one amount for it.", f'"{part}"'
            )
        try:
            weight = food.grams(amount, kitchen)
        except InputError as error:
            raise error.at(f'"{part}"') from None
        if weight > LARGEST:
            raise InputError(f"{weight / 1e6:,.0f} tonnes is far too much", "", f'"{part}"')
        foods.append(food)
        amounts.append(amount)
        grams.append(weight)
    if not foods:
        return None, tuple(unfit)
    recipe = Recipe(
        name or " ".join(text.split()),
        text,
        tuple(foods),
        tuple(amounts),
        np.array(grams),
        kitchen,
    )
    return recipe, tuple(unfit)


def _parts(text: str) -> Sequence[str]:
    joined = "+".join(line.strip().strip("+") for line in text.splitlines() if line.strip())
    parts = [part.strip() for part in joined.split("+")]
    if not all(parts):
        raise InputError(
            'a "+" has nothing on one side',
            "Join parts as in 1 cup whole-milk + 2 cups water.",
            text,
        )
    return parts


def parse_amount_of(part: str, table: FoodTable) -> tuple[Amount, Food]:
    """Read one AMOUNT UNIT FOOD.

    Raises
    ------
    InputError
        With the part as its place.
    """
    try:
        number, rest = parse_number(part)
        unit, name = take_unit(rest)
        if not name:
            try:  # a counted food may be called as its unit is: "2 eggs"
                return Amount(number, ""), _counted(table.find(rest), rest)
            except UnknownName:
                raise InputError(
                    "the food is missing", "Write AMOUNT UNIT FOOD, as 1 cup whole-milk."
                ) from None
        food = table.find(name) if unit else _food_without_unit(rest, table)
        return Amount(number, unit), food
    except InputError as error:
        raise error.at(f'"{part}"') from None


def _food_without_unit(text: str, table: FoodTable) -> Food:
    """Find a food that is counted; tell an unknown unit from an unknown food."""
    try:
        food = table.find(text)
    except UnknownName:
        first, _, name = text.partition(" ")
        try:
            table.find(name)
        except AmbiguousName:
            pass
        except InputError:
            raise
        raise UnknownName("unit", first, known_unit_words()) from None
    return _counted(food, text)


def _counted(food: Food, name: str) -> Food:
    if not food.counts():
        raise UnitError(f'"{name}" has no unit', "Write one: cups, fl oz, tbsp, mL, g ...")
    return food
