"""Without prices, in whole measures: the fewest foods in range, nearest to the middles.

The rule is that of `formulate.blend.fewest`. The unknowns are counts of measures, so a set of
foods makes a finite number of mixes of one size. If they are few, all are tried. If they are many,
the ranges of the counts are halved, and a part is dropped only if a linear program bounds the
deviation of everything in it above the best found.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formulate.base.errors import OutOfTime
from formulate.base.shown import brief_repr
from formulate.blend.branch import Relaxed, cheapest
from formulate.blend.fewest import Goals, fewest_by_gram, only, sets_of
from formulate.blend.mix import Status, finish
from formulate.blend.problem import Problem, build
from formulate.blend.program import LinearProgram
from formulate.blend.solve import Optimal, solve
from formulate.blend.whole.integer import FULL_WITHIN, Preferences, Search
from formulate.blend.whole.kitchen_mix import (
    TIME_LIMIT,
    KitchenMix,
    NoKitchenMix,
    design_kitchen,
)
from formulate.blend.whole.steps import Step

__all__ = ["FewestMix", "fewest_whole"]

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
#: Least and most count of each food.
_Box = tuple[tuple[int, ...], tuple[int, ...]]

#: Counts of all foods but one that are tried in one go.
AT_ONCE = 100_000
#: Rows of the program are met within this; its entries are of size 1.
_EDGE = 1e-9
#: Deviations closer than this are the same: then fewer measures win, and then the food's order.
_SAME = 1e-9


@brief_repr
@dataclass(frozen=True)
class FewestMix:
    """The fewest foods in whole measures.

    Parameters
    ----------
    kitchen : KitchenMix
        Its `exact` is the nearest by the gram in a batch of the same size. `complete`: nothing
        was left untried, so that fewer foods, or a smaller deviation, are ruled out.
    foods : int
        How many foods it has.
    deviation : float
        From the middles [widths].
    """

    kitchen: KitchenMix
    foods: int
    deviation: float


def fewest_whole(
    problem: Problem,
    steps: Sequence[Step],
    *,
    least_volume: float,
    most_volume: float,
    most_foods: int | None = None,
    fill: bool = False,
    time_limit: float = TIME_LIMIT,
) -> FewestMix | NoKitchenMix:
    """Find the fewest foods in whole measures that stay inside, nearest to the middles.

    Parameters
    ----------
    problem : Problem
        Prices are not looked at.
    steps : sequence of Step, length n
    least_volume, most_volume : float
        Range of the batch [mL].
    most_foods : int, optional
        No more foods than this.
    fill : bool
        As much as fits: within 1 % of `most_volume`, or the largest volume that can be made.
    time_limit : float
        Seconds of search in all.

    Raises
    ------
    InputError
        If a size or a count makes no sense.
    OutOfTime
        If the time ends before any mix is found.
    """
    free = replace(problem, shelf=problem.shelf.with_price(np.zeros(len(problem.shelf.foods))))
    asked = {"least_volume": least_volume, "most_volume": most_volume, "most_foods": most_foods}
    bounds = (least_volume, most_volume)
    if fill:
        bounds = max(least_volume, most_volume * (1 - FULL_WITHIN)), most_volume
    found = _search(problem, tuple(steps), bounds, most_foods, time_limit)
    if found is not None:
        return found
    other = design_kitchen(free, steps, fill=fill, time_limit=time_limit, **asked)  # type: ignore[arg-type]
    if isinstance(other, KitchenMix):  # the largest volume that can be made
        volume = other.mix.volume
        bounds = volume * (1 - _SAME), volume * (1 + _SAME)
        found = _search(problem, tuple(steps), bounds, most_foods, time_limit)
        assert found is not None
        return found
    nearest = None
    if other.nearest is not None:
        bounds = other.nearest.least_volume, other.nearest.most_volume
        again = _search(problem, tuple(steps), bounds, most_foods, time_limit)
        nearest = None if again is None else again.kitchen
    by_gram = fewest_by_gram(problem, most_foods)
    exact = None if by_gram is None else by_gram.mix
    return replace(other, problem=problem, nearest=nearest, exact=exact)


def _search(
    problem: Problem,
    steps: tuple[Step, ...],
    bounds: tuple[float, float],
    most_foods: int | None,
    time_limit: float,
) -> FewestMix | None:
    """The fewest within a range of volume."""
    n = len(steps)
    shelf = replace(problem.shelf, smallest=np.zeros(n))  # `_part` sees to these
    search = Search(replace(problem, shelf=shelf), steps, Preferences(), time_limit)
    program = search.program(*bounds)
    program = replace(program, cost=np.zeros(program.shape[1]))
    goals = Goals.of(problem.bands, problem.shelf.composition)
    always = [j for j in range(n) if search.rest[j] > 0]
    others = [j for j in range(n) if search.rest[j] == 0]
    end = time.monotonic() + time_limit
    for sets in sets_of(always, others, most_foods or n):
        best, complete = _Best(math.inf, np.zeros(n, dtype=np.intp)), True
        for columns in sets:
            part = _part(program, columns, problem.shelf.smallest / search.step, others)
            if part is not None:
                tried = _Part(part, search, goals, columns, end)
                best, whole = tried.better(best)
                complete &= whole
        if best.deviation < math.inf:
            return _finished(problem, search, bounds, best, complete)
        if not complete:
            raise OutOfTime(time_limit)
    return None


def _finished(
    problem: Problem, search: Search, bounds: tuple[float, float], best: _Best, complete: bool
) -> FewestMix:
    mix = finish(problem, search.rest + search.step * best.counts, Status.OPTIMAL)
    used = int(np.count_nonzero(mix.grams))
    there = build(problem.shelf, problem.bands, mix.volume)
    exact = fewest_by_gram(there, used)
    kitchen = KitchenMix(
        mix,
        search.steps,
        best.counts,
        mix if exact is None else exact.mix,
        *bounds,
        None,
        0.0,
        complete,
    )
    return FewestMix(kitchen, used, best.deviation)


@dataclass(frozen=True)
class _Best:
    """The nearest so far."""

    deviation: float
    counts: Indices

    def then(self, deviation: Array, counts: Indices) -> _Best:
        """The nearest of this and others, shape (m,) and (m, n)."""
        if not deviation.size:
            return self
        least = min(float(deviation.min()), self.deviation)
        near = np.flatnonzero(deviation <= least + _SAME)
        rivals = [(int(counts[i].sum()), tuple(-counts[i]), int(i)) for i in near]
        if self.deviation <= least + _SAME:
            rivals.append((int(self.counts.sum()), tuple(-self.counts), -1))
        if not rivals:
            return self
        i = min(rivals)[2]
        return self if i < 0 else _Best(float(deviation[i]), counts[i])


def _part(
    program: LinearProgram, columns: Sequence[int], smallest: Array, others: Sequence[int]
) -> LinearProgram | None:
    """The program of a set of foods, each used, with its counts as close as rows let them be."""
    n = smallest.size
    lower = program.col_lower.copy()
    for j in columns:
        if j in others:
            lower[j] = max(lower[j], 1.0, math.ceil(smallest[j] - 1e-9))
    part = only(replace(program, col_lower=lower), columns)
    if (part.col_lower > part.col_upper).any():
        return None
    upper = part.col_upper.copy()
    for j in columns:
        goal = np.zeros(n)
        goal[j] = 1.0
        low, high = solve(replace(part, cost=goal)), solve(replace(part, cost=-goal))
        if not isinstance(low, Optimal) or not isinstance(high, Optimal):
            return None
        lower[j] = max(lower[j], math.ceil(low.objective - 1e-6))
        upper[j] = min(upper[j], math.floor(-high.objective + 1e-6))
    if (lower > upper).any():
        return None
    return replace(part, col_lower=lower, col_upper=upper)


@dataclass(frozen=True)
class _Part:
    """One set of foods."""

    program: LinearProgram
    search: Search
    goals: Goals
    columns: Sequence[int]
    end: float

    def better(self, best: _Best) -> tuple[_Best, bool]:
        """The nearest of this set and of those before; whether nothing was left untried."""
        kept = [best]

        def relax(node: _Box, cost: float) -> Relaxed[bool] | None:
            lower, upper = (np.array(ends, dtype=np.intp) for ends in node)
            if _combinations(lower, upper) <= AT_ONCE:
                counts = self._tried(lower, upper)
                grams = self.search.rest + self.search.step * counts
                kept[0] = kept[0].then(self.goals.deviation(grams), counts)
                return Relaxed(True, kept[0].deviation, kept[0].deviation)
            bound = self._bound(lower, upper)
            if bound is None or bound > kept[0].deviation + _SAME:
                return None
            return Relaxed(False, math.inf, bound)

        def split(node: _Box, tried: bool) -> Sequence[_Box] | None:
            if tried:
                return None
            lower, upper = node
            j = max(range(len(lower)), key=lambda i: upper[i] - lower[i])
            middle = (lower[j] + upper[j]) // 2
            first = (*upper[:j], middle, *upper[j + 1 :])
            second = (*lower[:j], middle + 1, *lower[j + 1 :])
            return (lower, first), (second, upper)

        n = len(self.search.steps)
        root = tuple(
            tuple(round(x) for x in ends[:n])
            for ends in (self.program.col_lower, self.program.col_upper)
        )
        found = cheapest(
            (root[0], root[1]), relax, split, go_on=lambda: time.monotonic() <= self.end
        )
        return kept[0], found.complete or found.bound >= kept[0].deviation - _SAME

    def _bound(self, lower: Indices, upper: Indices) -> float | None:
        """A lower bound on the deviation within these counts; None if there is no mix."""
        part = replace(self.program, col_lower=lower.astype(float), col_upper=upper.astype(float))
        rest, step = self.search.rest, self.search.step
        goals = self.goals.with_rest(rest)
        most = np.zeros(len(goals.bases))
        for b, row in enumerate(goals.bases):
            found = solve(replace(part, cost=-row[:-1] * step))
            if not isinstance(found, Optimal):
                return None
            most[b] = row[-1] - found.objective
        there = LinearProgram(  # and a last column for what is there whatever the counts
            cost=np.append(part.cost, 0.0),
            matrix=np.column_stack((part.matrix, np.zeros(len(part.matrix)))),
            row_lower=part.row_lower,
            row_upper=part.row_upper,
            col_lower=np.append(part.col_lower, 1.0),
            col_upper=np.append(part.col_upper, 1.0),
        )
        found = solve(goals.relaxed(there, np.append(step, 1.0), most))
        return found.objective if isinstance(found, Optimal) else None

    def _tried(self, lower: Indices, upper: Indices) -> Indices:
        """Every mix within these counts that meets the program's rows, shape (m, n)."""
        program, n = self.program, len(self.search.steps)
        spans = upper - lower
        last = int(np.argmax(spans))
        first = [j for j in self.columns if j != last and spans[j] > 0]
        sizes = [int(spans[j]) + 1 for j in first]
        grid = np.indices(sizes).reshape(len(first), math.prod(sizes)).T
        counts = np.tile(lower, (len(grid), 1))
        counts[:, first] += grid
        counts[:, last] = 0
        so_far = counts @ program.matrix.T
        rate = program.matrix[:, last]
        low = np.full(len(counts), float(lower[last]))
        high = np.full(len(counts), float(upper[last]))
        for k, r in enumerate(rate):
            under = program.row_lower[k] - _EDGE - so_far[:, k]
            over = program.row_upper[k] + _EDGE - so_far[:, k]
            if abs(r) < 1e-15:
                high[(under > 0) | (over < 0)] = -1.0
                continue
            if r < 0:
                under, over = over, under
            low = np.maximum(low, under / r)
            high = np.minimum(high, over / r)
        least, most = np.ceil(low - 1e-12), np.floor(high + 1e-12)
        many = np.maximum(most - least + 1, 0).astype(np.intp)
        found = np.repeat(counts, many, axis=0)
        offset = np.arange(many.sum()) - np.repeat(np.cumsum(many) - many, many)
        found[:, last] = np.repeat(least, many).astype(np.intp) + offset
        return found.reshape(-1, n)


def _combinations(lower: Indices, upper: Indices) -> float:
    """How many counts there are of all foods but the one with the most."""
    spans = np.sort((upper - lower + 1).astype(float))
    return float(np.prod(spans[:-1]))
