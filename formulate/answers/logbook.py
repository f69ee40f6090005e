"""The log entries about one animal, newest first."""

from __future__ import annotations

from pathlib import Path

from formulate.rearing.log import Entry, log_path, read_log

__all__ = ["newest_entries"]


def newest_entries(flock: Path, animal: str, most: int) -> tuple[Entry, ...]:
    """Entries of the log about an animal that still count, the newest first.

    Parameters
    ----------
    flock : Path
        The flock file that the log lies beside.
    animal : str
    most : int
        How many.

    Raises
    ------
    InputError
        If the log cannot be read.
    """
    mine = [
        one for one in read_log(log_path(flock)).entries if one.animal.lower() == animal.lower()
    ]
    return tuple(reversed(mine[-most:]))
