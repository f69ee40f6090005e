"""The osmole estimate against freezing points, which are a direct measure of osmolality."""

from __future__ import annotations

import pytest

from formulate.foods.food import Composition
from formulate.foods.measures import OSMOLE_UNCERTAINTY
from formulate.foods.tables import food_table

#: Freezing-point depression of water [K·kg/mol].
CRYOSCOPIC = 1.858

# Published freezing points [°C].
FREEZING = {
    "cow, herds, warmest (Henningson 1963, J. AOAC 46:1036)": ("whole-milk", -0.510),
    "cow, herds, coldest (Henningson 1963)": ("whole-milk", -0.585),
    "cow, bulk milk (Ital. J. Food Saf. 2016, 5:5691)": ("producer-milk", -0.522),
    "sheep (Pavić et al. 2002, Czech J. Anim. Sci. 47:80)": ("sheep-milk", -0.566),
    "sheep (Petrova & Nedelchev 2002, Bulg. J. Agric. Sci. 8:295)": ("sheep-milk", -0.568),
    "goat (Janštová et al. 2007, Czech J. Anim. Sci. 52:394)": ("goat-milk", -0.5513),
    "goat (de Sousa et al. 1993, 432 samples of Goiânia)": ("goat-milk", -0.565),
}


def estimate(name: str) -> float:
    """Osmolality [mOsm/kg water] that the program gives a food."""
    composition = Composition.of([food_table()[name]])
    return float(composition.row("osmoles")[0] / composition.row("water")[0] * 1000)


@pytest.mark.parametrize("source", FREEZING)
def test_milks_within_the_stated_uncertainty(source):
    name, freezing = FREEZING[source]
    measured = -freezing / CRYOSCOPIC * 1000
    assert 270 < measured < 320
    assert estimate(name) == pytest.approx(measured, rel=OSMOLE_UNCERTAINTY)


def test_the_estimate_is_calibrated_on_whole_milk():
    assert estimate("whole-milk") == pytest.approx(530 / CRYOSCOPIC, rel=0.002)


def test_buffalo_milk_is_beyond_the_stated_uncertainty():
    """−0.528 °C (Ital. J. Food Saf. 2016, 5:5691, 1886 samples), 284 mOsm/kg; estimated 354.

    The more protein and calcium in a milk, the more of its salts are bound to casein and count
    for nothing. The estimate errs to the high side, where a ceiling is safe.
    """
    measured = 528 / CRYOSCOPIC
    assert 1.15 * measured < estimate("buffalo-milk") < 1.3 * measured


def test_concentrating_milk_multiplies_it():
    """Evaporated milk holds about 2.2 times the solids in less water: about 740 mOsm/kg.

    (Lactose and water alone, against 300 for milk, give 747: no measurement was found.)
    """
    assert 730 <= estimate("evaporated-milk") <= 750


def test_cultured_foods_count_their_acid():
    """Fermentation makes two acids and leaves a galactose of every lactose.

    A sum of lactose and salts alone gave nonfat Greek yogurt 207, less than milk: absurd.
    """
    milk = estimate("whole-milk")
    for food in food_table().values():
        if food.kind in ("cultured", "strained-yogurt"):
            assert estimate(food.id) > 1.2 * milk, food.id
    assert 350 < estimate("nonfat-greek-yogurt") < 450


def test_water_has_next_to_none():
    assert estimate("water") < 5


def test_milks_stand_in_the_order_of_what_is_dissolved_in_them():
    assert estimate("whole-milk") < estimate("goat-milk") < estimate("sheep-milk")
    assert estimate("sheep-milk") < estimate("evaporated-milk")
