"""Split a day's milk into feeds: more feeds, never a bigger feed than the cap."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError
from formulate.base.units import Kitchen, unit_size
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, Flock
from formulate.rearing.schedule import least_feeds
from formulate.rearing.sittings import refuse_close

__all__ = ["Portions", "bottle_step", "cap_of", "check_feeding_times", "largest_feed", "portion"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

#: A volume that misses a whole mark or feed by rounding of numbers alone counts as whole.
CLOSE = 1e-9
#: A feed so little under what was wanted is better given on a mark.
HARDLY = 0.025


@dataclass(frozen=True, slots=True, eq=False)
class Portions(ByContent):
    """A day's milk in feeds, one entry an animal.

    Parameters
    ----------
    feeds : ndarray of int
    millilitres : ndarray
        A feed [mL].
    litres : ndarray
        What was to be given and fits [L]: at most `feeds` × `millilitres`.
    """

    feeds: Whole
    millilitres: Array
    litres: Array


def portion(
    litres: Array, cap: Array, most: Array, least: Whole, times: int, step: float
) -> Portions:
    """Split a day's milk into feeds.

    Parameters
    ----------
    litres : ndarray
        Wanted [L].
    cap : ndarray
        Largest feed [mL].
    most : ndarray
        Most in the day by body weight [L].
    least : ndarray of int
        Fewest feeds.
    times : int
        Feeding times there are.
    step : float
        Mark on the bottle [mL].
    """
    largest = largest_feed(cap)
    # To whole marks where they fit under the cap and the day; else by the millilitre, rather than
    # too little.
    marked = np.floor(cap / step + CLOSE) * step
    wanted = litres * 1e3
    usual = np.where(marked > 0, marked, largest)
    feeds = np.clip(np.ceil(wanted / usual - CLOSE), least, times)
    each = np.ceil(wanted / feeds / step - CLOSE) * step
    fine = np.minimum(np.minimum(np.ceil(wanted / feeds - CLOSE), largest), 1e3 * most / feeds)
    # A mark less, where that is hardly less.
    mark = np.floor(np.minimum(cap, 1e3 * most / feeds) / step + CLOSE) * step
    fine = np.where(mark >= (1 - HARDLY) * fine, mark, fine)
    fits = (each <= cap * (1 + CLOSE)) & (feeds * each <= 1e3 * most * (1 + CLOSE))
    each = np.where(fits, each, fine)
    feeds = np.where(wanted > 0, feeds, 0).astype(np.int64)
    each = np.where(wanted > 0, each, 0.0)
    return Portions(feeds, each, np.minimum(litres, feeds * each / 1e3))


def largest_feed(cap: Array) -> Array:
    """Largest feed under a cap, in whole millilitres [mL]."""
    return np.asarray(np.maximum(np.floor(cap + CLOSE), 1.0))


def cap_of(animal: Animal, day: date) -> float:
    """Largest feed of an animal on a day [mL/kg]: its veterinarian's own, else by its age."""
    if animal.cap is not None:
        return animal.cap
    older = animal.age_days(day) >= value("cap-older-age")
    return value("cap-per-feed-older" if older else "cap-per-feed")


def check_feeding_times(flock: Flock, today: date) -> None:
    """Refuse fewer feeding times than an animal's age asks, or too close ones.

    Raises
    ------
    InputError
    """
    where = f"{flock.where}: feeding_times" if flock.where else "feeding_times"
    for animal in flock.animals:
        line = least_feeds(animal.species, max(animal.age_days(today), 0))
        if len(flock.feeding_times) < line.feeds:
            raise InputError(
                f"{animal.name} is {animal.age_days(today)} days old and needs at least "
                f"{line.feeds} feeds a day; there are {len(flock.feeding_times)} feeding times",
                "Add feeding times. A bigger feed is no answer: it can kill.",
                where,
            )
        refuse_close(flock.feeding_times, line.feeds, animal.name, where)


def bottle_step(kitchen: Kitchen) -> float:
    """Mark on the household's bottle [mL]."""
    if kitchen.metric:
        return value("bottle-step-metric")
    return value("bottle-step-us") * unit_size("fl oz", kitchen)
