"""A flock and the pantry that feeds it, read from their files or from the built-in samples."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from formulate.pantry.pantry import Pantry
from formulate.rearing.flock_file import FlockRead, load_flock, sample_flock
from formulate.rearing.mixes import pantry_of

__all__ = ["Household", "load_household"]


@dataclass(frozen=True)
class Household:
    """What most questions about animals are asked of.

    Parameters
    ----------
    read : FlockRead
    pantry : Pantry
    """

    read: FlockRead
    pantry: Pantry


def load_household(
    flock: Path | str | None = None,
    pantry: Path | str | None = None,
    now: datetime | None = None,
) -> Household:
    """Read a flock and its pantry.

    Parameters
    ----------
    flock : Path or str, optional
        Flock file; by default the built-in sample.
    pantry : Path or str, optional
        Pantry file; by default the one that the flock file names, else the built-in sample.
    now : datetime, optional
        The moment to plan from; else noon of the day that the file names, else this moment.

    Raises
    ------
    ManyFaults, InputError
        With every fault of the files. Faults of the log are handed back in `read`.
    """
    read = sample_flock(now) if flock is None else load_flock(flock, now)
    return Household(read, pantry_of(read.flock, None if pantry is None else str(pantry)))
