"""Forecast growth on milk: weights, the milk they ask for, and the day they suffice for weaning.

As if milk went on for ever; what the weaning takes away is taken off afterwards
(`formulate.rearing.feeding`). Weights between weigh-ins come from `formulate.rearing.energy`:
the middle account gives the expected weight, the lowest and the highest its spread.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.rearing.energy import energy_for_gain, gains, keep, least_gain
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, Level, Species
from formulate.rearing.levels import aims
from formulate.rearing.portions import largest_feed
from formulate.rearing.schedule import MILK_DENSITY, least_feeds, schedule
from formulate.rearing.weaning import creep_date, creep_days_to_go, criteria_of

__all__ = ["NEVER", "Growth", "Herd", "day_share", "grow", "middle", "ready_days"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

#: An ordinal day beyond every calendar.
NEVER = 10_000_000


@dataclass(frozen=True, eq=False)
class Herd(ByContent):
    """The animals as arrays of shape (n_animals,); days are ordinals of the calendar."""

    born: Whole
    weighed: Whole
    weight: Array
    cap: Array
    least_gain: Array
    aim: Array  # daily gain that it is fed for [kg/d]
    colostrum_until: Array  # day and fraction of it
    wean_age: Whole
    wean_weight: Array
    wean_weight_met: Whole  # day of the first weighing that meets it, or NEVER
    creep_from: Whole
    feeds_at: Whole  # shape (n_animals, oldest + 1): least feeds by age

    @classmethod
    def of(cls, animals: Sequence[Animal], today: date, level: Level = Level.GENTLE) -> Herd:
        """Turn animals into arrays; creep is judged by what was seen up to `today`."""
        default = value("cap-per-feed")
        criteria = [criteria_of(animal) for animal in animals]
        tables = {species: _least_feeds(species) for species in {a.species for a in animals}}
        return cls(
            np.array([a.born.toordinal() for a in animals]),
            np.array([a.last_weight.day.toordinal() for a in animals]),
            np.array([a.last_weight.kilograms for a in animals]),
            np.array([default if a.cap is None else a.cap for a in animals]),
            np.array([value("least-gain", a.species) for a in animals]),
            np.array(aims(animals, level)),
            np.array([_day_and_fraction(a.colostrum_until) for a in animals]),
            np.array([c.age for c in criteria]),
            np.array([c.heaviest for c in criteria]),
            np.array([_first_at(a, c.heaviest) for a, c in zip(animals, criteria, strict=True)]),
            np.array([_creep_from(animal, today) for animal in animals]),
            np.stack([tables[animal.species] for animal in animals]),
        )


def _day_and_fraction(moment: datetime) -> float:
    return moment.toordinal() + (moment.hour * 60 + moment.minute) / 1440


def _first_at(animal: Animal, kilograms: float) -> int:
    met = [w.day.toordinal() for w in animal.weighings if w.kilograms >= kilograms]
    return met[0] if met else NEVER


def _creep_from(animal: Animal, today: date) -> int:
    seen = creep_date(animal, today)
    if seen is not None:
        return seen.toordinal()
    return today.toordinal() + creep_days_to_go(animal, today)


@cache
def _least_feeds(species: Species) -> Whole:
    lines = schedule(species, "least-feeds")
    oldest = lines[-1].to_day
    found = [least_feeds(species, age).feeds for age in range(oldest + 1)]
    return np.array(found, dtype=np.int64)


@dataclass(frozen=True, eq=False)
class Growth(ByContent):
    """Weights and milk as if milk went on for ever: what there is before any weaning.

    Arrays of shape (n_animals, n_days), those of weight and gain (3, n_animals, n_days).
    """

    weight: Array
    gain: Array
    keep: Array
    need: Array
    least: Array  # energy for the least sound gain [MJ/d]
    litres: Array
    cap: Array
    most: Array  # the day's most by body weight [L]


def day_share(solids: Array) -> Array:
    """Most milk of a day, as a share of body weight [kg/kg], by the milk's solids [g/100 g].

    Of milk as thin as that, as much as brings the same solids; but never above the figure for
    thin milk.
    """
    most, enough = value("most-per-day"), value("day-share-solids")
    return np.clip(most * enough / solids, most, value("most-per-day-thin"))


def grow(
    herd: Herd, days: Whole, energy: Array, solids: Array, protein: float, times: int
) -> Growth:
    """Walk through the days; each is arithmetic on all animals at once.

    Parameters
    ----------
    herd : Herd
    days : ndarray of int, shape (n_days,)
    energy : ndarray, shape (n_days,)
        Of each day's milk [MJ/L].
    solids : ndarray, shape (n_days,)
        Of each day's milk [g/100 g as fed].
    protein : float
        [g/100 g dry matter].
    times : int
        Feeding times there are.
    """
    n, length = len(herd.born), len(days)
    weight, gain = np.empty((3, n, length)), np.empty((3, n, length))
    need, litres = np.empty((n, length)), np.empty((n, length))
    kept, least = np.empty((n, length)), np.empty((n, length))
    now = np.repeat(herd.weight[None, :], 3, axis=0)
    most = np.empty((n, length))
    most_a_day = day_share(solids) / MILK_DENSITY
    lightest = 0.1 * herd.weight  # a starving animal's forecast ends there, not below nothing
    for d in range(length):
        weighs = now[1]
        keeps = keep(weighs, protein)
        sound = least_gain(weighs, herd.least_gain)
        lowest = keeps + energy_for_gain(sound)
        asked = keeps + energy_for_gain(herd.aim)
        by_day = most_a_day[d] * weighs
        by_feed = largest_feed(herd.cap * weighs) * times / 1e3
        given = np.minimum(asked / energy[d], np.minimum(by_feed, by_day))
        by_account = gains(given * energy[d], now, protein)  # accounts, tracks, animals
        low, high = by_account[:, 0].min(axis=0), by_account[:, 2].max(axis=0)
        change = np.stack([low, middle(by_account[:, 1]), high])
        weight[:, :, d] = now
        kept[:, d], least[:, d], need[:, d], litres[:, d] = keeps, lowest, asked, given
        most[:, d] = by_day
        # What colostrum gives is not known: nothing is counted on; the quick one gains soundly.
        first = days[d] <= np.floor(herd.colostrum_until)
        change = np.where(first, np.stack([0 * sound, 0 * sound, sound]), change)
        gain[:, :, d] = change
        now = np.maximum(now + np.where(days[d] >= herd.weighed, change, 0.0), lightest)
    return Growth(weight, gain, kept, need, least, litres, herd.cap[:, None] * weight[1], most)


def ready_days(herd: Herd, days: Whole, weight: Array) -> Whole:
    """Day on which all criteria are met, by slow, middle and quick growth, or NEVER."""
    heavy = (weight >= herd.wean_weight[None, :, None]) & (days >= herd.weighed[:, None])
    by_growth = np.where(heavy.any(axis=2), days[heavy.argmax(axis=2)], NEVER)
    by_weight = np.minimum(by_growth, herd.wean_weight_met)
    others = np.maximum(herd.born + herd.wean_age, herd.creep_from)
    return np.asarray(np.maximum(by_weight, others))


def middle(three: Array) -> Array:
    """The middle one of three, along the first axis."""
    a, b, c = three
    return np.asarray(np.maximum(np.minimum(a, b), np.minimum(np.maximum(a, b), c)))
