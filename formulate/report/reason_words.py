"""Amounts, prices and limits as reasons name them, and the rows of numbers behind them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from formulate.base import messages
from formulate.blend.prices.shadow_prices import Slope
from formulate.blend.problem import Limit, LimitKind
from formulate.foods.bands import Band, Basis
from formulate.report.words import unit_words

#: Package of each food: its words ("1 quart") and its weight [g].
Packages = Mapping[str, tuple[str, float]]


@dataclass(frozen=True)
class Told:
    """Sentences, and the numbers behind them.

    Parameters
    ----------
    sentences : tuple of str
    rows : tuple of dict
        Plain values; None if a number has no end or is not known.
    """

    sentences: tuple[str, ...]
    rows: tuple[dict[str, Any], ...]


# --- words ----------------------------------------------------------------------------------


def label(band: Band) -> str:
    """Plain words of a band, without what stands in brackets: "milk sugar"."""
    return band.label.partition(" (")[0]


def amount(value: float, band: Band, of: str = "") -> str:
    """A value with its unit: "5.4 % milk sugar", "28 % fat in the dry matter"; as fed is plain."""
    of = f" {of}" if of else ""
    if band.basis is Basis.RATIO:
        return f"{value:.6g}{of}" if of else f"{value:.6g} to 1"
    if band.unit == "g/100 g":
        dry = f" {'in' if of else 'of'} the dry matter" if band.basis is Basis.DRY_MATTER else ""
        return f"{value:.6g} %{of}{dry}"
    return f"{value:.6g} {unit_words(band)}{of}"


def value(value: float, limit: Limit) -> str:
    """A value of a limit that was named before: its unit without the basis."""
    if limit.band is None:
        return share(value) if limit.kind is LimitKind.SHARE else weight(value)
    if limit.band.basis is Basis.RATIO:
        return f"{value:.6g} to 1"
    return f"{value:.6g} {'%' if limit.band.unit == 'g/100 g' else limit.band.unit}"


def share(share: float) -> str:
    """A share in per cent."""
    return f"{100 * share:.4g} %"


def weight(grams: float) -> str:
    """A weight to three figures: "4.61 g", "88.7 g", "2,410 g"."""
    return f"{rounded(grams, round):,.6g} g" if grams < 1e5 else f"{grams / 1e3:,.0f} kg"


def rounded(value: float, way: Callable[[float], int]) -> float:
    """A value to three figures, rounded by `way`; a hair beyond a round number is that number."""
    if value == 0 or not math.isfinite(value):
        return value
    unit = 10.0 ** (math.floor(math.log10(abs(value))) - 2)
    near = round(value / unit)
    figures = near if abs(value / unit - near) < 1e-6 else way(value / unit)
    return float(f"{figures * unit:.6g}")


def money(value: float, currency: str) -> str:
    """Money to the cent."""
    return f"{value:,.2f} {currency}".rstrip()


def small_money(value: float, currency: str) -> str:
    """An amount that may be a few cents or less: "1.20 USD", "0.015 USD"."""
    if value >= 0.0995:
        return money(value, currency)
    if value < 0.0005:
        return messages.say("costs.tiny", currency=currency).rstrip()
    figures = f"{value:.3f}"
    return f"{figures[:-1] if figures.endswith('0') else figures} {currency}".rstrip()


def price(
    per_gram: float, food: str, currency: str, packages: Packages, way: Callable[[float], int]
) -> str:
    """A price as people meet it: "9.80 USD a quart", "2.10 USD a kg"; cents rounded by `way`."""
    words, grams = packages.get(food, ("1 kg", 1e3))
    if not math.isfinite(per_gram):
        return messages.say("costs.any-price")
    cents = per_gram * grams * 100
    near = round(cents)
    shown = near if abs(cents - near) < 1e-6 * max(1.0, abs(cents)) else way(cents)
    first, _, rest = words.partition(" ")
    each = f"a {rest}" if first == "1" and rest else f"for {words}"
    return f"{money(shown / 100, currency)} {each}"


def capital(text: str) -> str:
    """A text that starts a sentence."""
    return text[:1].upper() + text[1:]


def lower(text: str) -> str:
    """A text that stands within a sentence."""
    return text[:1].lower() + text[1:]


# --- rows -----------------------------------------------------------------------------------


def plain(value: float | None) -> float | None:
    """A number for JSON; None if it has no end."""
    return None if value is None or not math.isfinite(value) else float(value)


def limit_row(limit: Limit) -> dict[str, Any]:
    """A limit as plain values."""
    band = limit.band
    unit = {LimitKind.SHARE: "g/g", LimitKind.STOCK: "g", LimitKind.SMALLEST: "g"}
    return {
        "kind": limit.kind.value,
        "measure": band.measure if band else None,
        "over": (band.over or None) if band else None,
        "basis": band.basis.value if band else None,
        "role": band.role.value if band else None,
        "food": limit.food or None,
        "value": limit.value,
        "unit": band.unit if band else unit[limit.kind],
    }


def slope_row(side: str, slope: Slope | None) -> dict[str, Any]:
    """What a limit costs to one side, as plain values."""
    return {
        f"{side}_per_unit": None if slope is None else slope.rate,
        f"{side}_until": None if slope is None else plain(slope.until),
        f"{side}_per_unit_there": None if slope is None else slope.rate_until,
        f"{side}_per_step": None if slope is None else slope.step_change,
    }


def price_row(food: str, price: float, currency: str, packages: Packages) -> dict[str, Any]:
    """A food's price per kilogram and its package, as plain values."""
    words, grams = packages.get(food, (None, None))
    return {
        "food": food,
        "price": price * 1e3,
        "unit": f"{currency}/kg".lstrip("/"),
        "package": words,
        "package_grams": grams,
    }
