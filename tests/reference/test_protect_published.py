"""Protection against published figures: Bertsimas & Sim, and the normal law."""

import math

import numpy as np
import pytest

from formulate.blend.protect.budgeted import violation_bound, worst_of
from formulate.blend.protect.cones import quantile, upper_tail

# Bertsimas & Sim, The Price of Robustness, Operations Research 52(1), 2004, table 1: the budget
# for which their bound on the chance of a violation is below 1 % (from memory; the paper's
# first page was seen, its table was not).
BUDGETS = {5: 5.0, 10: 8.2, 100: 24.3, 200: 33.9, 2000: 105.0}


@pytest.mark.parametrize(("foods", "budget"), BUDGETS.items())
def test_the_budgets_of_the_paper_bound_the_chance_by_one_per_cent(foods, budget):
    bound = violation_bound(foods, budget)
    assert bound <= 0.0101  # the table is rounded to a tenth
    if budget < foods:
        assert violation_bound(foods, budget - 0.5) > 0.01


def test_the_bound_by_hand():
    # n = 3, Γ = 1: ν = 2, μ = 0: (C(3,2) + C(3,3)) / 8.
    assert violation_bound(3, 1) == pytest.approx(4 / 8)
    # n = 2, Γ = 1: ν = 1.5, μ = 0.5: (0.5 · C(2,1) + C(2,2)) / 4.
    assert violation_bound(2, 1) == pytest.approx(2 / 4)
    assert violation_bound(4, 4) == 0
    assert violation_bound(0, 0) == 0


@pytest.mark.parametrize("budget", [0.0, 1.0, 2.0, 2.5, 4.0])
def test_no_symmetric_law_misses_more_often_than_the_bound(budget):
    # Deviations of ±1 with even chances are among the worst symmetric ones.
    rng = np.random.default_rng(9)
    n, draws = 6, 200_000
    taken = np.array([1.0, 0.9, 0.8, 0.8, 0.7, 0.6])
    room = worst_of(taken[None, :], np.ones(n), budget)[0]
    signs = rng.choice([-1.0, 1.0], size=(draws, n))
    missed = float((signs @ taken > room + 1e-12).mean())
    bound = violation_bound(n, budget)
    assert missed <= bound + 3 * math.sqrt(max(bound, 1e-9) * (1 - bound) / draws)


@pytest.mark.parametrize(
    ("tail", "z"),
    # Any table of the normal law.
    [
        (0.5, 0.0),
        (0.1, 1.2815515655),
        (0.05, 1.6448536270),
        (0.025, 1.9599639845),
        (0.01, 2.3263478740),
    ],
)
def test_quantiles_of_the_normal_law(tail, z):
    assert quantile(tail) == pytest.approx(z, abs=1e-9)
    assert upper_tail(z) == pytest.approx(tail, abs=1e-10)
