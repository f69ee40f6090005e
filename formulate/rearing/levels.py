"""Levels of feeding: how fast an animal should grow on its milk.

A level is an aim, not a ration: the plan gives what the caps allow, and says which of them holds
it back (`formulate.rearing.forecast`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from formulate.base.errors import UnknownName
from formulate.base.messages import listed, say
from formulate.rearing.figures import Figure, figure
from formulate.rearing.flock import Animal, Flock, Level, Species

__all__ = ["aim", "aims", "at_level", "level_named"]


def level_named(text: str | None) -> Level | None:
    """Read a level; None if none is written.

    Raises
    ------
    UnknownName
        With the nearest level.
    """
    if text is None:
        return None
    try:
        return Level(text.strip().lower())
    except ValueError:
        levels = [level.value for level in Level]
        hint = say("today.level.write", levels=listed(levels, either=True))
        raise UnknownName("level", text, levels, hint) from None


def aim(level: Level, species: Species) -> Figure:
    """Daily gain that a level aims at [kg/d], with its source."""
    return figure(f"aim-{level.value}", species)


def aims(animals: Sequence[Animal], level: Level) -> Sequence[float]:
    """Daily gain that each animal is fed for [kg/d]: its own level's, or the flock's `level`."""
    return [aim(animal.level or level, animal.species).value for animal in animals]


def at_level(flock: Flock, level: Level) -> Flock:
    """The same flock with every animal fed at one level, whatever its file says."""
    animals = tuple(
        replace(one, level=None, fed_at=one.fed_at or one.level or flock.level)
        for one in flock.animals
    )
    return replace(flock, animals=animals, level=level)
