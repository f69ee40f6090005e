"""Files in and out, safely: clear errors on reading, all or nothing on writing."""

from __future__ import annotations

import os
import tempfile
import tomllib
from pathlib import Path
from typing import Any

from formulate.base.errors import InputError

__all__ = ["parse_toml", "read_text", "replace_file"]

#: No pantry is longer; a larger file was named by mistake.
LARGEST_FILE = 2_000_000


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
            raise InputError("this is a folder, not a file", "Name a file in it.", where)
        if not path.exists():
            raise InputError("there is no such file", "Check the name and the folder.", where)
        if not path.is_file():
            raise InputError("this is not an ordinary file", "Name a text file.", where)
        if path.stat().st_size > LARGEST_FILE:
            raise InputError("the file is too large for a list of foods", "", where)
        data = path.read_bytes()
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError(f"the file cannot be read ({reason})", "", where) from error
    if b"\0" in data:
        raise InputError("this is a binary file, not text", "Name a text file.", where)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise InputError(
            f"line {line} is not UTF-8 text", "Save the file as UTF-8.", where
        ) from error


def parse_toml(text: str, where: str) -> dict[str, Any]:
    """Parse TOML text; a fault names its line and column."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(
            f"this is not TOML: {_lower_first(str(error))}",
            'Text stands in quotes, as package = "1 gallon", and each food has one table.',
            where,
        ) from error
    except RecursionError as error:
        raise InputError("this is not TOML: nested too deeply", "", where) from error


def replace_file(path: Path, data: str | bytes) -> None:
    """Write a file whole or not at all: to a temporary file beside it, then replace.

    Raises
    ------
    InputError
        If the folder is not there or cannot be written to. The old file is untouched then.
    """
    raw = data.encode() if isinstance(data, str) else data
    if path.is_dir():
        raise InputError("this is a folder", "Name a file to write.", str(path))
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        mode = path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask()
        Path(temporary).chmod(mode)
        Path(temporary).replace(path)
    except OSError as error:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        reason = (error.strerror or str(error)).lower()
        raise InputError(f"the file cannot be written ({reason})", "", str(path)) from error


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _lower_first(text: str) -> str:
    return text[:1].lower() + text[1:]
