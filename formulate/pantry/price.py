"""A price as people write it."""

from __future__ import annotations

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.units import parse_decimal

__all__ = ["parse_price"]

#: No package costs more [money].
LARGEST = 1e6


def parse_price(text: str) -> float:
    """Read "3.89", "3,89" or "$3.89".

    Raises
    ------
    InputError
        If it is not a price.
    """
    price = parse_decimal(text.strip("$€£ "))
    if price > LARGEST:
        raise InputError(
            say("units.too-large", text=text), say("units.too-large-remedy", most=LARGEST)
        )
    return price
