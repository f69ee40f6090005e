"""Ranges of prices as people write them: ``whole-milk=2.5..6``."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from formulate.base.errors import InputError
from formulate.base.units import with_points

__all__ = ["Vary", "parse_vary"]

_NUMBER = re.compile(r"\d+(\.\d+)?|\.\d+")

_EXAMPLE = "Write FOOD=LOW..HIGH, as whole-milk=2.5..6."

#: No package costs more.
LARGEST = 1e6


@dataclass(frozen=True, slots=True)
class Vary:
    """A food's price from low to high.

    Parameters
    ----------
    food : str
        Name as written.
    low, high : float
        Money per package, as the pantry prices it.
    """

    food: str
    low: float
    high: float


def parse_vary(text: str) -> Vary:
    """Read a range of prices.

    Parameters
    ----------
    text : str
        ``FOOD=LOW..HIGH``

    Raises
    ------
    InputError
        If it is none: no food, no number, below zero, the wrong way round, or a single price.
    """
    food, equals, prices = (part.strip() for part in text.partition("="))
    prices = with_points(prices)
    low_text, dots, high_text = (part.strip() for part in prices.partition(".."))
    if not (food and equals and dots):
        raise InputError(f'"{text.strip()}" is no range of prices', _EXAMPLE)
    low, high = _price(low_text, text), _price(high_text, text)
    if low > high:
        raise InputError(
            f'"{text.strip()}" runs from the higher price to the lower',
            f"Write {food}={high_text}..{low_text}.",
        )
    if low == high:
        raise InputError(
            f'"{text.strip()}" is a single price, not a range',
            "Give two prices, the lower first; a price that stays belongs in the pantry.",
        )
    return Vary(food, low, high)


def _price(written: str, text: str) -> float:
    if re.match(r"[-−]\s*[\d.]", written):
        raise InputError(f'the price "{written}" in "{text.strip()}" is below zero', _EXAMPLE)
    if not _NUMBER.fullmatch(written):
        shown = f'"{written}"' if written else "nothing"
        raise InputError(
            f'{shown} in "{text.strip()}" is not a price',
            f"{_EXAMPLE} Prices are plain numbers with a decimal point, no currency sign.",
        )
    number = float(written)
    if not math.isfinite(number) or number > LARGEST:
        raise InputError(f'the price "{written}" in "{text.strip()}" is far too large')
    return number
