"""How much quicker a sweep is than warm re-solves in bare HiGHS. Run on request only::

    pytest tests/benchmarks/test_sweep_speed.py -s

Both are timed in turns within one run, so that a busy machine troubles both; medians are
compared. The re-solves (a new cost by ``changeColsCost``, then ``run``, nothing read) are timed
on a sample of the prices and extrapolated to all of them.
"""

from __future__ import annotations

import time
from statistics import median

import highspy
import numpy as np
import pytest
from eight_foods import around, eight_foods

from formulate.blend.prices.parametric import sweep
from formulate.blend.prices.price_map import price_map
from formulate.blend.problem import Problem
from formulate.blend.solve import OPTIONS

PRICES = 200_000
SAMPLE = 1_000
ROUNDS = 9


class Warm:
    """A HiGHS object that keeps its model and its last basis."""

    def __init__(self, problem: Problem):
        program = problem.program()
        m, n = program.shape
        self.engine = highspy.Highs()
        for name, value in OPTIONS.items():
            self.engine.setOptionValue(name, value)
        self.engine.passModel(
            n,
            m,
            m * n,
            int(highspy.MatrixFormat.kColwise),
            int(highspy.ObjSense.kMinimize),
            0.0,
            program.cost,
            program.col_lower,
            program.col_upper,
            program.row_lower,
            program.row_upper,
            np.arange(n, dtype=np.int32) * m,
            np.tile(np.arange(m, dtype=np.int32), n),
            program.matrix.T.ravel(),
            np.zeros(n, dtype=np.int32),
        )
        self.columns = np.arange(n, dtype=np.int32)
        self.engine.run()

    def solve_all(self, prices: np.ndarray) -> None:
        for price in prices:
            self.engine.changeColsCost(price.size, self.columns, price)
            self.engine.run()

    def value(self, price: np.ndarray) -> float:
        self.solve_all(price[None])
        return float(self.engine.getInfo().objective_function_value)


@pytest.mark.parametrize(
    ("bands", "times", "least"),
    [("lamb-replacer", 2.0, 100), ("lamb-replacer", 4.0, 60)],
)
def test_many_prices(bands: str, times: float, least: float):
    problem = eight_foods(bands)
    prices = around(problem, PRICES, times)
    sample = prices[:: PRICES // SAMPLE]
    warm = Warm(problem)
    ours, theirs = [], []
    for turn in range(ROUNDS + 1):
        start = time.perf_counter()
        found = sweep(problem, prices)
        between = time.perf_counter()
        warm.solve_all(sample)
        end = time.perf_counter()
        if turn:
            ours.append(between - start)
            theirs.append((end - between) * PRICES / len(sample))
    assert found is not None
    apart = max(
        abs(found.values[k * (PRICES // SAMPLE)] / (warm.value(price) * problem.volume) - 1)
        for k, price in enumerate(sample[:200])
    )
    ratio = median(theirs) / median(ours)
    print(
        f"\n{len(problem.shelf.foods)} foods, {len(problem.bands.binding)} bands, "
        f"{PRICES:,} prices from 1/{times:g} to {times:g} times today's: "
        f"{median(ours):.3f} s, {found.n_bases} bases, {len(found.recipes)} recipes\n"
        f"  warm re-solves {median(theirs):.2f} s, extrapolated from {len(sample):,}: "
        f"{ratio:.0f} times (target at least {least}); values agree to {apart:.0e}"
    )
    assert apart < 1e-6  # HiGHS alone, at its tolerances
    assert ratio >= least


def test_a_map_of_300_by_300():
    problem = eight_foods()
    spent = []
    for _ in range(5):
        start = time.perf_counter()
        found = price_map(problem, "whole-milk", (0.0002, 0.004), "heavy-cream", (0.002, 0.012))
        spent.append(time.perf_counter() - start)
    assert found is not None
    print(f"\n300 × 300 prices: {median(spent):.3f} s, {len(found.sweep.recipes)} recipes")
    assert median(spent) < 0.5
