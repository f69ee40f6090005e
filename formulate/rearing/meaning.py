"""What a milk that misses its ranges means for the animal that drinks it."""

from __future__ import annotations

from formulate.rearing.figures import value
from formulate.rearing.milk import Milk

__all__ = ["protein_gain", "protein_of"]


def protein_of(milk: Milk) -> float:
    """Protein of a milk [g/L]."""
    return milk.protein / 100 * milk.solids_per_litre


def protein_gain(weight: float, protein: float) -> float:
    """Gain that protein allows [kg/d], at least 0.

    Parameters
    ----------
    weight : float
        [kg].
    protein : float
        Crude protein drunk in a day [g/d].

    Notes
    -----
    (0.72 × protein - 6.25 × 0.148 × weight^0.75) / 0.15, in g a day: what is absorbed, less
    what keeps the animal, over what a gram of gain holds. Reckoned from Jagusch, Norton & Walker
    and from Black & Griffiths 1975 (142 to 155 g of protein in a kilogram of gain).
    """
    kept = 6.25 * value("protein-endogenous") * weight**0.75
    grams: float = (value("protein-use") * protein - kept) / value("protein-per-gain")
    return max(grams, 0.0) / 1e3
