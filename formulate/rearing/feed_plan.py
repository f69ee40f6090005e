"""A feed plan: how much of which milk each animal drinks on each day, and why.

Held as arrays of animals by days, so that a thousand animals cost little more than one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from copy import copy
from dataclasses import dataclass, replace
from datetime import date, time
from enum import IntEnum, IntFlag
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.shown import brief_repr
from formulate.rearing.flock import Animal, Flock, MilkEnd, Weighing
from formulate.rearing.milk import Milk
from formulate.rearing.schedule import least_feeds
from formulate.rearing.sittings import DayFeeds, least_gap, shared

__all__ = ["DayFeed", "FeedPlan", "PlanReason", "Stage"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


class Stage(IntEnum):
    """What an animal lives on, on a day."""

    COLOSTRUM = 0  # the first 24 hours are not over; the mix takes over when they are
    MILK = 1
    STEP_DOWN = 2  # milk is being taken away, creep takes over
    WEANED = 3

    @property
    def words(self) -> str:
        """As said aloud."""
        return self.name.lower().replace("_", " ")


class PlanReason(IntFlag):
    """Why a day's feed is what it is."""

    NEED = 1  # set by what keeps and grows the animal
    MORE_FEEDS = 2  # more feeds than its age asks, because of the cap
    SHORT_OF_AIM = 4  # caps and feeding times leave less than the gain aimed at
    SHORT_OF_GAIN = 8  # ... less than the least sound gain
    SHORT_OF_KEEP = 16  # ... and even less than maintenance
    ABOVE_PUBLISHED = 32  # more liquid than published, since the milk is thin
    COLOSTRUM_FIRST = 64
    CHANGING = 128  # two milks are blended
    STEP_DOWN = 256
    ALL_TIMES = 512  # every feeding time of the household is used
    DAY_SHARE = 1024  # what is short of the aim is held by the day's share of body weight
    FEED_CAP = 2048  # ... by the cap on a feed and the feeding times there are
    PROTEIN = 4096  # the milk has energy for the gain, but not the protein


@dataclass(frozen=True, slots=True)
class DayFeed:
    """One animal's day.

    Parameters
    ----------
    day : date
    age : int
        Days since the day of birth.
    stage : Stage
    weight : tuple of float
        Low, expected, high [kg].
    litres : float
        Of milk in the day [L]; exactly `feeds` × `millilitres`.
    feeds : int
        Of milk in the day.
    millilitres : float
        A feed [mL].
    times : tuple of time
        When; as many as `feeds`.
    cap : float
        Largest feed [mL].
    keep : float
        Energy for maintenance [MJ/d].
    need : float
        Energy for maintenance and the gain aimed at [MJ/d].
    most : float
        Most milk of the day by body weight [L].
    aim : float
        Gain that its level aims at [kg/d].
    gain : tuple of float
        Daily gain that the feed should give [kg/d]: low, expected, high.
    reasons : PlanReason
    """

    day: date
    age: int
    stage: Stage
    weight: tuple[float, float, float]
    litres: float
    feeds: int
    millilitres: float
    times: tuple[time, ...]
    cap: float
    keep: float
    need: float
    most: float
    aim: float
    gain: tuple[float, float, float]
    reasons: PlanReason


@brief_repr
@dataclass(frozen=True, eq=False)
class FeedPlan(ByContent):
    """Feeds of every animal, from one day to the end of its milk.

    Parameters
    ----------
    flock : Flock
    milk : Milk
        The mix in use.
    old_milk : Milk or None
        The milk before, while there is a change.
    days : tuple of date
    share_new : ndarray, shape (n_days,)
        Share of the mix in use in each day's milk [L/L]; the rest is `old_milk`.
    energy : ndarray, shape (n_days,)
        Energy of each day's milk [MJ/L].
    stage : ndarray of int, shape (n_animals, n_days)
    weight : ndarray, shape (3, n_animals, n_days)
        Low, expected and high weight in the morning [kg]; NaN after weaning.
    gain : ndarray, shape (3, n_animals, n_days)
        Low, expected and high gain of the day [kg/d]; NaN where nothing is known of it.
    feeds : ndarray of int, shape (n_animals, n_days)
        Feeds of milk (never of colostrum).
    millilitres : ndarray, shape (n_animals, n_days)
        A feed [mL].
    cap : ndarray, shape (n_animals, n_days)
        Largest feed [mL].
    keep, least, need : ndarray, shape (n_animals, n_days)
        Energy for maintenance, for it and the least sound gain, for it and the gain aimed at
        [MJ/d].
    most : ndarray, shape (n_animals, n_days)
        Most milk of the day by body weight [L].
    aim : ndarray, shape (n_animals,)
        Gain that each animal's level aims at [kg/d].
    reasons : ndarray of int, shape (n_animals, n_days)
        `PlanReason` flags.
    weaning : tuple of Weaning
        Forecast, one an animal.
    step : float
        Mark on the bottle [mL] to which feeds are rounded.
    others : tuple of frozenset of DayFeeds
        By day, the feeds of the household's animals on other milks: all share their sittings.
    """

    flock: Flock
    milk: Milk
    old_milk: Milk | None
    days: tuple[date, ...]
    share_new: Array
    energy: Array
    stage: Whole
    weight: Array
    gain: Array
    feeds: Whole
    millilitres: Array
    cap: Array
    keep: Array
    least: Array
    need: Array
    most: Array
    aim: Array
    reasons: Whole
    weaning: tuple[Weaning, ...]
    step: float
    others: tuple[frozenset[DayFeeds], ...] = ()

    @cached_property
    def litres(self) -> Array:
        """Milk of each animal and day [L], shape (n_animals, n_days)."""
        return self.feeds * self.millilitres / 1e3

    @cached_property
    def _first_day(self) -> dict[int, DayFeed]:
        """The first day of those rows that were asked for: it is asked for again and again."""
        return {}

    @cached_property
    def by_row(self) -> dict[int, object]:
        """What was found out about single rows, for whoever asks again."""
        return {}

    def of(self, flock: Flock) -> FeedPlan:
        """Return this plan for the same animals, where what was logged of them changes none of it.

        What was reckoned of this plan once holds for that one, and is not reckoned again.
        """
        for name in ("litres", "by_row", "_first_day", "_kinds", "_newborn"):
            getattr(self, name)
        found = copy(self)
        object.__setattr__(found, "flock", flock)
        return found

    def litres_by_day(self) -> Array:
        """Milk to have ready each day, all animals [L], shape (n_days,)."""
        total: Array = self.litres.sum(axis=0)
        return total

    def litres_by_milk(self) -> Mapping[str, Array]:
        """`litres_by_day`, apart for each milk by its name [L], shape (n_days,) each."""
        total = self.litres_by_day()
        apart = {self.milk.name: total * self.share_new}
        if self.old_milk is not None:
            apart[self.old_milk.name] = total * (1 - self.share_new)
        return apart

    def feeds_by_day(self) -> Whole:
        """Bottles given each day, all animals, shape (n_days,)."""
        total: Whole = self.feeds.sum(axis=0)
        return total

    def day_feed(self, animal: int | Animal, day: int) -> DayFeed:
        """One animal's day, by their numbers in the arrays."""
        i = animal if isinstance(animal, int) else self.flock.animals.index(animal)
        if day:
            return self._day_feed(i, day)
        if i not in self._first_day:
            self._first_day[i] = self._day_feed(i, 0)
        return self._first_day[i]

    def _day_feed(self, i: int, day: int) -> DayFeed:
        feeds = int(self.feeds[i, day])
        one = self.flock.animals[i]
        stage = Stage(int(self.stage[i, day]))
        return DayFeed(
            self.days[day],
            one.age_days(self.days[day]),
            stage,
            _three(self.weight[:, i, day]),
            float(self.litres[i, day]),
            feeds,
            float(self.millilitres[i, day]),
            self.times(i, day),
            float(self.cap[i, day]),
            float(self.keep[i, day]),
            float(self.need[i, day]),
            float(self.most[i, day]),
            float(self.aim[i]),
            _three(self.gain[:, i, day]),
            PlanReason(int(self.reasons[i, day])),
        )

    def times(self, animal: int, day: int) -> tuple[time, ...]:
        """When an animal is fed milk on a day."""
        return self._by_kind(day).get(self._kind(animal, day), ())

    def drinkers(self, day: int) -> Iterator[tuple[tuple[time, ...], Whole]]:
        """The times of a day, with the rows of the animals that are fed at all of them."""
        by_kind = self._by_kind(day)
        newborn = self._newborn[:, day]
        for kind in {kind for kind in by_kind if kind == DayFeeds.all_day(kind.feeds)}:
            rows = np.flatnonzero(~newborn & (self.feeds[:, day] == kind.feeds))
            yield by_kind[kind], rows
        for i in np.flatnonzero(newborn):
            yield by_kind[self._kind(int(i), day)], np.array([i])

    def sittings(self, day: int) -> tuple[time, ...]:
        """When any of these animals is fed milk on a day."""
        return tuple(sorted({at for times in self._by_kind(day).values() for at in times}))

    def kinds(self, day: int) -> frozenset[DayFeeds]:
        """Feeds of the day's animals, each kind once; of no animal beyond the last day."""
        return self._kinds[day] if day < len(self._kinds) else frozenset()

    def beside(self, plans: Iterable[FeedPlan]) -> FeedPlan:
        """Share the times of this plan with the animals on other milks."""
        others = [plan for plan in plans if plan is not self]
        days = range(len(self.days))
        return replace(
            self, others=tuple(frozenset().union(*(o.kinds(d) for o in others)) for d in days)
        )

    def _by_kind(self, day: int) -> dict[DayFeeds, tuple[time, ...]]:
        """Times of each kind of feeds that these animals have on a day."""
        mine = self.kinds(day)
        others = self.others[day] if self.others else frozenset()
        together = shared(self.flock.feeding_times, mine | others)
        return {kind: together[kind] for kind in mine}

    def _kind(self, i: int, day: int) -> DayFeeds:
        feeds = int(self.feeds[i, day])
        if self.stage[i, day] != Stage.COLOSTRUM or not feeds:
            return DayFeeds.all_day(feeds) if feeds else DayFeeds(0)
        animal, on = self.flock.animals[i], self.days[day]
        usual = least_feeds(animal.species, animal.age_days(on)).feeds
        until = animal.colostrum_until
        after = until.hour * 60 + until.minute if until.date() == on else 0
        return DayFeeds(feeds, after, least_gap(usual))

    @cached_property
    def _newborn(self) -> NDArray[np.bool_]:
        """Who drinks milk on a day that begins with colostrum."""
        return np.asarray((self.stage == Stage.COLOSTRUM) & (self.feeds > 0))

    @cached_property
    def _kinds(self) -> tuple[frozenset[DayFeeds], ...]:
        newborn = self._newborn
        found = []
        for d in range(len(self.days)):
            counts = np.unique(self.feeds[~newborn[:, d], d])
            kinds = {DayFeeds.all_day(int(feeds)) for feeds in counts if feeds}
            kinds |= {self._kind(int(i), d) for i in np.flatnonzero(newborn[:, d])}
            found.append(frozenset(kinds))
        return tuple(found)


@dataclass(frozen=True, slots=True)
class Weaning:
    """When an animal should be ready, and what is still to be seen.

    Parameters
    ----------
    ready : date or None
        All criteria are met, creep taken for granted; None: not within the days looked at.
    earliest, latest : date or None
        The same by growth at the ends of the interval that holds 19 in 20 animals.
    last_milk : date or None
        Last day with milk, after the step-down.
    waits_for : str
        The criterion that is met last: "age", "weight", "birth weight", "creep".
    creep_seen : bool
        Whether the log shows enough creep eaten on enough days running.
    litres_left : float
        Milk from the plan's first day to the last [L].
    how : MilkEnd
    regain : Weighing or None
        The weight that it has lost, and must have again first.
    begins : date or None
        First day with less milk: when its bottle changes on `ready` or next after it.
    """

    ready: date | None
    earliest: date | None
    latest: date | None
    last_milk: date | None
    waits_for: str
    creep_seen: bool
    litres_left: float
    how: MilkEnd = MilkEnd.STEPPED
    regain: Weighing | None = None
    begins: date | None = None


def _three(values: Array) -> tuple[float, float, float]:
    low, middle, high = (float(v) for v in values)
    return low, middle, high
