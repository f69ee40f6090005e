"""Standardising milk (Pearson's square), each problem as a mix with its fat band shut.

Two foods and one fat content leave one mix; the published amounts must come out of the same
shelf, bands and engine that design a lamb's milk.
"""

from __future__ import annotations

import numpy as np
import pytest

from formulate.blend.design import design
from formulate.blend.mix import Mix, NoMix
from formulate.blend.problem import Shelf
from formulate.foods.bands import Band, BandSet, Basis
from formulate.foods.food import Food, Value


def dairy(name: str, fat: float) -> Food:
    """A milk or cream of some fat [g/100 g]; its plasma is 9 % solids, as skim milk's."""
    water = (100 - fat) * 0.91
    values = {"fat": Value(fat, "problem"), "water": Value(water, "made up")}
    return Food(name, name, "milk", values)


def mix_to(rich: float, poor: float, wanted: float) -> np.ndarray:
    """Parts by weight of the rich and the poor milk."""
    shelf = Shelf((dairy("rich", rich), dairy("poor", poor)), price=np.array([3.0, 1.0]))
    fat = Band("fat", Basis.AS_FED, "g/100 g", low=wanted, high=wanted)
    found = design(shelf, BandSet("fat", "", "lamb", (fat,)), 1000.0)
    assert isinstance(found, Mix)
    assert found.reads[0].value == pytest.approx(wanted)
    return found.grams / found.grams.sum()


@pytest.mark.parametrize(
    ("rich", "poor", "wanted", "weight_of", "weight", "other", "digits"),
    [
        # University of Guelph, Dairy Science and Technology, "Standardization problems":
        # 160 kg of 40 % cream to 32 % with skim milk (0 %): 40 kg of it
        (40, 0, 32, "rich", 160, 40, 0),
        # ... 35 % cream into 500 kg of 4 % milk to 10 %: 120 kg of cream
        (35, 4, 10, "poor", 500, 120, 0),
        # Text after FAO: 3.9 % milk and skim to 2.6 %: 2.6 parts and 1.3 parts
        (3.9, 0, 2.6, "rich", 2.6, 1.3, 1),
        # Polish course text: 10,000 kg of 3.5 % milk with 0.05 % skim to 1.5 %: 13,793 kg
        (3.5, 0.05, 1.5, "rich", 10_000, 13_793, 0),
    ],
)
def test_published_problems(rich, poor, wanted, weight_of, weight, other, digits):
    of_rich, of_poor = mix_to(rich, poor, wanted)
    have, need = (of_rich, of_poor) if weight_of == "rich" else (of_poor, of_rich)
    assert round(weight / have * need, digits) == other


def test_the_whole_batch_of_the_second_problem():
    """500 kg of milk and 120 kg of cream are 620 kg."""
    _, milk = mix_to(35, 4, 10)
    assert 500 / milk == pytest.approx(620)


def test_a_published_share():
    """6 % and 0.1 % milk to 3.5 %: 3.4 parts in 5.9 are the rich one (course question)."""
    assert mix_to(6, 0.1, 3.5)[0] == pytest.approx(3.4 / 5.9)


@pytest.mark.parametrize("wanted", [0.02, 3.6])
def test_outside_the_square_there_is_no_mix(wanted):
    shelf = Shelf((dairy("rich", 3.5), dairy("poor", 0.05)), price=np.array([3.0, 1.0]))
    fat = Band("fat", Basis.AS_FED, "g/100 g", low=wanted, high=wanted)
    found = design(shelf, BandSet("fat", "", "lamb", (fat,)), 1000.0)
    assert isinstance(found, NoMix)
    assert len(found.conflict) == 1
    assert found.nearest is not None
    nearest = 3.5 if wanted > 3.5 else 0.05
    assert found.nearest.reads[0].value == pytest.approx(nearest)
