"""Compare a recipe with what instruments read.

A `Bench` foretells readings of any amounts of some foods, with all their errors: a batch of
one carton of each food differs from the table's average (`formulate.foods.spread`), which moves all
readings at once; each instrument and each formula has an error of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError, MissingComposition
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.foods.food import Composition, Food
from formulate.foods.measures import measure
from formulate.foods.spread import Spread, spread_of
from formulate.foods.tables import default_spreads
from formulate.instruments.expect import (
    ROWS,
    TOTALS,
    expected,
    instrument_sd,
    natural,
    rule_for,
)
from formulate.instruments.readings import Instrument, Reading
from formulate.instruments.rules import Outside, SolidsRule, instrument_data, outside, ranges_in
from formulate.instruments.rules import section as data_of

__all__ = ["Bench", "Foretold", "HeldRecipe", "hold"]

Array = NDArray[np.float64]

#: Standard deviations that hold 19 of 20.
Z = 1.959963984540054
_BY_RULE = (Instrument.BRIX, Instrument.LACTOMETER)
#: Step of a numerical gradient, relative to the weight of a mix.
_STEP = 1e-6


@brief_repr
@dataclass(frozen=True, slots=True)
class HeldRecipe:
    """One reading, and what it should have been.

    Parameters
    ----------
    reading : Reading
    should_read : float
        By the recipe's composition, in the instrument's unit.
    error : float
        19 of 20 right mixes read within this much of it.
    outside : tuple of Outside
        Why the formula is not made for such a mix.
    natural : bool
        False for a freezing point that rests on an estimate alone.
    source : str
        Key of the source list: the formula.
    rule : str
        Id of the formula; empty if composition tells by itself.
    """

    reading: Reading
    should_read: float
    error: float
    outside: tuple[Outside, ...]
    natural: bool
    source: str
    rule: str = ""

    @property
    def valid(self) -> bool:
        """Whether the formula is made for such a mix."""
        return self.natural and not self.outside

    @property
    def off(self) -> float:
        """How much more it reads than it should."""
        return self.reading.value - self.should_read

    @property
    def agrees(self) -> bool:
        """Whether it reads what it should, within the error."""
        return abs(self.off) <= self.error


@dataclass(frozen=True, eq=False)
class Foretold(ByContent):
    """What h mixes should read on r instruments.

    Parameters
    ----------
    values : ndarray, shape (h, r)
    covariance : ndarray, shape (h, r, r)
        Of instrument, formula and cartons.
    """

    values: Array
    covariance: Array

    def chi_square(self, readings: Array) -> Array:
        """Distance of the readings from each mix, in squared standard deviations, shape (h,)."""
        off = readings - self.values
        solved = np.linalg.solve(self.covariance, off[:, :, None])[:, :, 0]
        distance: Array = (off * solved).sum(axis=1)
        return distance


@dataclass(frozen=True, eq=False)
class Bench(ByContent):
    """Foretells readings of amounts of n foods.

    Parameters
    ----------
    foods : tuple of Food
        The recipe's first, then others that may have got in.
    recipe : ndarray, shape (n,)
        Grams as written: it decides which formulas to go by.
    readings : tuple of Reading
    """

    foods: tuple[Food, ...]
    recipe: Array
    readings: tuple[Reading, ...]

    def __post_init__(self) -> None:
        if not self.readings:
            raise InputError(say("instruments.none"), say("instruments.none-remedy"))
        needed = [*TOTALS] if self._asks_osmoles else [name for name in TOTALS if name != "osmoles"]
        for name in needed:
            lacks = [
                food.id
                for food, value in zip(self.foods, self.composition.row(name), strict=True)
                if not np.isfinite(value)
            ]
            if lacks:
                what = "freezing-point" if name == "osmoles" else "reading"
                wanted_by = say(f"instruments.wanted-by.{what}")
                raise MissingComposition(measure(name).label, lacks, wanted_by)

    @property
    def _asks_osmoles(self) -> bool:
        return any(r.instrument is Instrument.FREEZING_POINT for r in self.readings)

    @cached_property
    def composition(self) -> Composition:
        """Of the foods."""
        return Composition.of(self.foods)

    @cached_property
    def _spread(self) -> Spread:
        return spread_of(self.composition, default_spreads())

    @cached_property
    def natural(self) -> bool:
        """Whether the recipe is plain cow's milk and cream."""
        used = [f for f, grams in zip(self.foods, self.recipe, strict=True) if grams > 0]
        return natural(used)

    @cached_property
    def solids_and_fat(self) -> tuple[float, float]:
        """Of the recipe [g/100 g as fed]."""
        mass, water, fat = (float(self.composition.row(name) @ self.recipe) for name in TOTALS[:3])
        return 100 * (mass - water) / mass, 100 * fat / mass

    @cached_property
    def rules(self) -> tuple[SolidsRule | None, ...]:
        """Formula that each reading goes by."""
        return tuple(
            rule_for(r.instrument, *self.solids_and_fat) if r.instrument in _BY_RULE else None
            for r in self.readings
        )

    def foretell(self, grams: Array) -> Foretold:
        """What mixes should read.

        Parameters
        ----------
        grams : ndarray, shape (h, n)
            Of each food in each mix; no mix is empty.
        """
        totals = grams @ np.nan_to_num(self.composition.per_gram[ROWS]).T
        values = np.empty((len(grams), len(self.readings)))
        covariance = np.zeros((len(grams), len(self.readings), len(self.readings)))
        slopes = np.empty((len(grams), len(self.readings), len(TOTALS)))
        step = _STEP * totals[:, :1]
        for k, (reading, rule) in enumerate(zip(self.readings, self.rules, strict=True)):
            told = expected(reading, totals, rule, self.natural)
            values[:, k] = told.value
            covariance[:, k, k] = instrument_sd(reading) ** 2 + told.sd**2
            for t in range(len(TOTALS)):
                moved = np.zeros_like(totals)
                moved[:, t] = step[:, 0]
                up = expected(reading, totals + moved, rule, self.natural).value
                down = expected(reading, totals - moved, rule, self.natural).value
                slopes[:, k, t] = (up - down) / (2 * step[:, 0])
        cartons = np.array([self._spread.covariance(mix, ROWS) for mix in grams])
        covariance += slopes @ cartons @ slopes.transpose(0, 2, 1)
        return Foretold(values, covariance)

    def held(self) -> tuple[HeldRecipe, ...]:
        """The recipe as written, against each reading."""
        told = self.foretell(self.recipe[None, :])
        return tuple(
            HeldRecipe(
                reading,
                float(told.values[0, k]),
                Z * float(np.sqrt(told.covariance[0, k, k])),
                self._outside(reading, rule),
                self.natural or reading.instrument is not Instrument.FREEZING_POINT,
                self._source(reading, rule),
                "" if rule is None else rule.id,
            )
            for k, (reading, rule) in enumerate(zip(self.readings, self.rules, strict=True))
        )

    def _outside(self, reading: Reading, rule: SolidsRule | None) -> tuple[Outside, ...]:
        if rule is not None:
            return rule.outside(*self.solids_and_fat)
        return outside(ranges_in(instrument_data(reading.instrument)), *self.solids_and_fat)

    def _source(self, reading: Reading, rule: SolidsRule | None) -> str:
        if rule is not None:
            return rule.source
        if reading.instrument is Instrument.WEIGHING:
            return str(data_of("density")["source"])
        entry = data_of("freezing-point")
        return str(entry["natural_source"] if self.natural else entry["source"])


def hold(
    foods: Sequence[Food], grams: Array, readings: Sequence[Reading]
) -> tuple[HeldRecipe, ...]:
    """Hold a mix to what instruments read of it.

    Parameters
    ----------
    foods : sequence of Food, length n
    grams : ndarray, shape (n,)
    readings : sequence of Reading

    Raises
    ------
    MissingComposition
        If a food lacks what a reading is foretold from: missing is not zero.
    """
    return Bench(tuple(foods), np.asarray(grams, dtype=float), tuple(readings)).held()
