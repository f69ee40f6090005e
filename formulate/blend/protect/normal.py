"""The normal distribution in numpy alone, because loading scipy takes longer than a mix.

Between the points of a table the curve is taken as straight: a chance is off by less than 1e-6,
a value by less than 1e-5, which a chance in per cent never shows. `tail` is exact to double
precision, for few values.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray

__all__ = ["below", "inverse", "tail"]

Array = NDArray[np.float64]

#: The table goes this far to each side, with so many steps to 1.
_END, _STEPS = 9.0, 500


def tail(z: Array) -> Array:
    """Chance that a standard normal is below each value, exactly; a few values."""
    flat = [0.5 * math.erfc(-x / math.sqrt(2.0)) for x in np.ravel(z).tolist()]
    return np.array(flat).reshape(np.shape(z))


@cache
def _table() -> tuple[Array, Array]:
    at = np.linspace(-_END, _END, int(2 * _END * _STEPS) + 1)
    return at, tail(at)


def below(z: Array) -> Array:
    """Chance that a standard normal is below each value."""
    _, chances = _table()
    place = np.clip((z + _END) * _STEPS, 0.0, len(chances) - 1.000001)
    whole = place.astype(np.intp)
    low: Array = chances[whole]
    return low + (place - whole) * (chances[whole + 1] - low)


def inverse(chance: Array) -> Array:
    """Value that a standard normal is below with each chance."""
    at, chances = _table()
    lower = np.interp(np.minimum(chance, 0.5), chances, at)
    upper = -np.interp(np.minimum(1.0 - chance, 0.5), chances, at)
    return np.where(chance <= 0.5, lower, upper)
