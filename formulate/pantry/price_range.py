"""Ranges of prices as people write them: ``whole-milk=2.5..6``."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.units import with_points

__all__ = ["Vary", "parse_vary"]

_NUMBER = re.compile(r"\d+(\.\d+)?|\.\d+")

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
        If it is not a range: no food, no number, below zero, the wrong way round, or a single
        price.
    """
    food, equals, prices = (part.strip() for part in text.partition("="))
    prices = with_points(prices)
    low_text, dots, high_text = (part.strip() for part in prices.partition(".."))
    if not (food and equals and dots):
        raise InputError(say("prices.no-range", text=text.strip()), say("prices.write-range"))
    low, high = _price(low_text, text), _price(high_text, text)
    if low > high:
        raise InputError(
            say("prices.backwards", text=text.strip()),
            say("prices.backwards-remedy", food=food, low=high_text, high=low_text),
        )
    if low == high:
        raise InputError(
            say("prices.single", text=text.strip()),
            say("prices.single-remedy"),
        )
    return Vary(food, low, high)


def _price(written: str, text: str) -> float:
    if re.match(r"[-−]\s*[\d.]", written):
        raise InputError(
            say("prices.below-zero", price=written, text=text.strip()), say("prices.write-range")
        )
    if not _NUMBER.fullmatch(written):
        shown = f'"{written}"' if written else "nothing"
        raise InputError(
            say("prices.not-a-price", price=shown, text=text.strip()),
            f"{say('prices.write-range')} {say('prices.plain-numbers')}",
        )
    number = float(written)
    if not math.isfinite(number) or number > LARGEST:
        raise InputError(say("prices.too-large", price=written, text=text.strip()))
    return number
