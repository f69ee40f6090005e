"""The places of the page: their addresses, and where to find each command.

Five stand in the navigation; every other is one link away from one of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from formulate.base.messages import say

__all__ = ["COMMAND_PLACES", "DESK_COMMANDS", "PLACES", "Place"]


@dataclass(frozen=True, slots=True)
class Place:
    """A place in the navigation.

    Parameters
    ----------
    address : str
    """

    address: str

    @property
    def words(self) -> str:
        """What its link says."""
        return say(f"page.place.{self.address[1:] or 'today'}")


#: In the order of the navigation.
PLACES = (
    Place("/"),
    Place("/mix"),
    Place("/animals"),
    Place("/shop"),
    Place("/shelf"),
)

#: Where what a command does is done on the page.
COMMAND_PLACES: Mapping[str, str] = {
    "mix": "/mix",
    "page": "/",
    "check": "/check",
    "compare": "/compare",
    "carton": "/carton",
    "prices": "/prices",
    "foods": "/foods",
    "bands": "/bands",
    "card": "/print",
    "label": "/print",
    "start": "/kitchen",
    "today": "/",
    "feed": "/plan",
    "note": "/animals",
    "weigh": "/animals",
    "growth": "/growth",
    "rehydrate": "/scour",
    "shop": "/shop",
    "season": "/season",
    "manual": "/help",
}
#: Commands for a desk, not for a household: they stay in the terminal.
DESK_COMMANDS: Mapping[str, str] = {
    "many": "It asks one question of hundreds of pantries and writes a table.",
}
