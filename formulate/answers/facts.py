"""The facts that conditions ask for: values and foods of a milk, age and stage of an animal."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from formulate.blend.mix import Mix
from formulate.foods.bands import Band, Read, read, value_of
from formulate.foods.food import Composition, Food, row_numbers
from formulate.foods.tables import table_composition
from formulate.kitchen.souring import Souring, souring_of

if TYPE_CHECKING:
    from formulate.rearing.feed_plan import Stage
    from formulate.rearing.flock import Animal

__all__ = ["SPECIES", "STAGES", "AnimalFacts", "Facts", "MilkFacts"]

SPECIES = ("lamb", "kid")
#: What an animal lives on.
STAGES = ("colostrum", "milk", "weaning", "weaned")


@dataclass(frozen=True)
class AnimalFacts:
    """What the conditions ask of an animal.

    Parameters
    ----------
    species : str
        "lamb" or "kid".
    age : float
        In days.
    stage : str
        One of `STAGES`; empty if nobody knows.
    """

    species: str
    age: float
    stage: str = ""

    @classmethod
    def of(cls, animal: Animal, day: date, stage: Stage | None) -> AnimalFacts:
        """Of an animal on a day of its plan; None if no plan is made for it."""
        from formulate.rearing.feed_plan import Stage

        order = (Stage.COLOSTRUM, Stage.MILK, Stage.STEP_DOWN, Stage.WEANED)
        name = "" if stage is None else STAGES[order.index(stage)]
        return cls(str(animal.species), animal.age_days(day), name)


class MilkFacts:
    """What the conditions ask of a milk, read once.

    Parameters
    ----------
    mix : Mix
    species : str
        Who drinks it.
    reads : sequence of Read
        Against that species' ranges.
    """

    def __init__(self, mix: Mix, species: str, reads: Iterable[Read]) -> None:
        self.mix, self.species, self.reads = mix, species, tuple(reads)
        used = np.flatnonzero(mix.grams > 0)
        self.foods = tuple(mix.shelf.foods[j] for j in used)
        self.kinds = frozenset(food.kind for food in self.foods)
        self.have_ingredients = any(food.ingredients for food in self.foods)
        self._totals = mix.shelf.composition.totals(mix.grams)
        self._read: dict[tuple[object, ...], Read] = {}
        self._columns = dict(zip((f.id for f in self.foods), used, strict=True))

    def read(self, band: Band, except_kinds: Sequence[str] = ()) -> Read:
        """Read a band of the mix, whatever its range; similar foods may stand in under a ceiling.

        What foods of `except_kinds` bring of the measure is not counted.
        """
        ceiling = math.isfinite(band.high)
        key = (band.measure, band.basis, band.unit, band.over, ceiling, tuple(except_kinds))
        if key not in self._read:
            self._read[key] = self._of(band, except_kinds)
        return self._read[key]

    def value(self, band: Band) -> float | None:
        """The value of a band of the mix, as `read` gives it; None where it cannot be read."""
        value = value_of(band, self._totals)
        return self.read(band).value if value is None else value

    def _of(self, band: Band, except_kinds: Sequence[str]) -> Read:
        composition, totals = self.mix.shelf.composition, self._totals
        if except_kinds and any(food.kind in except_kinds for food in self.foods):
            skip = [food.kind in except_kinds for food in composition.foods]
            per_gram = composition.per_gram.copy()
            per_gram[row_numbers([band.measure]), skip] = 0.0
            composition = Composition(composition.foods, per_gram)
            totals = composition.totals(self.mix.grams)
        return read(band, composition, self.mix.grams, table_composition(), totals)

    @cached_property
    def souring(self) -> Souring | None:
        """How sour it is; None without soured food."""
        return souring_of(self.mix)

    def share(self, foods: Iterable[Food], of: str) -> float | None:
        """What some foods bring of a measure [%]; None if it is not known of every food."""
        row = self.mix.shelf.composition.row(of)
        amounts = {name: float(row[j] * self.mix.grams[j]) for name, j in self._columns.items()}
        total = sum(amounts.values())
        if not (math.isfinite(total) and total > 0):
            return None
        return 100.0 * sum(amounts[food.id] for food in foods) / total


#: Either.
Facts = MilkFacts | AnimalFacts
