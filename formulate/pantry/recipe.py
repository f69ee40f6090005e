"""Typed recipes: "2 quarts whole-milk + 1 can evaporated-milk + 2 cups lowfat-buttermilk".

::

    recipe = part { joint part }
    joint  = "+" | "," | ";" | "and" | "&" | a line break
    part   = AMOUNT [UNIT] [of] FOOD    the unit may be left out for a food that is counted
           | AMOUNT UNIT "+" part       more of the same food: 1/4 cup + 2 tbsp heavy-cream
    AMOUNT = 3 | 1.5 | 1,5 | .5 | 1/2 | 1 1/2 | 1-1/2 | 1 and 1/2 | ½ | 1½
    UNIT   = g kg mg oz lb  mL L  tsp tbsp "fl oz" cup pint quart gallon  t T c
             "oz weight"    can egg yolk white stick scoop        plurals too
    FOOD   = an id or another plain name of one food; spaces or hyphens

A comma, "and" or "&" joins only where a number follows, so that "half and half" stays one food. A
food written twice adds up. The lines that a mix is printed in are read too, whose columns stand
two spaces apart.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import (
    AmbiguousName,
    InputError,
    NotForLambs,
    UnitError,
    UnknownName,
    quoted,
)
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.base.units import (
    LARGEST,
    Amount,
    Kitchen,
    UnitKind,
    no_unit,
    number_ahead,
    parse_number,
    take_unit,
    unit_size,
    with_mixed,
)
from formulate.foods.food import Food
from formulate.foods.food_table import FoodTable

__all__ = ["Recipe", "parse_parts", "parse_recipe"]

Array = NDArray[np.float64]

#: What joins parts, besides a line break. A comma within a number is a decimal comma.
_JOINT = re.compile(
    rf"\s*\+\s*|\s*;\s*|\s*(?:(?<!\d),|,(?!\d))\s*(?:(?:and|et|plus)\b\s*|&\s*)?{number_ahead}"
    rf"|\s+(?:and|et|&|plus)\s+{number_ahead}",
    re.IGNORECASE,
)
#: A weight as a mix prints it.
_PRINTED_WEIGHT = re.compile(r"(\d[\d,]*(?:\.\d+)?) (g|kg)")


@brief_repr
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
        As written, one for each food; amounts of a food written more than once are added up.
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
        that is not an amount, a joint with nothing beside it.
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
        Without what must not be fed; None if nothing is left.
    unfit : tuple of NotForLambs
        One for each part that must not be fed, in the recipe's order.

    Raises
    ------
    InputError
        As `parse_recipe`.
    """
    if not text.strip():
        raise InputError(say("recipe.empty"), say("recipe.empty-remedy"))
    unfit: list[NotForLambs] = []
    amounts: dict[str, Amount] = {}
    foods: dict[str, Food] = {}
    grams: dict[str, float] = {}
    for part, amount, food in _parts(text, table, kitchen, unfit):
        try:
            weight = food.grams(amount, kitchen) + grams.get(food.id, 0.0)
        except InputError as error:
            raise _in_part(error, part) from None
        if weight > LARGEST:
            raise InputError(
                say("recipe.too-much", tonnes=f"{weight / 1e6:,.0f}"), "", quoted(part)
            )
        before = amounts.get(food.id)
        amounts[food.id] = _sum(before, amount, weight, kitchen) if before else amount
        foods[food.id], grams[food.id] = food, weight
    if not foods:
        return None, tuple(unfit)
    recipe = Recipe(
        name or " ".join(text.split()),
        text,
        tuple(foods.values()),
        tuple(amounts.values()),
        np.array(list(grams.values())),
        kitchen,
    )
    return recipe, tuple(unfit)


def _parts(
    text: str, table: FoodTable, kitchen: Kitchen, unfit: list[NotForLambs]
) -> Iterator[tuple[str, Amount, Food]]:
    """Each part as written, with its amount and food; those not to be fed go to `unfit`."""
    for line in re.sub(r"\s*\n\s*\+\s*|\s*\+\s*\n\s*", " + ", text.strip("\r\n")).splitlines():
        if not line.strip():
            continue
        printed = _printed(line)
        waiting: list[tuple[str, Amount]] = []
        for piece in _pieces(printed) if isinstance(printed, str) else [printed]:
            try:
                part, amount, food = _read_part(piece, table)
            except NotForLambs as error:
                unfit.append(error)
                waiting.clear()
                continue
            if food is None:
                waiting.append((part, amount))
                continue
            for said, more in waiting:
                _check_goes_on(said, more, amount, kitchen)
                yield said, more, food
            if waiting and waiting[-1][1].kind is UnitKind.MASS and amount.unit == "oz":
                amount = Amount(amount.number, "oz weight")  # 1 lb 4 oz
            waiting.clear()
            yield part, amount, food
        if waiting:
            raise _no_food(waiting[0][0])


def _pieces(line: str) -> list[str]:
    """The parts of a line.

    Raises
    ------
    InputError
        If a "+" has nothing on one side.
    """
    pieces = [piece.strip() for piece in _JOINT.split(with_mixed(line.strip()))]
    if not all(pieces):
        raise InputError(
            say("recipe.nothing-beside"), say("recipe.nothing-beside-remedy"), quoted(line)
        )
    return [part for piece in pieces for part in _added(piece)]


def _added(piece: str) -> list[str]:
    """Split "1 lb 4 oz butter" into "1 lb" and "4 oz butter"; leave other pieces whole."""
    try:
        unit, name = take_unit(parse_number(piece)[1])
    except InputError:
        return [piece]
    if unit and re.match(rf"(?:[-−–]|(?:less|minus)\b)\s*{number_ahead}", name, re.IGNORECASE):
        raise InputError(say("recipe.less"), say("recipe.less-remedy"), quoted(piece))
    if not unit or not re.match(number_ahead, name) or not name[:1].isdigit():
        return [piece]
    if Amount(1, unit).kind is UnitKind.COUNT:  # "2 cans of 410 g"
        raise InputError(say("units.several", text=piece), say("units.one-amount"), quoted(piece))
    if not take_unit(parse_number(name)[1])[0]:
        return [piece]
    return [piece.removesuffix(name).strip(), *_added(name)]


def _printed(line: str) -> str | tuple[Amount, str]:
    """A line as it is; of a line that a mix is printed in, its measures and food, or its weight.

    ``7 1/2 cups  whole-milk  1,830 g  1.82 USD`` says how it is measured; in
    ``whole-milk  1,822 g  1.77 L  1.82 USD`` there is the weight alone.
    """
    columns = re.split(r"\s{2,}", line.strip())
    weights = [column for column in columns[1:] if _PRINTED_WEIGHT.fullmatch(column)]
    if len(columns) < 2 or not weights:
        return line
    if re.match(number_ahead, columns[0]):
        return f"{columns[0]} {columns[1]}" if len(columns) > 2 else line
    number, unit = weights[0].split(" ")
    return Amount(float(number.replace(",", "")), unit), columns[0]


def _read_part(part: str | tuple[Amount, str], table: FoodTable) -> tuple[str, Amount, Food | None]:
    """Read one AMOUNT UNIT FOOD; no food where it ends after a unit of weight or volume.

    Raises
    ------
    InputError
        With the part as its place.
    """
    if not isinstance(part, str):
        amount, name = part
        return name, amount, table.find(name)
    try:
        number, rest = parse_number(part)
        unit, name = take_unit(rest)
        if name:
            food = table.find(name) if unit else _food_without_unit(rest, table)
            return part, Amount(number, unit), food
        if unit and Amount(number, unit).kind is not UnitKind.COUNT:
            return part, Amount(number, unit), None
        try:  # a counted food may be called as its unit is: "2 eggs"
            return part, Amount(number, ""), _counted(table.find(rest), rest)
        except UnknownName:
            raise _no_food() from None
    except InputError as error:
        raise _in_part(error, part) from None


def _in_part(error: InputError, part: str) -> InputError:
    """An error with its part as its place, unless it quotes the part as it is."""
    return error if error.problem.startswith(quoted(part)) else error.at(quoted(part))


def _no_food(part: str = "") -> InputError:
    place = quoted(part) if part else ""
    return InputError(say("recipe.no-food"), say("recipe.no-food-remedy"), place)


def _check_goes_on(part: str, amount: Amount, after: Amount, kitchen: Kitchen) -> None:
    """Refuse "1 cup + 2 cups cream", where a food was left out, but not "1 cup + 2 tbsp cream"."""
    volumes = amount.kind is UnitKind.VOLUME and after.kind is UnitKind.VOLUME
    masses = {amount.kind, after.kind} <= {UnitKind.MASS, UnitKind.OUNCE}
    goes_on = (volumes or masses) and amount.unit != after.unit
    if not goes_on or amount.size(kitchen) <= after.size(kitchen):
        raise _no_food(part)


def _sum(one: Amount, other: Amount, grams: float, kitchen: Kitchen) -> Amount:
    """Two amounts of a food as one: in the first's unit where both are of a kind, else [g]."""
    if one.unit == other.unit:
        return Amount(one.number + other.number, one.unit)
    if one.kind is other.kind and one.kind is not UnitKind.COUNT:
        return Amount(one.number + other.size(kitchen) / unit_size(one.unit, kitchen), one.unit)
    return Amount(grams, "g")


def _food_without_unit(text: str, table: FoodTable) -> Food:
    """Find a food that is counted; tell an unknown unit from an unknown food."""
    try:
        food = table.find(text)
    except UnknownName:
        first, _, name = text.partition(" ")
        if not take_unit(name)[0]:
            with suppress(AmbiguousName):
                table.find(name)
        raise no_unit(text, first) from None
    return _counted(food, text)


def _counted(food: Food, name: str) -> Food:
    if not food.counts():
        raise UnitError(say("recipe.no-unit", name=name), say("recipe.no-unit-remedy"))
    return food
