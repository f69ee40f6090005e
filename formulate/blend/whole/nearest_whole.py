"""The nearest mix in whole measures, for when no mix meets the bands.

The total miss of a mix is the sum, over demanded ends, of the miss divided by the band's width
(`formulate.blend.elastic`). With the denominators of a mix nearby held, that is a linear sum of
slacks, and the least of it over counts of measures a mixed-integer program. It is solved again
with the denominators of what was found, and the lowest total found is taken; safety limits,
largest shares and stocks are kept throughout. Among equals the cheapest.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from formulate.base.clock import Clock
from formulate.base.errors import OutOfTime
from formulate.blend.elastic import LEAST, Elastic
from formulate.blend.mix import Mix, Status, finish
from formulate.blend.mixed_integer import solve_integer
from formulate.blend.problem import Problem
from formulate.blend.program import LinearProgram
from formulate.blend.solve import Infeasible
from formulate.blend.whole.demands import with_row
from formulate.blend.whole.integer import Preferences, Search
from formulate.blend.whole.kitchen_mix import TIME_LIMIT, KitchenMix
from formulate.blend.whole.steps import Step

__all__ = ["nearest_in_measures"]

Array = NDArray[np.float64]

#: Times that the denominators are those of the mix before; one or two change anything.
ROUNDS = 3
#: Totals that differ by less than this are equal, and the price decides.
ALIKE = 1e-6


def nearest_in_measures(
    problem: Problem,
    near: Mix,
    steps: Sequence[Step],
    *,
    least_volume: float,
    most_volume: float,
    time_limit: float = TIME_LIMIT,
) -> KitchenMix | None:
    """Find whole measures that miss the demanded bands as little as can be.

    Parameters
    ----------
    problem : Problem
    near : Mix
        The nearest mix by the gram.
    steps : sequence of Step, length n
    least_volume, most_volume : float
        Range of the batch [mL].
    time_limit : float
        Seconds of search.

    Returns
    -------
    KitchenMix or None
        Its `exact` is the nearest mix by the gram in the same size, and its `gap` that of the
        last search; None if no whole measures keep what is never relaxed, or time ends.
    """
    priced = problem.shelf.with_price(np.nan_to_num(problem.shelf.price))
    search = Search(replace(problem, shelf=priced), tuple(steps), Preferences(), time_limit)
    elastic, clock = Elastic.of(problem), Clock(time_limit)
    at, best, total = near.grams * (least_volume / near.volume), None, math.inf
    for _ in range(ROUNDS):
        try:
            counts, gap, complete = _round(search, elastic, at, (least_volume, most_volume), clock)
        except OutOfTime:
            break
        if counts is None:
            return None
        at = search.rest + search.step * counts
        reached = elastic.total(at)
        if reached >= total - ALIKE:
            break
        best, total = (counts, gap, complete), reached
    if best is None:
        return None
    counts, gap, complete = best
    mix = finish(problem, search.rest + search.step * counts, Status.NEAREST)
    exact = replace(near, grams=near.grams * (mix.volume / near.volume))
    whole = counts.astype(np.intp)
    return KitchenMix(
        mix, search.steps, whole, exact, least_volume, most_volume, None, gap, complete
    )


def _round(
    search: Search, elastic: Elastic, at: Array, volume: tuple[float, float], clock: Clock
) -> tuple[Array | None, float, bool]:
    """Counts with the least miss, for the denominators of a mix [g]; None if there are none."""
    n = search.step.size
    program, slack_cost = _with_slacks(search, elastic, at, volume)
    columns = program.shape[1]
    whole = np.arange(columns) < columns - slack_cost.size
    cost = np.append(np.zeros(columns - slack_cost.size), slack_cost)
    first = solve_integer(
        replace(program, cost=cost), whole, time_limit=max(clock.left() / 2, 1e-3)
    )
    if isinstance(first, Infeasible):
        return None, 0.0, True
    kept = with_row(program, cost, -math.inf, first.objective * (1 + ALIKE) + ALIKE)
    price = np.append(search.price(), np.zeros(columns - n))
    second = solve_integer(
        replace(kept, cost=price), whole, start=first.x, time_limit=max(clock.left() / 2, 1e-3)
    )
    assert not isinstance(second, Infeasible)  # the first answer is one
    return np.rint(second.x[:n]), first.gap, first.complete and second.complete


def _with_slacks(
    search: Search, elastic: Elastic, at: Array, volume: tuple[float, float]
) -> tuple[LinearProgram, Array]:
    """The program over counts with a slack for each demanded end, and what a slack costs."""
    program, problem = search.program(*volume), search.problem
    ends = elastic.ends  # the first rows of the program, as of the problem
    scale = np.abs(problem.rows[ends] * search.step).max(axis=1, initial=0.0)
    scale[scale == 0] = 1.0
    below = np.maximum(elastic.below @ at, LEAST)
    give = np.zeros((program.shape[0], ends.size))
    give[ends, np.arange(ends.size)] = np.where(problem.is_low[ends], 1.0, -1.0)
    wider = LinearProgram(
        np.append(program.cost, np.zeros(ends.size)),
        np.hstack((program.matrix, give)),
        program.row_lower,
        program.row_upper,
        np.append(program.col_lower, np.zeros(ends.size)),
        np.append(program.col_upper, np.full(ends.size, math.inf)),
    )
    return wider, elastic.weights(below) * scale
