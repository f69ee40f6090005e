"""List the reference ranges, or show what one of them asks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from formulate.base.errors import WrongType
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.foods.bands import BandSet
from formulate.foods.tables import band_set, band_sets
from formulate.pantry.pantry import Pantry

__all__ = ["BandsLike", "RangesAnswer", "check_reference", "ranges"]

#: What a reference is given as: its name, or the ranges themselves.
BandsLike: TypeAlias = BandSet | str


@brief_repr
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


def check_reference(value: object) -> None:
    """Refuse what is not a reference.

    Raises
    ------
    WrongType
    """
    if not isinstance(value, str | BandSet):
        raise WrongType(say("library.what.reference"), value, say("library.a-reference"))
