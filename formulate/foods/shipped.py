"""Read the files of `nutrient_tables`, as rows and as parsed TOML. Nothing else reads them."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Iterator
from functools import cache
from itertools import zip_longest
from pathlib import Path
from typing import Any

import nutrient_tables
from formulate.base.messages import language, words_of_table

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


def read_toml(name: str) -> dict[str, Any]:
    """Parse one of the shipped TOML files; every caller shares the same read-only object.

    Its sentences are in the language in use, as far as that has them.
    """
    return _parsed(name, language())


@cache
def _parsed(name: str, spoken: str) -> dict[str, Any]:
    data = tomllib.loads(read_shipped(name))
    words = words_of_table(name, spoken)
    return _said(data, words) if words else data


def _said(data: Any, words: Any) -> Any:
    """Data with its sentences replaced, key by key and place by place; nothing else changes."""
    if isinstance(data, dict) and isinstance(words, dict):
        return {key: _said(value, words.get(key)) for key, value in data.items()}
    if isinstance(data, list) and isinstance(words, list):
        return [_said(*pair) for pair in zip_longest(data, words[: len(data)])]
    return words if isinstance(data, str) and isinstance(words, str) else data


def exists(name: str) -> bool:
    """Whether there is such a file."""
    return (_FOLDER / name).is_file()
