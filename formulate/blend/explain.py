"""Why there is no mix, and what each demand costs."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from formulate.blend.mix import optimise
from formulate.blend.problem import Limit, LimitKind, Problem
from formulate.blend.solve import (
    Infeasible,
    LinearProgram,
    Optimal,
    solve,
    solve_integer,
)
from formulate.errors import SolverFault

__all__ = ["smallest_conflicts"]

Array = NDArray[np.float64]

#: Conflicts of the smallest size that are looked for, at the most.
MOST_CONFLICTS = 12


def smallest_conflicts(problem: Problem) -> list[tuple[Limit, ...]]:
    """Find the sets of fewest limits that clash, whatever the rest.

    Every conflict shares a limit with every *correction* (limits whose dropping leaves a mix).
    So the fewest limits that hit all known corrections either clash, and are the answer, or
    leave a mix, whose broken limits are a new correction. The smallest hitting set is a small
    integer program.

    Returns
    -------
    list of tuple of Limit
        All of the smallest size (at most `MOST_CONFLICTS`), the one nearest the demands on
        solids, fat and protein first. Each is irreducible: drop any member and the rest can be
        met.

    Raises
    ------
    SolverFault
        If the problem has a mix after all.
    """
    rows = len(problem.limits)
    if not _broken_by(problem, range(rows)):
        return [_clashing_smallest(problem)]
    corrections: list[list[int]] = []
    found: list[list[int]] = []
    while len(found) < MOST_CONFLICTS:
        pick = _hitting_set(rows, corrections, found)
        if pick is None or (found and len(pick) > len(found[0])):
            break
        broken = _broken_by(problem, pick)
        if broken is None:
            raise SolverFault("no answer while looking for a conflict")
        if _clash(problem, pick):
            found.append(pick)
        else:
            corrections.append(_shrink(problem, pick, broken))
    conflicts = [tuple(problem.limits[k] for k in sorted(pick)) for pick in found]
    return sorted(conflicts, key=_from_the_heart)


def _from_the_heart(conflict: Sequence[Limit]) -> tuple[int, int]:
    """Sort key: how many members are not demands on solids, fat or protein, then safety."""
    heart = {"solids", "fat", "protein"}
    demands = [limit for limit in conflict if limit.relaxable]
    return (
        -sum(limit.band is not None and limit.band.measure in heart for limit in demands),
        -len(demands),
    )


def _clash(problem: Problem, pick: Sequence[int]) -> bool:
    """Whether no mix meets these rows."""
    cost = np.zeros(len(problem.shelf.foods))
    return isinstance(solve(problem.program(cost, keep=pick)), Infeasible)


def _broken_by(problem: Problem, pick: Sequence[int]) -> list[int] | None:
    """Rows outside `pick` that a mix near to meeting them all breaks; the picked are kept.

    For a pick that clashes the broken rows may be picked ones.
    """
    everything = problem.program(np.zeros(len(problem.shelf.foods)))
    m, n = len(problem.limits), len(problem.shelf.foods)
    inside = np.zeros(m, dtype=bool)
    inside[list(pick)] = True
    give = np.vstack((np.diag(np.where(problem.is_low, 1.0, -1.0)), np.zeros(m)))
    result = solve(
        LinearProgram(
            cost=np.concatenate((np.zeros(n), np.where(inside, 1e3, 1.0))),
            matrix=np.hstack((everything.matrix, give)),
            row_lower=everything.row_lower,
            row_upper=everything.row_upper,
            col_lower=np.zeros(n + m),
            col_upper=np.full(n + m, math.inf),
        )
    )
    if not isinstance(result, Optimal):
        return None
    return [k for k in range(m) if result.x[n + k] > 1e-9]


def _shrink(problem: Problem, pick: Sequence[int], broken: Sequence[int]) -> list[int]:
    """Make a correction minimal: keep taking rows back while a mix remains."""
    kept = [k for k in range(len(problem.limits)) if k not in broken or k in pick]
    correction = [k for k in broken if k not in pick]
    if _clash(problem, kept):  # the elastic mix paid with a picked row: start from the pick
        kept = list(pick)
        correction = [k for k in range(len(problem.limits)) if k not in pick]
    for k in list(correction):
        if not _clash(problem, [*kept, k]):
            kept.append(k)
            correction.remove(k)
    return correction


def _hitting_set(
    rows: int, corrections: Sequence[Sequence[int]], found: Sequence[Sequence[int]]
) -> list[int] | None:
    """Fewest rows that touch every correction and contain no conflict found before."""
    if not corrections:
        return []
    hit = np.zeros((len(corrections) + len(found), rows))
    for i, correction in enumerate(corrections):
        hit[i, list(correction)] = 1.0
    for i, conflict in enumerate(found):
        hit[len(corrections) + i, list(conflict)] = 1.0
    lower = np.append(np.ones(len(corrections)), np.full(len(found), -math.inf))
    upper = np.append(
        np.full(len(corrections), math.inf), [len(conflict) - 1.0 for conflict in found]
    )
    best = solve_integer(
        LinearProgram(np.ones(rows), hit, lower, upper, np.zeros(rows), np.ones(rows)),
        np.ones(rows, dtype=bool),
    )
    return None if isinstance(best, Infeasible) else [int(k) for k in np.flatnonzero(best.x > 0.5)]


def _clashing_smallest(problem: Problem) -> tuple[Limit, ...]:
    """Fewest smallest amounts, by dropping what is not needed, when the rest can be met."""
    from dataclasses import replace

    floors = problem.shelf.smallest
    needed = [int(j) for j in np.flatnonzero(floors > 0)]

    def met_with(columns: Sequence[int]) -> bool:
        kept = np.zeros_like(floors)
        kept[list(columns)] = floors[list(columns)]
        shelf = replace(problem.shelf, smallest=kept)
        return optimise(replace(problem, shelf=shelf), np.zeros(len(floors))) is not None

    if met_with(needed):
        raise SolverFault("a mix was called impossible that is not")
    for j in list(needed):
        rest = [k for k in needed if k != j]
        if not met_with(rest):
            needed = rest
    return tuple(
        Limit(LimitKind.SMALLEST, food=problem.shelf.ids[j], value=float(floors[j])) for j in needed
    )
