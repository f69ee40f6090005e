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


def amount(value: float, band: Band) -> str:
    """A value with its unit: "5.4 %", "28 % of the dry matter", "2 to 1"; as fed is plain."""
    return messages.say(f"bands.amount.{_form(band)}", value=value, unit=unit_words(band))


def amount_of(value: float, band: Band) -> str:
    """A value with its unit and name: "5.4 % milk sugar", "28 % fat in the dry matter"."""
    return messages.say(
        f"bands.amount-of.{_form(band)}", value=value, unit=unit_words(band), what=label(band)
    )


def step(value: float, band: Band) -> str:
    """A small change of a value, with its unit: "0.1 %", "5 mg a litre", "0.1"."""
    if band.basis is Basis.RATIO:
        return f"{value:.6g}"
    return f"{value:.6g} {'%' if band.unit == 'g/100 g' else unit_words(band)}"


def basis_label(band: Band) -> str:
    """What a change in per cent is of: "fat in the dry matter", or the plain label."""
    if _form(band) == "percent-dry":
        return messages.say("bands.in-dry-matter", what=label(band))
    return label(band)


def _form(band: Band) -> str:
    """The message that says an amount of a band."""
    if band.basis is Basis.RATIO:
        return "ratio"
    if band.unit != "g/100 g":
        return "unit"
    return "percent-dry" if band.basis is Basis.DRY_MATTER else "percent"


def value(value: float, limit: Limit) -> str:
    """A value of a limit that was named before: its unit without the basis."""
    if limit.band is None:
        return share(value) if limit.kind is LimitKind.SHARE else weight(value)
    if limit.band.basis is Basis.RATIO:
        return messages.say("bands.amount.ratio", value=value)
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
    return _each(money(_to_the_cent(per_gram * grams, way), currency), words)


def price_span(low: float, high: float, food: str, currency: str, packages: Packages) -> str:
    """Prices between which something holds: "4.97 to 5.93 USD a quart"."""
    words, grams = packages.get(food, ("1 kg", 1e3))
    least = f"{_to_the_cent(low * grams, math.ceil):,.2f}"
    most = money(_to_the_cent(high * grams, math.floor), currency)
    return _each(messages.say("costs.span", low=least, high=most), words)


def _to_the_cent(value: float, way: Callable[[float], int]) -> float:
    """Money rounded to the cent by `way`; a hair beyond a cent is that cent."""
    cents = value * 100
    near = round(cents)
    return (near if abs(cents - near) < 1e-6 * max(1.0, abs(cents)) else way(cents)) / 100


def _each(told: str, words: str) -> str:
    """Money for a package."""
    first, _, rest = words.partition(" ")
    if first == "1" and rest:
        return messages.say("costs.price-each", money=told, package=rest)
    return messages.say("costs.price-for", money=told, package=words)


def capital(text: str) -> str:
    """A text that starts a sentence."""
    return text[:1].upper() + text[1:]


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
