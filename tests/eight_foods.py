"""A shelf of eight foods at invented prices, and prices around them."""

from __future__ import annotations

import math

import numpy as np

from formulate.blend.problem import Problem, Shelf, build
from formulate.foods.tables import band_set, food_table

__all__ = ["around", "eight_foods"]

PER_KG = {
    "whole-milk": 1.1,
    "heavy-cream": 6.5,
    "dry-whole-milk": 11.0,
    "nonfat-dry-milk": 9.5,
    "greek-yogurt": 5.2,
    "evaporated-milk": 4.2,
    "unsalted-butter": 10.0,
    "water": 0.002,
}


def eight_foods(bands: str = "lamb-replacer", **limits: float) -> Problem:
    """A mix of eight foods; `limits` are smallest useful amounts [g]."""
    foods = tuple(food_table()[name] for name in PER_KG)
    floors = np.array([limits.get(name.replace("-", "_"), 0.0) for name in PER_KG])
    prices = np.array(list(PER_KG.values())) / 1e3
    shelf = Shelf(foods, price=prices, smallest=floors, currency="USD")
    return build(shelf, band_set(bands), 2000.0)


def around(problem: Problem, count: int, times: float = 2.0, seed: int = 7) -> np.ndarray:
    """Prices between a share and a multiple of today's."""
    reach = math.log(times)
    shape = (count, len(problem.shelf.foods))
    return problem.shelf.price * np.exp(np.random.default_rng(seed).uniform(-reach, reach, shape))
