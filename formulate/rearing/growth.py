"""Compare growth with what the feed should support, and say what to look at."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cache, lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.foods.tables import read_toml
from formulate.rearing.feed_plan import FeedPlan, PlanReason, Stage
from formulate.rearing.feeding import share_of_new
from formulate.rearing.figures import Figure, figure, value
from formulate.rearing.flock import Animal, Flock, Species, Weighing
from formulate.rearing.forecast import Herd, Supply, grow
from formulate.rearing.milk import Milk
from formulate.rearing.prediction import WEEK, gain_half, gain_sd, predicted_gain, todays_gain

__all__ = [
    "Alarm",
    "GrowthCheck",
    "Stretch",
    "check_growth",
    "predicted_gain",
    "published_gains",
    "veterinary_signs",
]

Array = NDArray[np.float64]

#: Days after which a weight is old.
OLD_WEIGHT = 10
#: From this age on coccidia and worms are thought of [days]: coccidiosis 3 to 9 weeks.
COCCIDIA_AGE = 21


@dataclass(frozen=True, slots=True)
class Stretch:
    """Growth between two weighings.

    Parameters
    ----------
    start, end : Weighing
    expected : tuple of float
        Gain that the feed should have given [kg/d]: low, expected, high. Of healthy animals 19 in
        20 should lie within.
    creep : float
        Creep that was logged [g/d]; what it adds is in `expected`.
    litres : float
        Milk a day [L].
    logged : bool
        Whether the litres were logged on every day; otherwise they are the plan's.
    keep, need : float
        Litres a day that would only keep it, and that would keep and grow it [L].
    """

    start: Weighing
    end: Weighing
    expected: tuple[float, float, float]
    creep: float
    litres: float
    logged: bool
    keep: float
    need: float

    @property
    def days(self) -> int:
        """Days between the weighings."""
        return (self.end.day - self.start.day).days

    @property
    def gain(self) -> float:
        """Gain by the scale [kg/d]."""
        return (self.end.kilograms - self.start.kilograms) / self.days

    @property
    def litres_per_kilogram(self) -> float:
        """Milk for a kilogram of gain [L/kg]; infinite where there was none."""
        return self.litres / self.gain if self.gain > 0 else math.inf


@dataclass(frozen=True, slots=True)
class Alarm:
    """Something to look at.

    Parameters
    ----------
    id : str
        Name in the data.
    text : str
    look : tuple of str
        What to look at, first to last.
    veterinarian : bool
        Whether to call one if the first look does not explain it at once.
    source : str
    """

    id: str
    text: str
    look: tuple[str, ...]
    veterinarian: bool
    source: str


@brief_repr
@dataclass(frozen=True, slots=True)
class GrowthCheck:
    """One animal's growth.

    Parameters
    ----------
    animal : Animal
    stretches : tuple of Stretch
        Oldest first.
    today : tuple of float
        Weight that it should have [kg]: low, expected, high; NaN after weaning.
    alarms : tuple of Alarm
        Of the newest stretch and of today, the gravest first.
    """

    animal: Animal
    stretches: tuple[Stretch, ...]
    today: tuple[float, float, float]
    alarms: tuple[Alarm, ...]


@cache
def _texts() -> Mapping[str, Mapping[str, object]]:
    return read_toml("growth_signs.toml")


def veterinary_signs() -> Alarm:
    """Signs that need a veterinarian, whatever the scale says."""
    return _alarm("signs")


def _alarm(name: str, filled: Mapping[str, str] | None = None, age: int = 0) -> Alarm:
    """An alarm; some ask for another look at animals old enough for coccidia."""
    entry = _texts()[name]
    look = entry["look"]
    if age >= COCCIDIA_AGE:
        look = entry.get("look_older", look)
    assert isinstance(look, list)
    return Alarm(
        name,
        str(entry["text"]).format(**(filled or {})),
        tuple(look),
        bool(entry["veterinarian"]),
        str(entry["source"]),
    )


def check_growth(plan: FeedPlan, now: datetime) -> tuple[GrowthCheck, ...]:
    """Check every animal.

    Parameters
    ----------
    plan : FeedPlan
        From today on: for today's expected weight and whether the milk is too weak.
    now : datetime

    Notes
    -----
    The plan's milks are taken to have been fed since the weighings.
    """
    animals = plan.flock.animals
    between = [
        (i, start, end)
        for i, animal in enumerate(animals)
        for start, end in pairwise(animal.all_weights)
        if end.day > start.day
    ]
    weighed = replace(plan.flock, animals=tuple(_until_weighed(animal) for animal in animals))
    before = plan.milk if plan.old_milk is None else plan.old_milk
    stretches = _stretches(weighed, plan.milk, before, tuple(between))
    by_row: dict[int, list[Stretch]] = {}
    for (i, _, _), stretch in zip(between, stretches, strict=True):
        by_row.setdefault(i, []).append(stretch)
    found = []
    for i, animal in enumerate(animals):
        mine = tuple(by_row.get(i, ()))
        today = plan.day_feed(i, 0)
        alarms = list(_alarms_of(animal, mine[-1]) if mine else [])
        if not mine and animal.age_days(now.date()) >= WEEK:
            alarms.append(_alarm("one-weight"))
        if today.reasons & PlanReason.SHORT_OF_GAIN and today.stage is Stage.MILK:
            alarms.append(_alarm("mix-too-weak"))
        age = (now.date() - animal.last_weight.day).days
        if age > OLD_WEIGHT and today.stage is not Stage.WEANED:
            alarms.append(_alarm("weigh-it", {"days": _days(age)}))
        found.append(GrowthCheck(animal, mine, today.weight, tuple(alarms)))
    return tuple(found)


def _until_weighed(animal: Animal) -> Animal:
    """What growth up to the last weighing asks of an animal: no feed since changes any of it."""
    last = max(weighing.day for weighing in animal.all_weights)
    milk = tuple(drunk for drunk in animal.milk if drunk.at.date() < last)
    return replace(animal, milk=milk, colostrum=(), temperatures=(), seen=(), notes="")


@lru_cache(maxsize=64)
def _stretches(
    flock: Flock, milk: Milk, before: Milk, between: tuple[tuple[int, Weighing, Weighing], ...]
) -> tuple[Stretch, ...]:
    """What the feed should have given between weighings, all reckoned at once."""
    if not between:
        return ()
    known = [
        replace(
            flock.animals[i],
            level=flock.animals[i].fed_at or flock.animals[i].level,
            weighings=tuple(w for w in flock.animals[i].weighings if w.day <= start.day),
        )
        for i, start, _ in between
    ]
    first = min(start.day for _, start, _ in between).toordinal()
    last = max(end.day for _, _, end in between).toordinal()
    days = np.arange(first, last + 1)
    herd = Herd.of(known, date.fromordinal(first), flock.level)
    share = share_of_new(flock, [date.fromordinal(int(day)) for day in days])
    supply = Supply.of(flock, milk, before, share)
    creep = np.array([_creep(flock.animals[i], days) for i, _, _ in between])
    grown = grow(herd, days, supply, creep)
    found = []
    for row, (i, start, end) in enumerate(between):
        length = (end.day - start.day).days
        fed = slice(start.day.toordinal() - first, end.day.toordinal() - first)
        keeps = float((grown.keep[row, fed] / supply.energy[fed]).mean())
        need = float((grown.least[row, fed] / supply.energy[fed]).mean())
        drunk = _logged(flock.animals[i], start.day, length)
        if drunk is None:
            weight = float(grown.weight[1, row, fed.stop])
            litres = float(grown.litres[row, fed].mean())
        else:
            kid = bool(herd.kid[row])
            weight = _weight_on(drunk, supply, fed, creep[row, fed], start, kid)
            litres = float(drunk.mean())
        expected, half = (weight - start.kilograms) / length, gain_half(length)
        interval = (expected - half, expected, expected + half)
        eaten = float(creep[row, fed].mean())
        found.append(Stretch(start, end, interval, eaten, litres, drunk is not None, keeps, need))
    return tuple(found)


def _creep(animal: Animal, days: NDArray[np.int64]) -> Array:
    """Creep logged on each day [g]; a day without a word of it counts as none."""
    grams = np.zeros(len(days))
    for eaten in animal.creep:
        day = eaten.day.toordinal() - int(days[0])
        if 0 <= day < len(days):
            grams[day] = eaten.grams
    return grams


def _logged(animal: Animal, start: date, length: int) -> Array | None:
    """Litres logged on each day; None unless every day has some."""
    litres = np.zeros(length)
    for drunk in animal.milk:
        day = (drunk.at.date() - start).days
        if 0 <= day < length:
            litres[day] += drunk.millilitres / 1e3
    return litres if (litres > 0).all() else None


def _weight_on(
    litres: Array, supply: Supply, fed: slice, creep: Array, start: Weighing, kid: bool
) -> float:
    """Expected weight [kg] after days of so much milk [L] and creep [g] each."""
    more_keep = value("cold-keep") if supply.cold else 1.0
    energy = litres * supply.energy[fed] + creep / 1e3 * value("creep-energy")
    protein = litres * supply.protein[fed] + creep * value("creep-protein")
    now = start.kilograms
    for day in range(len(litres)):
        now += float(todays_gain(energy[day], protein[day], now, kid, more_keep))
    return now


def published_gains(species: Species) -> tuple[Figure, Figure]:
    """Lowest and highest published mean gain on bottled milk [kg/d]."""
    low, high = (figure(f"published-gain-{end}", species) for end in ("low", "high"))
    return low, high


def _alarms_of(animal: Animal, stretch: Stretch) -> Sequence[Alarm]:
    gain, (_, expected, high) = stretch.gain, stretch.expected
    # A look costs little, so an animal that lags is looked at well before it leaves the interval;
    # one that thrives within what trials found is no cause for alarm.
    slow = expected - value("slow-look") * gain_sd(stretch.days)
    fast = max(high, published_gains(animal.species)[1].value)
    age = animal.age_days(stretch.end.day)
    days = _days(stretch.days)
    filled = {
        "gain": _grams(gain),
        "expected": _grams(expected),
        "high": _grams(fast),
        "days": days,
    }
    alarms = []
    lost = stretch.start.kilograms - stretch.end.kilograms
    if lost > value("scale-error"):
        alarms.append(_alarm("loss", {"lost": f"{lost:.2g} kg", "days": days}))
    elif gain < value("stall-gain") and stretch.days >= 3:
        alarms.append(_alarm("stall", filled))
    elif gain < slow:
        alarms.append(_alarm("slow", filled, age))
    elif gain > fast:
        alarms.append(_alarm("fast", filled))
    if stretch.logged:
        drunk = f"{stretch.litres:.2f} L"
        if stretch.litres < stretch.keep:
            alarms.append(_alarm("below-keep", {"drunk": drunk, "keep": f"{stretch.keep:.2f} L"}))
        elif stretch.litres < stretch.need:
            alarms.append(
                _alarm("too-little-milk", {"drunk": drunk, "need": f"{stretch.need:.2f} L"})
            )
    return alarms


def _grams(kilograms: float) -> str:
    return f"{kilograms * 1e3:,.0f} g"


def _days(number: int) -> str:
    return say("words.days", days=number)
