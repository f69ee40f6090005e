"""Collect the faults in a file, so that a person sees them all at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from formulate.base.errors import InputError, ManyFaults

__all__ = ["Faults"]

T = TypeVar("T")


class Faults:
    """Faults found so far.

    Parameters
    ----------
    where : str
        The file or table they are in.
    """

    def __init__(self, where: str = "") -> None:
        self.where = where
        self.found: list[InputError] = []

    def catch(self, place: str, make: Callable[[], T]) -> T | None:
        """Call `make`; keep what it raises, with its place."""
        try:
            return make()
        except ManyFaults as error:
            self.found += [fault.at(place) if place else fault for fault in error.faults]
        except InputError as error:
            self.found.append(error.at(place) if place else error)
        return None

    def keep(self, fault: InputError) -> None:
        """Keep a fault that knows its place."""
        self.found.append(fault)

    def add(self, place: str, problem: str, remedy: str = "") -> None:
        """Keep a fault."""
        self.found.append(InputError(problem, remedy, place))

    def settle(self) -> None:
        """Raise what was found.

        Raises
        ------
        ManyFaults
        """
        if self.found:
            raise ManyFaults([f.at(self.where) if self.where else f for f in self.found])
