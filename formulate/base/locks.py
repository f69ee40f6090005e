"""Lock a file while it is read, changed and replaced, so that two writers lose nothing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from formulate.base.errors import InputError
from formulate.base.files import reason, remove_leftovers
from formulate.base.messages import say

__all__ = ["PATIENCE", "held", "lock_path"]

#: How long another writer may hold the lock [s].
PATIENCE = 10.0


def lock_path(path: Path) -> Path:
    """The lock file of a file: beside it, or beside what it links to; it stays there, empty."""
    path = path.resolve()
    return path.with_name(f".{path.name}.lock")


@contextmanager
def held(path: Path, what: str = "file") -> Iterator[None]:
    """Hold the lock of a file; the system lets go of it when a process ends, however it ends.

    Whoever holds it is the only writer, so what a killed writer left beside the file is removed.

    Parameters
    ----------
    path : Path
        The file; it need not be there yet.
    what : str
        What to call it in an error.

    Raises
    ------
    InputError
        If another writer holds it for too long, or the folder cannot be written to.
    """
    from filelock import FileLock, Timeout

    place = lock_path(path)
    try:
        place.parent.stat()  # FileLock would make a folder that is missing
        lock = FileLock(place, timeout=PATIENCE, poll_interval=0.02)
        lock.acquire()
    except Timeout as error:
        problem, remedy = say("errors.locked", what=what), say("errors.locked-remedy")
        raise InputError(problem, remedy, str(path)) from error
    except OSError as error:
        raise InputError(
            say("errors.cannot-write", what=what, reason=reason(error)), "", str(path)
        ) from error
    try:
        remove_leftovers(path)
        yield
    finally:
        lock.release()
