"""Limits on one feed, on one day and on the time between feeds, and when too little is known.

Two people who do not know of each other's feed can kill a lamb, so these hold for what is planned
and for what is written down alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from formulate.rearing.colostrum import is_newborn
from formulate.rearing.feed_plan import DayFeed, Stage
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, ColostrumHad, MilkHad
from formulate.rearing.portions import cap_of, largest_published
from formulate.rearing.schedule import MILK_DENSITY, least_feeds
from formulate.rearing.sittings import least_gap
from formulate.rearing.weaning import back_on_milk

__all__ = ["Fed", "FeedLimits", "colostrum_limits", "fed", "fed_within", "limits", "unplanned"]

_DAY = timedelta(hours=24)
#: People are not clocks: a feed so much earlier than yesterday's is not one more in 24 hours.
EARLY = timedelta(hours=1)

#: Liquid that was fed.
Fed = MilkHad | ColostrumHad


@dataclass(frozen=True, slots=True)
class FeedLimits:
    """What an animal's stomach may hold.

    Parameters
    ----------
    feed : float
        A planned feed [mL].
    cap : float
        Largest feed [mL].
    day : float
        In 24 hours [mL].
    gap : timedelta
        Least time between two feeds.
    """

    feed: float
    cap: float
    day: float
    gap: timedelta


def limits(animal: Animal, now: datetime, day: DayFeed | None = None) -> FeedLimits:
    """Limits by the plan's day; where there is no plan, by the animal's weight and age.

    Parameters
    ----------
    animal : Animal
    now : datetime
    day : DayFeed, optional
        Of the plan, today.
    """
    if is_newborn(animal, now):
        return colostrum_limits(animal)
    if day is not None and day.stage in (Stage.MILK, Stage.STEP_DOWN) and day.feeds:
        return FeedLimits(day.millilitres, day.cap, 1e3 * day.litres, _gap(day.feeds))
    weight = animal.last_weight.kilograms
    cap = min(cap_of(animal, now.date()) * weight, largest_published(animal))
    feeds = least_feeds(animal.species, max(animal.age_days(now.date()), 0)).feeds
    a_day = 1e3 * value("most-per-day") * weight / MILK_DENSITY
    return FeedLimits(min(cap, a_day / feeds), cap, a_day, _gap(feeds))


def colostrum_limits(animal: Animal) -> FeedLimits:
    """Limits of the first day; the day's amount is that of cold wet wind."""
    weight = animal.last_weight.kilograms
    cap = value("colostrum-per-feed") * weight
    a_day = value("colostrum-per-day", animal.species) * value("colostrum-cold-more") * weight
    return FeedLimits(cap, cap, a_day, timedelta(hours=value("colostrum-gap")))


def _gap(feeds: int) -> timedelta:
    return timedelta(minutes=least_gap(feeds))


def fed(animal: Animal, now: datetime) -> tuple[Fed, ...]:
    """Every liquid feed that was logged up to `now`, by time."""
    had: Sequence[Fed] = (*animal.colostrum, *animal.milk)
    return tuple(sorted((one for one in had if one.at <= now), key=lambda one: one.at))


def fed_within(feeds: Sequence[Fed], at: datetime) -> float:
    """What was drunk in the day up to a moment [mL], without yesterday's feed at this hour."""
    return sum(one.millilitres for one in feeds if at - _DAY + EARLY < one.at <= at)


def unplanned(animal: Animal, today: date) -> str:
    """Why no milk is planned for an animal: "weaned", "past-milk" or "weigh-first"; else empty."""
    ended = animal.ending is not None and animal.ending.day <= today
    if ended and not back_on_milk(animal, today):
        return "weaned"
    if animal.age_days(today) > value("milk-last-age", animal.species):
        return "past-milk"
    unseen = (today - animal.last_weight.day).days
    return "weigh-first" if unseen > value("weigh-needed") else ""
