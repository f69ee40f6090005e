"""Limits on what a food can hold, and prices that look like typing mistakes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from formulate.base.errors import InputError
from formulate.base.messages import listed, say
from formulate.foods.measures import MEASURES
from formulate.pantry.item import Item

__all__ = ["impossible", "price_questions"]

#: A part and the whole it is a part of.
_PARTS = {
    "lactose": "carbohydrate",
    "sugars": "carbohydrate",
    "glucose": "carbohydrate",
    "fructose": "carbohydrate",
    "saturated-fat": "fat",
    "lysine": "protein",
    "methionine": "protein",
}
#: Figures are rounded, and a sugar that was analysed may pass a carbohydrate that was worked out:
#: a part may be larger than its whole by a gram or a twentieth (judgement; in the tables by up to
#: 0.85 g, and by 1.6 g of 42).
_ROUNDED, _ROUNDED_SHARE = 1.0, 0.05
#: The most that any food has [mg/100 g; selenium in µg]: baking powder, cocoa, salt, potassium
#: chloride, thyme, oysters, liver, cloves and Brazil nuts, a little rounded up (from memory).
_HIGHEST = {
    "calcium": 8000.0,
    "phosphorus": 10_000.0,
    "magnesium": 800.0,
    "sodium": 39_400.0,
    "potassium": 52_500.0,
    "iron": 130.0,
    "zinc": 100.0,
    "copper": 16.0,
    "manganese": 65.0,
    "selenium": 2000.0,
}
#: Minerals that ash is made of, besides chloride, citrate and carbonate.
_IN_ASH = ("calcium", "phosphorus", "magnesium", "sodium", "potassium")
#: Food energy of pure fat [kcal/100 g].
_PURE_FAT = 902.0
_MILLIGRAMS = {"g": 1e3, "mg": 1.0, "µg": 1e-3}
#: A price is asked about that is this many times those beside it by their solids, or that part of
#: them. A decimal point left out makes a hundred; honest prices differ by five (judgement).
_TIMES = 20.0
#: More foods than this are counted, not named.
_NAMED = 3


def impossible(values: Mapping[str, float]) -> Iterator[InputError]:
    """Faults of a composition that no food can have.

    Parameters
    ----------
    values : mapping of str to float
        Per 100 g as fed, each in its measure's unit; measures that are not known are left out.
    """
    over_any = False
    for name, value in values.items():
        unit = MEASURES[name].unit if name in MEASURES else ""
        words = {"value": f"{value:,g} {unit}", "measure": name}
        if value * _MILLIGRAMS.get(unit, 0.0) > 100e3:
            yield InputError(say("food.over-100", **words), say("food.check-unit"), name)
        elif value > _HIGHEST.get(name, math.inf):
            over_any = True
            remedy = say("food.check-unit-of", unit=unit)
            yield InputError(say("food.over-any", **words), remedy, name)
        elif name == "energy" and value > _PURE_FAT * 1.01:
            yield InputError(say("food.over-fat", **words), say("food.kilocalories"), name)
    for part, whole in _PARTS.items():
        least = values.get(whole, math.inf)
        if values.get(part, 0.0) > least + max(_ROUNDED, _ROUNDED_SHARE * least):
            text = say(
                "food.part-over-whole",
                part=say("food.grams-of", grams=values[part], measure=part),
                whole=say("food.grams-of", grams=values[whole], measure=whole),
            )
            yield InputError(text, say("food.check-figures"), part)
    ash = values.get("ash", math.inf)
    minerals = sum(values.get(name, 0.0) for name in _IN_ASH) / 1e3
    if minerals > ash + _ROUNDED and not over_any:  # else it is that mineral's fault
        text = say("food.minerals-over-ash", minerals=f"{minerals:.2g} g", ash=f"{ash:g} g")
        yield InputError(text, say("food.check-figures"), "ash")


def price_questions(items: Sequence[Item], currency: str, today: date) -> tuple[str, ...]:
    """Prices that look like slips: far from their neighbours', or of a year to come.

    Parameters
    ----------
    items : sequence of Item
    currency : str
    today : date
    """
    by_day: dict[date, list[str]] = {}
    for item in items:
        if item.priced_on and item.priced_on.year > today.year:
            by_day.setdefault(item.priced_on, []).append(item.food.id)
    to_come = [_to_come(foods, day) for day, foods in by_day.items()]
    return (*_far_off(items, currency), *to_come)


def _to_come(foods: Sequence[str], day: date) -> str:
    """Ask once about a day, however many prices have it."""
    if len(foods) > _NAMED:
        return say("food.prices-to-come", count=len(foods), day=f"{day}")
    return say("food.price-to-come", foods=listed(foods), count=len(foods), day=f"{day}")


def _far_off(items: Sequence[Item], currency: str) -> Iterator[str]:
    from statistics import median  # it loads decimals, fractions and random numbers

    # A food that is only for a drink, such as salt, is not compared with milk foods.
    priced = [
        (item, package, package.price / package.grams / _solids(item))
        for item in items
        if item.food.kind != "water" and not item.food.drink_only
        for package in item.packages
        if package.price
    ]
    if len(priced) < 2:
        return
    # If there are only two, nobody can tell which is the mistake, so one is asked about.
    usual = median(price for *_, price in priced) if len(priced) > 2 else priced[1][2]
    for item, package, price in priced:
        if 1 / _TIMES < price / usual < _TIMES:
            continue
        yield say(
            "food.price-high" if price > usual else "food.price-low",
            food=item.food.id,
            price=f"{package.price:,.2f} {currency}",
            package=package.words,
            times=f"{_TIMES:g}",
        )


def _solids(item: Item) -> float:
    """What of a food is not water, by weight; all of it where that is not known."""
    water = item.food.value("water")
    return 1.0 if math.isnan(water) else max(1.0 - water / 100.0, 0.01)
