"""Check growth: what the scale says against what the feed should give, and what to look at."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from formulate.base.shown import brief_repr
from formulate.foods.tables import read_toml
from formulate.rearing.energy import gains
from formulate.rearing.feed_plan import FeedPlan, PlanReason, Stage
from formulate.rearing.feeding import share_of_new
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, Weighing
from formulate.rearing.forecast import Herd, grow, middle

__all__ = ["Alarm", "GrowthCheck", "Stretch", "check_growth", "veterinary_signs"]

Array = NDArray[np.float64]

#: Days after which a weight is old.
OLD_WEIGHT = 10
WEEK = 7
#: From this age on coccidia and worms are thought of [days]: coccidiosis 3 to 9 weeks.
COCCIDIA_AGE = 21


@dataclass(frozen=True, slots=True)
class Stretch:
    """Growth between two weighings.

    Parameters
    ----------
    start, end : Weighing
    expected : tuple of float
        Gain that the feed should have given [kg/d]: low, expected, high.
    error : float
        What the scale leaves open either way [kg/d].
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
    error: float
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
    stretches = _stretches(plan, between)
    found = []
    for i, animal in enumerate(animals):
        mine = tuple(s for (k, _, _), s in zip(between, stretches, strict=True) if k == i)
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


def _stretches(
    plan: FeedPlan, between: Sequence[tuple[int, Weighing, Weighing]]
) -> Sequence[Stretch]:
    """What the feed should have given between weighings, all reckoned at once."""
    if not between:
        return []
    flock, protein = plan.flock, plan.milk.protein
    known = [
        replace(
            flock.animals[i],
            weighings=tuple(w for w in flock.animals[i].weighings if w.day <= start.day),
        )
        for i, start, _ in between
    ]
    first = min(start.day for _, start, _ in between).toordinal()
    last = max(end.day for _, _, end in between).toordinal()
    days = np.arange(first, last + 1)
    herd = Herd.of(known, date.fromordinal(first), flock.level)
    share = share_of_new(flock, [date.fromordinal(int(day)) for day in days])
    before = plan.milk if plan.old_milk is None else plan.old_milk
    energy = share * plan.milk.energy + (1 - share) * before.energy
    solids = share * plan.milk.solids + (1 - share) * before.solids
    grown = grow(herd, days, energy, solids, protein, len(flock.feeding_times))
    found = []
    for row, (i, start, end) in enumerate(between):
        length = (end.day - start.day).days
        fed = slice(start.day.toordinal() - first, end.day.toordinal() - first)
        keeps = float((grown.keep[row, fed] / energy[fed]).mean())
        need = float((grown.least[row, fed] / energy[fed]).mean())
        drunk = _logged(flock.animals[i], start.day, length)
        if drunk is None:
            weights = grown.weight[:, row, fed.stop]
            litres = float(grown.litres[row, fed].mean())
        else:
            weights = _weights_on(drunk * energy[fed], start, protein)
            litres = float(drunk.mean())
        low, expected, high = ((float(w) - start.kilograms) / length for w in weights)
        error = math.sqrt(2) * value("scale-error") / length
        found.append(
            Stretch(
                start, end, (low, expected, high), error, litres, drunk is not None, keeps, need
            )
        )
    return found


def _logged(animal: Animal, start: date, length: int) -> Array | None:
    """Litres logged on each day; None unless every day has some."""
    litres = np.zeros(length)
    for drunk in animal.milk:
        day = (drunk.at.date() - start).days
        if 0 <= day < length:
            litres[day] += drunk.millilitres / 1e3
    return litres if (litres > 0).all() else None


def _weights_on(energy: Array, start: Weighing, protein: float) -> Array:
    """Low, expected and high weight [kg] after days of so much energy each [MJ/d]."""
    now = np.full(3, start.kilograms)
    for day in energy:
        by_account = gains(np.full(3, day), now, protein)
        low, high = by_account[:, 0].min(), by_account[:, 2].max()
        now = now + np.array([low, float(middle(by_account[:, 1])), high])
    return now


def _alarms_of(animal: Animal, stretch: Stretch) -> Sequence[Alarm]:
    gain, error = stretch.gain, stretch.error
    low, _, high = stretch.expected
    # Animals on the same feed differ: two standard deviations above the highest account are no
    # alarm. No such room is given below: what grows too slowly is looked at.
    high_for_any = high + 2 * value("gain-spread")
    age = animal.age_days(stretch.end.day)
    days = _days(stretch.days)
    filled = {"gain": _grams(gain), "low": _grams(low), "high": _grams(high), "days": days}
    alarms = []
    lost = stretch.start.kilograms - stretch.end.kilograms
    if lost > value("scale-error"):
        alarms.append(_alarm("loss", {"lost": f"{lost:.2g} kg", "days": days}))
    elif gain < value("stall-gain") and stretch.days >= 3:
        alarms.append(_alarm("stall", filled))
    elif gain + error < low:
        alarms.append(_alarm("slow", filled, age))
    elif gain - error > high_for_any:
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
    return "1 day" if number == 1 else f"{number} days"
