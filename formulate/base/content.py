"""Equality and hashing for dataclasses that hold arrays, mappings or NaN."""

from __future__ import annotations

import dataclasses
import math
import sys
from collections.abc import Mapping, Set
from typing import Any

__all__ = ["ByContent", "same"]

#: Entries of an array that its hash looks at.
_LOOKED_AT = 16


class ByContent:
    """Base of a dataclass made with ``eq=False``: equal where every compared field is.

    Arrays are equal where shape and entries are, NaN in the same places; mappings where keys and
    values are. Equal objects have one hash.
    """

    __slots__ = ()

    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        if type(self) is not type(other):
            return NotImplemented
        return all(
            same(mine, theirs) for mine, theirs in zip(_held(self), _held(other), strict=True)
        )

    def __hash__(self) -> int:
        return hash((type(self).__qualname__, *map(_hash, _held(self))))


def same(one: Any, other: Any) -> bool:
    """Whether two values are equal, entry by entry, NaN equal to NaN."""
    if one is other:
        return True
    if _is_array(one) and _is_array(other):
        import numpy as np

        return np.array_equal(one, other, equal_nan=one.dtype.kind == other.dtype.kind == "f")
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list | tuple) and isinstance(other, list | tuple):
        return type(one) is type(other) and len(one) == len(other) and all(map(same, one, other))
    return bool(one == other) or (_is_nan(one) and _is_nan(other))


def _held(thing: Any) -> list[Any]:
    return [getattr(thing, field.name) for field in dataclasses.fields(thing) if field.compare]


def _hash(value: Any) -> int:
    """A hash that equal values share, whatever they are."""
    if _is_array(value):
        return hash((value.shape, *map(_hash, value.ravel()[:_LOOKED_AT].tolist())))
    if isinstance(value, Mapping):
        return hash(frozenset((key, _hash(item)) for key, item in value.items()))
    if isinstance(value, list | tuple):
        return hash(tuple(map(_hash, value)))
    if isinstance(value, Set):
        return hash(frozenset(value))
    return 0 if _is_nan(value) else hash(value)  # each NaN has a hash of its own


def _is_array(value: object) -> bool:
    numpy = sys.modules.get("numpy")  # nothing is an array before it is imported
    return numpy is not None and isinstance(value, numpy.ndarray)


def _is_nan(value: object) -> bool:
    return isinstance(value, float) and math.isnan(value)
