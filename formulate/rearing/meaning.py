"""Protein of a milk: the gain it allows, whatever the energy."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formulate.rearing.figures import value
from formulate.rearing.milk import Milk

__all__ = ["protein_gain", "protein_of"]


def protein_of(milk: Milk) -> float:
    """Protein of a milk [g/L]."""
    return milk.protein / 100 * milk.solids_per_litre


def protein_gain(weight: ArrayLike, protein: ArrayLike) -> NDArray[np.float64]:
    """Gain that protein allows [kg/d]; below zero where it does not even keep the animal.

    Parameters
    ----------
    weight : array_like
        [kg].
    protein : array_like
        Crude protein eaten in a day [g/d].

    Notes
    -----
    (0.72 × protein - 6.25 × 0.148 × weight^0.75) / 0.15, in g a day: what is absorbed, less
    what keeps the animal, over what a gram of gain holds. Reckoned from Jagusch, Norton & Walker
    and from Black & Griffiths 1975 (142 to 155 g of protein in a kilogram of gain).
    """
    kept = 6.25 * value("protein-endogenous") * np.asarray(weight, float) ** 0.75
    grams = (value("protein-use") * np.asarray(protein) - kept) / value("protein-per-gain")
    return np.asarray(grams / 1e3)
