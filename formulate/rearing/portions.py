"""Split a day's milk into feeds: more feeds rather than a feed above the cap."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.units import Kitchen, unit_size
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, Flock
from formulate.rearing.schedule import least_feeds
from formulate.rearing.sittings import refuse_close

__all__ = [
    "DayMilk",
    "Portions",
    "bottle_step",
    "cap_of",
    "check_feeding_times",
    "fullest_day",
    "largest_feed",
    "largest_published",
    "mark_of",
    "portion",
    "refuse_coarse_marks",
]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

#: A volume that misses a whole mark or feed by rounding of numbers alone counts as whole.
CLOSE = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Portions(ByContent):
    """A day's milk in feeds, one entry an animal.

    Parameters
    ----------
    feeds : ndarray of int
    millilitres : ndarray
        A feed [mL].
    """

    feeds: Whole
    millilitres: Array


@dataclass(frozen=True, slots=True, eq=False)
class DayMilk(ByContent):
    """Milk of a day, one entry an animal, all in litres.

    Parameters
    ----------
    litres : ndarray
        Asked for.
    least : ndarray
        Less would be too little to grow soundly.
    most : ndarray
        By body weight.
    """

    litres: Array
    least: Array
    most: Array


def portion(
    wanted: DayMilk, cap: Array, least: Whole, counts: Sequence[int], step: float
) -> Portions:
    """Split a day's milk into the fewest feeds that hold it, each on a mark of the bottle.

    A day may miss what is wanted by `portion-near`; by `portion-share` where the day's share of
    weight leaves no mark more on every bottle, and it is still enough. Else there are more feeds,
    as long as they hold more.

    Parameters
    ----------
    wanted : DayMilk
    cap : ndarray
        Largest feed [mL].
    least : ndarray of int
        Fewest feeds.
    counts : sequence of int
        Numbers of feeds that the household's times can hold, rising.
    step : float
        Mark on the bottle [mL]. If not one lies under cap and day, feeds are given to the
        millilitre.
    """
    litres, most = np.minimum(wanted.litres, wanted.most), 1e3 * wanted.most
    near = litres * (1e3 * (1 - value("portion-near")))
    next_count = np.array([next((c for c in counts if c >= n), counts[-1])
                           for n in range(counts[-1] + 1)])  # fmt: skip
    least = next_count[np.minimum(least, counts[-1])]
    mark = np.where(np.minimum(cap, most / least) < step * (1 - CLOSE), 1.0, step)
    top = np.maximum(np.floor(cap / mark + CLOSE), 1.0)
    asked = np.clip(np.ceil(near / (top * mark) - CLOSE), least, counts[-1]).astype(np.int64)
    feeds = next_count[asked]
    marks = _marks(near, feeds, top, most, mark)
    short = np.nonzero(feeds * marks * mark < near * (1 - CLOSE))
    if len(short[0]):
        some = (one[short] for one in (near, litres, wanted.least, top, most, mark))
        feeds[short], marks[short] = _more_feeds(counts, least[short], *some)
    feeds = np.where(litres > 0, feeds, 0)
    each = np.where(litres > 0, marks * mark, 0.0)
    return Portions(feeds, each)


def _marks(near: Array, feeds: Whole, top: Array, most: Array, mark: Array) -> Array:
    """Marks of one feed: enough for what is wanted, within the cap and the day."""
    enough = np.ceil(near / feeds / mark - CLOSE)
    return np.asarray(np.minimum(np.minimum(enough, top), np.floor(most / feeds / mark + CLOSE)))


def _more_feeds(
    counts: Sequence[int],
    fewest: Whole,
    near: Array,
    litres: Array,
    least: Array,
    top: Array,
    most: Array,
    mark: Array,
) -> tuple[Whole, Array]:
    """More feeds, as long as they hold more, until the day holds enough."""
    best, found, shared = fewest.copy(), np.zeros(len(near)), np.zeros(len(near), dtype=bool)
    by_share = litres * (1e3 * (1 - value("portion-share")))
    by_share = np.maximum(by_share, least * (1e3 * (1 - value("portion-near"))))
    for count in counts:
        each = _marks(near, np.full(best.shape, count), top, most, mark)
        held = best * found * mark
        asked = np.where(shared, np.minimum(by_share, near), near)
        better = (count >= fewest) & (held < asked * (1 - CLOSE))
        better &= count * each * mark > held * (1 + CLOSE)
        best, found = np.where(better, count, best), np.where(better, each, found)
        shared = np.where(better, each < top, shared)
    return best, found


def fullest_day(cap: Array, most: Array, counts: Sequence[int], step: float) -> Array:
    """Most milk of a day in whole marks [L]; `cap`, `most`, `counts` and `step` as of `portion`."""
    mark = np.where(np.minimum(cap, 1e3 * most / counts[0]) < step * (1 - CLOSE), 1.0, step)
    top = np.maximum(np.floor(cap / mark + CLOSE), 1.0)
    endless = np.full(cap.shape, np.inf)
    held = [
        n * _marks(endless, np.full(cap.shape, n), top, 1e3 * most, mark) * mark for n in counts
    ]
    return np.asarray(np.max(held, axis=0) / 1e3)


def refuse_coarse_marks(flock: Flock, largest: Array) -> None:
    """Refuse a bottle on which some animal's feed lies below the first mark.

    Parameters
    ----------
    flock : Flock
    largest : ndarray, shape (n_animals,)
        Largest feed of today [mL], by cap and by the day's share; NaN where it has none.

    Raises
    ------
    InputError
    """
    if flock.mark is None or not (largest < flock.mark * (1 - CLOSE)).any():
        return
    i = int(np.nanargmin(largest))
    raise InputError(
        say("sittings.coarse", mark=flock.mark, animal=flock.animals[i].name, feed=largest[i]),
        say("sittings.finer"),
        f"{flock.where}: bottle_marks" if flock.where else "bottle_marks",
    )


def largest_feed(cap: Array) -> Array:
    """Largest feed under a cap, in whole millilitres [mL]."""
    return np.asarray(np.maximum(np.floor(cap + CLOSE), 1.0))


def cap_of(animal: Animal, day: date) -> float:
    """Largest feed of an animal on a day [mL/kg]: its veterinarian's own, else by its age."""
    if animal.cap is not None:
        return animal.cap
    older = animal.age_days(day) >= value("cap-older-age")
    return value("cap-per-feed-older" if older else "cap-per-feed")


def largest_published(animal: Animal) -> float:
    """Largest single feed that is published [mL]; endless where a veterinarian set its cap."""
    return math.inf if animal.cap is not None else value("feed-largest", animal.species)


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
                say(
                    "flock.few-times",
                    animal=animal.name,
                    days=animal.age_days(today),
                    needed=line.feeds,
                    times=len(flock.feeding_times),
                ),
                say("flock.few-times-remedy"),
                where,
            )
        refuse_close(flock.feeding_times, line.feeds, animal.name, where)


def mark_of(flock: Flock) -> float:
    """Mark on the household's own bottle [mL]; where it says none, the usual one."""
    return bottle_step(flock.kitchen) if flock.mark is None else flock.mark


def bottle_step(kitchen: Kitchen) -> float:
    """Mark that a bottle usually has [mL]."""
    if kitchen.metric:
        return value("bottle-step-metric")
    return value("bottle-step-us") * unit_size("fl oz", kitchen)
