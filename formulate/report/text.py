"""What stands above an answer: what it is for, whose prices, whose cups."""

from __future__ import annotations

from formulate.base.messages import say
from formulate.base.units import Kitchen
from formulate.foods.bands import BandSet
from formulate.pantry.pantry import Pantry

__all__ = ["heading", "shelf_words"]


def heading(bands: BandSet, kitchen: Kitchen, pantry: Pantry | None) -> list[str]:
    """What it is for, whose prices, whose cups."""
    lines = [say("heading.for", title=bands.title, name=bands.name)]
    if pantry:
        lines.append(say("heading.shelf", shelf=shelf_words(pantry)))
    lines.append(say("heading.kitchen", kitchen=kitchen.title))
    return lines


def shelf_words(pantry: Pantry) -> str:
    """A pantry, and of when its prices are."""
    name = pantry.name or pantry.where
    dates = pantry.price_dates()
    if not dates:
        return name
    first, last = dates
    currency = pantry.currency
    if first == last:
        return say("heading.priced", name=name, day=first, currency=currency)
    return say("heading.priced-over", name=name, first=first, last=last, currency=currency)
