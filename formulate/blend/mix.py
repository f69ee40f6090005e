"""A mix: its amounts and its values; the cheapest mix of a problem, and the nearest.

The *nearest* mix of a shelf that cannot meet its bands is, by one rule: the least total miss
(each divided by its band's width, see `formulate.blend.elastic`); safety ceilings, largest
shares and stocks are kept; among equals the cheapest.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING, ClassVar

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import SolverFault, UnitError
from formulate.base.messages import say
from formulate.base.quantities import HasQuantities, quantity
from formulate.base.shown import Renderable, brief, brief_repr
from formulate.blend.branch import DUST, Relaxed, used_enough
from formulate.blend.elastic import Elastic
from formulate.blend.problem import Limit, Problem, Shelf
from formulate.blend.solve import (
    Certificate,
    Infeasible,
    LinearProgram,
    Optimal,
    Unbounded,
    solve,
)
from formulate.foods.bands import BandSet, Read, Role, Standing, read_all, read_named
from formulate.foods.measures import measure

if TYPE_CHECKING:
    import pint

__all__ = ["Mix", "NoMix", "Status", "finish", "nearest", "nearest_each", "optimise"]

Array = NDArray[np.float64]

#: Units that count by effect or by particles, which pint does not have.
UNKNOWN_TO_PINT = ("IU", "mOsm", "mEq")


class Status(StrEnum):
    """What a mix is."""

    OPTIMAL = "optimal"
    NEAREST = "nearest"
    CLOSEST = "closest"  # to the middles of a reference, whatever its ranges
    CHECKED = "checked"  # a recipe of a person's own, not designed


@dataclass(frozen=True, eq=False)
class Mix(ByContent, HasQuantities, Renderable):
    """Amounts of food, and what they read.

    Parameters
    ----------
    status : Status
    shelf : Shelf
    bands : BandSet
    grams : ndarray, shape (n_foods,)
        Weight of each food [g as fed]; 0 where it is not used.
    reads : tuple of Read
    certificate : Certificate or None
        Of the linear program behind it; None for the nearest mix, which minimises misses.
    """

    status: Status
    shelf: Shelf
    bands: BandSet
    grams: Array
    reads: tuple[Read, ...]
    certificate: Certificate | None = None

    units: ClassVar[Mapping[str, str]] = {"weight": "gram", "volume": "millilitre"}

    def __repr__(self) -> str:
        parts = sorted(zip(self.grams, self.shelf.ids, strict=True), reverse=True)
        foods = ", ".join(f"{grams:.0f} g {food}" for grams, food in parts if grams > 0)
        per_litre = self.cost_per_litre
        price = "" if per_litre is None else f"{per_litre:.2f} {self.shelf.currency}/L"
        missed = ", ".join(read.band.measure for read in self.misses)
        return brief(
            self,
            f"{self.status} for {self.bands.name}",
            foods,
            f"{self.volume:.0f} mL",
            price,
            f"misses {missed}" if missed else "",
        )

    def __getitem__(self, key: str | tuple[str, str]) -> Read:
        """One read, by its measure: ``mix["fat"]``, or ``mix["fat", "as_fed"]`` on one basis.

        Parameters
        ----------
        key : str or tuple of (str, str)
            Measure, or measure and basis. On several bases the one with a demanded range is
            meant, else one with a safety range, else the first.

        Raises
        ------
        UnknownName
            If there is no such value; the error suggests the nearest measures.
        """
        return read_named(self.reads, key)

    def quantity(self, name: str) -> pint.Quantity[float]:
        """The weight, the volume or any measure of the batch, with its unit.

        Parameters
        ----------
        name : str
            "weight", "volume", or a measure: "fat" gives the grams of fat in the batch.

        Raises
        ------
        UnknownName
            If there is no such measure.
        UnitError
            If pint has no unit for it.
        """
        if name in self.units:
            return super().quantity(name)
        unit = measure(name).unit
        if unit in UNKNOWN_TO_PINT:
            raise UnitError(say("errors.no-pint-unit", measure=name, unit=unit))
        return quantity(float(self.shelf.composition.row(name) @ self.grams), unit)

    @property
    def weight(self) -> float:
        """Weight of the batch [g]."""
        return float(self.grams.sum())

    @cached_property
    def volume(self) -> float:
        """Volume of the batch [mL], from its composition."""
        return float(self.shelf.composition.row("volume") @ self.grams)

    @property
    def costs(self) -> Array:
        """Cost of each food [money], shape (n_foods,); NaN where a used food has no price."""
        return np.where(self.grams > 0, self.grams * self.shelf.price, 0.0)

    @property
    def cost(self) -> float | None:
        """Cost of the batch [money]; None if a used food has no price."""
        total = float(self.costs.sum())
        return total if math.isfinite(total) else None

    @property
    def cost_per_litre(self) -> float | None:
        """Cost of a litre [money/L]."""
        cost = self.cost
        return None if cost is None else cost / self.volume * 1e3

    @property
    def misses(self) -> tuple[Read, ...]:
        """Reads outside their demanded or safety range."""
        return tuple(
            r
            for r in self.reads
            if r.standing in (Standing.BELOW, Standing.ABOVE) and r.band.role is not Role.SHOWN
        )


@brief_repr
@dataclass(frozen=True)
class NoMix:
    """The shelf cannot meet the bands. Holds no amounts of its own.

    Parameters
    ----------
    problem : Problem
    conflict : tuple of Limit
        Fewest demands that already clash, whatever the others; empty if the solver could not
        list them, for example if they miss each other by less than it can resolve.
    other_conflicts : tuple of tuple of Limit
        Others of the same size.
    nearest : Mix or None
        None if the limits that are never relaxed clash among themselves, or the solver
        could not work it out.
    complete : bool
        Whether the solver worked out both.
    """

    problem: Problem
    conflict: tuple[Limit, ...]
    other_conflicts: tuple[tuple[Limit, ...], ...]
    nearest: Mix | None
    complete: bool = True


def finish(
    problem: Problem,
    grams: Array,
    status: Status,
    certificate: Certificate | None = None,
) -> Mix:
    """Drop the solver's rounding and read the mix."""
    grams = np.where(grams > DUST * problem.volume, grams, 0.0)
    reads = read_all(problem.bands, problem.shelf.composition, grams, problem.shelf.like)
    return Mix(status, problem.shelf, problem.bands, grams, reads, certificate)


def optimise(problem: Problem, cost: Array | None = None) -> Optimal | None:
    """Solve a problem per mL of mix; None if nothing meets it.

    A food with a smallest useful amount is used at least that much or not at all. If the optimum
    falls between, both are tried (a small search tree).
    """
    program = problem.program(cost)
    if not problem.shelf.has_smallest:
        return _solved(program)

    def attempt(lower: Array, upper: Array) -> Relaxed[Optimal] | None:
        found = _solved(replace(program, col_lower=lower, col_upper=upper))
        return None if found is None else Relaxed(found, found.objective, found.objective)

    floors = problem.shelf.smallest / problem.volume
    return used_enough(floors, attempt, lambda found: found.x).answer


def _solved(program: LinearProgram) -> Optimal | None:
    result = solve(program)
    if isinstance(result, Unbounded):
        raise SolverFault(say("solver.no-cheapest"))
    return None if isinstance(result, Infeasible) else result


def nearest(problem: Problem) -> Mix | None:
    """Find the mix of least total miss; see the rule at the top of this module.

    Returns
    -------
    Mix or None
        None if safety ceilings, shares and stocks leave no mix at all.
    """
    grams = Elastic.of(problem).least()
    return None if grams is None else finish(problem, grams, Status.NEAREST)


def nearest_each(problem: Problem, prices: Array) -> Iterator[Mix | None]:
    """The nearest mix at each of some prices; what does not hang on prices is worked out once.

    Parameters
    ----------
    problem : Problem
    prices : ndarray, shape (K, n)
        Money per gram of each food.

    Yields
    ------
    Mix or None
        As `nearest`; None too where the solver cannot work it out.
    """
    elastic = Elastic.of(problem)
    for price in prices:
        there = elastic.at(price)
        try:
            grams = there.least()
        except SolverFault:
            grams = None
        yield None if grams is None else finish(there.problem, grams, Status.NEAREST)
