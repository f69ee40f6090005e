"""Read the files of `nutrient_tables`, as rows and as parsed TOML. Nothing else reads them."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import nutrient_tables

__all__ = ["exists", "read_rows", "read_shipped", "read_toml"]

_FOLDER = Path(nutrient_tables.__file__).parent


def read_shipped(name: str) -> str:
    """Text of one of the shipped files."""
    return (_FOLDER / name).read_text(encoding="utf-8")


def read_rows(*names: str) -> Iterator[dict[str, str]]:
    """Rows of some files of one layout, one file after the other."""
    for name in names:
        rows = csv.reader(read_shipped(name).splitlines())
        header = next(rows)
        for row in rows:
            if row:
                yield dict(zip(header, row, strict=True))


@cache
def read_toml(name: str) -> dict[str, Any]:
    """Parse one of the shipped TOML files; every caller shares the same read-only object."""
    return tomllib.loads(read_shipped(name))


def exists(name: str) -> bool:
    """Whether there is such a file."""
    return (_FOLDER / name).is_file()
