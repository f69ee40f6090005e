"""From feeds to batches of mixed milk: how much to mix, when, and in how many jars.

A batch is mixed at a fixed hour and is fed until it is as old as mixed milk may be. A feed before
that hour still comes from the day before's batch. A batch is measured in whole steps, so a little
more is mixed than is fed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.base.units import Kitchen, unit_size
from formulate.foods.tables import storage_days
from formulate.rearing.feed_plan import FeedPlan
from formulate.rearing.flock import Flock

__all__ = [
    "Batches",
    "batches_of",
    "jars_for",
    "kept_days",
    "mixing_hour",
    "mixing_step",
    "round_up",
    "together",
]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

#: Longest time that a person may say mixed milk keeps [d]; no document gives more than 24 hours.
LONGEST_KEPT = 3


@brief_repr
@dataclass(frozen=True, eq=False)
class Batches(ByContent):
    """The milk of a feed plan, batch by batch.

    Parameters
    ----------
    first_day : date
        Of the first mixing.
    at : time
        Hour of mixing.
    keeps : int
        Days that a batch is fed for.
    new, old : ndarray, shape (n_batches,)
        Milk fed of the mix in use, and of the milk before it [L].
    bottles : ndarray of int, shape (n_batches,)
        Bottles given.
    left_today : float
        Milk of the first day that falls before the first mixing and is not counted [L].
    """

    first_day: date
    at: time
    keeps: int
    new: Array
    old: Array
    bottles: Whole
    left_today: float

    def __len__(self) -> int:
        return len(self.new)

    @property
    def fed(self) -> Array:
        """Both milks together [L], shape (n_batches,)."""
        return self.new + self.old

    @property
    def mix_day(self) -> Whole:
        """Day of mixing, counted from the first, shape (n_batches,)."""
        return np.arange(len(self), dtype=np.int64) * self.keeps

    def day(self, batch: int) -> date:
        """Date of mixing."""
        return self.first_day + timedelta(days=batch * self.keeps)


def mixing_hour(flock: Flock) -> time:
    """The hour of mixing: before the first feed after the longest gap, usually the night."""
    times = flock.feeding_times
    minutes = [t.hour * 60 + t.minute for t in times]
    gaps = [
        (now - before) % 1440 or 1440
        for before, now in zip((minutes[-1], *minutes), minutes, strict=False)
    ]
    return times[int(np.argmax(gaps))]


def kept_days(asked: int | None) -> int:
    """How many days a batch is fed for: the person's own figure, or the table's.

    Raises
    ------
    InputError
        If it is not a number of days, or longer than any source gives.
    """
    if asked is None:
        return storage_days()["mix"].opened_days
    if not 1 <= asked <= LONGEST_KEPT:
        error = InputError(
            say("shop.not-kept", days=asked), say("shop.keep-so-long", most=LONGEST_KEPT)
        )
        raise error.about("keeps")
    return asked


def batches_of(plan: FeedPlan, at: time, keeps: int) -> Batches:
    """Collect a plan's feeds into batches.

    Parameters
    ----------
    plan : FeedPlan
    at : time
        Hour of mixing.
    keeps : int
        Days that a batch is fed for.
    """
    litres, bottles = _by_time(plan)
    late = np.array([t >= at for t in plan.flock.feeding_times])
    days = len(plan.days)
    count = math.ceil(days / keeps)
    new, old = np.zeros(count), np.zeros(count)
    given = np.zeros(count, dtype=np.int64)
    for d in range(days):
        share = plan.share_new[d]
        for mine, belongs in ((late, d), (~late, d - 1)):
            if belongs < 0:
                continue
            volume = float(litres[d, mine].sum())
            new[belongs // keeps] += share * volume
            old[belongs // keeps] += (1 - share) * volume
            given[belongs // keeps] += int(bottles[d, mine].sum())
    last = int(np.flatnonzero(new + old > 0)[-1]) + 1 if (new + old > 0).any() else 0
    before = float(litres[0, ~late].sum())
    return Batches(plan.days[0], at, keeps, new[:last], old[:last], given[:last], before)


def together(parts: Sequence[Batches]) -> Batches:
    """Batches of several plans for animals that drink from one: milk and bottles add up."""
    count = max(len(part) for part in parts)

    def total(name: str) -> Any:
        return sum(np.pad(getattr(part, name), (0, count - len(part))) for part in parts)

    left = sum(part.left_today for part in parts)
    return replace(parts[0], new=total("new"), old=total("old"), bottles=total("bottles"),
                   left_today=left)  # fmt: skip


def _by_time(plan: FeedPlan) -> tuple[Array, Whole]:
    """Litres and bottles of each day and feeding time, shape (n_days, n_times)."""
    place = {at: n for n, at in enumerate(plan.flock.feeding_times)}
    litres = np.zeros((len(plan.days), len(place)))
    bottles = np.zeros((len(plan.days), len(place)), dtype=np.int64)
    for d in range(len(plan.days)):
        for times, animals in plan.drinkers(d):
            when = [place[at] for at in times]
            litres[d, when] += plan.millilitres[animals, d].sum() / 1e3
            bottles[d, when] += len(animals)
    return litres, bottles


def mixing_step(kitchen: Kitchen) -> float:
    """The step in which a batch is measured [L]: a quarter cup, or 50 mL (common practice)."""
    return 0.05 if kitchen.metric else unit_size("cup", kitchen) / 4e3


def round_up(litres: Array, step: float) -> Array:
    """Round up to whole steps."""
    return np.asarray(np.ceil(litres / step - 1e-9) * step)


def jars_for(litres: float, jar: float | None) -> int | None:
    """Jars of a size [mL] that hold a batch [L]; None if no size is known."""
    return None if not jar else math.ceil(litres * 1e3 / jar - 1e-9)
