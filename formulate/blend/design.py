"""Design the cheapest mix whose values lie in their bands, or explain why there is none."""

from __future__ import annotations

import math

from formulate.base.errors import InputError, SolverFault
from formulate.base.messages import say
from formulate.base.quantities import Quantity, magnitude
from formulate.blend.mix import Mix, NoMix, Status, finish, nearest, optimise
from formulate.blend.problem import Limit, Problem, Shelf, build
from formulate.foods.bands import BandSet

__all__ = ["design", "design_problem", "explain_none"]


def design(shelf: Shelf, bands: BandSet, volume: float | Quantity) -> Mix | NoMix:
    """Find the cheapest mix that meets every demanded and safety band.

    Parameters
    ----------
    shelf : Shelf
        Every food needs a price [money per g].
    bands : BandSet
    volume : float or pint.Quantity
        Batch [mL], exactly met.

    Raises
    ------
    MissingComposition
        If a floor needs a value that a food lacks.
    InputError
        If a food has no price or the volume is not above zero.
    """
    volume = magnitude(volume, "millilitre", "volume")
    if not (volume > 0 and math.isfinite(volume)):
        raise InputError(say("mix.no-batch", volume=volume), say("mix.no-batch-remedy"))
    shelf.require_prices()
    return design_problem(build(shelf, bands, volume))


def design_problem(problem: Problem, *, briefly: bool = False) -> Mix | NoMix:
    """Find the cheapest mix of a problem whose foods all have prices; see `design`.

    Parameters
    ----------
    problem : Problem
    briefly : bool
        As `explain_none`.
    """
    result = optimise(problem)
    if result is None:
        return explain_none(problem, briefly=briefly)
    return finish(problem, result.x * problem.volume, Status.OPTIMAL, result.certificate)


def explain_none(problem: Problem, *, briefly: bool = False) -> NoMix:
    """Say why a problem without a mix has none, and what comes nearest.

    A part that the solver cannot work out is left empty; the other parts are still given.

    Parameters
    ----------
    problem : Problem
    briefly : bool
        Whether to stop at the conflict that is listed first.
    """
    from formulate.blend.explain import smallest_conflicts

    conflicts: list[tuple[Limit, ...]] = [()]
    near, complete = None, True
    try:
        conflicts = smallest_conflicts(problem, first=briefly)
    except SolverFault:
        complete = False
    try:
        near = nearest(problem)
    except SolverFault:
        complete = False
    return NoMix(problem, conflicts[0], tuple(conflicts[1:]), near, complete)
