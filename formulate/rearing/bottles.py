"""The bottles of every day: how many feeds of how many millilitres, and for how long they hold.

An animal never has less milk in a day than a smaller level would plan for it: marks on the bottle
and whole feeds could round the smaller amount up further than the larger one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.rearing.feed_plan import Stage
from formulate.rearing.flock import Animal, Flock, Level, Species
from formulate.rearing.forecast import NEVER, Growth, Herd, Supply, grow, ready_days
from formulate.rearing.held import HELD, Stretches, grid_of
from formulate.rearing.levels import aim
from formulate.rearing.portions import CLOSE, DayMilk, mark_of, portion
from formulate.rearing.schedule import least_feeds
from formulate.rearing.sittings import after_a_moment, counts_that_fit, least_gap
from formulate.rearing.weaning import step_down_shares

__all__ = ["Bottles", "Forecast", "bottles_of"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Forecast(ByContent):
    """How animals grow as if milk went on for ever, and when that milk would end.

    Parameters
    ----------
    herd : Herd
    growth : Growth
    ready : ndarray of int, shape (3, n_animals)
        Day on which weaning may start, by slow, expected and quick growth, or `NEVER`.
    begins : ndarray of int, shape (n_animals,)
        Day on which milk begins to fall by expected growth: the first change of the bottle then.
    """

    herd: Herd
    growth: Growth
    ready: Whole
    begins: Whole

    @classmethod
    def of(
        cls,
        animals: Sequence[Animal],
        herd: Herd,
        ordinals: Whole,
        supply: Supply,
        creep: Array,
        today: int,
    ) -> Forecast:
        """Let animals grow over some days; `ordinals`, `supply`, `creep` as of `grow`."""
        growth = grow(herd, ordinals, supply, creep)
        ready = ready_days(herd, ordinals, growth.weight)
        # A weight that the scale has not shown yet is waited for, as creep is.
        unseen = (herd.wean_weight_met == NEVER) & (ready <= today)
        ready = np.where(unseen, today + 1, ready)
        return cls(herd, growth, ready, _begins(animals, herd, ready[1]))


def _begins(animals: Sequence[Animal], herd: Herd, ready: Whole) -> Whole:
    """The first change of each bottle on which an animal may be weaned."""
    weighed = herd.weighed.copy()
    for i in map(int, np.flatnonzero(ready < weighed)):  # a later weighing does not move it
        days = (w.day.toordinal() for w in animals[i].all_weights)
        weighed[i] = max((day for day in days if day <= ready[i]), default=int(ready[i]))
    late = (grid_of(herd.born, weighed) - ready) % HELD
    return np.where(ready < NEVER, ready + late, NEVER)


@dataclass(frozen=True, eq=False)
class Bottles(ByContent):
    """Bottles of animals on the days of a plan, arrays of shape (n_animals, n_days).

    Parameters
    ----------
    stage : ndarray of int
    feeds : ndarray of int
    millilitres : ndarray
        A feed [mL].
    least : ndarray of int
        Fewest feeds that the age asks.
    cap : ndarray
        Largest feed of the whole stretch [mL].
    most : ndarray
        Most milk of each day of the stretch by body weight [L].
    stretches : Stretches
    """

    stage: Whole
    feeds: Whole
    millilitres: Array
    least: Whole
    cap: Array
    most: Array
    stretches: Stretches


def bottles_of(
    flock: Flock, own: Forecast, supply: Supply, creep: Array, ordinals: Whole, kept: slice
) -> Bottles:
    """Fill the bottles of the days `kept`, at each animal's own level.

    Parameters
    ----------
    flock : Flock
    own : Forecast
        At each animal's own level.
    supply : Supply
    creep : ndarray, shape (n_animals, days of the forecast)
        Eaten beside the milk [g/d].
    ordinals : ndarray of int, shape (days of the forecast,)
    kept : slice
    """
    found = _bottles(flock, flock.animals, own, supply, ordinals, kept)
    today = int(ordinals[kept.start])
    for level in Level:
        lambs, kids = (aim(level, species).value for species in (Species.LAMB, Species.KID))
        lower = np.where(own.herd.kid, kids, lambs)
        rows = np.flatnonzero(lower < own.herd.aim * (1 - CLOSE))
        if not len(rows):
            continue
        animals = [flock.animals[i] for i in rows]
        herd = own.herd.of_rows(rows, lower)
        smaller = Forecast.of(animals, herd, ordinals, supply, creep[rows], today)
        less = _bottles(flock, animals, smaller, supply, ordinals, kept)
        _raise_to(found, less, rows, own.growth, kept)
    return found


def _raise_to(found: Bottles, less: Bottles, rows: Whole, growth: Growth, kept: slice) -> None:
    """Where a smaller level's bottles hold more, take these: under the cap and the day's share."""
    feeds, each = less.feeds, less.millilitres
    here, day = found.feeds[rows] * found.millilitres[rows], feeds * each
    more = (day > here * (1 + CLOSE)) & (found.stage[rows] <= Stage.MILK)
    more &= (less.stage <= Stage.MILK) & (each <= growth.cap[rows, kept] * (1 + CLOSE))
    more &= day <= 1e3 * growth.most[rows, kept] * (1 + CLOSE)
    found.feeds[rows] = np.where(more, feeds, found.feeds[rows])
    found.millilitres[rows] = np.where(more, each, found.millilitres[rows])


def _bottles(
    flock: Flock,
    animals: Sequence[Animal],
    forecast: Forecast,
    supply: Supply,
    ordinals: Whole,
    kept: slice,
) -> Bottles:
    herd, growth, begins = forecast.herd, forecast.growth, forecast.begins[:, None]
    days, counts, step = ordinals[kept], counts_that_fit(flock.feeding_times), mark_of(flock)
    since = days - begins
    shares = np.array([1.0, *step_down_shares(), 0.0])
    left = shares[np.clip(since + 1, 0, len(shares) - 1)]
    left = np.where((since >= 0) & (herd.steps == 0)[:, None], 0.0, left)
    stage = np.select(
        [left == 0, days <= np.floor(herd.colostrum_until)[:, None], left < 1],
        [Stage.WEANED, Stage.COLOSTRUM, Stage.STEP_DOWN],
        Stage.MILK,
    ).astype(np.int64)
    stretches = Stretches.of(herd.born, herd.weighed, forecast.begins, ordinals, kept)
    ages = np.clip(stretches.first - herd.born[:, None], 0, herd.feeds_at.shape[1] - 1)
    least = np.take_along_axis(herd.feeds_at, ages, axis=1)
    least = np.where(stage == Stage.STEP_DOWN, np.minimum(least, 2), least)
    lowest = growth.least / supply.energy
    wanted = DayMilk(
        stretches.of_all(growth.litres, np.maximum) * left,
        stretches.of_all(lowest, np.maximum) * left,
        stretches.of_all(growth.most, np.minimum),
    )
    held_cap = stretches.of_all(growth.cap, np.minimum)
    portions = portion(wanted, held_cap, least, counts, step)
    feeds, each = portions.feeds, portions.millilitres
    cap, most = growth.cap[:, kept], growth.most[:, kept]
    over = (each > cap * (1 + CLOSE)) | (feeds * each > 1e3 * most * (1 + CLOSE))
    if over.any():  # of an animal that loses weight: its day alone
        asked, enough = ((one[:, kept] * left)[over] for one in (growth.litres, lowest))
        alone = DayMilk(asked, enough, most[over])
        own = portion(alone, cap[over], least[over], counts, step)
        feeds[over], each[over] = own.feeds, own.millilitres
    feeds = _first_milk(flock, animals, days, stage, feeds)
    each = np.where(feeds > 0, each, 0.0)
    return Bottles(stage, feeds, each, least, held_cap, wanted.most, stretches)


def _first_milk(
    flock: Flock, animals: Sequence[Animal], days: Whole, stage: Whole, feeds: Whole
) -> Whole:
    """Feeds of milk; on the day that begins with colostrum, of the rest of it."""
    for i, d in np.argwhere((stage == Stage.COLOSTRUM) & (feeds > 0)):
        animal, on = animals[i], date.fromordinal(int(days[d]))
        until = animal.colostrum_until
        if until.date() > on:
            feeds[i, d] = 0
            continue
        gap = least_gap(least_feeds(animal.species, animal.age_days(on)).feeds)
        minute = until.hour * 60 + until.minute
        feeds[i, d] = after_a_moment(flock.feeding_times, minute, int(feeds[i, d]), gap)
    return feeds
