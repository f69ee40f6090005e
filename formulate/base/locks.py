"""Hold a file's lock while it is read, changed and replaced, so that two writers lose nothing."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from formulate.base.errors import InputError

__all__ = ["PATIENCE", "held", "lock_path"]

#: How long another writer may hold the lock [s].
PATIENCE = 10.0


def lock_path(path: Path) -> Path:
    """The lock file of a file; it lies beside it and stays, empty."""
    return path.with_name(f".{path.name}.lock")


@contextmanager
def held(path: Path, what: str = "file") -> Iterator[None]:
    """Hold the lock of a file; the system lets go of it when a process ends, however it ends.

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
    try:
        file = lock_path(path).open("a+b")
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError(f"the {what} cannot be written ({reason})", "", str(path)) from error
    with file:
        until = time.monotonic() + PATIENCE
        while not _try_lock(file.fileno()):
            if time.monotonic() > until:
                raise InputError(
                    f"another command is writing to this {what}",
                    "Wait, then try again.",
                    str(path),
                )
            time.sleep(0.02)
        try:
            yield
        finally:
            _unlock(file.fileno())


if sys.platform == "win32":
    import msvcrt

    def _try_lock(handle: int) -> bool:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _unlock(handle: int) -> None:
        msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _try_lock(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _unlock(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_UN)
