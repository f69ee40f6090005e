"""Cuts that hold only for whole packages, added where the relaxation violates them.

*Rounding rows.* Over any run of batches what is needed comes from lots that reach into it, and
packages are whole. With need D, packages g_l and any divisor δ

    Σ g_l n_l ≥ D    gives    Σ F(g_l / δ) n_l ≥ ⌈D/δ⌉,
    F(v) = ⌊v⌋ + min((v − ⌊v⌋) / f, 1),   f = D/δ − ⌊D/δ⌋      (mixed-integer rounding)

For one size, one mix and one opened life they describe the whole numbers exactly. Where the mix
is a choice, D is that of one choice in each stretch and the others' differences stand as columns.

*Floors of runs.* The least money for the needs of a run, found food by food.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formulate.base.clock import Clock
from formulate.base.content import ByContent
from formulate.blend.mixed_integer import is_infeasible, relaxed
from formulate.blend.program import SparseProgram
from formulate.shopping.lot_by_food import floors_of_runs
from formulate.shopping.lot_program import WHOLE, LotProgram, Rows
from formulate.shopping.lot_start import shares

__all__ = ["Run", "rounding_rows", "runs_of", "tightened"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
#: Least money by food and by first and last batch.
Floors = dict[tuple[int, int, int], float]

#: Rounds of rows; later rounds hardly move the bound.
ROUNDS = 12
#: A row is worth adding if it is broken by more than this.
BROKEN = 1e-5


@dataclass(frozen=True, eq=False)
class Run(ByContent):
    """A run of batches of one food, with the lots that reach into it.

    Parameters
    ----------
    good, first : int
        Food and first batch.
    lots : ndarray of int
    need : ndarray, shape (n_choices,)
        Of the whole run by each choice [packages].
    open_stock : float
        Open at home and good until the run [packages].
    """

    good: int
    first: int
    lots: Whole
    need: Array
    open_stock: float


def runs_of(program: LotProgram) -> Iterator[Run]:
    """Runs of batches whose rounding can matter.

    A run may start at 0 or just after some lot has gone out of date: elsewhere a longer one
    has the same lots and more need.
    """
    problem, lots = program.problem, program.problem.lots
    stock = problem.open_stock()
    for good in range(len(problem.goods)):
        mine = np.flatnonzero(lots.good == good)
        if not mine.size:
            continue
        lasts = [*lots.last[mine].tolist(), *(last for g, last, _ in stock if g == good)]
        total = np.cumsum(np.pad(program.needs[good], ((1, 0), (0, 0))), axis=0)
        for a in sorted({0, *(last + 1 for last in lasts)}):
            if a >= problem.batches:
                continue
            there = sum(
                grams / program.unit[good] for g, last, grams in stock if g == good and last >= a
            )
            live = mine[lots.last[mine] >= a]
            for b in range(a, problem.batches):
                if problem.most[good, b] > 0:
                    reaching = live[lots.opened[live] <= b]
                    yield Run(good, a, reaching, total[b + 1] - total[a], there)


def rounding_rows(program: LotProgram, x: Array, runs: list[Run]) -> tuple[Any, Array]:
    """Rounding rows that a fractional point breaks: matrix and least activity."""
    from scipy.sparse import csr_array

    at = program.at
    chosen = x[at["choice"] : at["trip"]]
    bases = [max(group, key=lambda c: chosen[c]) for group in program.problem.groups]
    free = np.ones(len(chosen), dtype=bool)
    free[bases] = False
    rows, lower = Rows(), []
    for run in runs:
        base = sum(run.need[b] for b in bases) - run.open_stock
        spare = run.need.copy()
        for group, b in zip(program.problem.groups, bases, strict=True):
            spare[list(group)] -= run.need[b]
        others = np.flatnonzero(free & (np.abs(spare) > 1e-12))
        pieces = program.pieces[run.lots]
        columns = np.concatenate((at["lot"] + run.lots, at["choice"] + others))
        for divisor in np.unique(pieces):
            ends = base / divisor
            f = ends - np.floor(ends)
            if f < WHOLE or f > 1 - WHOLE:
                continue
            v = np.concatenate((pieces, -spare[others])) / divisor
            floor = np.floor(v + WHOLE)
            values = floor + np.minimum(np.maximum(v - floor, 0.0) / f, 1.0)
            if values @ x[columns] < np.ceil(ends) - BROKEN:
                keep = values != 0
                rows.add(columns[keep], values[keep], float(np.ceil(ends)), np.inf)
                lower.append(float(np.ceil(ends)))
    matrix = csr_array((rows.values, (rows.rows, rows.columns)), shape=(len(lower), at["end"]))
    return matrix, np.array(lower)


def floor_rows(program: LotProgram, x: Array, floors: Floors) -> tuple[Any, Array]:
    """Least money for a run of batches, where a fractional point pays less."""
    from scipy.sparse import csr_array

    lots, start = program.problem.lots, program.at["lot"]
    rows, lower = Rows(), []
    for (good, a, b), floor in floors.items():
        mine = np.flatnonzero((lots.good == good) & (lots.opened <= b) & (lots.last >= a))
        if lots.price[mine] @ x[start + mine] < floor * (1 - 1e-6) - BROKEN:
            least = floor * (1 - 1e-9)
            rows.add(start + mine, lots.price[mine], least, np.inf)
            lower.append(least)
    shape = (len(lower), program.at["end"])
    return csr_array((rows.values, (rows.rows, rows.columns)), shape=shape), np.array(lower)


def run_floors(program: LotProgram, runs: list[Run], clock: Clock) -> Floors:
    """Least money for each run of batches of one food, where there is one mix, in time."""
    problem = program.problem
    if not program.floors.any():
        return {}
    needs = problem.need.sum(axis=2)
    choices = range(problem.need.shape[2])
    found: Floors = {}
    for good in np.flatnonzero(program.floors).tolist():
        share = shares(problem, choices, good)
        for a in sorted({run.first for run in runs if run.good == good}):
            if clock.over():
                return found
            floors = floors_of_runs(problem, good, needs[good], share, a, clock)
            for b, floor in enumerate(floors):
                if floor > 0:
                    found[good, a, b] = float(floor)
    return found


def tightened(lots: LotProgram, clock: Clock) -> SparseProgram | None:
    """The program with the rounding rows that matter; None if nothing can meet it.

    Rows are added only while there is time: the program is just as valid without them.
    """
    import highspy
    from scipy.sparse import csc_array, vstack

    program = lots.program
    if clock.over():
        return program
    runs = list(runs_of(lots))
    floors = run_floors(lots, runs, clock.part(0.5))
    if clock.over():
        return program
    engine = relaxed(program, time_limit=clock.left())
    if is_infeasible(engine):
        return None
    blocks, lowers = [], []
    for _ in range(ROUNDS):
        if clock.over() or engine.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            break
        x = np.array(engine.getSolution().col_value)
        matrix, lower = rounding_rows(lots, x, runs)
        more, least = floor_rows(lots, x, floors)
        matrix, lower = vstack((matrix, more)).tocsr(), np.concatenate((lower, least))
        if not lower.size:
            break
        blocks.append(matrix)
        lowers.append(lower)
        engine.addRows(
            len(lower),
            lower,
            np.full(len(lower), np.inf),
            matrix.nnz,
            matrix.indptr[:-1].astype(np.int32),
            matrix.indices.astype(np.int32),
            matrix.data,
        )
        engine.setOptionValue("time_limit", clock.left())
        engine.run()
    if not blocks:
        return program
    matrix, lower = vstack(blocks).tocsr(), np.concatenate(lowers)
    if engine.getModelStatus() == highspy.HighsModelStatus.kOptimal:
        x = np.array(engine.getSolution().col_value)
        tight = matrix @ x < lower + 1e-4
        matrix, lower = matrix[tight], lower[tight]
    return replace(
        program,
        matrix=csc_array(vstack((program.matrix, matrix))),
        row_lower=np.concatenate((program.row_lower, lower)),
        row_upper=np.concatenate((program.row_upper, np.full(len(lower), np.inf))),
    )
