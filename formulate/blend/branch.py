"""Branch and bound, for choices that a relaxation leaves open.

A *node* is a part of the feasible set. Its *relaxation* drops a demand that is hard to state; the
cheapest answer there costs no more than any real one. If that answer breaks the demand, the node
is split into smaller ones that exclude it and lose no real answer. The node with the least bound
is taken first, so the bound of the open nodes is the bound of the whole search.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

__all__ = ["DUST", "Amounts", "Best", "Relaxed", "cheapest", "used_enough"]

A = TypeVar("A")
N = TypeVar("N")
Array = NDArray[np.float64]

#: Amounts below this share of the batch are rounding by the solver.
DUST = 1e-10


@dataclass(frozen=True)
class Relaxed(Generic[A]):
    """The result of a node's relaxation.

    Parameters
    ----------
    answer : object or None
        Its cheapest answer; None if none is known yet although there may be one.
    cost : float
        Of the answer; inf without one.
    bound : float
        No answer in the node costs less.
    """

    answer: A | None
    cost: float
    bound: float


@dataclass(frozen=True)
class Best(Generic[A]):
    """What a search found.

    Parameters
    ----------
    answer : object or None
        The cheapest that meets every demand.
    cost : float
        Of the answer; inf without one.
    bound : float
        No answer costs less; inf where there is none.
    complete : bool
        Whether no part was left unsearched.
    """

    answer: A | None
    cost: float
    bound: float
    complete: bool


def cheapest(
    root: N,
    relax: Callable[[N, float], Relaxed[A] | None],
    split: Callable[[N, A], Sequence[N] | None],
    *,
    go_on: Callable[[], bool] = lambda: True,
) -> Best[A]:
    """Find the cheapest answer in a tree of nodes.

    Parameters
    ----------
    root : node
        All that is allowed.
    relax : callable
        From a node and the cost of the best answer so far to the node's relaxation; None if
        the node holds nothing. It may be without an answer only if `go_on` then says no.
    split : callable
        From a node and its relaxed answer to smaller nodes; None if the answer meets every
        demand.
    go_on : callable
        Asked before each node; the search ends when it says no.
    """
    order = itertools.count()
    todo: list[tuple[float, int, N]] = [(-math.inf, 0, root)]
    best, cost = None, math.inf
    bound = math.inf  # the least of the parts that are done
    while todo and go_on():
        floor, _, node = heapq.heappop(todo)
        if floor >= cost:
            break
        found = relax(node, cost)
        if found is None:
            continue
        below = max(found.bound, floor)
        if found.answer is None:
            heapq.heappush(todo, (below, -next(order), node))
            continue
        parts = split(node, found.answer)
        if parts is None:
            bound = min(bound, below)
            if found.cost < cost:
                best, cost = found.answer, found.cost
        elif below < cost:
            for part in reversed(parts):  # of equal bounds the newest first, in their order
                heapq.heappush(todo, (below, -next(order), part))
    left = min((floor for floor, _, _ in todo), default=math.inf)
    complete = left >= cost if best is not None else not todo
    return Best(best, cost, min(bound, left, cost), complete)


#: Least and most of each food [g/mL], each of shape (n,).
Amounts = tuple[Array, Array]


def used_enough(
    floors: Array,
    attempt: Callable[[Array, Array], Relaxed[A] | None],
    amounts: Callable[[A], Array],
) -> Best[A]:
    """Search the mixes that use each food at least in its smallest amount, or not at all.

    Parameters
    ----------
    floors : ndarray, shape (n,)
        Smallest useful amount of each food [g/mL]; 0 where any will do.
    attempt : callable
        From the least and most of each food [g/mL] to the cheapest answer; None for none.
    amounts : callable
        Grams of an answer [g/mL], shape (n,).
    """

    def split(node: Amounts, answer: A) -> tuple[Amounts, ...] | None:
        lower, upper = node
        y = amounts(answer)
        between = np.flatnonzero((y > DUST) & (y < floors * (1 - 1e-9)) & (lower == 0))
        if not between.size:
            return None
        j = between[np.argmin(y[between] / floors[between])]
        used, unused = lower.copy(), upper.copy()
        used[j], unused[j] = floors[j], 0.0
        return (lower, unused), (used, upper)

    n = floors.size
    return cheapest((np.zeros(n), np.full(n, math.inf)), lambda node, _: attempt(*node), split)
