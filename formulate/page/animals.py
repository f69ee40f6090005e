"""The animals: what each is fed now, what it weighs, whether it grows; ready to be shown."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from formulate.answers.today import Today
from formulate.report.barn_told import AnimalTold, BarnTold, barn_told
from formulate.report.pictures.drawn import growth_picture

__all__ = ["Barnful", "Card", "barnful"]


@dataclass(frozen=True)
class Card:
    """One animal.

    Parameters
    ----------
    told : AnimalTold
    picture : Markup
        Its growth.
    """

    told: AnimalTold
    picture: Markup


@dataclass(frozen=True)
class Barnful:
    """All animals.

    Parameters
    ----------
    told : BarnTold
    cards : tuple of Card
    """

    told: BarnTold
    cards: tuple[Card, ...]


def barnful(today: Today) -> Barnful:
    """Everything of a flock at one moment, with each animal's picture."""
    told = barn_told(today)
    return Barnful(told, tuple(Card(one, _picture(one)) for one in told.animals))


def _picture(one: AnimalTold) -> Markup:
    return growth_picture(one.name, one.weights, one.forecast, one.picture)
