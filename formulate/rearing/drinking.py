"""How much of the drink, how often and when: by weight and dehydration, between milk feeds.

The milk goes on. A drink lies at least the gap from the milk before and after it, since its soda
keeps milk from clotting; so the day's milk feeds are moved apart where a drink goes between them,
inside the hours in which the household feeds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.units import Kitchen
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, DrinkHad
from formulate.rearing.portions import bottle_step
from formulate.rearing.scour import Dryness

__all__ = [
    "DrinkAmount",
    "DrinkSitting",
    "apart",
    "drink_amount",
    "drinks_within",
    "milk_again",
    "scour_day",
    "timetable",
]

#: Times are rounded to this many minutes.
_STEP = 5
_DAY = 24 * 60


@dataclass(frozen=True, slots=True)
class DrinkAmount:
    """How much of the drink in a day.

    Parameters
    ----------
    millilitres : float
        A drink [mL], by the marks on the bottle; never above the largest feed.
    times : int
        Drinks a day.
    """

    millilitres: float
    times: int

    @property
    def a_day(self) -> float:
        """All drinks together [mL]."""
        return self.millilitres * self.times


@dataclass(frozen=True, slots=True)
class DrinkSitting:
    """One time of the day: milk, or the drink."""

    at: time
    drink: bool


def drink_amount(
    kilograms: float, band: Dryness, kitchen: Kitchen, cap: float | None = None
) -> DrinkAmount:
    """How much an animal is given.

    Parameters
    ----------
    kilograms : float
        Its weight [kg].
    band : Dryness
        `BAD` is the veterinarian's; it is reckoned as `CLEAR`.
    kitchen : Kitchen
        Whose marks stand on the bottle.
    cap : float, optional
        The veterinarian's own largest feed [mL/kg].

    Raises
    ------
    InputError
        If the weight is no lamb's or kid's.
    """
    if not (math.isfinite(kilograms) and 0.5 <= kilograms <= 40):
        raise InputError(say("rehydrate.ask.no-weight", kilograms=kilograms))
    name = "little" if band is Dryness.LITTLE else "clear"
    day = value(f"drink-day-{name}") * kilograms
    most = (value("cap-per-feed") if cap is None else cap) * kilograms
    times = max(int(value(f"drink-times-{name}")), math.ceil(day / most - 1e-9))
    step = bottle_step(kitchen)
    each = min(day / times, most)
    marked = math.floor(each / step + 0.5) * step
    if marked > most * (1 + 1e-9):
        marked -= step
    return DrinkAmount(marked if marked > 0 else math.floor(each), times)


def drinks_within(animal: Animal, now: datetime, hours: float) -> tuple[DrinkHad, ...]:
    """Drinks that were written down in the last hours, by time."""
    since = now - timedelta(hours=hours)
    return tuple(one for one in animal.drinks if since < one.at <= now)


def apart() -> timedelta:
    """Least time between milk and a drink."""
    return timedelta(hours=value("drink-milk-gap"))


def milk_again(animal: Animal, now: datetime) -> datetime | None:
    """When milk may be given again after the last drink; None if it may be now."""
    last = [one.at for one in animal.drinks if one.at <= now]
    until = last[-1] + apart() if last else now
    return until if until > now else None


def scour_day(animal: Animal, now: datetime) -> int:
    """Day of the scour by the drinks that were written down, 1 where none was before today's.

    Drinks with more than `drink-longest` hours between them belong to another scour.
    """
    first = now
    for one in reversed([one for one in animal.drinks if one.at <= now]):
        if first - one.at > timedelta(hours=value("drink-longest")):
            break
        first = one.at
    return int((now - first) / timedelta(hours=24)) + 1


def timetable(feeding_times: Sequence[time], feeds: int, drinks: int) -> tuple[DrinkSitting, ...]:
    """A day with the milk feeds moved apart where a drink goes between them.

    Parameters
    ----------
    feeding_times : sequence of time
        When the household feeds.
    feeds : int
        Milk feeds of the animal a day.
    drinks : int
        Drinks wanted.

    Returns
    -------
    tuple of DrinkSitting
        In the order of the day from its first feed; fewer drinks than were wanted where they
        would come too close to the milk, down to none.
    """
    gap, least = round(value("drink-milk-gap") * 60), round(value("drink-feed-gap") * 60)
    times = sorted(t.hour * 60 + t.minute for t in feeding_times)
    if not times or feeds < 1:
        return ()
    for wanted in range(drinks, -1, -1):
        found = _spaced(*_window(times), feeds, wanted, gap, least)
        if found is not None:
            return found
    return ()


def _window(times: Sequence[int]) -> tuple[int, int]:
    """Start and length [min] of the household's hours: all but its longest rest."""
    rests = [(times[(i + 1) % len(times)] - t) % _DAY or _DAY for i, t in enumerate(times)]
    longest = max(range(len(times)), key=lambda i: rests[i])
    return times[(longest + 1) % len(times)], _DAY - rests[longest]


def _spaced(
    start: int, length: int, feeds: int, drinks: int, gap: int, least: int
) -> tuple[DrinkSitting, ...] | None:
    """Feeds over the household's hours with drinks between them; None if that is too close.

    A drink goes into the household's rest only where it must, and one alone.
    """
    rest = _DAY - length if feeds > 1 else _DAY
    for at_rest in range(drinks + 1) if feeds == 1 else (0, 1):
        between = drinks - at_rest
        if between < 0 or (feeds == 1 and between) or (at_rest and rest < (at_rest + 1) * gap):
            continue
        loads = _loads(feeds - 1, between)
        need = [(load + 1) * gap if load else least for load in loads]
        if sum(need) > length:
            continue
        more = (length - sum(need)) / max(len(loads), 1)
        minutes, drink = [start], [False]
        for load, width in zip(loads, need, strict=True):
            each = int((width + more) / (load + 1) / _STEP) * _STEP
            for n in range(load + 1):
                minutes.append(minutes[-1] + each)
                drink.append(n < load)
        each = (_DAY - (minutes[-1] - start)) // (at_rest + 1)
        for _ in range(at_rest):
            minutes.append(minutes[-1] + each // _STEP * _STEP)
            drink.append(True)
        return tuple(DrinkSitting(_clock(m), d) for m, d in zip(minutes, drink, strict=True))
    return None


def _loads(gaps: int, drinks: int) -> list[int]:
    """How many drinks go into each gap between two feeds, as even as can be."""
    if not gaps:
        return []
    each, more = divmod(drinks, gaps)
    extra = {round((k + 0.5) * gaps / more - 0.5) for k in range(more)}
    return [each + (k in extra) for k in range(gaps)]


def _clock(minutes: int) -> time:
    return time(minutes % _DAY // 60, minutes % 60)
