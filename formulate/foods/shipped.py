"""Reads the files of `nutrient_tables`, as rows and as parsed TOML. The only reader of them."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Iterator
from importlib.resources import files
from typing import Any

__all__ = ["exists", "read_rows", "read_toml"]


def read_rows(*names: str) -> Iterator[dict[str, str]]:
    """Rows of some files of one layout, one file after the other."""
    for name in names:
        text = files("nutrient_tables").joinpath(name).read_text(encoding="utf-8")
        yield from csv.DictReader(text.splitlines())


def read_toml(name: str) -> dict[str, Any]:
    """Parse one of the shipped TOML files."""
    return tomllib.loads(files("nutrient_tables").joinpath(name).read_text(encoding="utf-8"))


def exists(name: str) -> bool:
    """Whether there is such a file."""
    return files("nutrient_tables").joinpath(name).is_file()
