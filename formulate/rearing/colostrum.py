"""Colostrum first: how much, by when, how warm, and what to do for a cold newborn.

No mix replaces it: a home-mixed milk has no antibodies.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from formulate.base.errors import InputError
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, ColostrumHad

__all__ = ["ColostrumPlan", "Warmth", "colostrum_plan", "refuse_as_colostrum", "warmth"]


@dataclass(frozen=True, slots=True)
class Warmth:
    """What a newborn's temperature asks for, in order.

    Parameters
    ----------
    state : str
        "cold", "cool", "normal", "fever" or "not taken".
    may_feed : bool or None
        Whether it may be fed now; None where the temperature is not known.
    veterinarian : bool
        Whether one is to be called now.
    steps : tuple of str
        First to last.
    source : str
    """

    state: str
    may_feed: bool | None
    veterinarian: bool
    steps: tuple[str, ...]
    source: str = "hypothermia"


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
    feeds : int
        Feeds still to give.
    next_feed : float
        The next one [mL].
    every : float
        Hours between them [h].
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
    feeds: int
    next_feed: float
    every: float
    first_by: datetime
    first_latest: datetime
    overdue: bool
    warmth: Warmth
    hour_known: bool

    @property
    def left(self) -> float:
        """Still to drink [mL]."""
        return max(self.total - self.had, 0.0)


def warmth(temperature: float | None, age_hours: float) -> Warmth:
    """Say what a newborn's temperature [°C] asks for."""
    danger, normal, fever = value("cold-danger"), value("cold-normal"), value("fever")
    if temperature is None:
        return Warmth(
            "not taken",
            None,
            False,
            (
                "Take its temperature first, in the rectum.",
                f"Below {danger:g} °C: do not feed it. Warm it first, and call a veterinarian.",
                f"{danger:g} to {normal:g} °C: dry it, shelter it, and feed it.",
                f"{normal:g} to {fever:g} °C is normal.",
            ),
        )
    if temperature < danger:
        glucose = (
            (
                "Call the veterinarian now. An animal this cold and more than "
                f"{value('cold-glucose-hours'):g} hours old may need sugar by injection before "
                "it is warmed: only a veterinarian, or someone a veterinarian has trained, "
                "gives it.",
            )
            if age_hours > value("cold-glucose-hours")
            else ("Call the veterinarian for advice.",)
        )
        return Warmth(
            "cold",
            False,
            True,
            (
                "Do not feed it yet, by bottle or by tube.",
                *glucose,
                "Dry it and warm it in warm air. Look every 20 to 30 minutes.",
                f"At {danger:g} °C and able to hold its head up: feed colostrum. "
                "Never put a tube into a very weak or unconscious animal.",
            ),
        )
    if temperature < normal:
        steps: tuple[str, ...] = ("Dry it, shelter it, feed it colostrum, and look again soon.",)
        return Warmth("cool", True, False, steps)
    if temperature <= fever:
        return Warmth("normal", True, False, ())
    return Warmth(
        "fever", True, True, (f"Above {fever:g} °C: call a veterinarian.",), "veterinarian"
    )


def is_newborn(animal: Animal, now: datetime) -> bool:
    """Whether the first 24 hours may not be over yet."""
    return now < animal.colostrum_until


def colostrum_plan(animal: Animal, now: datetime, cold_wet: bool = False) -> ColostrumPlan:
    """Plan what is left of the first 24 hours.

    Parameters
    ----------
    animal : Animal
    now : datetime
    cold_wet : bool
        Whether it stands in cold wet wind: a fifth more over the day, in more feeds.
    """
    species = animal.species
    weight = animal.last_weight.kilograms
    # By the latest hour it can have been born deadlines would come too late: they count from
    # the earliest, midnight, where the hour is not known.
    hour = animal.hour
    earliest = datetime.combine(animal.born, hour or datetime.min.time())
    age_hours = max((now - earliest) / timedelta(hours=1), 0.0)
    total = value("colostrum-per-day", species) * weight
    total *= value("colostrum-cold-more") if cold_wet else 1.0
    per_feed = value("colostrum-per-feed") * weight
    had = sum(_as_own(drunk) for drunk in animal.colostrum)
    left = max(total - had, 0.0)
    feeds = math.ceil(left / per_feed - 1e-9)
    hours_left = max((animal.colostrum_until - now) / timedelta(hours=1), 0.0)
    early = value("colostrum-early", species) * weight
    early_by = earliest + timedelta(hours=value("colostrum-early-hours", species))
    latest = earliest + timedelta(hours=value("colostrum-first-latest-hours"))
    return ColostrumPlan(
        animal,
        now,
        animal.colostrum_until,
        had,
        total,
        (early, early_by),
        per_feed,
        feeds,
        left / feeds if feeds else 0.0,
        min(hours_left / feeds, 6.0) if feeds else 0.0,
        earliest + timedelta(hours=value("colostrum-first-hours")),
        latest,
        not animal.colostrum and now > latest,
        warmth(animal.temperature, age_hours),
        hour is not None,
    )


def _as_own(drunk: ColostrumHad) -> float:
    """Cow's colostrum counts for less: 30 % more of it is asked."""
    factor = value("colostrum-cow-more") if "cow" in drunk.what.lower() else 1.0
    return drunk.millilitres / factor


def refuse_as_colostrum(animal: Animal, now: datetime) -> None:
    """Refuse milk for an animal whose first 24 hours are not over.

    Raises
    ------
    InputError
    """
    if is_newborn(animal, now):
        unsure = (
            ""
            if animal.hour
            else " (its hour of birth is not known, so the latest it can be is taken)"
        )
        raise InputError(
            f"{animal.name} needs colostrum until {animal.colostrum_until:%Y-%m-%d %H:%M}"
            f"{unsure}: no mix replaces it",
            "A home-mixed milk has no antibodies. Log colostrum with --colostrum.",
        )
