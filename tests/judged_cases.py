"""Dangerous and harmless recipes with their verdicts: the table that every door is run through.

`tests/answers/test_judged_cases.py` runs it through the doors. Verdicts are by the thresholds that
`nutrient_tables/cautions.toml` names; the foods of one's own stand in `PANTRY`.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CASES", "GOOD", "PANTRY", "Case"]


@dataclass(frozen=True)
class Case:
    """One recipe and what must be said of it.

    Parameters
    ----------
    recipe : str
    verdict : str
    why : str
        Id of a reason that must be among those given; empty where it is inside.
    against : str
        Ranges it is held to.
    thin : float or None
        Litres of water a litre that mend it, where nothing else is wrong.
    """

    recipe: str
    verdict: str
    why: str = ""
    against: str = "lamb-replacer"
    thin: float | None = None

    def __str__(self) -> str:
        return f"{self.verdict}: {self.recipe}"


_BAG = "water = 4, protein = 23, fat = 29, ash = 6.5, lactose = 37, sodium = 350, potassium = 1000"
_MILK = "water = 83, protein = 4.2, fat = 6, ash = 0.9, sodium = 50, potassium = 150, copper = 0.02"
_VITAMINS = "vitamin-a = 2000, vitamin-d = 400"
_SALTLESS = "water = 4, protein = 23, fat = 29, ash = 6.5, lactose = 37, copper = 0.4"
_PLANT = "water = 88, protein = 1, fat = 3, ash = 0.5, sodium = 40, potassium = 20, copper = 0.01"
_NUT = "water = 97, protein = 0.5, fat = 1.1, carbohydrate = 0.3, ash = 0.5, sodium = 50"

#: A shelf with foods of one's own: good bags and bad ones.
PANTRY = f"""
name = "Cases (invented)"
currency = "USD"
prices_on = 2026-11-02

[foods.whole-milk]
price = 3.89
package = "1 gallon"
[foods.heavy-cream]
price = 6.49
package = "1 quart"
[foods.nonfat-dry-milk]
price = 11.99
package = "2 lb"

[own.good-bag]
kind = "replacer-powder"
per_100_g = {{ {_BAG}, copper = 0.4, {_VITAMINS} }}
[own.silent-bag]
kind = "replacer-powder"
per_100_g = {{ {_BAG}, {_VITAMINS} }}
[own.saltless-bag]
kind = "replacer-powder"
per_100_g = {{ {_SALTLESS}, {_VITAMINS} }}
[own.cattle-bag]
kind = "replacer-powder"
per_100_g = {{ {_BAG}, copper = 1.0, {_VITAMINS} }}
[own.mineral-bag]
kind = "replacer-powder"
per_100_g = {{ {_BAG}, copper = 3.0, {_VITAMINS} }}
[own.vitamin-bag]
kind = "replacer-powder"
per_100_g = {{ {_BAG}, copper = 0.4, vitamin-a = 7000, vitamin-d = 3000 }}
[own.house-milk]
kind = "milk"
weighs = "1 cup = 244 g"
per_100_g = {{ {_MILK} }}
[own.our-cream]
kind = "cream"
weighs = "1 cup = 238 g"
per_100_g = {{ water = 58, protein = 2.5, fat = 36, ash = 0.5 }}
[own.sweetener-yogurt]
kind = "cultured"
weighs = "1 cup = 245 g"
ingredients = "cultured milk, sweeteners (xylitol, sucralose)"
per_100_g = {{ {_MILK} }}
[own.rum-cream]
kind = "cream"
weighs = "1 cup = 240 g"
ingredients = ["cream", "sugar", "rum (3 %)"]
per_100_g = {{ water = 58, protein = 2.5, fat = 25, ash = 0.5 }}
[own.cocoa-drink]
kind = "milk"
weighs = "1 cup = 250 g"
ingredients = "milk, sugar, fat-reduced cocoa 1 %"
per_100_g = {{ {_MILK} }}
[own.sweet-drink]
kind = "milk"
weighs = "1 cup = 250 g"
ingredients = "skimmed milk, sugar, flavouring"
per_100_g = {{ {_MILK} }}
[own.clear-label]
kind = "milk"
weighs = "1 cup = 250 g"
ingredients = "milk, soya lecithin, alcohol-free flavouring, vitamin D"
per_100_g = {{ {_MILK} }}
[own.barista]
kind = "milk"
weighs = "1 cup = 250 g"
ingredients = "water, oats 10 %, rapeseed oil, salt"
per_100_g = {{ {_PLANT} }}
[own.nut-drink]
kind = "milk"
weighs = "1 cup = 250 g"
per_100_g = {{ {_NUT}, potassium = 20, copper = 0.01 }}
[own.split-milk]
kind = "milk"
weighs = "1 cup = 250 g"
per_100_g = {{ {_MILK}, lactose = 0.1 }}
[own.oat-base]
kind = "plant-milk"
weighs = "1 cup = 250 g"
per_100_g = {{ {_PLANT} }}
[own.infant-formula]
kind = "replacer-powder"
per_100_g = {{ {_BAG}, copper = 0.4, {_VITAMINS} }}
"""

GOOD = "2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk"

INSIDE = (
    Case(GOOD, "inside"),
    Case("4 quarts whole-milk + 1 1/2 cups heavy-cream + 1 cup nonfat-dry-milk", "inside"),
    Case(
        "1 quart whole-milk + 1 cup evaporated-milk + 1/4 cup heavy-cream + 3 tbsp nonfat-dry-milk",
        "inside",
    ),
    Case("2 cups evaporated-milk + 1 cup water", "inside"),
    Case("200 g good-bag + 850 mL water", "inside"),
    Case("1 quart house-milk", "inside"),
    Case("1 quart clear-label", "inside"),
    Case("1 quart sheep-milk", "inside", against="ewe-milk"),
    Case("1 quart goat-milk", "inside", against="kid-replacer"),
    Case(
        "1 quart whole-milk + 2 tbsp heavy-cream + 1 tbsp nonfat-dry-milk",
        "inside",
        against="kid-replacer",
    ),
    Case("2 quarts whole-milk + 3/4 cup our-cream + 1/2 cup nonfat-dry-milk", "inside"),
    Case(f"{GOOD} + 1 tsp honey", "inside"),
    Case(f"{GOOD} + 1/2 tsp cod-liver-oil", "inside"),
    Case(f"{GOOD} + 1/2 cup whole-yogurt", "inside"),
    Case(f"{GOOD} + 2 tbsp water", "inside"),
    Case(f"{GOOD} + 1 egg", "inside"),
)

OUTSIDE = (
    Case("1 quart whole-milk", "outside", "solids"),
    Case("1 quart whole-milk", "outside", "solids", against="kid-replacer"),
    Case("1 quart lowfat-milk", "outside", "fat"),
    Case("1 quart goat-milk", "outside", "solids"),
    Case("1 quart sheep-milk", "outside", "protein"),
    Case("1 quart buffalo-milk", "outside", "fat"),
    Case("1 quart whole-milk + 1 tsp cod-liver-oil", "outside", "solids"),
    Case(
        "2 quarts whole-milk + 1 can evaporated-milk + 2 cups lowfat-buttermilk",
        "outside",
        "solids",
    ),
    Case("400 mL whole-milk + 25 g dry-whole-milk", "outside", "lactose"),
    Case("700 mL whole-milk + 45 g dry-whole-milk", "outside", "lactose"),
    Case("1 gallon whole-milk + 1 tbsp sweetened-condensed-milk", "outside", "solids"),
    Case("1 quart greek-yogurt", "outside", "protein"),
    Case("4 eggs + 2 cups whole-milk", "outside", "protein"),
    Case("1 cup dry-whole-milk + 3 cups water", "outside", "solids"),
    Case("200 g good-bag + 800 mL water", "outside", "solids", thin=0.1),
    Case(GOOD, "outside", "solids", against="kid-replacer"),
    Case(
        "2 cups evaporated-milk + 1 cup water",
        "outside",
        "solids",
        against="kid-replacer",
        thin=0.3,
    ),
    Case("2 cups evaporated-milk + 3/4 cup water", "outside", "solids", thin=0.1),
)

UNKNOWN = (
    Case("200 g silent-bag + 850 mL water", "unknown", "copper"),
    Case("200 g saltless-bag + 850 mL water", "unknown", "sodium"),
    Case("1 quart whole-milk + 30 g silent-bag", "unknown", "copper"),
)

VET = (
    Case("1 quart heavy-cream", "vet", "protein-vet"),
    Case("1 quart half-and-half", "vet", "fat-vet"),
    Case("1 quart skim-milk", "vet", "thin-vet"),
    Case("1 quart whole-milk + 1 quart water", "vet", "thin-vet"),
    Case("1 cup whole-milk + 1 gallon water", "vet", "thin-vet"),
    Case("1 quart lowfat-buttermilk", "vet", "sodium-vet"),
    Case("1 cup cottage-cheese + 1 cup whole-milk", "vet", "sodium-vet"),
    Case("1 cup nonfat-dry-milk + 1 quart water", "vet", "lactose-vet"),
    Case("1 quart sweet-whey", "vet", "whey-only"),
    Case("1 quart whole-milk + 1/4 cup canola-oil", "vet", "fat-vet"),
    Case("1 quart unsweetened-soy-milk", "vet", "plant-milk"),
    Case("1 quart whole-milk + 2 cups unsweetened-soy-milk", "vet", "plant-milk"),
    Case("1 quart oat-base", "vet", "plant-milk"),
    Case("1 quart barista", "vet", "plant-milk-by-label"),
    Case("1 quart nut-drink", "vet", "plant-milk-by-label"),
    Case("1 quart sweet-drink", "vet", "sugar-by-label"),
    Case(f"{GOOD} + 2 tbsp sugar", "vet", "sugar-vet"),
    Case(f"{GOOD} + 2 tbsp cod-liver-oil", "vet", "vitamin-a-vet"),
    Case("1 quart whole-milk + 1 tsp table-salt", "vet", "sodium-vet"),
    Case("1 quart whole-milk + 1 tsp baking-soda", "vet", "drink-powder"),
    Case("200 g cattle-bag + 850 mL water", "vet", "copper-vet"),
    Case("150 g infant-formula + 850 mL water", "vet", "baby-formula"),
    Case("1 quart oat-milk", "vet", "oat-milk"),
    Case("1 quart whole-milk + 1 cup baby formula", "vet", "baby-formula"),
)

NEVER = (
    Case(
        "1 quart whole-milk + 1 can sweetened-condensed-milk", "never", "sweetened-condensed-never"
    ),
    Case(
        "1 gallon whole-milk + 1 cup sweetened-condensed-milk", "never", "sweetened-condensed-never"
    ),
    Case("1 quart whole-milk + 1/2 cup cod-liver-oil", "never", "vitamin-d-never"),
    Case("1 cup corn-syrup", "never", "sugar-never"),
    Case("1 quart whole-milk + 1/4 cup corn-syrup", "never", "sugar-never"),
    Case("1 quart whole-milk + 1/2 cup honey", "never", "sugar-never"),
    Case(f"{GOOD} + 1/4 cup sugar", "never", "sugar-never"),
    Case(
        "24 fl oz whole-milk + 1 egg + 1 tsp cod-liver-oil + 1 tbsp sugar", "never", "sugar-never"
    ),
    Case("1 quart split-milk", "never", "sugar-never"),
    Case("1 can evaporated-milk", "never", "osmolality-never", thin=0.5),
    Case("1 cup dry-whole-milk + 1 cup water", "never", "osmolality-never"),
    Case("1 quart whole-milk + 2 cups nonfat-dry-milk", "never", "osmolality-never"),
    Case(
        "350 g dry-whole-milk + 150 g nonfat-dry-milk + 75 mL canola-oil + 1 L water",
        "never",
        "osmolality-never",
        thin=1.1,
    ),
    Case("200 g good-bag + 400 mL water", "never", "osmolality-never", thin=0.9),
    Case("200 g good-bag + 800 mL whole-milk", "never", "osmolality-never", thin=0.65),
    Case("1 quart water + 1 cup dry-sweet-whey", "never", "osmolality-never"),
    Case("1 quart whole-milk + 1 tbsp table-salt", "never", "sodium-never"),
    Case("200 g mineral-bag + 850 mL water", "never", "copper-never"),
    Case("200 g vitamin-bag + 850 mL water", "never", "vitamin-d-never"),
    Case("1 quart house-milk + 1/2 cup sweetener-yogurt", "never", "xylitol"),
    Case("1 quart house-milk + 1 tbsp rum-cream", "never", "alcohol"),
    Case("1 quart cocoa-drink", "never", "cocoa-coffee"),
    Case("1 quart whole-milk + 1 cup chocolate-milk", "never", "chocolate-milk"),
    Case("1 cup breast milk", "never", "human-milk"),
    Case("1 cup human colostrum", "never", "human-colostrum"),
    Case("1 cup eggnog", "never", "eggnog"),
    Case("1 quart strawberry milk", "never", "flavoured-milk"),
    Case("1 quart whole-milk + 1/4 cup coffee creamer", "never", "coffee-creamer"),
    Case("1 quart whole-milk + 1 tbsp xylitol", "never", "xylitol"),
    Case("1 cup oat-milk + 1 cup chocolate milk", "never", "chocolate-milk"),
    Case("1 quart oat-milk + 1/2 cup cod-liver-oil", "never", "vitamin-d-never"),
)

CASES = (*INSIDE, *OUTSIDE, *UNKNOWN, *VET, *NEVER)
