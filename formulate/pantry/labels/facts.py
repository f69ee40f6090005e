"""What is known about a food, as facts: its panel, the law, its guarantee, sums, similar foods."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from functools import cache

from formulate.base.errors import InputError, UnknownName
from formulate.base.messages import say
from formulate.foods.food import DAIRY_KINDS, Food
from formulate.foods.food_table import name_key
from formulate.foods.measures import COMPONENTS, MEASURES
from formulate.foods.tables import Standard, food_table, standards
from formulate.pantry.labels.intervals import COLUMNS, PROXIMATES, SERVINGS, WEIGHT, Fact, Row
from formulate.pantry.labels.panel import Panel
from formulate.pantry.labels.rounding import Interval, Rounding

__all__ = [
    "ash_fact",
    "density_ratio",
    "guaranteed",
    "law_facts",
    "model_volume",
    "most_ash_fact",
    "panel_facts",
    "protein_fact",
    "serum_fact",
    "sold_as",
    "sums",
    "two_factors",
]

# Energy factors [kcal/g] of protein, fat and carbohydrate, from the specific ones of the food to
# the general 4, 9 and 4: a maker may use either (21 CFR 101.9(c)(1)). Milk 4.27, 8.79, 3.87 and
# egg 4.36, 9.02, 3.68 by Merrill & Watt; the rest spans soy, syrups and oils (from memory).
_FACTORS: Mapping[str, tuple[Interval, Interval, Interval]] = {
    "dairy": ((4.0, 4.27), (8.79, 9.0), (3.87, 4.0)),
    "egg": ((4.0, 4.36), (9.0, 9.02), (3.68, 4.0)),
    "other": ((3.47, 4.36), (8.37, 9.02), (3.6, 4.15)),
}
#: Panels in the EU print nitrogen × 6.25 for the protein of every food (Regulation (EU) 1169/2011,
#: Annex I, point 10); the table has × 6.38 for milk, and some dairies print that all the same.
#: What the smaller factor leaves out counts as carbohydrate where that is found by difference.
_BY_LAW = 6.25 / 6.38
#: Kilojoules are reckoned with 17, 37 and 17 kJ/g: 4.07 kcal is the highest for carbohydrate.
_CARBOHYDRATE_BY_KILOJOULE = 4.07
#: Tables print energy to 1 kcal in 100 g.
_ENERGY_SLACK = 0.5
#: Sugars as analysed exceed carbohydrate by difference by up to 0.85 g in the table (light cream).
_SUGARS_SLACK = 1.0
#: Calcium, sodium and potassium are in the ash, but for the scatter of separate analyses.
_MINERALS_SLACK = 0.06
#: How far a carton may lie outside what the table's foods of its kind span, or its like food has,
#: relative (judgement: one maker's herd and season against a national mean).
LIKE_MARGIN = 0.10
#: Ash of any carton over the most that the margin allows foods of its kind (judgement).
MOST_ASH = 1.25
#: Density of cartons against the table's foods of their kind, relative (judgement).
DENSITY_MARGIN = 0.01
#: Powders are compared with milk powders: a bag has no food of its own kind in the table.
_STAND_IN = {"replacer-powder": ("dry-milk", "dry-whey")}

# What a guarantee can stand for, times its figure (judgement: a maker gives away no more than a
# tenth of what it promises, and prints a ceiling with some room below it).
GUARANTEE_LEAST = (1.0, 1.1)
#: The smallest figure of a guarantee, whatever its unit: labels print fewer places (judgement).
LEAST_PRINTED = 1e-4
GUARANTEE_MOST = {"water": (0.4, 1.0), "ash": (0.7, 1.0)}
#: Water of a powder that does not say: dry milks of the table have 2.5 to 4 %, the law allows 5.
POWDER_WATER = (2.0, 5.0)
#: Solids that are not fat, by their parts.
_NOT_FAT = ("protein", "carbohydrate", "ash")
#: Guaranteed in percent; other minerals in mg/kg.
_PERCENT_MINERALS = frozenset({"calcium", "phosphorus", "magnesium", "sodium", "potassium"})


def sold_as(name: str, rounding: Rounding) -> tuple[Standard, ...]:
    """What the law demands of a food sold under a name.

    Raises
    ------
    UnknownName
        With the names the law knows.
    """
    key = name_key(name.lower().replace("nonfat milk", "skim milk"))
    known = [s for s in standards() if s.law == rounding.law]
    found = tuple(s for s in known if name_key(s.name) == key)
    if not found:
        names = list(dict.fromkeys(s.name for s in known))
        raise UnknownName("standard", name, names, say("label.names", names=", ".join(names)))
    return found


def law_facts(demands: Sequence[Standard]) -> Iterator[Fact]:
    """Each demand of the law as a fact."""
    for demand in demands:
        terms = {
            "fat": {"fat": 1.0},
            "water": {"water": 1.0},
            "solids": {WEIGHT: 1.0, "water": -1.0},
            "solids-not-fat": {WEIGHT: 1.0, "water": -1.0, "fat": -1.0},
        }[demand.measure]
        rows, words = [], []
        if math.isfinite(demand.low):
            rows.append(_plus(terms, WEIGHT, -demand.low / 100))
            words.append(say("label.least-share", low=demand.low))
        if math.isfinite(demand.high):
            negative = {name: -value for name, value in terms.items()}
            rows.append(_plus(negative, WEIGHT, demand.high / 100))
            words.append(say("label.most-share", high=demand.high))
        what = f"{MEASURES[demand.measure].label} {' and '.join(words)}"
        of = demand.measure if demand.measure in COLUMNS else ""
        yield Fact(
            say("label.fact-name", name=demand.name, what=what), tuple(rows), of, by_law=True
        )


def panel_facts(panel: Panel, kind: str) -> Iterator[Fact]:
    """The serving and each figure of a panel as facts."""
    serving = panel.serving
    if serving.grams is not None:
        yield Fact.between(
            say("label.serving-of", serving=serving.text), WEIGHT, serving.grams, SERVINGS
        )
    elif serving.millilitres is not None:
        low, high = serving.millilitres
        loose, dense = density_ratio(kind)
        room = {
            (WEIGHT if name == "mass" else name): factor
            for name, factor in MEASURES["volume"].terms.items()
        }
        negative = {name: -value for name, value in room.items()}
        yield Fact(
            say("label.serving-of", serving=serving.text),
            ({**room, SERVINGS: -low * loose}, {**negative, SERVINGS: high * dense}),
            WEIGHT,
        )
    for name, figure in panel.figures.items():
        of = "sodium" if name == "salt" else name
        low, high = panel.intervals[of]
        if name == "protein" and two_factors(panel, kind):
            high /= _BY_LAW
        fact = Fact.between(f"{name.replace('-', ' ')} {figure}", of, (low, high), SERVINGS)
        if name == "carbohydrate" and panel.rounding is not Rounding.US:
            # There carbohydrate is printed without fibre.
            rows = [{**row, "fibre": -row["carbohydrate"]} for row in fact.rows]
            if two_factors(panel, kind):
                rows = [
                    {**row, "protein": 1 - _BY_LAW} if row["carbohydrate"] > 0 else row
                    for row in rows
                ]
            fact = Fact(fact.words, tuple(rows), fact.of)
        yield fact


def two_factors(panel: Panel | None, kind: str) -> bool:
    """Whether a panel may use either of two protein factors: that of milk, or that of the law."""
    return panel is not None and panel.rounding is not Rounding.US and kind in DAIRY_KINDS


def sums(kind: str, panel: Panel | None) -> tuple[Row, ...]:
    """What holds for every food of a kind: parts within wholes, and the sources of its energy."""
    family = "dairy" if kind in DAIRY_KINDS else "egg" if kind in ("egg", "dry-egg") else "other"
    (p_low, p_high), (f_low, f_high), (c_low, c_high) = _FACTORS[family]
    if panel is not None and panel.kilojoules:
        c_high = max(c_high, _CARBOHYDRATE_BY_KILOJOULE)
    if two_factors(panel, kind):
        p_low *= _BY_LAW
    rows: list[Row] = [
        {
            "energy": 1.0,
            "protein": -p_low,
            "fat": -f_low,
            "carbohydrate": -c_low,
            "fibre": c_low,
            WEIGHT: _ENERGY_SLACK / 100,
        },
        {
            "energy": -1.0,
            "protein": p_high,
            "fat": f_high,
            "carbohydrate": c_high,
            WEIGHT: _ENERGY_SLACK / 100,
        },
        {"fat": 1.0, "saturated-fat": -1.0},
        {"carbohydrate": 1.0, "fibre": -1.0},
        {"carbohydrate": 1.0, "fibre": -1.0, "sugars": -1.0, WEIGHT: _SUGARS_SLACK / 100},
        {"sugars": 1.0, "added-sugars": -1.0},
        {
            "ash": 1.0,
            "sodium": -1e-3,
            "potassium": -1e-3,
            "calcium": -1e-3,
            WEIGHT: _MINERALS_SLACK / 100,
        },
    ]
    if family == "dairy":
        rows.append({"fibre": -1.0})
    return tuple(rows)


def ash_fact(kind: str, like: Food | None) -> Fact | None:
    """Ash for the solids that are not fat: as the like food, or the table's foods of the kind."""
    span = _span(like.id if like else "", kind, "ash")
    if span is None:
        return None
    low, high = span
    if kind not in DAIRY_KINDS and kind not in _STAND_IN:
        low = 0.0  # oils and syrups have hardly any solids to compare ash with
    words = say("label.ash-of", food=like.id) if like else say("label.ash-of-kind", kind=kind)
    share = _share(words, "ash", (low, high))
    return Fact(share.words, (*share.rows, {"ash": -1.0, WEIGHT: _largest_ash(kind)}))


def most_ash_fact(kind: str) -> Fact | None:
    """Ash not far beyond any food of the kind: more salts than that are a typing mistake."""
    span = _span("", kind, "ash")
    if span is None:
        return None
    most = min(MOST_ASH * span[1], 1.0)
    share = _share(say("label.fact-ash", kind=kind), "ash", (0.0, most))
    return Fact(share.words, (*share.rows, {"ash": -1.0, WEIGHT: MOST_ASH * _largest_ash(kind)}))


def protein_fact(like: Food | None) -> Fact | None:
    """Protein for the solids that are not fat, as the like food has it."""
    span = _span(like.id, like.kind, "protein") if like else None
    if like is None or span is None:
        return None
    return _share(say("label.fact-protein", food=like.id), "protein", span)


def serum_fact(like: Food | None) -> Fact | None:
    """Solids that are not fat for the water they are in, as the like food has them.

    So a cream whose panel prints no protein for a spoonful is known to hold milk serum between its
    fat.
    """
    solids = sum(like.value(part) for part in _NOT_FAT) if like else 0.0
    if like is None or solids == 0:
        return None
    share = solids / (solids + like.value("water"))
    low, high = share * (1 - LIKE_MARGIN), min(share * (1 + LIKE_MARGIN), 1.0)
    least = dict.fromkeys(_NOT_FAT, 1 - low) | {"water": -low}
    most = dict.fromkeys(_NOT_FAT, high - 1) | {"water": high}
    return Fact(say("label.fact-solids", food=like.id), (least, most))


@cache
def _largest_ash(kind: str) -> float:
    """Ash of a gram, at most: the table's foods of the kind, 10 % over and a last figure more."""
    kinds = _STAND_IN.get(kind, (kind,))
    most = max(food.value("ash") for food in food_table().values() if food.kind in kinds)
    return min((most * (1 + LIKE_MARGIN) + 0.05) / 100, 1.0)


@cache
def _span(like: str, kind: str, name: str) -> Interval | None:
    """Range of a part over protein, carbohydrate and ash; 10 % wider than the foods' own."""
    kinds = _STAND_IN.get(kind, (kind,))
    foods = [food_table()[like]] if like else [f for f in food_table().values() if f.kind in kinds]
    shares = []
    for food in foods:
        solids = sum(food.value(part) for part in _NOT_FAT)
        if solids > 0:
            shares.append(food.value(name) / solids)
    if not shares:
        return None
    return min(shares) * (1 - LIKE_MARGIN), min(max(shares) * (1 + LIKE_MARGIN), 1.0)


def _share(words: str, name: str, ends: Interval) -> Fact:
    rows = []
    for sign, end in zip((1.0, -1.0), ends, strict=True):
        row = dict.fromkeys(_NOT_FAT, -sign * end)
        row[name] += sign
        rows.append(row)
    return Fact(words, tuple(rows))


@cache
def density_ratio(kind: str) -> Interval:
    """A cup's weight over what composition says it weighs, for foods of a kind.

    Foam in sour cream and air between grains make it less than 1; (1, 1) ± the margin where the
    table weighs no cup of the kind.
    """
    ratios = []
    for food in food_table().values():
        if food.kind == kind and food.density:
            ratios.append(food.density * model_volume({n: food.value(n) for n in PROXIMATES}) / 100)
    low, high = min(ratios, default=1.0), max(ratios, default=1.0)
    return low * (1 - DENSITY_MARGIN), high * (1 + DENSITY_MARGIN)


def model_volume(amounts: Mapping[str, float]) -> float:
    """Volume [mL] of 100 g of a food by its composition."""
    terms = MEASURES["volume"].terms
    return sum(
        factor * (100.0 if name == "mass" else amounts[name]) for name, factor in terms.items()
    )


def guaranteed(
    at_least: Mapping[str, float], at_most: Mapping[str, float]
) -> dict[str, tuple[str, Interval]]:
    """What each line of a guaranteed analysis can stand for.

    Parameters
    ----------
    at_least, at_most : mapping of str to float
        Percent as fed; trace minerals in mg/kg.

    Returns
    -------
    dict of str to (str, Interval)
        Words and ends [the measure's unit in 100 g], by measure.

    Raises
    ------
    InputError
        If a measure is not known, a floor lies above its ceiling, or a figure is smaller than
        any that is printed.
    """
    found = {}
    for name in dict.fromkeys((*at_least, *at_most)):
        unit, factor = _guaranteed_unit(name)
        low, high = at_least.get(name), at_most.get(name)
        for value in (low, high):
            if value is not None and 0 < value < LEAST_PRINTED:
                problem = say("label.too-little", value=f"{value:g} {unit}", measure=name)
                raise InputError(problem, say("label.too-little-remedy"), name)
        words = []
        if low is not None:
            words.append(say("label.at-least", value=low, unit=unit))
        if high is not None:
            words.append(say("label.at-most", value=high, unit=unit))
        if low is not None and high is not None:
            if low > high:
                raise InputError(say("label.crossed", name=name, low=low, high=high), "", name)
            ends = (low, high)
        elif low is not None:
            ends = (low * GUARANTEE_LEAST[0], low * GUARANTEE_LEAST[1])
        else:
            least, most = GUARANTEE_MOST.get(name, (0.0, 1.0))
            ends = ((high or 0.0) * least, (high or 0.0) * most)
        if unit == "%" and max(ends[0], low or 0.0, high or 0.0) > 100:
            raise InputError(say("label.over-all", name=name, words=" and ".join(words)), "", name)
        found[name] = (f"{name} {' and '.join(words)}", (ends[0] * factor, ends[1] * factor))
    return found


def _guaranteed_unit(name: str) -> tuple[str, float]:
    """Unit that a measure is guaranteed in, and what one of it is in 100 g."""
    known = [n for n in COMPONENTS if MEASURES[n].unit in ("g", "mg", "µg")]
    if name == "fibre":
        return "%", 1.0
    if name not in known:
        raise UnknownName("measure", name, (*known, "fibre"), say("label.moisture"))
    unit = MEASURES[name].unit
    if unit == "g":
        return "%", 1.0
    if name in _PERCENT_MINERALS:
        return "%", 1000.0
    return "mg/kg", 0.1 if unit == "mg" else 100.0


def _plus(terms: Mapping[str, float], name: str, value: float) -> dict[str, float]:
    row = dict(terms)
    row[name] = row.get(name, 0.0) + value
    return row
