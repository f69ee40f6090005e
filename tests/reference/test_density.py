"""Volume: three partial densities against tables, kitchen cups and measured milks."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from formulate.foods.food import Composition, Food, Value
from formulate.foods.tables import food_table

DATA = Path(__file__).parent / "data"


def density(fat: float, solids_not_fat: float) -> float:
    """Density [g/mL] that the volume measure gives to a milk [g/100 g]."""
    values = {
        "fat": Value(fat, "published"),
        "water": Value(100 - fat - solids_not_fat, "published"),
    }
    return 1 / float(Composition.of([Food("milk", "Milk", "milk", values)]).row("volume")[0])


# H. D. Goff, University of Guelph, Dairy Science and Technology: density of dairy products at
# 20 °C [kg/L] by fat and solids-not-fat [g/100 g].
GUELPH = {
    "producer milk": (4.0, 8.95, 1.030),
    "homogenised milk": (3.6, 8.6, 1.029),
    "skim milk": (0.02, 8.9, 1.033),
    "half-and-half": (12.25, 7.75, 1.020),
    "light cream": (20.0, 7.2, 1.012),
    "heavy cream": (36.6, 5.55, 0.994),
}


@pytest.mark.parametrize("product", GUELPH)
def test_the_guelph_table_at_20_degrees(product):
    fat, solids_not_fat, published = GUELPH[product]
    assert density(fat, solids_not_fat) == pytest.approx(published, abs=0.002)


SPECIFIC_GRAVITY = 1.0018  # of a density at 20 °C, to water at 20 °C


def test_goat_milk():
    """Specific gravity 1.030 ± 0.001 at 12.84 % solids and 3.97 % fat (Mahmood & Usman 2010,
    Pakistan Journal of Nutrition 9:1192-1197).
    """
    found = density(3.97, 12.84 - 3.97) * SPECIFIC_GRAVITY
    assert found == pytest.approx(1.030, abs=0.002)


def test_sheep_milk_is_modelled_on_the_heavy_side():
    """Sources differ: 1.034 ± 0.002 at 18.13 % solids and 6.49 % fat (Mahmood & Usman 2010);
    1.0347 to 1.0384 (Park et al. 2007, from memory); 1.035 to 1.053 at 15.7 to 25.5 % solids
    (Estonian University of Life Sciences 2023). The model gives 1.041: 0.7 % above the first.
    """
    found = density(6.49, 18.13 - 6.49) * SPECIFIC_GRAVITY
    assert 1.035 < found < 1.053
    assert found == pytest.approx(1.034, rel=0.0075)


# Cups of USDA SR28. Powders, sugar and curds hold air between their grains: their cup says
# nothing of the room they take in a mix.
AIRY = {"dry-milk", "dry-whey", "dry-egg", "cheese", "salt", "alkali", "glucose"}
AIRY_FOODS = {"sugar", "brown-sugar"}
# Foods whose cup and composition differ by more than 1.5 %, and why.
EXCEPTIONS = {
    "acid-whey": "SR28 gives both wheys 246 g, more than skim milk's 245 g, with less in it",
    "sweet-whey": "SR28 gives both wheys 246 g, more than skim milk's 245 g, with less in it",
    "sour-cream": "holds air: its cup is lighter than that of sour cream with less fat",
    "skim-yogurt": "SR28 gives every yogurt one cup of 245 g, whatever its solids",
    "lowfat-greek-yogurt": "the cup of plain yogurt is taken for it",
    "nonfat-greek-yogurt": "the cup of plain yogurt is taken for it",
    "anhydrous-milk-fat": "SR28's cup is 205 g, as of hot oil; other oils' is 216 or 218 g",
    "olive-oil": "the partial density is that of milk fat, 0.93; this oil's cup gives 0.913",
    "palm-oil": "the partial density is that of milk fat, 0.93; this oil's cup gives 0.913",
    "peanut-oil": "the partial density is that of milk fat, 0.93; this oil's cup gives 0.913",
    "egg-white": "SR28 gives white, yolk and whole egg one cup of 243 g",
    "egg-yolk": "SR28 gives white, yolk and whole egg one cup of 243 g",
    "whole-egg": "SR28 gives white, yolk and whole egg one cup of 243 g",
    "corn-syrup": "the partial density is that of milk's solids, 1.608, not of a syrup's",
    "dark-corn-syrup": "the partial density is that of milk's solids, 1.608, not of a syrup's",
    "honey": "the partial density is that of milk's solids, 1.608, not of honey's sugars",
}
POURED = [
    food
    for food in food_table().values()
    if food.density is not None and food.kind not in AIRY and food.id not in AIRY_FOODS
]


def cup_deviation(food: Food) -> float:
    """How much heavier a cup is by composition than on the scale, relative."""
    by_composition = 1 / float(Composition.of([food]).row("volume")[0])
    return by_composition / food.density - 1


@pytest.mark.parametrize("food", POURED, ids=lambda food: food.id)
def test_cups_of_the_shipped_foods(food):
    deviation = cup_deviation(food)
    if food.id in EXCEPTIONS:
        assert abs(deviation) > 0.015, "no exception any more: take it off the list"
        assert abs(deviation) < 0.08
    else:
        assert deviation == pytest.approx(0.0, abs=0.015)


def test_every_exception_is_a_shipped_food():
    assert set(EXCEPTIONS) <= {food.id for food in POURED}


def test_a_cup_of_powder_says_nothing_of_its_volume():
    """Why powders are left out above: dissolved they take less than half of their cup."""
    for food in food_table().values():
        if food.kind in ("dry-milk", "dry-whey"):
            assert cup_deviation(food) > 1.0


# 86 measured cow's milks (Daudin, Duby & Trecourt 1988).


@pytest.fixture(scope="module")
def milks() -> dict[str, np.ndarray]:
    lines = (DATA / "milk_1988.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    assert len(rows) == 86
    columns = {name: np.array([float(row[name]) for row in rows]) for name in rows[0]}
    for name in ("fat", "protein", "dry_matter"):  # g/L to g/100 g
        columns[name] = columns[name] / columns["density"] / 10
    # Sugar, ash and acids: what is left of the dry matter.
    columns["rest"] = columns["dry_matter"] - columns["fat"] - columns["protein"]
    return columns


def modelled(milks: dict[str, np.ndarray]) -> np.ndarray:
    solids_not_fat = milks["dry_matter"] - milks["fat"]
    return np.array(list(map(density, milks["fat"], solids_not_fat)))


# Milk shrinks by about 0.0003 g/mL for each degree from 10 to 20 °C (Guelph table: 1.033 and
# 1.030). The data do not tell the temperature of their densities; lactometers were read at 15 °C,
# and Richmond's rule, which is for 60 °F, fits them as printed.
FROM_15_TO_20_DEGREES = -0.0015


def sound(milks: dict[str, np.ndarray]) -> np.ndarray:
    """Without the one milk whose own figures do not fit each other.

    Observation 74 is as heavy as the others on the least sugar and ash of all: 4.6 g/100 g, where
    they have 4.8 to 5.8.
    """
    assert np.argmin(milks["rest"]) + 1 == 74
    return milks["observation"] != 74


def test_the_density_of_measured_milks(milks):
    miss = (modelled(milks) - milks["density"] - FROM_15_TO_20_DEGREES)[sound(milks)]
    assert np.mean(miss) == pytest.approx(0.0, abs=0.0005)
    assert np.std(miss) < 0.001
    assert np.abs(miss).max() < 0.0025


def test_even_without_that_correction_all_but_one_are_within_a_third_of_a_percent(milks):
    miss = modelled(milks) - milks["density"]
    assert np.sort(np.abs(miss))[-2] < 0.0035
    assert np.argmax(np.abs(miss)) + 1 == 74


def test_heavier_milks_are_modelled_heavier(milks):
    """The model must follow the milks, not just their mean."""
    keep = sound(milks)
    r = np.corrcoef(modelled(milks)[keep], milks["density"][keep])[0, 1]
    assert r > 0.6


# Solids from density and fat: two published rules, and the density model turned round.


def test_richmonds_rule(milks):
    """TS = 0.25 L + 1.2 F + 0.14, L in lactometer degrees at 60 °F (15.6 °C)."""
    degrees = 1000 * (milks["density"] - 1)
    miss = (0.25 * degrees + 1.2 * milks["fat"] + 0.14 - milks["dry_matter"])[sound(milks)]
    assert np.mean(miss) == pytest.approx(0.0, abs=0.15)
    assert np.std(miss) < 0.25
    assert np.abs(miss).max() < 0.75


def test_bs_734(milks):
    """TS = 0.25 D + 1.22 F + 0.72, D in density-hydrometer degrees at 20 °C (adopted 1957)."""
    degrees = 1000 * (milks["density"] + FROM_15_TO_20_DEGREES - 1)
    miss = (0.25 * degrees + 1.22 * milks["fat"] + 0.72 - milks["dry_matter"])[sound(milks)]
    assert np.mean(miss) == pytest.approx(0.0, abs=0.25)
    assert np.std(miss) < 0.25
    assert np.abs(miss).max() < 0.65


@pytest.mark.parametrize("name", ["whole-milk", "skim-milk", "producer-milk", "goat-milk"])
def test_the_model_and_bs_734_say_the_same_of_ordinary_milk(name):
    """A hydrometer in the modelled milk would read its solids within 0.25 g/100 g."""
    composition = Composition.of([food_table()[name]])
    fat, solids = (100 * float(composition.row(m)[0]) for m in ("fat", "solids"))
    degrees = 1000 * (1 / float(composition.row("volume")[0]) - 1)
    assert 0.25 * degrees + 1.22 * fat + 0.72 == pytest.approx(solids, abs=0.25)
