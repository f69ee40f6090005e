"""The shape of TOML files: which tables and keys they may have, and what each may hold.

A shape is a frozen dataclass; each of its fields says with `key` what it may hold::

    @dataclass(frozen=True, kw_only=True)
    class SizeEntry:
        price: float = key(number(0, 1e6))
        package: str = key(text())

`read_shape` makes one from parsed TOML, or reports every fault at once, each at its key. What would
be right stands in the catalogue, one message for each key of a file (``keys.toml``).
"""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Callable, Mapping
from datetime import date, datetime, time
from typing import Any, TypeVar

from formulate.base.errors import InputError, ManyFaults, UnknownName
from formulate.base.messages import say
from formulate.base.moments import known_year

__all__ = [
    "a_day",
    "a_moment",
    "a_time",
    "either",
    "flag",
    "key",
    "list_of",
    "number",
    "one_of",
    "read_shape",
    "record",
    "table_of",
    "text",
    "whole",
]

S = TypeVar("S")
#: Gives a value as it is kept, or raises `_Wrong`.
Check = Callable[[Any, "_Reader"], Any]


class _Wrong(Exception):
    """Raised for a value that a key cannot hold."""


def key(check: Check, default: Any = dataclasses.MISSING) -> Any:
    """A field of a shape.

    Parameters
    ----------
    check : callable
        What it may hold: one of the functions below.
    default : optional
        Where the key is left out; without one it must be there.
    """
    if isinstance(default, dict | list):
        kind = type(default)
        return dataclasses.field(default_factory=lambda: kind(default), metadata={"check": check})
    return dataclasses.field(default=default, metadata={"check": check})


def text(shortest: int = 1, longest: int = 500, pattern: str = r"[^\x00-\x1f\x7f]*") -> Check:
    """Text of some length, all of it matching `pattern`; without control characters as a rule."""

    def check(value: Any, _: _Reader) -> str:
        if not isinstance(value, str) or not shortest <= len(value) <= longest:
            raise _Wrong
        if not re.fullmatch(pattern, value):
            raise _Wrong
        return value

    return check


def number(least: float = -math.inf, most: float = math.inf) -> Check:
    """A finite number."""

    def check(value: Any, _: _Reader) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise _Wrong
        if not (least <= value <= most and -1e300 < value < 1e300):
            raise _Wrong
        return value

    return check


def whole(least: int, most: int) -> Check:
    """A whole number."""

    def check(value: Any, _: _Reader) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            raise _Wrong
        return value

    return check


def flag() -> Check:
    """True or false."""
    return _of_type(bool)


def a_day() -> Check:
    """A date without an hour."""
    return _of_type(date)


def a_moment() -> Check:
    """A date and an hour."""
    return _of_type(datetime)


def a_time() -> Check:
    """A time of day."""
    return _of_type(time)


def _of_type(kind: type) -> Check:
    def check(value: Any, _: _Reader) -> Any:
        if type(value) is not kind or (isinstance(value, date) and not known_year(value)):
            raise _Wrong
        return value

    return check


def one_of(*words: str) -> Check:
    """One of some words."""

    def check(value: Any, _: _Reader) -> str:
        if not isinstance(value, str) or value not in words:
            raise _Wrong
        return value

    return check


def either(*checks: Check) -> Check:
    """Any of several kinds of value, tried in this order."""

    def check(value: Any, reader: _Reader) -> Any:
        for one in checks:
            try:
                return one(value, reader)
            except _Wrong:
                continue
        raise _Wrong

    return check


def list_of(one: Check, fewest: int = 0) -> Check:
    """A list."""

    def check(value: Any, reader: _Reader) -> list[Any]:
        if not isinstance(value, list) or len(value) < fewest:
            raise _Wrong
        return [reader.read(one, str(n), item) for n, item in enumerate(value, 1)]

    return check


def table_of(one: Check, names: Check | None = None) -> Check:
    """A table whose keys are names that the person gives."""
    named = names or text(longest=60)

    def check(value: Any, reader: _Reader) -> dict[str, Any]:
        if not isinstance(value, dict):
            raise _Wrong
        return {
            reader.read(named, name, name): reader.read(one, name, item)
            for name, item in value.items()
        }

    return check


def record(shape: type) -> Check:
    """A table of a shape."""

    def check(value: Any, reader: _Reader) -> Any:
        if not isinstance(value, dict):
            raise _Wrong
        return reader.record(shape, value)

    return check


def read_shape(shape: type[S], data: Mapping[str, Any], file: str, where: str) -> S:
    """Check tables, keys and values of parsed TOML.

    Parameters
    ----------
    shape : type
        A dataclass whose fields are made with `key`.
    data : mapping
        As `tomllib` gives it.
    file : str
        Which table of ``keys.toml`` says what would be right: "pantry", "flock".
    where : str
        The file's name, for errors.

    Returns
    -------
    object
        One of `shape`.

    Raises
    ------
    ManyFaults
        With every fault, each at its key.
    """
    reader = _Reader(file)
    made: S = reader.record(shape, data)
    if reader.faults:
        raise ManyFaults([fault.at(where) for fault in reader.faults])
    return made


class _Reader:
    """The position in the file while reading, and the faults found so far."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.place: list[str] = []
        self.faults: list[InputError] = []
        self.key = ""

    def read(self, check: Check, name: str, value: Any) -> Any:
        """A value by its check; None, and a fault kept, where it is wrong."""
        self.place.append(name)
        try:
            return check(value, self)
        except _Wrong:
            self.fault("empty" if value in ("", [], {}) else "wrong", value)
            return None
        finally:
            self.place.pop()

    def record(self, shape: type, data: Mapping[str, Any]) -> Any:
        """One of `shape`; None if it has faults."""
        fields = {field.name: field for field in dataclasses.fields(shape)}
        before, values = len(self.faults), {}
        for name in data:
            if name not in fields:
                known = tuple(fields)
                hint = say("errors.known-keys", keys=", ".join(known))
                place = ".".join([*self.place, name])
                self.faults.append(UnknownName("key", name, known, hint).at(place))
        outer = self.key
        for name, field in fields.items():
            self.key = name
            if name in data:
                values[name] = self.read(field.metadata["check"], name, data[name])
            elif (
                field.default is dataclasses.MISSING
                and field.default_factory is dataclasses.MISSING
            ):
                self.place.append(name)
                self.fault("missing")
                self.place.pop()
        self.key = outer
        return shape(**values) if len(self.faults) == before else None

    def fault(self, kind: str, value: Any = None) -> None:
        """Keep a fault of the value at this place."""
        name = next((part for part in reversed(self.place) if not part.isdigit()), "")
        problem = {
            "missing": say("errors.key-missing", key=name),
            "empty": say("errors.key-empty", key=name),
            "wrong": say("errors.key-wrong", key=name, value=_shown(value)),
        }[kind]
        remedy = say(f"keys.{self.file}.{self.key}")
        self.faults.append(InputError(problem, remedy, ".".join(self.place)))


def _shown(value: Any) -> str:
    """A value as a TOML file has it, cut short."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return say("errors.a-table")
    if isinstance(value, list):
        return say("errors.a-list")
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, int) and abs(value) > 10**50:
        return say("errors.huge-number")
    return f'"{value}"' if isinstance(value, str) else str(value)
