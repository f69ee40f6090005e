"""Soured milk: how acid a mix with cultured foods is, and whether warming will curdle it.

The pH follows from the lactic acid that a culture made, over the protein that binds it, by a
curve kept as data (``nutrient_tables/souring.toml``), good to 0.2. Casein begins to clump at a pH
that rises with the temperature, and higher where the milk was heated far beyond pasteurising: the
onset of a mix lies between the two by its protein. Water changes neither: it thins acid and
protein alike.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from formulate.blend.mix import Mix
from formulate.foods.bands import Band, Basis, Role, numerator_for
from formulate.foods.food import Food
from formulate.foods.tables import read_toml, table_composition

__all__ = ["EITHER_WAY", "Souring", "curdling_onset", "ph_of_acid", "souring_of", "was_heated"]

#: Read as a ceiling, so that similar foods stand in if a culture's acid is not known.
_ACID = Band("lactic-acid", Basis.AS_FED, "g/100 g", high=0.1, role=Role.SHOWN)


@cache
def _data() -> Mapping[str, Any]:
    return read_toml("souring.toml")


#: Half-width of a pH that the curve gives.
EITHER_WAY: float = _data()["curve"]["either_way"]


@dataclass(frozen=True, slots=True)
class Souring:
    """A mix with soured foods in it.

    Parameters
    ----------
    ph : float
        Estimated, good to `EITHER_WAY`; never below the end of the curve, 4.0.
    onset : float
        The pH at which warming to `celsius` begins to curdle it.
    celsius : float
    foods : tuple of str
        Ids of the foods that bring acid.
    """

    ph: float
    onset: float
    celsius: float
    foods: tuple[str, ...]

    @property
    def past_onset(self) -> float:
        """How far it is past the onset of curdling [pH]; below 0 if it has not reached it."""
        return self.onset - self.ph


def souring_of(mix: Mix, celsius: float | None = None) -> Souring | None:
    """How sour a mix is, and at what pH it curdles.

    Parameters
    ----------
    mix : Mix
    celsius : float, optional
        Warmed to this; by default as milk is fed, 39 °C.

    Returns
    -------
    Souring or None
        None without soured food, or where acid or protein of a food is not known.
    """
    warm = float(_data()["onset"]["warm"]) if celsius is None else celsius
    used, composition = mix.grams > 0, mix.shelf.composition
    row, _ = numerator_for(_ACID, composition, table_composition())
    acids = row[used] * mix.grams[used]
    acid = float(acids.sum())
    if not (math.isfinite(acid) and acid > 0):
        return None
    protein = (composition.row("protein") * mix.grams)[used]
    total = float(protein.sum())
    if not (math.isfinite(total) and total > 0):
        return None
    foods = [food for food, there in zip(mix.shelf.foods, used, strict=True) if there]
    soured = tuple(food.id for food, grams in zip(foods, acids, strict=True) if grams > 0)
    hot = float(protein[[was_heated(food) for food in foods]].sum()) / total
    return Souring(ph_of_acid(acid / total), curdling_onset(warm, hot), warm, soured)


def ph_of_acid(per_protein: float) -> float:
    """The pH of milk by the lactic acid made in it over its protein [g/g]."""
    ordinary, curve = _data()["ordinary"], _data()["curve"]
    in_a_litre = per_protein * ordinary["protein"] * 10.0 * ordinary["density"]
    return float(np.interp(in_a_litre, curve["lactic"], curve["ph"]))


def curdling_onset(celsius: float, heated: float) -> float:
    """The pH at which casein begins to clump.

    Parameters
    ----------
    celsius : float
        Temperature [°C].
    heated : float
        Share of the protein that comes from UHT, canned or dried milk [g/g].
    """
    onset = _data()["onset"]
    return float(onset["at_25"] + onset["per_degree"] * (celsius - 25.0) + onset["heated"] * heated)


def was_heated(food: Food) -> bool:
    """Whether a food's milk was heated far beyond pasteurising."""
    words = f"{food.id.replace('-', ' ')} {food.name}".lower()
    onset = _data()["onset"]
    return food.kind in onset["heated_kinds"] or any(w in words for w in onset["heated_words"])
