"""A mix: amounts and what they read; the cheapest of a problem, and the nearest.

The *nearest* mix of a shelf that cannot meet its bands is, by one rule: the least total miss
(each divided by its band's width, see `formulate.blend.elastic`); safety ceilings, largest
shares and stocks are kept; among equals the cheapest.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import SolverFault
from formulate.blend.elastic import Elastic
from formulate.blend.problem import Limit, Problem, Shelf
from formulate.blend.solve import (
    Certificate,
    Infeasible,
    Optimal,
    Unbounded,
    solve,
)
from formulate.foods.bands import BandSet, Read, Role, Standing, read_all

__all__ = ["Mix", "NoMix", "Status", "finish", "nearest", "optimise"]

Array = NDArray[np.float64]

#: Amounts below this share of the batch are the solver's dust.
DUST = 1e-10


class Status(StrEnum):
    """What a mix is."""

    OPTIMAL = "optimal"
    NEAREST = "nearest"
    CLOSEST = "closest"  # to the middles of a reference, whatever its ranges
    CHECKED = "checked"  # a recipe of a person's own, not designed


@dataclass(frozen=True, eq=False)
class Mix(ByContent):
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

    @property
    def weight(self) -> float:
        """Weight of the batch [g]."""
        return float(self.grams.sum())

    @cached_property
    def volume(self) -> float:
        """Volume of the batch [mL], of its composition."""
        return float(self.shelf.composition.row("volume") @ self.grams)

    @property
    def costs(self) -> Array:
        """Cost of each food [money], shape (n_foods,); NaN where a used food has no price."""
        return np.where(self.grams > 0, self.grams * self.shelf.price, 0.0)

    @property
    def cost(self) -> float | None:
        """Cost of the batch [money]; None where a used food has no price."""
        total = float(self.costs.sum())
        return total if math.isfinite(total) else None

    @property
    def cost_per_litre(self) -> float | None:
        """Cost of a litre [money/L]."""
        return None if self.cost is None else self.cost / self.volume * 1e3

    @property
    def misses(self) -> tuple[Read, ...]:
        """Reads outside their demanded or safety range."""
        return tuple(
            r
            for r in self.reads
            if r.standing in (Standing.BELOW, Standing.ABOVE) and r.band.role is not Role.SHOWN
        )


@dataclass(frozen=True)
class NoMix:
    """The shelf cannot meet the bands. Holds no amounts of its own.

    Parameters
    ----------
    problem : Problem
    conflict : tuple of Limit
        Fewest demands that already clash, whatever the others.
    other_conflicts : tuple of tuple of Limit
        Others of the same size.
    nearest : Mix or None
        None where the limits that are never relaxed clash among themselves.
    """

    problem: Problem
    conflict: tuple[Limit, ...]
    other_conflicts: tuple[tuple[Limit, ...], ...]
    nearest: Mix | None


def finish(
    problem: Problem,
    grams: Array,
    status: Status,
    certificate: Certificate | None = None,
) -> Mix:
    """Drop the solver's dust and read the mix."""
    grams = np.where(grams > DUST * problem.volume, grams, 0.0)
    reads = read_all(problem.bands.bands, problem.shelf.composition, grams, problem.shelf.like)
    return Mix(status, problem.shelf, problem.bands, grams, reads, certificate)


def optimise(problem: Problem, cost: Array | None = None) -> Optimal | None:
    """Solve a problem per mL of mix; None where nothing meets it.

    A food with a smallest useful amount is used at least that much or not at all: where the
    optimum falls between, both are tried (a small tree, best bound kept).
    """
    program = problem.program(cost)
    floors = problem.shelf.smallest / problem.volume
    best: Optimal | None = None
    todo = [(program.col_lower, program.col_upper)]
    while todo:
        lower, upper = todo.pop()
        if lower is not program.col_lower or upper is not program.col_upper:
            program = replace(program, col_lower=lower, col_upper=upper)
        result = solve(program)
        if isinstance(result, Unbounded):
            raise SolverFault("the mix has no cheapest form; a price must be below zero")
        if isinstance(result, Infeasible):
            continue
        if best is not None and result.objective >= best.objective:
            continue
        if not problem.shelf.has_smallest:
            return result
        between = np.flatnonzero(
            (result.x > DUST) & (result.x < floors * (1 - 1e-9)) & (lower == 0)
        )
        if not between.size:
            best = result
            continue
        j = between[np.argmin(result.x[between] / floors[between])]
        used, unused = lower.copy(), upper.copy()
        used[j], unused[j] = floors[j], 0.0
        todo += [(used, upper), (lower, unused)]
    return best


def nearest(problem: Problem) -> Mix | None:
    """Find the mix of least total miss; see the rule at the top of this module.

    Returns
    -------
    Mix or None
        None where safety ceilings, shares and stocks leave no mix at all.
    """
    grams = Elastic.of(problem).least()
    return None if grams is None else finish(problem, grams, Status.NEAREST)
