"""Truthful panels, made by number: foods like the table's, printed by the law's rules.

Half are printed as in the US, half as in the EU; of those half by the law's factor for protein
(nitrogen × 6.25) and half by milk's (× 6.38).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal

import numpy as np
from label_printer import eu_figure, us_figure

from formulate.foods.food import DAIRY_KINDS, KINDS, Food
from formulate.foods.tables import food_table

__all__ = ["MadePanel", "made_panel"]

#: Dairy foods whose proximates add up (see tests/reference/test_proximates.py).
FOODS = tuple(f for f in food_table().values() if f.kind in DAIRY_KINDS and f.kind != "dry-milk")
#: The law's factor for protein over milk's.
BY_LAW = 6.25 / 6.38


@dataclass(frozen=True)
class MadePanel:
    """A panel and the food that it was printed for.

    Parameters
    ----------
    like : Food
        Of the table; the true food differs from it by a few per cent in each part.
    truth : dict of str to float
        In 100 g.
    panel : dict of str to str
    by_law : bool
        Whether protein was printed as nitrogen × 6.25.
    """

    like: Food
    truth: dict[str, float]
    panel: dict[str, str]
    by_law: bool


def made_panel(number: int) -> MadePanel:
    """The panel of a number: US where it is even."""
    rng = np.random.default_rng((22, number))
    like = FOODS[rng.integers(len(FOODS))]
    truth = _truth(like, rng)
    ties = (ROUND_HALF_UP, ROUND_HALF_EVEN)[rng.integers(2)]
    # Grams in a millilitre, where the panel counts by volume.
    density = like.density if KINDS[like.kind] and like.density and rng.integers(2) else None
    if number % 2 == 0:
        return MadePanel(like, truth, _us(truth, density, rng, ties), False)
    by_law = bool(rng.integers(2))
    return MadePanel(like, truth, _eu(truth, density, rng, ties, by_law), by_law)


def _truth(like: Food, rng: np.random.Generator) -> dict[str, float]:
    """A food within a few per cent of one of the table; its parts make 100."""
    by = {n: rng.uniform(0.95, 1.05) for n in ("fat", "protein", "carbohydrate")}
    truth = {name: like.value(name) * factor for name, factor in by.items()}
    solids = truth["protein"] + truth["carbohydrate"]
    of_like = like.value("protein") + like.value("carbohydrate")
    truth["ash"] = like.value("ash") * (solids / of_like if of_like else 1.0)
    truth["water"] = 100 - sum(truth.values())
    if truth["water"] < 0:
        return _truth(like, rng)
    for name in ("sodium", "potassium", "calcium"):
        truth[name] = like.value(name) * rng.uniform(0.9, 1.0)
    truth["saturated-fat"] = truth["fat"] * rng.uniform(0.5, 0.68)
    truth["sugars"] = truth["carbohydrate"] * rng.uniform(0.9, 1.0)
    return truth


def _us(
    truth: dict[str, float], density: float | None, rng: np.random.Generator, ties: str
) -> dict[str, str]:
    size = int(rng.choice([15, 30, 60, 100, 150, 240]))
    grams = size * (density or 1.0)
    specific = bool(rng.integers(2))
    p, f, c = (4.27, 8.79, 3.87) if specific else (4.0, 9.0, 4.0)
    energy = p * truth["protein"] + f * truth["fat"] + c * truth["carbohydrate"]
    printed = {**truth, "energy": energy}
    names = ["energy", "fat", "saturated-fat", "carbohydrate", "sugars", "protein", "sodium"]
    names += [name for name in ("potassium", "calcium") if rng.integers(2)]
    return {
        "serving": f"{size} mL" if density else f"{size} g",
        **{n: us_figure(n, Decimal(repr(printed[n] * grams / 100)), ties) for n in names},
    }


def _eu(
    truth: dict[str, float],
    density: float | None,
    rng: np.random.Generator,
    ties: str,
    by_law: bool,
) -> dict[str, str]:
    """Carbohydrate as analysed, or by difference from what was printed as protein."""
    truth = {name: value * (density or 1.0) for name, value in truth.items()}
    protein = truth["protein"] * (BY_LAW if by_law else 1.0)
    by_difference = bool(rng.integers(2))
    carbohydrate = truth["carbohydrate"] + (truth["protein"] - protein) * by_difference
    printed = {**truth, "protein": protein, "carbohydrate": carbohydrate}
    printed["salt"] = printed["sodium"] * 2.5 / 1000
    names = ["fat", "saturated-fat", "carbohydrate", "sugars", "protein", "salt"]
    panel = {n: eu_figure(n, Decimal(repr(printed[n])), ties) for n in names}
    if rng.integers(2):
        energy = 4 * protein + 9 * truth["fat"] + 4 * carbohydrate
        panel["energy"] = eu_figure("energy", Decimal(repr(energy)), ties)
    else:
        energy = 17 * protein + 37 * truth["fat"] + 17 * carbohydrate
        panel["energy"] = f"{eu_figure('energy', Decimal(repr(energy)), ties)} kJ"
    return {"per": "100 mL" if density else "100 g", **panel}
