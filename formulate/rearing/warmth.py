"""What to do at each body temperature, at any age, and whether the animal can swallow.

A cold animal is warmed before it is fed, and one that cannot swallow or hold up its head is never
fed, by bottle or by tube. Either lasts until something later says otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, How, TemperatureRead

__all__ = ["Warmth", "WarmthState", "can_swallow", "warmth_of"]

_HOUR = timedelta(hours=1)


class WarmthState(StrEnum):
    """How warm an animal is, as far as is known."""

    COLD = "cold"
    COOL = "cool"
    NORMAL = "normal"
    FEVER = "fever"
    CLEARED = "cleared"  # it was cold; a veterinarian says that it may be fed
    UNTIMED = "untimed"  # the file does not say when it was read
    NOT_TAKEN = "not taken"


@brief_repr
@dataclass(frozen=True, slots=True)
class Warmth:
    """What an animal's temperature asks for, in order.

    Parameters
    ----------
    state : WarmthState
    may_feed : bool or None
        Whether it may be fed now; None if the temperature is not known.
    veterinarian : bool
        Whether one is to be called now.
    steps : tuple of str
        First to last.
    read : TemperatureRead or None
        The reading that counts.
    stale : bool
        Whether it is old, and another is asked for.
    source : str
        Key of the source list.
    """

    state: WarmthState
    may_feed: bool | None
    veterinarian: bool = False
    steps: tuple[str, ...] = ()
    read: TemperatureRead | None = None
    stale: bool = False
    source: str = "hypothermia"


def warmth_of(animal: Animal, now: datetime) -> Warmth:
    """Say what an animal's last temperature asks for.

    Parameters
    ----------
    animal : Animal
    now : datetime
    """
    timed = [read for read in animal.temperatures if read.at is not None and read.at <= now]
    untimed = [read for read in animal.temperatures if read.at is None]
    read = timed[-1] if timed else untimed[-1] if untimed else None
    newborn = now < animal.colostrum_until
    # Where the hour of birth is not known, the oldest that it can be: sugar is then not forgotten.
    born = datetime.combine(animal.born, animal.hour or datetime.min.time())
    old = now - born > value("cold-glucose-hours") * _HOUR
    if read is None:
        steps = (say("today.warmth.take-it"), *_if_it_is_cold(old)) if newborn else ()
        return Warmth(WarmthState.NOT_TAKEN, None if newborn else True, steps=steps)
    if read.at is None and read.celsius >= value("cold-danger"):
        steps = (say("today.warmth.when-was-it", celsius=read.celsius), *_if_it_is_cold(old))
        return Warmth(WarmthState.UNTIMED, None, steps=steps, read=read, stale=True)
    return _by_reading(animal, read, now, newborn, old)


def _by_reading(
    animal: Animal, read: TemperatureRead, now: datetime, newborn: bool, old: bool
) -> Warmth:
    celsius = read.celsius
    age = timedelta.max if read.at is None else now - read.at
    stale = age > value("temperature-fresh") * _HOUR
    again = () if not stale else (_again(read, age),)
    if celsius < value("cold-danger"):
        if _cleared(animal, read, now):
            steps = (say("today.warmth.cleared", celsius=celsius), *again)
            return Warmth(WarmthState.CLEARED, True, steps=steps, read=read, stale=stale)
        steps = (
            say("today.warmth.do-not-feed", celsius=celsius),
            say("today.warmth.sugar") if old else say("today.warmth.call"),
            say("today.warmth.warm-it"),
            say("today.warmth.until", danger=value("cold-danger")),
            *again,
        )
        return Warmth(WarmthState.COLD, False, True, steps, read, stale)
    if celsius > value("fever"):
        steps = (say("today.warmth.fever", celsius=celsius, fever=value("fever")), *again)
        return Warmth(WarmthState.FEVER, True, True, steps, read, stale, "judgement")
    if celsius < value("cold-normal"):
        name = "cool-newborn" if newborn else "cool"
        steps = (say(f"today.warmth.{name}", celsius=celsius), *again)
        return Warmth(WarmthState.COOL, True, steps=steps, read=read, stale=stale)
    forgotten = age > value("temperature-forgotten") * _HOUR and not newborn
    steps = () if forgotten else again
    return Warmth(WarmthState.NORMAL, True, steps=steps, read=read, stale=bool(steps))


def _if_it_is_cold(old: bool) -> tuple[str, ...]:
    danger, normal = value("cold-danger"), value("cold-normal")
    below = "below-sugar" if old else "below"
    return (
        say(f"today.warmth.{below}", danger=danger),
        say("today.warmth.between", danger=danger, normal=normal),
    )


def _again(read: TemperatureRead, age: timedelta) -> str:
    if read.at is None:
        return say("today.warmth.untimed-again")
    return say("today.warmth.again", hours=int(age / _HOUR))


def _cleared(animal: Animal, read: TemperatureRead, now: datetime) -> bool:
    """Whether a veterinarian said after the reading that it may be fed."""
    return any(
        one.how is How.VETERINARIAN and one.at <= now and (read.at is None or one.at > read.at)
        for one in animal.seen
    )


def can_swallow(animal: Animal, now: datetime) -> bool:
    """Whether it can swallow and hold up its head, by what was seen last."""
    seen = [one for one in animal.seen if one.at <= now]
    return not seen or seen[-1].how is not How.WEAK
