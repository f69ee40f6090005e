"""Published feeding schedules, by age and by weight, each for its own strength of milk."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from formulate.rearing.flock import Species
from nutrient_tables import open_table

__all__ = ["Line", "Published", "least_feeds", "published", "schedule", "strength"]


#: Density of milk [kg/L]: cow's 1.029, ewe's 1.034 (Mahmood & Usman 2010).
MILK_DENSITY = 1.03


@dataclass(frozen=True, slots=True)
class Line:
    """One line of ``nutrient_tables/schedules.csv``.

    Parameters
    ----------
    species : Species
    schedule : str
        "by-age", "by-weight", "by-weight-small", "least-feeds" or "own-strength".
    from_day, to_day : int
        Days since the day of birth, both included.
    low, high : float
        [`unit`]; 0 where the line gives none.
    unit : str
        "mL/feed", "g/kg/d" or "MJ/L".
    feeds : int
        A day; 0 where the line gives none.
    source : str
    note : str
    """

    species: Species
    schedule: str
    from_day: int
    to_day: int
    low: float
    high: float
    unit: str
    feeds: int
    source: str
    note: str


@dataclass(frozen=True, slots=True)
class Published:
    """What a schedule gives an animal on a day, at the schedule's own strength of milk.

    Parameters
    ----------
    schedule : str
    low, high : float
        Milk a day [L].
    feeds : int
        A day; 0 where the schedule leaves it open.
    source : str
    """

    schedule: str
    low: float
    high: float
    feeds: int
    source: str

    def at(self, own: float, energy: float) -> Published:
        """The same energy in another milk: `own` and `energy` [MJ/L]."""
        factor = own / energy
        return Published(
            self.schedule, self.low * factor, self.high * factor, self.feeds, self.source
        )


def _lines() -> Iterator[Line]:
    with open_table("schedules") as table:
        rows = list(csv.DictReader(table))
    for row in rows:
        yield Line(
            Species(row["species"]),
            row["schedule"],
            int(row["from_day"] or 0),
            int(row["to_day"] or 10_000),
            float(row["low"] or 0),
            float(row["high"] or 0),
            row["unit"],
            int(row["feeds"] or 0),
            row["source"],
            row["note"],
        )


@cache
def schedule(species: Species, name: str) -> tuple[Line, ...]:
    """Lines of one schedule, by age."""
    found = [line for line in _lines() if line.species is species and line.schedule == name]
    return tuple(sorted(found, key=lambda line: line.from_day))


def strength(species: Species) -> Line:
    """Energy [MJ/L] of the milk that the schedules mean; the sources do not say it."""
    return schedule(species, "own-strength")[0]


@cache
def least_feeds(species: Species, age: int) -> Line:
    """Fewest feeds a day at an age [days since the day of birth]; past the last line, it."""
    lines = schedule(species, "least-feeds")
    return next((line for line in lines if line.from_day <= age <= line.to_day), lines[-1])


def published(species: Species, age: int, weight: float) -> tuple[Published, ...]:
    """What each schedule gives at an age [days] and weight [kg]; none past its last line.

    A kilogram of milk is taken as 1/1.03 L.
    """
    found = []
    for name in ("by-age", "by-weight", "by-weight-small"):
        for line in schedule(species, name):
            if not line.from_day <= age <= line.to_day:
                continue
            per_day = (
                weight / (1e3 * MILK_DENSITY) if line.unit == "g/kg/d" else line.feeds / 1e3
            )  # L a day for each unit of the line
            found.append(
                Published(name, line.low * per_day, line.high * per_day, line.feeds, line.source)
            )
    return tuple(found)
