"""Lock a file while it is read, changed and replaced, so that two writers lose nothing."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from formulate.base.errors import InputError
from formulate.base.files import reason, remove_leftovers, resolved
from formulate.base.messages import say

if TYPE_CHECKING:
    from filelock import BaseFileLock

__all__ = ["PATIENCE", "held", "lock_path"]

#: How long another writer may hold the lock [s].
PATIENCE = 10.0


def lock_path(path: Path) -> Path:
    """The lock file of a file: beside it, or beside what it links to; there while it is held."""
    path = resolved(path)
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
        lock = FileLock(place)
        handle = _acquired(lock, place)
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
        with suppress(OSError):  # a system that removes no open file keeps it, empty
            place.unlink()
        lock.release()
        os.close(handle)


def _acquired(lock: BaseFileLock, place: Path) -> int:
    """Acquire a lock whose file its last holder may remove; return a handle of that file.

    The file that was opened before is still the one of that name afterwards, so it is the one that
    is locked: while it is open, no other file can be taken for it.
    """
    until = time.monotonic() + PATIENCE
    while True:
        flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_CLOEXEC", 0)
        handle = os.open(place, flags, 0o666)
        try:
            if hasattr(os, "fchmod"):  # a umask may take its own writer's rights away
                with suppress(PermissionError):
                    os.fchmod(handle, os.fstat(handle).st_mode & 0o777 | 0o600)
            lock.acquire(timeout=max(until - time.monotonic(), 0.0), poll_interval=0.02)
            with suppress(FileNotFoundError):
                if os.path.samestat(os.fstat(handle), place.stat()):
                    return handle
            lock.release()
        except BaseException:
            os.close(handle)
            raise
        os.close(handle)
