"""Prints the figures of a panel by the law's rules, in decimals.

21 CFR 101.9(c) as FDA's labelling guide tables it, with calcium and potassium by weight from
memory; and the EU guidance on tolerances of 2012, from memory.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

__all__ = ["eu_figure", "nearest", "us_figure"]


def nearest(value: Decimal, step: str, ties: str) -> Decimal:
    return (value / Decimal(step)).quantize(Decimal(1), ties) * Decimal(step)


def us_figure(name: str, amount: Decimal, ties: str = ROUND_HALF_UP) -> str:
    """One figure of a US panel."""
    zero_below, turn, fine, coarse = {
        "energy": ("5", "50", "5", "10"),
        "fat": ("0.5", "5", "0.5", "1"),
        "saturated-fat": ("0.5", "5", "0.5", "1"),
        "sodium": ("5", "140", "5", "10"),
        "potassium": ("0", "0", "10", "10"),
        "calcium": ("0", "0", "10", "10"),
    }.get(name, ("0.5", "0", "1", "1"))
    if amount < Decimal(zero_below):
        return "0"
    if name in ("carbohydrate", "sugars", "protein", "fibre") and amount < 1:
        return "less than 1 g"
    # "Below 5 g" and "up to 50 calories": the end itself is on both grids.
    return f"{nearest(amount, fine if amount < Decimal(turn) else coarse, ties).normalize():f}"


def eu_figure(name: str, amount: Decimal, ties: str = ROUND_HALF_UP) -> str:
    """One figure of a panel per 100 g or 100 mL."""
    if name in ("energy", "potassium", "calcium"):
        return f"{nearest(amount, '1', ties):f}"
    if name == "salt":
        if amount <= Decimal("0.0125"):
            return "0"
        return f"{nearest(amount, '0.1' if amount >= 1 else '0.01', ties):f}"
    if amount <= (Decimal("0.1") if name == "saturated-fat" else Decimal("0.5")):
        return "0"
    return f"{nearest(amount, '1' if amount >= 10 else '0.1', ties):f}"
