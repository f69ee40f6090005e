"""Foods by their labels: a nutrition panel or guaranteed analysis becomes intervals and a food.

``rounding``   what one printed figure can stand for
``panel``      a panel as printed, read per serving
``facts``      the law, sums, guarantees and similar foods
``intervals``  the linear system of all of it, its ends, its middle, its smallest clash
``carton``     the food
"""

from __future__ import annotations

from formulate.pantry.labels.carton import Carton, Label, read_carton
from formulate.pantry.labels.panel import printed_in, rounding_of
from formulate.pantry.labels.rounding import Rounding, parse_figure, stands_for

__all__ = [
    "Carton",
    "Label",
    "Rounding",
    "parse_figure",
    "printed_in",
    "read_carton",
    "rounding_of",
    "stands_for",
]
