"""Find the mix with the best worst case: minimise the largest of several ratios.

Each ratio ``(n_k · x) / (d_k · x)`` is a read of the mix after one slip, such as a heaped spoon or
a forgotten ingredient. We want the mix whose largest ratio is smallest. That is a linear-fractional
program with several ratios, solved by the generalised method of Dinkelbach: at a mix with the
largest ratio t, one linear program looks for a mix with every ratio below t,

    minimise s   subject to   (n_k − t·d_k) · x ≤ (s − 1) · w_k   for every k,

with w_k > 0 the size of each row. Where its optimum s is 1, no mix is better and the program's
certificate is the proof; where it is less, its mix is better and the search goes on from there.
With some columns in whole numbers the same holds, each program then being an integer one.

Source: Crouzeix, Ferland & Schaible 1985, J. Optim. Theory Appl. 47:35-49 (from memory).
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import SolverFault
from formulate.base.messages import say
from formulate.blend.mixed_integer import solve_integer
from formulate.blend.program import Certificate, LinearProgram
from formulate.blend.solve import Infeasible, Optimal, solve

__all__ = ["LeastWorst", "Ratios", "keeping", "least_worst"]

Array = NDArray[np.float64]

#: A largest ratio counts as better only if it improves by more than this, relative to itself.
BETTER, BETTER_WHOLE = 1e-10, 1e-7
#: Rounds of the search; three to six are usual.
ROUNDS = 60


@dataclass(frozen=True, eq=False)
class Ratios(ByContent):
    """Some ratios of linear measures over n columns, k of them.

    Parameters
    ----------
    above, below : ndarray, shape (k, n)
        Numerators and denominators; the denominators are above 0 at every mix.
    """

    above: Array
    below: Array

    def at(self, x: Array) -> Array:
        """Every ratio at `x`, shape (k,)."""
        found: Array = (self.above @ x) / (self.below @ x)
        return found

    def worst(self, x: Array) -> float:
        """The largest of them."""
        return float(self.at(x).max())


@dataclass(frozen=True, eq=False)
class LeastWorst(ByContent):
    """A mix whose largest ratio is as small as it can be.

    Parameters
    ----------
    x : ndarray, shape (n,)
    worst : float
        The largest ratio at `x`.
    certificate : Certificate or None
        Of the linear program that finds nothing better; None with columns in whole numbers.
    complete : bool
        Whether the search ended by itself.
    gap : float
        How far below `worst`, over it, the last program could not rule out a mix, in the sizes of
        its rows; 0 when complete.
    """

    x: Array
    worst: float
    certificate: Certificate | None
    complete: bool = True
    gap: float = 0.0


def least_worst(
    program: LinearProgram,
    ratios: Ratios,
    whole: NDArray[np.bool_] | None = None,
    time_limit: float = 10.0,
) -> LeastWorst | None:
    """Find the mix with the smallest largest ratio.

    Parameters
    ----------
    program : LinearProgram
        What every mix must meet, n columns; its cost is not used.
    ratios : Ratios
    whole : ndarray of bool, shape (n,), optional
        Columns in whole numbers.
    time_limit : float
        Seconds of search, with columns in whole numbers.

    Returns
    -------
    LeastWorst or None
        None if nothing meets the program.

    Raises
    ------
    SolverFault
        If the search does not converge.
    """
    start = _any(program, whole, time_limit)
    if start is None:
        return None
    deadline = time.monotonic() + time_limit
    x, worst = start, ratios.worst(start)
    better = BETTER if whole is None else BETTER_WHOLE
    for _ in range(ROUNDS):
        step = _below(program, ratios, worst, x)
        if whole is None:
            found = solve(step)
            if not isinstance(found, Optimal):
                raise SolverFault(say("solver.mix-lost"))
            next_x = found.x[:-1]
            if ratios.worst(next_x) >= worst - better * abs(worst):
                return LeastWorst(x, worst, found.certificate)
        else:
            left = max(deadline - time.monotonic(), 0.05)
            mixed = solve_integer(step, np.append(whole, False), time_limit=left)
            if isinstance(mixed, Infeasible):
                raise SolverFault(say("solver.whole-mix-lost"))
            next_x = mixed.x[:-1]
            if ratios.worst(next_x) >= worst - better * abs(worst):
                gap = 0.0 if mixed.complete else max(0.0, 1.0 - mixed.bound)
                return LeastWorst(x, worst, None, mixed.complete, gap)
        x, worst = next_x, ratios.worst(next_x)
    raise SolverFault(say("solver.no-least-worst", rounds=ROUNDS))


def keeping(program: LinearProgram, ratios: Ratios, most: float) -> LinearProgram:
    """The same program with every ratio held at `most` or less."""
    rows = ratios.above - most * ratios.below
    scale = np.abs(rows).max(axis=1)
    scale[scale == 0] = 1.0
    none = np.zeros(len(rows))
    return replace(
        program,
        matrix=np.vstack((program.matrix, rows / scale[:, None])),
        row_lower=np.append(program.row_lower, none - math.inf),
        row_upper=np.append(program.row_upper, none),
    )


def _any(
    program: LinearProgram, whole: NDArray[np.bool_] | None, time_limit: float
) -> Array | None:
    """Some mix that meets the program."""
    plain = replace(program, cost=np.ones(program.shape[1]))
    if whole is None:
        found = solve(plain)
        return found.x if isinstance(found, Optimal) else None
    mixed = solve_integer(plain, whole, time_limit=time_limit)
    return None if isinstance(mixed, Infeasible) else mixed.x


def _below(program: LinearProgram, ratios: Ratios, worst: float, x: Array) -> LinearProgram:
    """Look for every ratio below `worst`; the last column is s."""
    rows = ratios.above - worst * ratios.below
    least = 1e-6 * np.maximum(np.abs(ratios.above).max(axis=1), 1e-12) * np.abs(x).max()
    size = np.maximum(abs(worst) * (ratios.below @ x), least)
    k, n = rows.shape
    body = np.zeros((program.shape[0] + k, n + 1))
    body[: program.shape[0], :n] = program.matrix
    body[program.shape[0] :, :n] = rows / size[:, None]
    body[program.shape[0] :, n] = -1.0
    return LinearProgram(
        cost=np.append(np.zeros(n), 1.0),
        matrix=body,
        row_lower=np.append(program.row_lower, np.full(k, -math.inf)),
        row_upper=np.append(program.row_upper, np.full(k, -1.0)),
        col_lower=np.append(program.col_lower, -math.inf),
        col_upper=np.append(program.col_upper, math.inf),
    )
