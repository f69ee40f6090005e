"""Kitchen measures: the amounts of a food that can be measured by hand, and how to say them.

A `Step` is one measure of one food: a quarter cup of milk, a tablespoon of powder, a whole can.
A mix that can be measured by hand is a whole number of steps of each food
(`formulate.blend.whole.kitchen_mix`).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from formulate.base.errors import InputError, UnknownName
from formulate.base.messages import say
from formulate.base.units import (
    Amount,
    Kitchen,
    number_ahead,
    parse_amount,
    parse_number,
    unit_size,
)
from formulate.foods.food import Food

__all__ = [
    "Step",
    "counted_words",
    "kitchen_steps",
    "measure_words",
    "pouring_step",
    "step_from_words",
    "step_words",
    "unit_word",
]

MEASURES = ("cups", "scale")

#: Kinds that are used whole, by the first of these words that the food is counted in. On a scale
#: as well (judgement): nobody opens a can for 5 g of it, or divides an egg.
_WHOLE: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {"egg": ("egg", "yolk", "white"), "evaporated": ("can",), "sweetened-milk": ("can",)}
)
#: Measures by kind (judgement): what is poured by the quarter cup; cream, of which a batch takes
#: little, by half of that; what is spooned, by the tablespoon; oil by the teaspoon, salts by its
#: quarter.
_BY_KIND: Mapping[str, tuple[str, float]] = MappingProxyType(
    {
        "dry-milk": ("tbsp", 1),
        "dry-whey": ("tbsp", 1),
        "dry-egg": ("tbsp", 1),
        "egg": ("tbsp", 1),
        "milk-fat": ("tbsp", 1),
        "sweetener": ("tbsp", 1),
        "replacer-powder": ("tbsp", 1),
        "salt": ("tsp", 0.25),
        "alkali": ("tsp", 0.25),
        "glucose": ("tbsp", 1),
        "oil": ("tsp", 1),
        "fish-oil": ("tsp", 1),
    }
)
#: What is poured, and cream: on a jug of cups and of millilitres.
_POURED = {False: ("cup", 0.25), True: ("mL", 50)}
_CREAM = {False: ("tbsp", 2), True: ("mL", 25)}
#: A "liquid" kind lighter than this [g/mL] is a powder (soy protein is of the kind soy).
_POWDER_DENSITY = 0.8
#: Steps on a scale [g] (judgement: kitchen scales show 1 g; pouring hits 5 g).
_SCALE_POURED, _SCALE_SPOONED = 5.0, 1.0
#: What a pantry may call a package.
_PACKAGES = ("package", "pack", "packet", "bag", "carton", "bottle", "tub", "jug")


@dataclass(frozen=True, slots=True)
class Step:
    """One measure of one food.

    Parameters
    ----------
    unit : str
        Unit name of `formulate.base.units`, or "package".
    size : float
        Of one step, in that unit: 0.25 for a quarter cup.
    grams : float
        Weight of one step [g as fed].
    rest : float
        Weight [g] that is in the mix whatever the count: the milk in a jug beyond its last
        whole measure.
    """

    unit: str
    size: float
    grams: float
    rest: float = 0.0

    def __post_init__(self) -> None:
        for name, value, least in (
            ("size", self.size, True),
            ("weight", self.grams, True),
            ("rest", self.rest, False),
        ):
            if not math.isfinite(value) or value < 0 or (least and value == 0):
                raise InputError(say("mix.no-measure", name=name, value=value))


def kitchen_steps(
    foods: Sequence[Food],
    kitchen: Kitchen,
    measures: str = "cups",
    own: Mapping[str, Step] | None = None,
) -> tuple[Step, ...]:
    """How each food is measured.

    Parameters
    ----------
    foods : sequence of Food, length n
    kitchen : Kitchen
    measures : {"cups", "scale"}
        Cups and spoons, or grams on a scale.
    own : mapping of str to Step, optional
        A person's own measures, by food id; they take precedence. Ids that are not among the foods
        are ignored.

    Returns
    -------
    tuple of Step, length n

    Raises
    ------
    InputError
        If a food has no cup weight and is not counted.
    """
    if measures not in MEASURES:
        raise UnknownName(say("mix.way-of-measuring"), measures, MEASURES, say("mix.measures"))
    own = own or {}
    return tuple(
        own[f.id] if f.id in own else (_scale if measures == "scale" else _cups)(f, kitchen)
        for f in foods
    )


def _counted(food: Food) -> Step | None:
    counts = food.counts()
    for unit in _WHOLE.get(food.kind, ()):
        if unit in counts:
            return Step(unit, 1, counts[unit])
    return None


def _spooned(food: Food) -> bool:
    light = food.density is not None and food.density < _POWDER_DENSITY
    return food.kind in _BY_KIND or light or not food.liquid


def _scale(food: Food, kitchen: Kitchen) -> Step:
    counted = _counted(food)
    if counted is not None:
        return counted
    grams = _SCALE_SPOONED if _spooned(food) else _SCALE_POURED
    return Step("g", grams, grams)


def _cups(food: Food, kitchen: Kitchen) -> Step:
    counted = _counted(food)
    if counted is not None:
        return counted
    if food.density is None:
        counts = food.counts()
        if counts:
            unit = next(iter(counts))
            return Step(unit, 1, counts[unit])
        raise InputError(
            say("mix.no-cup-weight", food=food.id),
            say("mix.no-cup-weight-remedy"),
        )
    if food.kind in _BY_KIND:
        return _of_volume(food, kitchen, *_BY_KIND[food.kind])
    if food.kind == "cream":
        return _of_volume(food, kitchen, *_CREAM[kitchen.metric])
    if food.density < _POWDER_DENSITY:
        return _of_volume(food, kitchen, "tbsp", 1)
    return pouring_step(food, kitchen)


def pouring_step(food: Food, kitchen: Kitchen) -> Step:
    """The measure of what is poured: a quarter cup, or 50 mL on a metric jug."""
    return _of_volume(food, kitchen, *_POURED[kitchen.metric])


def _of_volume(food: Food, kitchen: Kitchen, unit: str, size: float) -> Step:
    # Spoons weigh their part of the cup: USDA's "5 tbsp" of dry milk contradicts its own cup.
    return Step(unit, size, food.grams(Amount(size, unit), kitchen))


def step_from_words(
    text: str, food: Food, kitchen: Kitchen, package_grams: float | None = None
) -> Step:
    """Read a person's own measure: "1/4 cup", "1 scoop", "can", "30 g", "whole package".

    Parameters
    ----------
    text : str
    food : Food
        Sizes counts and turns volumes into weight.
    kitchen : Kitchen
    package_grams : float, optional
        Weight of the package [g].

    Raises
    ------
    InputError
        If the words are no measure of this food.
    """
    words = " ".join(text.lower().split()).removeprefix("whole ")
    counted = re.match(number_ahead, words, re.IGNORECASE) is not None
    number, rest = parse_number(words) if counted else (1, words)
    if rest.removesuffix("s") in _PACKAGES:
        if not package_grams:
            raise InputError(
                say("mix.measure-unknown", measure=text.strip(), food=food.id),
                say("mix.measure-unknown-remedy"),
            )
        return Step("package", number, number * package_grams)
    amount = parse_amount(words if counted else f"1 {words}")
    return Step(amount.unit, amount.number, food.grams(amount, kitchen))


# --- words -------------------------------------------------------------------------------------

# In US teaspoons: a tablespoon, and a quarter of the cup of 16 tablespoons.
_TBSP, _QUARTER_CUP = 3, 12
#: Kitchens whose cans are tins.
_TINS = (Kitchen.UK, Kitchen.AU)
#: Units without a plural "s".
_UNCHANGED = ("tbsp", "tsp", "fl oz", "g", "kg", "mg", "mL", "L", "lb", "oz", "oz weight")


def measure_words(step: Step, count: int, kitchen: Kitchen) -> str:
    """Say `count` steps as they are measured; the words add up to exactly count × size.

    Parameters
    ----------
    step : Step
    count : int
    kitchen : Kitchen

    Examples
    --------
    >>> measure_words(Step("cup", 0.25, 61.0), 31, Kitchen.US)
    '7 3/4 cups'
    >>> measure_words(Step("tbsp", 1, 7.5), 9, Kitchen.US)
    '1/2 cup + 1 tbsp'
    """
    total = Fraction(step.size).limit_denominator(5040) * count
    if not total:
        return "none"
    if step.unit == "cup" and not kitchen.metric:
        parts = _poured_parts(total)
    elif step.unit in ("tbsp", "tsp"):
        parts = _spooned_parts(total, step.unit, kitchen)
    else:
        parts = [(total, step.unit)]
    parts = [_in_larger(number, unit) for number, unit in parts if number]
    return " + ".join(
        f"{_number(n, unit)} {_plural(unit_word(unit, kitchen), n)}" for n, unit in parts
    )


def step_words(step: Step, count: int) -> str:
    """Say `count` steps in the step's own unit: "5/4 tsp" as "1 1/4 tsp", never as a tablespoon."""
    total, unit = _in_larger(Fraction(step.size).limit_denominator(5040) * count, step.unit)
    return f"{_number(total, unit)} {_plural(unit, total)}"


def counted_words(count: int, unit: str, kitchen: Kitchen) -> str:
    """Some cans, eggs or sticks, as the kitchen calls them: "2 cans", in a British one "2 tins"."""
    return f"{count} {_plural(unit_word(unit, kitchen), Fraction(count))}"


def unit_word(unit: str, kitchen: Kitchen) -> str:
    """What a kitchen calls a unit: a can is a tin in a British or an Australian one."""
    return "tin" if unit == "can" and kitchen in _TINS else unit


def _in_larger(number: Fraction, unit: str) -> tuple[Fraction, str]:
    """Litres from 1000 mL; kilograms from 10 kg, as kitchen scales show grams below that."""
    if unit == "mL" and number >= 1000:
        return number / 1000, "L"
    return (number / 1000, "kg") if unit == "g" and number >= 10_000 else (number, unit)


def _poured_parts(cups: Fraction) -> list[tuple[Fraction, str]]:
    """Cups up to 8; beyond that people miscount, and quarts and gallons are easier."""
    if cups < 8:
        return [(cups, "cup")]
    gallons, cups = divmod(cups, 16)
    quarts, cups = divmod(cups, 4)
    return [(Fraction(gallons), "gallon"), (Fraction(quarts), "quart"), (cups, "cup")]


def _spooned_parts(total: Fraction, unit: str, kitchen: Kitchen) -> list[tuple[Fraction, str]]:
    """Fewest fills: cups or marks of a jug, then tablespoons, then teaspoons."""
    if kitchen is Kitchen.US:
        spoons = total * (_TBSP if unit == "tbsp" else 1)
        if spoons.denominator != 1:
            return [(total, unit)]
        quarters, teaspoons = divmod(int(spoons), _QUARTER_CUP)
        tablespoons, teaspoons = divmod(teaspoons, _TBSP)
        parts = [(Fraction(quarters, 4), "cup")]
    else:
        tbsp, tsp = (round(unit_size(word, kitchen)) for word in ("tbsp", "tsp"))
        millilitres = total * (tbsp if unit == "tbsp" else tsp)
        if millilitres.denominator != 1 or millilitres % tsp:
            return [(total, unit)]
        # Ten tablespoons, or ten teaspoons, are a mark of the jug: 150 or 200 mL, 50 mL.
        mark = 10 * (tbsp if unit == "tbsp" else tsp)
        left = int(millilitres)
        marked = left - left % mark if left >= 10 * tbsp else 0
        tablespoons, left = divmod(left - marked, tbsp)
        teaspoons = left // tsp
        parts = [(Fraction(marked), "mL")]
    return [*parts, (Fraction(tablespoons), "tbsp"), (Fraction(teaspoons), "tsp")]


def _number(number: Fraction, unit: str) -> str:
    if number.denominator == 1:
        return str(number.numerator)
    if unit in ("g", "kg", "mg", "mL", "L") or number.denominator > 16:
        return f"{float(number):.10g}"
    whole, part = divmod(number.numerator, number.denominator)
    return f"{whole} {part}/{number.denominator}" if whole else f"{part}/{number.denominator}"


def _plural(unit: str, number: Fraction) -> str:
    return unit if unit in _UNCHANGED or number <= 1 else f"{unit}s"
