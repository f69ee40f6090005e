"""The question "which ranges are there, and what does each ask?"."""

from __future__ import annotations

from dataclasses import dataclass

from formulate.foods.bands import BandSet
from formulate.foods.tables import band_set, band_sets
from formulate.pantry.pantry import Pantry

__all__ = ["RangesAnswer", "ranges"]


@dataclass(frozen=True)
class RangesAnswer:
    """Sets of ranges.

    Parameters
    ----------
    sets : tuple of BandSet
        Those of the pantry first.
    named : bool
        Whether one was asked for by name.
    """

    sets: tuple[BandSet, ...]
    named: bool = False


def ranges(pantry: Pantry | None = None, name: str | None = None) -> RangesAnswer:
    """List the sets of ranges, or find one.

    Parameters
    ----------
    pantry : Pantry, optional
        With ranges of its own.
    name : str, optional
        Of one set.

    Raises
    ------
    UnknownName
        If there is no such set.
    """
    own = {} if pantry is None else pantry.own_bands
    if name is not None:
        return RangesAnswer((band_set(name, own),), named=True)
    return RangesAnswer(tuple({**own, **band_sets()}.values()))
