"""Why there is no mix: the fewest demands that already clash."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from heapq import heappop, heappush

import numpy as np
from numpy.typing import NDArray

from formulate.base.errors import SolverFault
from formulate.base.messages import say
from formulate.blend.branch import DUST
from formulate.blend.mix import optimise
from formulate.blend.mixed_integer import solve_integer
from formulate.blend.problem import Limit, LimitKind, Problem
from formulate.blend.solve import Infeasible, LinearProgram, Optimal, solve

__all__ = ["best_reach", "row_of", "smallest_conflicts", "value_row"]

Array = NDArray[np.float64]

#: The largest number of smallest conflicts to look for.
MOST_CONFLICTS = 12
#: The largest number of choices of limits to try one by one.
MOST_CHOICES = 2_000
#: Measures at the heart of a milk: conflicts among their demands come first.
HEART = frozenset({"solids", "fat", "protein"})


def smallest_conflicts(problem: Problem, *, first: bool = False) -> list[tuple[Limit, ...]]:
    """Find the sets of fewest limits that clash, whatever the rest.

    Every conflict shares a limit with every *correction* (limits whose dropping leaves a mix).
    So the fewest limits that touch all known corrections either clash, and are the answer, or
    leave a mix, whose broken limits hold a new correction. The weights decide which sets come
    first.

    Parameters
    ----------
    problem : Problem
    first : bool
        Whether only the first is wanted; the others are then not searched for.

    Returns
    -------
    list of tuple of Limit
        All of the smallest size, at most `MOST_CONFLICTS`: those with most demands on solids,
        fat and protein first, then those with most demanded bands, then in the order of the
        limits. Each is irreducible: drop any member and the rest can be met. Smallest useful
        amounts count as limits too.

    Raises
    ------
    SolverFault
        If the problem has a mix after all.
    """
    for k, limit in enumerate(problem.limits):
        if limit.kind is LimitKind.READABLE and (problem.rows[k] < 0).all():
            return [(limit,)]
    parts = _Parts(problem)
    if parts.mix_of(range(len(parts.limits))) is not None:
        raise SolverFault(say("solver.not-impossible"))
    corrections: list[list[int]] = []
    found: list[list[int]] = []
    while len(found) < MOST_CONFLICTS:
        pick = _touching(parts.weights, corrections, found)
        if pick is None or (found and len(pick) > len(found[0])):
            break
        if first and found and parts.weight(pick) > parts.weight(found[0]):
            break
        mix = parts.mix_of(pick)
        if mix is None:
            found.append(pick)
        else:
            corrections.append(_correction(parts, pick, mix))
    if not found:
        raise SolverFault(say("solver.no-conflict"))
    found.sort(key=lambda pick: (parts.weight(pick), pick))
    told = found[:1] if first else found
    return [tuple(parts.limits[k] for k in pick) for pick in told]


@dataclass(frozen=True)
class _Parts:
    """A problem whose limits can be demanded one by one.

    A mix must always hold some of each denominator: a ratio of nothing to nothing meets no demand.
    """

    problem: Problem

    @property
    def rows(self) -> int:
        """How many rows of the problem may be dropped; the rest come after them."""
        return len(self.problem.limits) - len(self.problem.read)

    @cached_property
    def limits(self) -> tuple[Limit, ...]:
        """Rows of the problem that may be dropped, then smallest useful amounts."""
        shelf = self.problem.shelf
        return self.problem.limits[: self.rows] + tuple(
            Limit(LimitKind.SMALLEST, food=shelf.ids[j], value=float(shelf.smallest[j]))
            for j in np.flatnonzero(shelf.smallest > 0)
        )

    @cached_property
    def weights(self) -> list[int]:
        """Weight of each limit: least for those listed first; fewer limits always win."""
        more = len(self.limits) + 1
        return [
            more * more
            + more * (not (x.relaxable and x.band is not None and x.band.measure in HEART))
            + (not x.relaxable)
            for x in self.limits
        ]

    def weight(self, pick: Iterable[int]) -> int:
        """Weight of some limits in all."""
        return sum(self.weights[k] for k in pick)

    def mix_of(self, pick: Iterable[int]) -> Array | None:
        """Amounts that meet the picked limits [g/mL of mix], or None if nothing does.

        Among those mixes, one that is not needlessly far from the other limits.
        """
        problem, m = self.problem, self.rows
        pick = sorted(set(pick))
        kept = [k for k in pick if k < m] + list(range(m, len(problem.limits)))
        dropped = np.ones(len(problem.limits), dtype=bool)
        dropped[kept] = False
        others = np.flatnonzero(dropped)
        away = np.where(problem.is_low, -1.0, 1.0)[others] @ problem.rows[others]
        floors = np.zeros_like(problem.shelf.smallest)
        chosen = np.flatnonzero(problem.shelf.smallest > 0)[[k - m for k in pick if k >= m]]
        if not chosen.size:
            result = solve(problem.program(away, keep=kept))
            return result.x if isinstance(result, Optimal) else None
        floors[chosen] = problem.shelf.smallest[chosen]
        rows = problem.rows.copy()
        rows[others] = 0.0  # demands nothing
        part = replace(problem, shelf=replace(problem.shelf, smallest=floors), rows=rows)
        best = optimise(part, away)
        return None if best is None else best.x

    def met_by(self, x: Array) -> set[int]:
        """Limits that these amounts meet."""
        problem = self.problem
        excess = (np.where(problem.is_low, -1.0, 1.0) * (problem.rows @ x))[: self.rows]
        floors = problem.shelf.smallest / problem.volume
        short = (x > DUST) & (x < floors * (1 - 1e-9))
        return {int(k) for k in np.flatnonzero(excess <= 1e-10)} | {
            self.rows + i for i, j in enumerate(np.flatnonzero(floors > 0)) if not short[j]
        }


def _correction(parts: _Parts, pick: Sequence[int], mix: Array) -> list[int]:
    """Fewest limits, none of them picked, without which there is a mix: none can be taken back."""
    every = range(len(parts.limits))
    kept = set(pick) | parts.met_by(mix)
    if parts.mix_of(kept) is None:  # met within rounding only, each by itself
        kept = set(pick)
    for k in every:
        if k not in kept:
            more = parts.mix_of(kept | {k})
            if more is not None:
                kept.add(k)
                met = kept | parts.met_by(more)
                if len(met) > len(kept) and parts.mix_of(met) is not None:
                    kept = met
    return [k for k in every if k not in kept]


def _touching(
    weights: Sequence[int], corrections: Sequence[Sequence[int]], found: Sequence[Sequence[int]]
) -> list[int] | None:
    """Limits of least weight that touch every correction and contain no conflict found before.

    Choices are tried from the lightest up; if there are too many, a small integer program decides.
    """
    start: tuple[int, tuple[int, ...]] = (0, ())
    waiting, seen = [start], {start}
    while waiting and len(seen) <= MOST_CHOICES:
        weight, pick = heappop(waiting)
        if any(set(conflict) <= set(pick) for conflict in found):
            continue
        untouched = next((c for c in corrections if set(c).isdisjoint(pick)), None)
        if untouched is None:
            return list(pick)
        for k in untouched:
            choice = weight + weights[k], tuple(sorted((*pick, k)))
            if choice not in seen:
                seen.add(choice)
                heappush(waiting, choice)
    return _touching_of_many(weights, corrections, found) if waiting else None


def _touching_of_many(
    weights: Sequence[int], corrections: Sequence[Sequence[int]], found: Sequence[Sequence[int]]
) -> list[int] | None:
    """As `_touching`, by an integer program."""
    n = len(weights)
    hit = np.zeros((len(corrections) + len(found), n))
    for i, members in enumerate((*corrections, *found)):
        hit[i, list(members)] = 1.0
    lower = np.append(np.ones(len(corrections)), np.full(len(found), -math.inf))
    upper = np.append(np.full(len(corrections), math.inf), [len(c) - 1.0 for c in found])
    best = solve_integer(
        LinearProgram(np.array(weights, dtype=float), hit, lower, upper, np.zeros(n), np.ones(n)),
        np.ones(n, dtype=bool),
    )
    return None if isinstance(best, Infeasible) else [int(k) for k in np.flatnonzero(best.x > 0.5)]


def value_row(problem: Problem, limit: Limit) -> tuple[Array, float]:
    """What a limit's value is taken per: a row [unit per g] and a scale.

    The limit's own figure in a mix ``y`` is ``scale · (something·y) / (row·y)``: for a band its
    denominator, for a share the weight, for a stock the volume of the batch.

    Returns
    -------
    row : ndarray, shape (n,)
    scale : float
    """
    composition = problem.shelf.composition
    if limit.band is not None:
        return composition.row(limit.band.denominator), limit.band.scale
    if limit.kind is LimitKind.SHARE:
        return composition.row("mass"), 1.0
    return composition.row("volume"), problem.volume


def best_reach(problem: Problem, conflict: Sequence[Limit], limit: Limit) -> float | None:
    """How near a mix can come to one limit while the rest of a conflict is kept.

    Parameters
    ----------
    problem : Problem
    conflict : sequence of Limit
    limit : Limit
        One of them.

    Returns
    -------
    float or None
        In the unit of the limit's value: the most there can be of what has a floor, the least
        of what has a ceiling. None if it has no end, or a smallest amount is in play (what
        can be reached then depends on the size of the batch).
    """
    if any(m.kind in (LimitKind.SMALLEST, LimitKind.READABLE) for m in conflict):
        return None
    k = row_of(problem, limit)
    keep = [row_of(problem, member) for member in conflict if member != limit]
    keep += range(len(problem.limits) - len(problem.read), len(problem.limits))
    per, scale = value_row(problem, limit)
    sign = -1.0 if problem.is_low[k] else 1.0
    nearest = solve(problem.program(sign * problem.rows[k], keep=keep, size=per))
    if not isinstance(nearest, Optimal):
        return None
    return limit.value + scale * float(problem.row_scale[k]) * sign * nearest.objective


def row_of(problem: Problem, limit: Limit) -> int:
    """Which row of the problem a limit is."""
    return problem.limits.index(limit)
