"""Amounts that stay the same for some days, so that people can remember them.

From the last weighing on, and past the first week, an amount holds for three days. It is enough for
the day of the three that needs most, under the cap and the share of weight of the day that allows
least. Counted from the weighing, the stretches do not move when the plan is made again. Weaning
begins where one of them ends, so that no amount holds for only a day or two.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal

__all__ = ["AHEAD", "HELD", "Stretches", "creep_beside", "grid_of"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
Known = NDArray[np.bool_]

#: For so many days an amount holds.
HELD = 3
#: So many days a forecast must go on after the last day of a plan, for the stretch that it is in.
AHEAD = HELD - 1
#: An animal younger than this grows too fast for any of that [d].
FIRST_WEEK = 7


@dataclass(frozen=True, eq=False)
class Stretches(ByContent):
    """For each animal and day of a plan, the days for which its amount holds.

    Parameters
    ----------
    first : ndarray of int, shape (n_animals, n_days)
        First day of the stretch.
    column : ndarray of int, shape (n_animals, n_days)
        Its column in the arrays of the forecast.
    held : ndarray of bool, shape (n_animals, n_days)
        Whether there is one; else the day stands alone.
    kept : slice
        The plan's days in the forecast, which goes on for `AHEAD` days more.
    """

    first: Whole
    column: Whole
    held: Known
    kept: slice

    def mean(self, values: Array, stage: Whole) -> Array:
        """The mean over each stretch, and over each stage within one, shape (n_animals, n_days)."""
        animals = np.arange(len(values))[:, None]
        lives = int(stage.max(initial=0)) + 1
        span = int(self.column.max(initial=0)) + 1
        which = ((animals * span + self.column) * lives + stage).ravel()
        sums = np.bincount(which, values.ravel())
        means = sums / np.maximum(np.bincount(which), 1)
        return np.asarray(means[which].reshape(values.shape))

    @classmethod
    def of(
        cls, born: Whole, weighed: Whole, begins: Whole, ordinals: Whole, kept: slice
    ) -> Stretches:
        """Stretches of animals by their days of birth, last weighing and first day of weaning."""
        days = ordinals[kept]
        begun = grid_of(born, weighed)[:, None]
        first = days - (days - begun) % HELD
        end = begins[:, None]
        first = np.where(days >= end, days - (days - end) % HELD, first)
        first = np.maximum(first, weighed[:, None])
        held = days >= begun
        first = np.where(held, first, days)
        return cls(first, first - ordinals[0], held, kept)

    def of_all(self, values: Array, worst: Callable[[Array, Array], Array]) -> Array:
        """The worst value of each stretch, shape (n_animals, n_days).

        Parameters
        ----------
        values : ndarray, shape (n_animals, days of the forecast)
        worst : callable
            ``np.minimum`` of what must not be passed, ``np.maximum`` of what is needed.
        """
        count = values.shape[1] - HELD + 1
        found = values[:, :count]
        for n in range(1, HELD):
            found = worst(found, values[:, n : n + count])
        told = np.take_along_axis(found, self.column, axis=1)
        return np.where(self.held, told, values[:, self.kept])


def grid_of(born: Whole, weighed: Whole) -> Whole:
    """The day from which stretches are counted, by the days of birth and last weighing.

    Always whole stretches after the weighing, by the end of the first week: a birth some days
    earlier leaves the days on which the bottle changes as they are, so it never delays weaning.
    """
    week = born + FIRST_WEEK
    return np.maximum(weighed, week - (week - weighed) % HELD)


def creep_beside(animals: Sequence[Animal], ordinals: Whole, today: date) -> Array:
    """Creep eaten beside the milk [g/d], shape (n_animals, n_days): the mean of the days before.

    Of the days before a stretch, so that what is logged during one does not change its bottle; of
    the days before today's stretch for all that come. A day without a word of creep counts as none.
    """
    beside = np.zeros((len(animals), len(ordinals)))
    days, now = int(value("wean-creep-days")), today.toordinal()
    for i, animal in enumerate(animals):
        if not animal.creep:
            continue
        by_day = {eaten.day.toordinal(): eaten.grams for eaten in animal.creep}
        weighed = animal.last_weight.day.toordinal()
        start = int(grid_of(np.array(animal.born.toordinal()), np.array(weighed)))
        while start <= now:
            eaten = sum(by_day.get(start - n, 0.0) for n in range(1, days + 1)) / days
            beside[i, ordinals >= start] = eaten
            start += HELD
    return beside
