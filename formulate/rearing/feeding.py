"""Plan feeds: enough for each animal to live and grow on this milk, never too much at once.

Each day's milk is set by need, not by a share of weight:

1. energy for maintenance and the gain that the animal's level aims at, over the energy of a
   litre of *this* milk, is the day's litres; never more than a share of body weight;
2. feeds a day: as many as the published schedule asks at that age, and one more, and one more,
   until no feed is above the cap; never a bigger feed;
3. a feed is rounded up to a mark on the bottle that still lies under the cap.

Where all the household's feeding times together cannot hold the need, the plan gives what they
can hold and says so, with the strength of milk that would do. Of two answers that meet need and
cap the smaller is taken, so the published schedules only stand beside it.

Rounding up to the bottle's mark is not counted on for growth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from numpy.typing import NDArray

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.rearing.bottles import Bottles, Forecast, bottles_of
from formulate.rearing.feed_plan import FeedPlan, PlanReason, Stage, Weaning
from formulate.rearing.figures import value
from formulate.rearing.flock import Flock
from formulate.rearing.forecast import NEVER, Herd, Supply, day_share, gain_on
from formulate.rearing.held import AHEAD, HELD, creep_beside
from formulate.rearing.milk import Milk
from formulate.rearing.portions import (
    CLOSE,
    check_feeding_times,
    fullest_day,
    mark_of,
    refuse_coarse_marks,
)
from formulate.rearing.schedule import MILK_DENSITY
from formulate.rearing.sittings import counts_that_fit
from formulate.rearing.weaning import creep_date, to_regain

__all__ = [
    "FeedPlan",
    "PlanReason",
    "Shortfall",
    "Stage",
    "plan_feeds",
    "share_of_new",
    "shortfall",
]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]


def share_of_new(flock: Flock, days: Sequence[date]) -> Array:
    """Share of the milk in use in each day's bottle [L/L], shape (n_days,).

    Over k days of change it rises in k + 1 equal steps: a fifth, two fifths ... of the new in
    four days.
    """
    if flock.change is None:
        return np.ones(len(days))
    since = np.array([(day - flock.change.first_day).days + 1 for day in days], float)
    return np.clip(since / (flock.change.days + 1), 0.0, 1.0)


def plan_feeds(
    flock: Flock,
    milk: Milk,
    now: datetime,
    *,
    old_milk: Milk | None = None,
    days: int | None = None,
) -> FeedPlan:
    """Plan every animal's feeds from the day of `now`.

    Parameters
    ----------
    flock : Flock
    milk : Milk
        In use.
    now : datetime
    old_milk : Milk, optional
        The milk before; needed where the flock changes from one.
    days : int, optional
        How many days; by default to the end of the last animal's milk.

    Raises
    ------
    InputError
        If there are fewer feeding times than an animal's age asks, or a change lacks its old
        milk.
    """
    today = now.date()
    check_feeding_times(flock, today)
    if flock.change and old_milk is None:
        raise InputError(
            say("flock.no-milk-before"), say("flock.no-milk-before-remedy"), flock.where
        )
    herd = Herd.of(flock.animals, today, flock.level, flock.weaning)
    first = min(int(herd.weighed.min()), today.toordinal())
    skip = today.toordinal() - first
    ordinals = first + np.arange(skip + (days or int(value("wean-horizon"))) + AHEAD)
    share = share_of_new(flock, [date.fromordinal(int(day)) for day in ordinals])
    supply = Supply.of(flock, milk, milk if old_milk is None else old_milk, share)
    creep = creep_beside(flock.animals, ordinals, today)
    own = Forecast.of(flock.animals, herd, ordinals, supply, creep, today.toordinal())
    last = ordinals[-AHEAD - 1]
    ends = np.where(own.begins < NEVER, np.minimum(own.begins + herd.steps, last + 1), last + 1)
    length = skip + days if days else max(int(ends.max()) - first, skip + 1)
    kept = slice(skip, length)
    bottles = bottles_of(flock, own, supply, creep, ordinals, kept)
    return _plan(flock, milk, old_milk, own, bottles, supply, share[kept], ordinals, kept)


def _plan(
    flock: Flock,
    milk: Milk,
    old_milk: Milk | None,
    own: Forecast,
    bottles: Bottles,
    supply: Supply,
    share: Array,
    ordinals: Whole,
    kept: slice,
) -> FeedPlan:
    """Put growth and bottles together: expected gains, reasons, weaning."""
    herd, growth, days = own.herd, own.growth, ordinals[kept]
    stage, feeds, each = bottles.stage, bottles.feeds, bottles.millilitres
    milk_today = (stage[:, 0] == Stage.MILK) | (stage[:, 0] == Stage.COLOSTRUM)
    by_share = 1e3 * bottles.most[:, 0] / bottles.least[:, 0]
    largest = np.minimum(bottles.cap[:, 0], by_share)
    refuse_coarse_marks(flock, np.where(milk_today, largest, np.nan))
    energy = supply.energy[kept]
    weight, gain = growth.weight[:, :, kept].copy(), growth.gain[:, :, kept].copy()
    on_bottles = gain_on(herd, supply, growth, kept, feeds * each / 1e3)
    gain += bottles.stretches.mean(on_bottles, stage) - gain[1]
    for lines in (weight, gain):
        lines[:, stage == Stage.WEANED] = np.nan
    gain[:, (stage == Stage.STEP_DOWN) | (stage == Stage.COLOSTRUM)] = np.nan
    counts, step = counts_that_fit(flock.feeding_times), mark_of(flock)
    litres_left = (feeds * each).sum(axis=1) / 1e3
    return FeedPlan(
        flock,
        milk,
        old_milk if flock.change else None,
        tuple(date.fromordinal(int(day)) for day in days),
        share,
        energy,
        stage,
        weight,
        gain,
        feeds,
        each,
        growth.cap[:, kept],
        growth.keep[:, kept],
        growth.least[:, kept],
        growth.need[:, kept],
        growth.most[:, kept],
        herd.aim,
        _reasons(own, bottles, energy, share, kept, counts[-1], step),
        _weanings(flock, own, litres_left, days),
        step,
    )


@dataclass(frozen=True, slots=True)
class Shortfall:
    """What would bring an animal its least sound gain where the plan cannot.

    Parameters
    ----------
    first_day : date
        First day that is short.
    below_keep : bool
        Whether some day has less than maintenance.
    energy : float
        Milk so strong would do, with the feeding times there are [MJ/L].
    solids : float
        The same mix stirred with less water would carry it at so much [g/100 g as fed].
    times : int
        So many feeding times would do, with this milk; 0 where no number would, since the day's
        milk is at its share of body weight.
    """

    first_day: date
    below_keep: bool
    energy: float
    solids: float
    times: int


def shortfall(plan: FeedPlan, animal: int) -> Shortfall | None:
    """What an animal lacks on this milk, cap and feeding times; None if it lacks nothing."""
    if animal not in plan.by_row:
        plan.by_row[animal] = _shortfall(plan, animal)
    found = plan.by_row[animal]
    assert found is None or isinstance(found, Shortfall)
    return found


def _shortfall(plan: FeedPlan, animal: int) -> Shortfall | None:
    short = (plan.reasons[animal] & PlanReason.SHORT_OF_GAIN) > 0
    if not short.any():
        return None
    cap, weight = plan.cap[animal, short], plan.weight[1, animal, short]
    # An amount holds while the animal grows, so the last day of a stretch asks for more.
    least = (1 + (HELD - 1) * value("least-gain-share")) * plan.least[animal, short]
    asked, most = least / plan.energy[short], plan.most[animal, short]
    times = int(np.ceil((1e3 * asked / plan.millilitres[animal, short]).max() - CLOSE))
    if (asked > most * (1 + CLOSE)).any():
        times = 0
    counts = counts_that_fit(plan.flock.feeding_times)
    energy = 0.0
    for share, thinnest in ((value("most-per-day-thin"), True), (value("most-per-day"), False)):
        by_day = share * weight / MILK_DENSITY
        energy = float((least / fullest_day(cap, by_day, counts, plan.step)).max())
        solids = np.array(plan.milk.solids_for(energy))
        if thinnest and day_share(solids) >= share * (1 - CLOSE):
            break  # so thin still, that a day may hold the larger share
    below = (plan.reasons[animal] & PlanReason.SHORT_OF_KEEP) > 0
    return Shortfall(
        plan.days[int(np.argmax(short))],
        bool(below.any()),
        energy,
        plan.milk.solids_for(energy),
        times,
    )


def _reasons(
    own: Forecast,
    bottles: Bottles,
    energy: Array,
    share: Array,
    kept: slice,
    most: int,
    step: float,
) -> Whole:
    growth, aim = own.growth, own.herd.aim
    stage, feeds, each, least = bottles.stage, bottles.feeds, bottles.millilitres, bottles.least
    near = 1 - value("portion-near")
    weight = growth.weight[1][:, kept]
    milk = stage == Stage.MILK
    litres = feeds * each / 1e3
    given = litres * energy
    full = (feeds >= most) & (each + step > bottles.cap * (1 + CLOSE))
    short = milk & (given < growth.need[:, kept] * (near - CLOSE))
    low = growth.by_protein[:, kept] < aim[:, None] * (1 - CLOSE)
    flags = [
        (PlanReason.NEED, milk),
        (PlanReason.MORE_FEEDS, milk & (feeds > least)),
        (PlanReason.SHORT_OF_GAIN, milk & (given < growth.least[:, kept] * (near - CLOSE))),
        (PlanReason.SHORT_OF_KEEP, milk & (given < growth.keep[:, kept] * (1 - CLOSE))),
        (PlanReason.SHORT_OF_AIM, short),
        (PlanReason.DAY_SHARE, short & ~full),
        (PlanReason.FEED_CAP, short & full),
        (PlanReason.PROTEIN, milk & (growth.gain[1][:, kept] >= growth.by_protein[:, kept]) & low),
        (
            PlanReason.ABOVE_PUBLISHED,
            milk & (litres * MILK_DENSITY > value("most-per-day") * weight * (1 + CLOSE)),
        ),
        (PlanReason.COLOSTRUM_FIRST, stage == Stage.COLOSTRUM),
        (PlanReason.CHANGING, milk & (share < 1) & (share > 0)),
        (PlanReason.STEP_DOWN, stage == Stage.STEP_DOWN),
        (PlanReason.ALL_TIMES, milk & (feeds >= most)),
    ]
    total = np.zeros(stage.shape, dtype=np.int64)
    for reason, where in flags:
        total |= np.where(where, int(reason), 0)
    return total


def _weanings(flock: Flock, own: Forecast, litres: Array, days: Whole) -> tuple[Weaning, ...]:
    def as_date(ordinal: int) -> date | None:
        return date.fromordinal(ordinal) if ordinal < NEVER else None

    herd, found = own.herd, []
    for i, animal in enumerate(flock.animals):
        slow, middle, quick = (int(day) for day in own.ready[:, i])
        begins = int(own.begins[i])
        found.append(
            Weaning(
                as_date(middle),
                as_date(quick),
                as_date(slow),
                as_date(begins + int(herd.steps[i]) - 1 if begins < NEVER else NEVER),
                _waits_for(herd, i, middle),
                creep_date(animal, date.fromordinal(int(days[0]))) is not None,
                float(litres[i]),
                animal.weaning or flock.weaning,
                to_regain(animal),
                as_date(begins),
            )
        )
    return tuple(found)


def _waits_for(herd: Herd, i: int, ready: int) -> str:
    """The criterion that is met last."""
    if ready == herd.born[i] + herd.wean_age[i]:
        return "age"
    return "creep" if ready == herd.creep_from[i] else "weight"
