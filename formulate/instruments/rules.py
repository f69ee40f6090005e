"""Published formulas for what instruments read in milk, and the density of milk by temperature.

All of them are data (``nutrient_tables/instruments.toml``). A formula for solids is

    solids = per_degree · reading + per_fat · fat + constant        [g/100 g as fed]

and is turned round here: composition in, reading out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.foods.tables import read_toml

__all__ = [
    "Outside",
    "SolidsRule",
    "Swap",
    "expansion",
    "instrument_data",
    "limits",
    "outside",
    "ranges_in",
    "rules_of",
    "section",
    "swaps",
    "temperatures",
    "water_density",
]

Array = NDArray[np.float64]

#: Temperature [°C] of the partial densities in `formulate.foods.measures`.
REFERENCE = 20.0


@dataclass(frozen=True, eq=False)
class SolidsRule(ByContent):
    """One published formula.

    Parameters
    ----------
    id : str
    instrument : str
    per_degree, per_fat, constant : float
        Of the solids [g/100 g as fed]; see the top of this module.
    sd : float
        One standard deviation of what it foretells, in degrees.
    source, why : str
    marked : float
        Temperature of its instrument [°C].
    scale : str
        "density", "gravity", or empty if there is no temperature.
    ranges : mapping of str to (float, float)
        Milks it is for: solids, fat, solids-not-fat [g/100 g], fat_share [g/g].
    """

    id: str
    instrument: str
    per_degree: float
    per_fat: float
    constant: float
    sd: float
    source: str
    why: str
    marked: float
    scale: str
    ranges: Mapping[str, tuple[float, float]]

    def reading(self, solids: Array, fat: Array) -> Array:
        """What the instrument reads in a milk of these solids and this fat [g/100 g as fed]."""
        return (solids - self.per_fat * fat - self.constant) / self.per_degree

    def solids(self, reading: float, fat: float = 0.0) -> float:
        """Solids [g/100 g as fed] as the formula is printed."""
        return self.per_degree * reading + self.per_fat * fat + self.constant

    def outside(self, solids: float, fat: float) -> tuple[Outside, ...]:
        """Ranges that a milk [g/100 g] lies outside of; none if the formula is for it."""
        return outside(self.ranges, solids, fat)


@dataclass(frozen=True, slots=True)
class Outside:
    """A range that a milk lies outside of.

    Parameters
    ----------
    name : str
        solids, fat, solids-not-fat [g/100 g as fed] or fat_share [g fat/g solids-not-fat].
    value, low, high : float
    """

    name: str
    value: float
    low: float
    high: float


def outside(
    ranges: Mapping[str, tuple[float, float]], solids: float, fat: float
) -> tuple[Outside, ...]:
    """Which of these ranges a milk [g/100 g] lies outside of."""
    rest = solids - fat
    values = {
        "solids": solids,
        "fat": fat,
        "solids-not-fat": rest,
        "fat_share": fat / rest if rest > 0 else np.inf,
    }
    return tuple(
        Outside(name, values[name], low, high)
        for name, (low, high) in ranges.items()
        if not low <= values[name] <= high
    )


_RANGES = ("solids", "fat", "solids-not-fat", "fat_share")


def ranges_in(entry: Mapping[str, Any]) -> dict[str, tuple[float, float]]:
    """Ranges that a table of the file gives."""
    return {name: (entry[name][0], entry[name][1]) for name in _RANGES if name in entry}


@dataclass(frozen=True, slots=True)
class Swap:
    """A food that may be taken for another.

    Parameters
    ----------
    asked : tuple of str
        Ids of foods in a recipe.
    taken : str
        Id of what may have gone in.
    why : str
    """

    asked: tuple[str, ...]
    taken: str
    why: str


@cache
def _data() -> Mapping[str, Any]:
    return read_toml("instruments.toml")


def instrument_data(name: str) -> Mapping[str, Any]:
    """The table of an instrument: its title, unit, limits and error."""
    found: Mapping[str, Any] = _data()["instruments"][name]
    return found


def section(name: str) -> Mapping[str, Any]:
    """One of the file's other tables."""
    found: Mapping[str, Any] = _data()[name]
    return found


def limits(instrument: str) -> tuple[float, float]:
    """Readings taken seriously, in the instrument's unit."""
    entry = instrument_data(instrument)
    return float(entry["low"]), float(entry["high"])


def temperatures() -> tuple[float, float]:
    """Coldest and warmest milk [°C] whose density is known."""
    entry = _data()["density"]
    return float(entry["coldest"]), float(entry["warmest"])


@cache
def rules_of(instrument: str) -> tuple[SolidsRule, ...]:
    """Formulas of an instrument, the one to be believed first in front."""
    return tuple(
        SolidsRule(
            id=entry["id"],
            instrument=entry["instrument"],
            per_degree=float(entry["per_degree"]),
            per_fat=float(entry["per_fat"]),
            constant=float(entry["constant"]),
            sd=float(entry["sd"]),
            source=entry["source"],
            why=entry["why"],
            marked=float(entry.get("marked", REFERENCE)),
            scale=entry.get("scale", ""),
            ranges=ranges_in(entry),
        )
        for entry in _data()["formulas"]
        if entry["instrument"] == instrument
    )


@cache
def swaps() -> tuple[Swap, ...]:
    """Foods that may be taken for each other."""
    return tuple(
        Swap(tuple(entry["asked"]), entry["taken"], entry["why"]) for entry in _data()["swaps"]
    )


def water_density(celsius: float) -> float:
    """Density of water [g/mL]."""
    entry = _data()["density"]["water"]
    return float(np.interp(celsius, entry["celsius"], entry["density"]))


@cache
def _dairy_expansion() -> tuple[float, float, float]:
    """Least-squares fit of the density table: how fat and solids-not-fat swell.

    Returns
    -------
    fat, fat_squared, rest : float
        With u = °C above 20: a gram of fat takes ``fat · u + fat_squared · u²`` mL more room
        than at 20 °C, a gram of solids-not-fat ``rest · u``; water swells by its own table.
    """
    table = _data()["density"]["dairy"]
    at_reference = table["celsius"].index(REFERENCE)
    rows, swelling = [], []
    for product in table["rows"]:
        fat, rest = product["fat"], product["solids-not-fat"]
        water = 100 - fat - rest
        for celsius, density in zip(table["celsius"], product["density"], strict=True):
            u = celsius - REFERENCE
            if not u:
                continue
            grown = 100 / density - 100 / product["density"][at_reference]
            swelling.append(grown - water * _water_swelling(celsius))
            rows.append((fat * u, fat * u * u, rest * u))
    fitted = np.linalg.lstsq(np.array(rows), np.array(swelling), rcond=None)[0]
    return float(fitted[0]), float(fitted[1]), float(fitted[2])


def _water_swelling(celsius: float) -> float:
    return 1 / water_density(celsius) - 1 / water_density(REFERENCE)


def expansion(celsius: float, fat: Array, rest: Array, water: Array) -> Array:
    """How much more room [mL] than at 20 °C these grams of fat, other solids and water take."""
    u = celsius - REFERENCE
    per_fat, per_fat_squared, per_rest = _dairy_expansion()
    grown: Array = (
        fat * (per_fat * u + per_fat_squared * u * u)
        + rest * per_rest * u
        + water * _water_swelling(celsius)
    )
    return grown
