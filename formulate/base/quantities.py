"""Numbers with their unit: accept and return pint quantities without importing pint for floats.

A public function takes a float in the unit that its documentation names, or a pint quantity of
any unit that can be turned into it. What it gives is floats; ``answer.quantity("volume")`` gives
pint. pint is imported only then (its import takes longer than the design of a mix). The registry
is pint's own application registry, so its quantities work with those of the caller.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, ClassVar, Protocol, cast

from formulate.base.errors import InputError, UnitError, UnknownName
from formulate.base.messages import say

if TYPE_CHECKING:
    import pint

__all__ = ["HasQuantities", "Quantity", "magnitude", "quantity"]


class Quantity(Protocol):
    """What is needed of a pint quantity."""

    @property
    def magnitude(self) -> Any:
        """The number in its present unit."""

    def to(self, other: str, /) -> Any:
        """The same in another unit."""


def magnitude(value: float | Quantity, unit: str, what: str) -> float:
    """A value as a float in a unit.

    Parameters
    ----------
    value : float or pint.Quantity
        A float is in `unit` already.
    unit : str
        As pint spells it: "millilitre", "gram".
    what : str
        What to call it in an error.

    Raises
    ------
    UnitError
        If the quantity is of another kind.
    InputError
        If it is neither a number nor a quantity.
    """
    if hasattr(value, "to") and hasattr(value, "magnitude"):
        try:
            return float(value.to(unit).magnitude)
        except Exception as error:
            if not type(error).__module__.startswith("pint"):
                raise
            problem = say("errors.other-unit", what=what, value=f"{value}", unit=unit)
            raise UnitError(problem, say("errors.other-unit-remedy", unit=unit)) from error
    try:
        return float(cast(Any, value) + 0.0)  # a text is not a number, whatever it says
    except (TypeError, ValueError):
        problem = say("errors.no-number", what=what, value=repr(value))
        raise InputError(problem, say("errors.no-number-remedy", unit=unit)) from None


def quantity(value: float, unit: str) -> pint.Quantity[float]:
    """A pint quantity."""
    import pint

    registry = cast(Any, pint.get_application_registry)()
    made: pint.Quantity[float] = registry.Quantity(value, unit)
    return made


class HasQuantities:
    """Base of answers whose figures can be had with their unit.

    A class says in `units` which attributes there are and in which unit, as pint spells it.
    """

    __slots__ = ()
    units: ClassVar[Mapping[str, str]] = {}

    def quantity(self, name: str) -> pint.Quantity[float]:
        """A figure with its unit.

        Parameters
        ----------
        name : str
            As in `units`: "volume", "weight".

        Raises
        ------
        UnknownName
            If there is no such figure.
        """
        if name not in self.units:
            raise UnknownName("figure", name, self.units)
        return quantity(getattr(self, name), self.units[name])
