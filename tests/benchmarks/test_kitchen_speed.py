"""Whole measures against bare HiGHS on the same arrays with the same options.

Run on request only::

    pytest tests/benchmarks/test_kitchen_speed.py -s

Contestants take turns, so that a busy machine troubles both alike; the ratio is of medians.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median

import highspy
import numpy as np
import pytest

from formulate.base.units import Kitchen
from formulate.blend.problem import Shelf, build
from formulate.blend.solve import OPTIONS, LinearProgram
from formulate.blend.whole import integer as whole
from formulate.blend.whole.kitchen_mix import design_kitchen, kitchen_steps, volume_range
from formulate.foods.tables import band_set, food_table

#: Prices are invented [money per g].
EIGHT = {
    "whole-milk": 0.00100, "heavy-cream": 0.0068, "nonfat-dry-milk": 0.0132,
    "evaporated-milk": 0.0047, "lowfat-buttermilk": 0.0027, "dry-whole-milk": 0.0122,
    "unsalted-butter": 0.0099, "greek-yogurt": 0.0061,
}  # fmt: skip
TARGET = 1.3
ROUNDS = 40


def bare(program: LinearProgram) -> np.ndarray:
    """What somebody who has the arrays already would write."""
    engine = highspy.Highs()
    for name, value in OPTIONS.items():
        engine.setOptionValue(name, value)
    for name, value in (
        ("presolve", "choose"),
        ("solver", "choose"),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 0.0),
        ("mip_feasibility_tolerance", 1e-7),
    ):
        engine.setOptionValue(name, value)
    rows, columns = program.shape
    engine.passModel(
        columns, rows, rows * columns, int(highspy.MatrixFormat.kColwise),
        int(highspy.ObjSense.kMinimize), 0.0, program.cost, program.col_lower,
        program.col_upper, program.row_lower, program.row_upper,
        np.arange(columns, dtype=np.int32) * rows,
        np.tile(np.arange(rows, dtype=np.int32), columns),
        program.matrix.T.ravel(), np.ones(columns, dtype=np.int32),
    )  # fmt: skip
    engine.run()
    assert engine.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return np.array(engine.getSolution().col_value)


def race(one: Callable[[], object], other: Callable[[], object]) -> tuple[float, float]:
    """Median seconds of both, in turns after a warming round."""
    times: tuple[list[float], list[float]] = ([], [])
    for turn in range(ROUNDS + 1):
        for run, spent in zip((one, other), times, strict=True):
            start = time.perf_counter()
            run()
            if turn:
                spent.append(time.perf_counter() - start)
    return median(times[0]), median(times[1])


@pytest.mark.parametrize("measures", ["cups", "scale"])
@pytest.mark.parametrize("volume", [1892.7, 3785.4, 10_000.0, 20_000.0])
def test_eight_foods(volume, measures, monkeypatch):
    table, like = food_table()
    shelf = Shelf(tuple(table[i] for i in EIGHT), np.array(list(EIGHT.values())))
    problem = build(shelf, band_set("lamb-replacer"), volume, like)
    steps = kitchen_steps(shelf.foods, Kitchen.US, measures)
    least, most = volume_range(volume)

    def ours():
        return design_kitchen(problem, steps, least_volume=least, most_volume=most, like=like)

    programs: list[LinearProgram] = []
    real = whole.solve_integer
    with monkeypatch.context() as patch:
        patch.setattr(
            whole, "solve_integer", lambda p, *a, **k: (programs.append(p), real(p, *a, **k))[1]
        )
        found = ours()
    [program] = programs
    assert np.rint(bare(program)).tolist() == found.counts.tolist()
    mine, theirs = race(ours, lambda: bare(program))
    ratio = mine / theirs
    print(
        f"\n{volume / 1000:5.1f} L by {measures:5}: ours {mine * 1e3:6.2f} ms, bare HiGHS "
        f"{theirs * 1e3:6.2f} ms, ratio {ratio:.2f} (target at most {TARGET:g})"
    )
    assert ratio <= TARGET
