"""What a mix should read, by its composition, and how far that may be off.

Mixes are rows of *totals*: weight, water, fat, volume and osmoles of each. Three things keep a
reading from what is foretold, and are kept apart: the instrument, the formula, and the cartons,
which differ from the table's average (that is the same for all instruments at once, and is
added in `formulate.instruments.hold`).

Where a formula is not made for a mix its error grows: by what the formulas differ from each
other there, and on a refractometer by the fat that a cow's milk would not have.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.foods.food import Food, row_numbers
from formulate.foods.measures import MASS
from formulate.instruments.readings import Instrument, Reading
from formulate.instruments.rules import (
    REFERENCE,
    SolidsRule,
    expansion,
    instrument_data,
    rules_of,
    section,
    water_density,
)

__all__ = ["ROWS", "Expected", "expected", "instrument_sd", "natural", "rule_for"]

Array = NDArray[np.float64]

#: Measures from which readings are predicted, in the order of a row of totals.
TOTALS = (MASS, "water", "fat", "volume", "osmoles")
#: Their row numbers in `Composition.per_gram`.
ROWS = row_numbers(TOTALS)


@dataclass(frozen=True, eq=False)
class Expected(ByContent):
    """What h mixes should read on one instrument.

    Parameters
    ----------
    value : ndarray, shape (h,)
        In the instrument's unit.
    sd : ndarray, shape (h,)
        Standard deviation of the formula, the same unit.
    """

    value: Array
    sd: Array


def instrument_sd(reading: Reading) -> float:
    """Standard deviation of the instrument itself, in its unit."""
    entry = instrument_data(reading.instrument)
    sd = float(entry["sd"])
    if reading.instrument is not Instrument.WEIGHING:
        return sd
    filled = max(float(entry["fill_ml"]), float(entry["fill_share"]) * reading.volume)
    return math.hypot(sd, filled * reading.value / reading.volume)


def natural(foods: Sequence[Food]) -> bool:
    """Whether foods are cow's milk and cream as they are, whose freezing point is well known."""
    entry = section("freezing-point")
    return all(f.kind in entry["natural_kinds"] and f.id not in entry["not_natural"] for f in foods)


def rule_for(instrument: str, solids: float, fat: float) -> SolidsRule:
    """The first formula that is for such a milk [g/100 g as fed]; the first of all where none is.

    Decided once for a recipe, so that what its slips should read can be compared.
    """
    rules = rules_of(instrument)
    return next((rule for rule in rules if not rule.outside(solids, fat)), rules[0])


def expected(
    reading: Reading, totals: Array, rule: SolidsRule | None, is_natural: bool
) -> Expected:
    """What mixes should read.

    Parameters
    ----------
    reading : Reading
        The instrument, with its temperatures and its cup.
    totals : ndarray, shape (h, 5)
        Of each mix, in the order of `TOTALS`.
    rule : SolidsRule or None
        Formula to go by, of Brix and lactometer (`rule_for`).
    is_natural : bool
        Whether the freezing point is that of plain cow's milk (`natural`).
    """
    mass, water, fat, _, osmoles = totals.T
    if reading.instrument is Instrument.FREEZING_POINT:
        return _freezing_point(osmoles, water, is_natural)
    if reading.instrument is Instrument.WEIGHING:
        density = _density(totals, reading.celsius)
        return Expected(
            reading.volume * density,
            np.full_like(density, reading.volume * _density_sd(reading.celsius)),
        )
    assert rule is not None
    solids, fat_share = 100 * (mass - water) / mass, 100 * fat / mass
    if reading.instrument is Instrument.BRIX:
        return _brix(rule, solids, fat_share)
    return _lactometer(reading, rule, totals, solids, fat_share)


def _brix(rule: SolidsRule, solids: Array, fat: Array) -> Expected:
    value = rule.reading(solids, fat)
    usual = float(section("fat-in-brix")["fat_per_solids_not_fat"]) * (solids - fat)
    others = _rms([r.reading(solids, fat) - value for r in rules_of("brix") if r is not rule])
    return Expected(value, np.sqrt(rule.sd**2 + ((fat - usual) / 2) ** 2 + others**2))


def _lactometer(
    reading: Reading, rule: SolidsRule, totals: Array, solids: Array, fat: Array
) -> Expected:
    """Each formula's density, taken to the milk's temperature, on the person's own scale."""

    def by(other: SolidsRule) -> Array:
        there = _scale_of(other.marked, other.scale)
        dense = (1 + other.reading(solids, fat) / 1000) * there
        return dense + _density(totals, reading.celsius) - _density(totals, other.marked)

    base = _scale_of(reading.marked, "density" if _is_density_scale(reading) else "gravity")
    density = by(rule)
    rivals = [by(r) - density for r in rules_of("lactometer") if r is not rule]
    rivals.append(_density(totals, reading.celsius) - density)
    sd = np.sqrt((rule.sd / 1000) ** 2 + _rms(rivals) ** 2 + _warmth_sd(reading.celsius) ** 2)
    return Expected(1000 * (density / base - 1), 1000 * sd)


def _is_density_scale(reading: Reading) -> bool:
    """Stems marked for 20 °C show grams a millilitre, others compare with water (from memory)."""
    return abs(reading.marked - REFERENCE) < 0.01


def _scale_of(celsius: float, scale: str) -> float:
    return 1.0 if scale == "density" else water_density(celsius)


def _freezing_point(osmoles: Array, water: Array, is_natural: bool) -> Expected:
    entry = section("freezing-point")
    # mOsm over grams of water is osmoles over kilograms.
    value = -float(entry["per_osmole"]) * osmoles / water
    sd = float(entry["natural_sd"]) if is_natural else float(entry["share_sd"]) * np.abs(value)
    return Expected(value, np.broadcast_to(sd, value.shape))


def _density(totals: Array, celsius: float) -> Array:
    """Density of mixes [g/mL], shape (h,)."""
    mass, water, fat, volume, _ = totals.T
    density: Array = mass / (volume + expansion(celsius, fat, mass - water - fat, water))
    return density


def _density_sd(celsius: float) -> float:
    return math.hypot(float(section("density")["sd"]), _warmth_sd(celsius))


def _warmth_sd(celsius: float) -> float:
    return float(section("density")["sd_per_celsius"]) * abs(celsius - REFERENCE)


def _rms(differences: Sequence[Array]) -> Array:
    """Root mean square of some arrays, element by element."""
    found: Array = np.sqrt(np.mean(np.square(np.array(differences)), axis=0))
    return found
