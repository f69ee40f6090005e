"""Colostrum: how much, by when, how warm, and never too much at once or too soon.

No mix replaces it: a home-mixed milk has no antibodies. What no longer fits into the first day
with three hours between feeds is lost; it is never squeezed into what is left of the day.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from formulate.base.moments import over
from formulate.base.shown import brief_repr
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, ColostrumHad
from formulate.rearing.warmth import Warmth, warmth_of

__all__ = ["ColostrumPlan", "colostrum_plan", "is_newborn"]

_HOUR = timedelta(hours=1)
_A_QUARTER = timedelta(minutes=15)
#: Longest time between two feeds of colostrum: published are feeds every six hours [h].
LONGEST_GAP = 6.0
#: Less than this is not worth a feed, nor a word that it is lost [mL].
A_MOUTHFUL = 5.0


@brief_repr
@dataclass(frozen=True, slots=True)
class ColostrumPlan:
    """What is left of an animal's first 24 hours.

    Parameters
    ----------
    animal : Animal
    now : datetime
    until : datetime
        End of the 24 hours, by the latest it can have been born.
    had : float
        Colostrum drunk so far, as ewe's or doe's [mL]: cow's counts for less.
    total : float
        To drink in the 24 hours [mL].
    by_early : tuple of (float, datetime)
        Least amount [mL] and its deadline.
    per_feed : float
        Most at one time [mL].
    times : tuple of datetime
        Feeds still to give, never closer than three hours to each other or to the last one.
    next_feed : float
        Each of them [mL].
    lost : float
        What no longer fits into the first day [mL].
    first_by, first_latest : datetime
        The first feed should be, and must be, drunk by then.
    overdue : bool
        Nothing is logged and the latest time for the first is past.
    warmth : Warmth
    hour_known : bool
    """

    animal: Animal
    now: datetime
    until: datetime
    had: float
    total: float
    by_early: tuple[float, datetime]
    per_feed: float
    times: tuple[datetime, ...]
    next_feed: float
    lost: float
    first_by: datetime
    first_latest: datetime
    overdue: bool
    warmth: Warmth
    hour_known: bool

    @property
    def left(self) -> float:
        """Still to drink [mL]."""
        return max(self.total - self.had, 0.0)

    @property
    def feeds(self) -> int:
        """Feeds still to give."""
        return len(self.times)

    @property
    def every(self) -> float:
        """Hours between them [h]; 0 where there are not two."""
        return (self.times[1] - self.times[0]) / _HOUR if len(self.times) > 1 else 0.0


def is_newborn(animal: Animal, now: datetime) -> bool:
    """Whether the first 24 hours may not be over yet."""
    return now < animal.colostrum_until


def colostrum_plan(
    animal: Animal, now: datetime, cold_wet: bool = False, step: float = 0.0
) -> ColostrumPlan:
    """Plan what is left of the first 24 hours.

    Parameters
    ----------
    animal : Animal
    now : datetime
    cold_wet : bool
        Whether it stands in cold wet wind: a fifth more over the day, in more feeds.
    step : float
        Mark on the bottle [mL] to which feeds are rounded up where they stay under the cap; 0:
        none.
    """
    species = animal.species
    weight = animal.last_weight.kilograms
    # By the latest hour it can have been born deadlines would come too late: they count from
    # the earliest, midnight, where the hour is not known.
    earliest = datetime.combine(animal.born, animal.hour or datetime.min.time())
    total = value("colostrum-per-day", species) * weight
    total *= value("colostrum-cold-more") if cold_wet else 1.0
    per_feed = value("colostrum-per-feed") * weight
    had = sum(_as_own(drunk) for drunk in animal.colostrum if drunk.at <= now)
    left = max(total - had, 0.0)
    until = animal.colostrum_until
    times, each = _feeds(animal, now, until, left, per_feed, step)
    lost = left - len(times) * each
    early = value("colostrum-early", species) * weight
    latest = earliest + value("colostrum-first-latest-hours") * _HOUR
    return ColostrumPlan(
        animal,
        now,
        until,
        had,
        total,
        (early, earliest + value("colostrum-early-hours", species) * _HOUR),
        per_feed,
        times,
        each,
        lost if lost > A_MOUTHFUL and is_newborn(animal, now) else 0.0,
        earliest + value("colostrum-first-hours") * _HOUR,
        latest,
        not animal.colostrum and now > latest,
        warmth_of(animal, now),
        animal.hour is not None,
    )


def _feeds(
    animal: Animal, now: datetime, until: datetime, left: float, per_feed: float, step: float
) -> tuple[tuple[datetime, ...], float]:
    """When the feeds still to give are, and how much each is [mL]."""
    if left <= A_MOUTHFUL:
        return (), 0.0
    gap = value("colostrum-gap") * _HOUR
    fed = [drunk.at for drunk in animal.colostrum if drunk.at <= now]
    fed += [drunk.at for drunk in animal.milk if drunk.at <= now]
    first = max(now, over(max(fed), gap)) if fed else now
    if first >= until:
        return (), 0.0
    fits = math.ceil((until - first) / gap - 1e-9)  # the last one starts before the day is over
    feeds = min(math.ceil(left / per_feed - 1e-9), fits)
    each = min(left / feeds, per_feed)
    marked = math.ceil(each / step - 1e-9) * step if step else each
    each = marked if marked <= per_feed * (1 + 1e-9) else each
    between = min(max((until - first) / feeds, gap), LONGEST_GAP * _HOUR)
    between -= between % _A_QUARTER  # hours that a person can keep
    return tuple(first + k * max(between, gap) for k in range(feeds)), each


def _as_own(drunk: ColostrumHad) -> float:
    """Cow's colostrum counts for less: 30 % more of it is asked."""
    factor = value("colostrum-cow-more") if "cow" in drunk.what.lower() else 1.0
    return drunk.millilitres / factor
