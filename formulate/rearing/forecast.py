"""Forecast growth on milk: weights, the milk they need, and the day they are heavy enough to wean.

As if milk went on for ever; what the weaning takes away is taken off afterwards
(`formulate.rearing.feeding`). Weights between weigh-ins are the expected ones; their spread is a
prediction interval (`formulate.rearing.prediction`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime
from functools import cache

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.rearing.energy import energy_for, keep, least_gain
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, Flock, Level, MilkEnd, Species
from formulate.rearing.levels import aims
from formulate.rearing.meaning import protein_gain, protein_of
from formulate.rearing.milk import Milk
from formulate.rearing.portions import largest_feed, largest_published
from formulate.rearing.prediction import WEEK, gain_half, todays_gain, weight_half
from formulate.rearing.schedule import MILK_DENSITY, least_feeds, schedule
from formulate.rearing.weaning import (
    creep_date,
    creep_days_to_go,
    criteria_of,
    step_down_shares,
    to_regain,
)

__all__ = ["NEVER", "Growth", "Herd", "Supply", "day_share", "gain_on", "grow", "ready_days"]

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
    kid: NDArray[np.bool_]
    cap: Array  # its veterinarian's own largest feed [mL/kg], or NaN
    largest: Array  # largest feed that is published [mL]; endless where its veterinarian says one
    least_gain: Array
    aim: Array  # daily gain that it is fed for [kg/d]
    colostrum_until: Array  # day and fraction of it
    wean_age: Whole
    wean_weight: Array
    wean_weight_met: Whole  # day of the first weighing that meets it, or NEVER
    creep_from: Whole
    steps: Whole  # days of the step-down
    feeds_at: Whole  # shape (n_animals, oldest + 1): least feeds by age

    @classmethod
    def of(
        cls,
        animals: Sequence[Animal],
        today: date,
        level: Level = Level.GENTLE,
        weaning: MilkEnd = MilkEnd.STEPPED,
    ) -> Herd:
        """Turn animals into arrays; creep is judged by what was seen up to `today`."""
        criteria = [criteria_of(animal) for animal in animals]
        tables = {species: _least_feeds(species) for species in {a.species for a in animals}}
        return cls(
            np.array([a.born.toordinal() for a in animals]),
            np.array([a.last_weight.day.toordinal() for a in animals]),
            np.array([a.last_weight.kilograms for a in animals]),
            np.array([a.species is Species.KID for a in animals]),
            np.array([np.nan if a.cap is None else a.cap for a in animals]),
            np.array([largest_published(animal) for animal in animals]),
            np.array([value("least-gain", a.species) for a in animals]),
            np.array(aims(animals, level)),
            np.array([_day_and_fraction(a.colostrum_until) for a in animals]),
            np.array([c.age for c in criteria]),
            np.array([c.heaviest for c in criteria]),
            np.array([_first_at(a, c.heaviest) for a, c in zip(animals, criteria, strict=True)]),
            np.array([_creep_from(animal, today) for animal in animals]),
            np.array([len(step_down_shares(a.weaning or weaning)) for a in animals]),
            np.stack([tables[animal.species] for animal in animals]),
        )

    def of_rows(self, rows: Whole, aim: Array) -> Herd:
        """Some of the animals, fed for the gains `aim` of all [kg/d]."""
        arrays = {one.name: getattr(self, one.name)[rows] for one in fields(self)}
        return Herd(**{**arrays, "aim": aim[rows]})


def _day_and_fraction(moment: datetime) -> float:
    return moment.toordinal() + (moment.hour * 60 + moment.minute) / 1440


def _first_at(animal: Animal, kilograms: float) -> int:
    if to_regain(animal):
        return NEVER
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
class Supply(ByContent):
    """The milk of each day, arrays of shape (n_days,), and how it is given.

    Parameters
    ----------
    energy : ndarray
        Metabolisable [MJ/L].
    solids : ndarray
        [g/100 g as fed].
    protein : ndarray
        [g/L].
    times : int
        Feeding times there are.
    cold : bool
        Whether the animals are housed in the cold.
    """

    energy: Array
    solids: Array
    protein: Array
    times: int
    cold: bool = False

    @classmethod
    def of(cls, flock: Flock, milk: Milk, before: Milk, share: Array) -> Supply:
        """Blend each day's milk from `share` of the new one and the rest of the one before."""
        new, old = (np.array([m.energy, m.solids, protein_of(m)])[:, None] for m in (milk, before))
        energy, solids, protein = share * new + (1 - share) * old
        return cls(energy, solids, protein, len(flock.feeding_times), flock.cold)


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
    creep: Array  # eaten beside it [g/d]
    by_protein: Array  # gain that the milk's protein allows [kg/d]


def day_share(solids: Array) -> Array:
    """Most milk of a day, as a share of body weight [kg/kg], by the milk's solids [g/100 g].

    Of milk as thin as that, as much as brings the same solids; but never above the figure for
    thin milk.
    """
    most, enough = value("most-per-day"), value("day-share-solids")
    return np.clip(most * enough / solids, most, value("most-per-day-thin"))


def grow(herd: Herd, days: Whole, supply: Supply, creep: Array | None = None) -> Growth:
    """Walk through the days; each is arithmetic on all animals at once.

    Parameters
    ----------
    herd : Herd
    days : ndarray of int, shape (n_days,)
    supply : Supply
    creep : ndarray, shape (n_animals, n_days), optional
        Eaten beside the milk [g/d]; none is counted on by default.
    """
    n, length = len(herd.born), len(days)
    energy = supply.energy
    weight, gain, need, litres = (np.empty((n, length)) for _ in range(4))
    kept, least, most, limit = (np.empty((n, length)) for _ in range(4))
    now = herd.weight
    most_a_day = day_share(supply.solids) / MILK_DENSITY
    cap = caps(herd, days)
    more_keep = value("cold-keep") if supply.cold else 1.0
    beside = np.zeros((n, length)) if creep is None else creep
    more_energy = beside / 1e3 * value("creep-energy")
    more_protein = beside * value("creep-protein")
    lightest = 0.1 * herd.weight  # a starving animal's forecast ends there, not below nothing
    for d in range(length):
        keeps = keep(now, herd.kid, more_keep)
        lowest = energy_for(least_gain(now, herd.least_gain), now, herd.kid, more_keep)
        asked = energy_for(herd.aim, now, herd.kid, more_keep)
        by_day = most_a_day[d] * now
        by_feed = largest_feed(np.minimum(cap[:, d] * now, herd.largest)) * supply.times / 1e3
        given = np.minimum(asked / energy[d], np.minimum(by_feed, by_day))
        eaten = given * supply.protein[d] + more_protein[:, d]
        drunk = given * energy[d] + more_energy[:, d]
        change = todays_gain(drunk, eaten, now, herd.kid, more_keep)
        # What colostrum gives is not known: no gain is counted on, nor less loss than on the milk.
        first = days[d] <= np.floor(herd.colostrum_until)
        change = np.where(first, np.minimum(change, 0.0), change)
        weight[:, d], gain[:, d], limit[:, d] = now, change, protein_gain(now, eaten)
        kept[:, d], least[:, d], need[:, d], litres[:, d] = keeps, lowest, asked, given
        most[:, d] = by_day
        now = np.maximum(now + np.where(days[d] >= herd.weighed, change, 0.0), lightest)
    half = weight_half(np.maximum(days - herd.weighed[:, None], 0))
    low = np.maximum(weight - half, lightest[:, None])
    spread = gain_half(WEEK)
    return Growth(
        np.stack([low, weight, weight + half]),
        np.stack([gain - spread, gain, gain + spread]),
        kept,
        need,
        least,
        litres,
        np.minimum(cap * weight, herd.largest[:, None]),
        most,
        beside,
        limit,
    )


def gain_on(herd: Herd, supply: Supply, growth: Growth, days: slice, litres: Array) -> Array:
    """Expected gain of some days on the bottles that are given [kg/d], at the forecast's weights.

    Parameters
    ----------
    herd : Herd
    supply : Supply
    growth : Growth
    days : slice
        Of the forecast.
    litres : ndarray, shape (n_animals, n_days)
        Given on these days [L].
    """
    creep = growth.creep[:, days]
    energy = litres * supply.energy[days] + creep / 1e3 * value("creep-energy")
    protein = litres * supply.protein[days] + creep * value("creep-protein")
    more_keep = value("cold-keep") if supply.cold else 1.0
    weight = growth.weight[1][:, days]
    return todays_gain(energy, protein, weight, herd.kid[:, None], more_keep)


def caps(herd: Herd, days: Whole) -> Array:
    """Largest feed of each animal and day [mL/kg], shape (n_animals, n_days)."""
    older = days - herd.born[:, None] >= value("cap-older-age")
    by_age = np.where(older, value("cap-per-feed-older"), value("cap-per-feed"))
    return np.where(np.isnan(herd.cap)[:, None], by_age, herd.cap[:, None])


def ready_days(herd: Herd, days: Whole, weight: Array) -> Whole:
    """Day on which all criteria are met, by slow, middle and quick growth, or NEVER."""
    heavy = (weight >= herd.wean_weight[None, :, None]) & (days >= herd.weighed[:, None])
    by_growth = np.where(heavy.any(axis=2), days[heavy.argmax(axis=2)], NEVER)
    by_weight = np.minimum(by_growth, herd.wean_weight_met)
    others = np.maximum(herd.born + herd.wean_age, herd.creep_from)
    return np.asarray(np.maximum(by_weight, others))
