"""Read and write files safely: clear errors on reading, all or nothing on writing."""

from __future__ import annotations

import errno
import os
import time
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, BinaryIO

from formulate.base.errors import InputError, WrongType, quoted
from formulate.base.messages import say

__all__ = [
    "as_path",
    "as_utf8",
    "is_file",
    "is_folder",
    "parse_toml",
    "private_folder",
    "read_text",
    "reason",
    "remove_leftovers",
    "replace_file",
    "replaced_file",
    "resolved",
    "sync_folder",
]

#: No pantry is larger than this; a larger file was named by mistake.
LARGEST_FILE = 2_000_000
#: A temporary file as old as this belongs to no writer any more [s].
ABANDONED = 3600.0


def is_file(path: Path) -> bool:
    """Whether a regular file exists there; False for a name that no file can have."""
    try:
        return path.is_file()
    except (OSError, ValueError):  # too long, or with a NUL
        return False


def is_folder(path: Path) -> bool:
    """Whether a folder exists there; False for a name that no folder can have."""
    try:
        return path.is_dir()
    except (OSError, ValueError):
        return False


def as_path(path: object) -> Path:
    """A path as a person gives it.

    Raises
    ------
    WrongType
        If it is neither text nor a path.
    """
    if not isinstance(path, str | Path):
        raise WrongType(say("library.what.path"), path, say("library.a-path"))
    return Path(path)


def read_text(path: Path) -> str:
    """Read a UTF-8 text file.

    Raises
    ------
    InputError
        If it is not there, is a folder or a device, cannot be read, is huge, binary or not
        UTF-8.
    """
    where = str(path)
    try:
        if path.is_dir():
            raise InputError(say("files.not-a-text-file"), say("files.name-a-file"), where)
        if not path.exists():
            raise InputError(say("files.no-such"), say("files.check-name"), where)
        if not path.is_file():
            raise InputError(say("files.not-a-file"), say("files.name-text"), where)
        if path.stat().st_size > LARGEST_FILE:
            raise InputError(say("files.too-large"), "", where)
        data = path.read_bytes()
    except OSError as error:
        raise InputError(say("files.cannot-read", reason=reason(error)), "", where) from error
    if b"\0" in data:
        raise InputError(say("files.binary"), say("files.name-text"), where)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise InputError(
            say("files.not-utf8", line=str(line)), say("files.save-utf8"), where
        ) from error


def parse_toml(text: str, where: str) -> dict[str, Any]:
    """Parse TOML text; a fault names its line and column."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(
            say("files.not-toml", why=_lower_first(str(error))),
            say("files.toml-remedy"),
            where,
        ) from error
    except ValueError as error:  # Python reads no whole number of so many digits
        raise InputError(
            say("errors.too-many-digits"), say("errors.fewer-digits"), where
        ) from error
    except RecursionError as error:
        raise InputError(say("files.too-deep"), "", where) from error


def as_utf8(text: str, where: str) -> bytes:
    """Text as files hold it.

    Raises
    ------
    InputError
        If it has a byte that is not UTF-8, such as text in another encoding.
    """
    try:
        return text.encode()
    except UnicodeEncodeError as error:
        wrong = quoted(text[max(error.start - 10, 0) : error.end + 10])
        raise InputError(
            say("files.not-text", text=wrong), say("files.not-text-remedy"), where
        ) from None


def replace_file(path: Path, data: str | bytes, *, private: bool = False) -> None:
    """Write a file whole or not at all: to a temporary file beside it, then replace.

    A link stays a link; the file that it names is replaced. Once this returns, the file and its
    name are on the disk.

    Parameters
    ----------
    path : Path
    data : str or bytes
    private : bool
        Whether only its owner may read it, whoever could before.

    Raises
    ------
    InputError
        If the folder is not there or cannot be written to. The old file is untouched then.
    """
    raw = as_utf8(data, str(path)) if isinstance(data, str) else data
    with replaced_file(path, private=private) as file:
        file.write(raw)


@contextmanager
def replaced_file(path: Path, *, private: bool = False) -> Iterator[BinaryIO]:
    """A file to write piece by piece that takes the place of another once it is whole.

    As `replace_file`; what is raised while it is written leaves the old file untouched.
    """
    import tempfile

    where, path = str(path), resolved(path)
    if path.is_dir():
        raise InputError(say("files.folder"), say("files.name-to-write"), where)
    remove_leftovers(path, older_than=ABANDONED)
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(
            dir=path.parent, prefix=f".{path.name}.", suffix=".tmp"
        )
        with os.fdopen(handle, "wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        mode = 0o600  # whatever the umask takes away
        if not private:
            mode = path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask()
        Path(temporary).chmod(mode)
        Path(temporary).replace(path)
        sync_folder(path.parent)
    except BaseException as error:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise InputError(
                say("errors.cannot-write", what="file", reason=reason(error)), "", where
            ) from error
        raise


def private_folder(path: Path) -> None:
    """Make a folder, and what it lies in, for its owner alone, whatever the umask is.

    What is there already stays as it is.

    Raises
    ------
    InputError
        If it cannot be made.
    """
    try:
        if path.is_dir():
            return
        if path.parent != path:
            private_folder(path.parent)
        path.mkdir(mode=0o700, exist_ok=True)
        path.chmod(0o700)
    except OSError as error:
        raise InputError(
            say("errors.cannot-write", what="folder", reason=reason(error)), "", str(path)
        ) from error


def resolved(path: Path) -> Path:
    """A path without links in it.

    Raises
    ------
    InputError
        If a link leads to itself.
    """
    try:
        return path.resolve()
    except (OSError, RuntimeError) as error:
        looped = OSError(errno.ELOOP, os.strerror(errno.ELOOP))
        problem = say("errors.cannot-write", what="file", reason=reason(looped))
        raise InputError(problem, "", str(path)) from error


def remove_leftovers(path: Path, older_than: float = 0.0) -> None:
    """Remove what a writer that was killed left beside a file.

    Parameters
    ----------
    path : Path
    older_than : float
        Only what is as old as this [s]: younger ones may belong to a writer at work.
    """
    import glob

    path = resolved(path)
    for left_over in path.parent.glob(f".{glob.escape(path.name)}.*.tmp"):
        with suppress(OSError):
            if time.time() - left_over.stat().st_mtime >= older_than:
                left_over.unlink()


def reason(error: OSError) -> str:
    """The operating system's description of an error, as part of a sentence."""
    return (error.strerror or str(error)).lower()


def sync_folder(folder: Path) -> None:
    """Flush the folder's new entry to disk, on systems that can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _lower_first(text: str) -> str:
    return text[:1].lower() + text[1:]
