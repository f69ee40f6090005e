"""Foods of the USDA table, printed on a panel by the law's rules and read back.

The printer (tests/label_printer.py) is written anew from the rules and shares nothing with the
reader. What is read back must hold the row that was printed.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal

import pytest
from label_printer import eu_figure, nearest, us_figure

from formulate.base.units import Kitchen
from formulate.foods.food import DAIRY_KINDS, KINDS, Food
from formulate.foods.tables import food_table, standards
from formulate.pantry.labels import Label, read_carton

FOODS = tuple(food_table().values())
#: Proximates of these do not add to 100 in SR28 (tests/reference/test_proximates.py).
UNBALANCED = {"coconut-oil", "soy-protein-isolate"}
# Salts, soda and glucose are weighed by the spoon and carry no panel of milk.
BALANCED = tuple(
    food
    for food in FOODS
    if food.id not in UNBALANCED and (food.id == "honey" or not food.drink_only)
)
TIES = (ROUND_HALF_UP, ROUND_HALF_EVEN)
US_CUP = Decimal("236.5882365")

PRINTED = (
    "energy",
    "fat",
    "saturated-fat",
    "carbohydrate",
    "sugars",
    "protein",
    "sodium",
    "potassium",
    "calcium",
)


def amounts(food: Food, grams: Decimal) -> dict[str, Decimal]:
    return {
        name: Decimal(str(food.values[name].value)) * grams / 100
        for name in PRINTED
        if name in food.values
    }


def us_panel(food: Food, grams: Decimal, serving: str, ties: str) -> dict[str, str]:
    figures = {n: us_figure(n, a, ties) for n, a in amounts(food, grams).items()}
    return {"serving": serving, **figures}


def eu_panel(food: Food, grams: Decimal, per: str, ties: str) -> dict[str, str]:
    given = amounts(food, grams)
    given["salt"] = given.pop("sodium") * Decimal("2.5") / 1000
    return {"per": per, **{n: eu_figure(n, a, ties) for n, a in given.items()}}


def serving_grams(grams: Decimal) -> str:
    """The weight in brackets: to 1 g, from 2 to 5 g to 0.5 g, below to 0.1 g."""
    step = "1" if grams >= 5 else "0.5" if grams >= 2 else "0.1"
    return f"({nearest(grams, step, ROUND_HALF_UP):f} g)"


def servings(food: Food) -> list[tuple[Decimal, str]]:
    """Each portion of the table, and spoons and ounces of it, weighed and as a panel says it."""
    found = []
    for measure in food.household:
        grams = Decimal(str(measure.grams))
        if measure.millilitres is None:
            found.append((grams, f"1 {measure.unit} {serving_grams(grams)}"))
            continue
        # SR28 weighs a cup or a spoon; all volumes of a food follow from it here.
        cup = grams / Decimal(str(measure.millilitres)) * US_CUP
        for parts, words, label in (
            (1, "1 cup", 240),
            (8, "2 tbsp", 30),
            (48, "1 tsp", 5),
        ):
            found.append((cup / parts, f"{words} {serving_grams(cup / parts)}"))
            if KINDS[food.kind] and parts < 48:
                found.append((cup / parts, f"{words} ({label} mL)"))
                # A maker may weigh out the label's round 240 mL instead.
                found.append((cup / parts * 240 / US_CUP, f"{words} ({label} mL)"))
    found.append((Decimal(100), "100 g"))
    return found


def misses(food: Food, panel: dict[str, str], **label: str) -> list[str]:
    """Measures whose interval does not hold the food's own value."""
    carton = read_carton("printed", Label(panel=panel, **label), Kitchen.US)
    proximates = ("water", "protein", "fat", "carbohydrate", "ash")
    # The row's own figures are rounded to 0.01 g, and need not add to 100 exactly.
    off = abs(sum(food.value(name) for name in proximates) - 100) + 1e-6
    found = []
    for name, (low, high) in carton.intervals.items():
        if name == "lactose" and food.kind not in DAIRY_KINDS:
            continue
        value, slack = food.value(name), off if name in proximates else 1e-6 * max(high, 1)
        if not low - slack <= value <= high + slack:
            found.append(f"{food.id} {panel}: {name} {value} not in {low:.4f} to {high:.4f}")
    total = sum(carton.food.value(name) for name in proximates)
    if abs(total - 100) > 1e-9:
        found.append(f"{food.id}: taken as {total} g in 100 g")
    return found


def test_every_food_at_every_portion_is_held_by_its_us_panel():
    cases = [(food, *serving) for food in BALANCED for serving in servings(food)]
    assert len(cases) > 500
    assert [
        miss
        for number, (food, grams, words) in enumerate(cases)
        # Makers break ties either way; each way has half of the portions.
        for miss in misses(food, us_panel(food, grams, words, TIES[number % 2]), kind=food.kind)
    ] == []


@pytest.mark.parametrize("ties", TIES)
def test_every_food_is_held_by_its_panel_per_100(ties):
    found = []
    for food in BALANCED:
        found += misses(food, eu_panel(food, Decimal(100), "100 g", ties), kind=food.kind)
        if KINDS[food.kind] and food.density:
            grams = Decimal(str(food.density)) * 100
            found += misses(food, eu_panel(food, grams, "100 mL", ties), kind=food.kind)
    assert found == []


def test_naming_the_like_food_still_holds_it():
    found = []
    for food in BALANCED:
        grams, words = servings(food)[0]
        panel = us_panel(food, grams, words, ROUND_HALF_UP)
        found += misses(food, panel, kind=food.kind, like=food.id)
    assert found == []


def test_the_law_on_its_name_still_holds_each_food():
    # SR28's half-and-half has 10.39 % fat, below its standard (tests/reference/test_standards.py).
    named = {(s.name, s.like) for s in standards() if s.law == "us" and s.like}
    named -= {("half-and-half", "half-and-half")}
    assert len(named) > 12
    found = []
    for name, like in sorted(named):
        food = food_table()[like]
        for grams, words in servings(food)[::3]:
            found += misses(food, us_panel(food, grams, words, ROUND_HALF_UP), sold_as=name)
    assert found == []


@pytest.mark.parametrize(
    ("food", "grams", "panel"),
    [
        # Derived from USDA composition per serving, the panels shops print.
        ("whole-milk", "244", {"energy": "150", "fat": "8", "protein": "8", "sodium": "105"}),
        ("lowfat-buttermilk", "245", {"energy": "100", "fat": "2", "protein": "8"}),
        ("lowfat-buttermilk", "245", {"carbohydrate": "12", "sodium": "470"}),
        ("evaporated-milk", "31.5", {"energy": "40", "fat": "2.5", "protein": "2"}),
        ("evaporated-milk", "31.5", {"carbohydrate": "3", "sodium": "35"}),
    ],
)
def test_known_panels_are_printed_so(food, grams, panel):
    printed = us_panel(food_table()[food], Decimal(grams), "", ROUND_HALF_UP)
    assert {name: printed[name] for name in panel} == panel


def test_heavy_cream_of_the_older_release():
    """SR26 had 2.05 g protein and 2.79 g carbohydrate in heavy cream, SR28 2.84 and 2.74 g."""
    grams = Decimal("0.15")
    assert us_figure("protein", Decimal("2.05") * grams) == "0"
    assert us_figure("carbohydrate", Decimal("2.79") * grams) == "0"
    assert us_figure("fat", Decimal("37.00") * grams) == "6"
    assert us_figure("energy", Decimal(345) * grams) == "50"
    assert us_figure("sodium", Decimal(38) * grams) == "5"


def test_an_invented_carton_of_whole_milk_holds_the_table():
    panel = {"serving": "8 oz", "energy": 150, "fat": 8, "carbohydrate": 12, "protein": 8}
    panel["sodium"] = 105
    whole = food_table()["whole-milk"]
    for label in ({"kind": "milk"}, {"sold_as": "whole milk"}):
        assert misses(whole, panel, **label) == []
