"""The least largest ratio: against bisection with another solver, and against brute force."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from formulate.blend.least_worst import Ratios, keeping, least_worst
from formulate.blend.solve import TOLERANCE, LinearProgram


@st.composite
def tasks(draw: st.DrawFn, most_columns: int = 4) -> tuple[LinearProgram, Ratios]:
    """Homogeneous ranges, a size row, and some ratios with positive denominators."""
    n, m, k = draw(st.integers(2, most_columns)), draw(st.integers(0, 3)), draw(st.integers(1, 4))
    whole = st.integers(-4, 4).map(float)
    rows = np.array([[draw(whole) for _ in range(n)] for _ in range(m)]).reshape(m, n)
    above = [[float(draw(st.integers(0, 9))) for _ in range(n)] for _ in range(k)]
    below = [[float(draw(st.integers(1, 5))) for _ in range(n)] for _ in range(k)]
    program = LinearProgram(
        cost=np.zeros(n),
        matrix=np.vstack((rows, np.ones(n))),
        row_lower=np.append(np.full(m, -math.inf), 1.0),
        row_upper=np.append(np.zeros(m), 1.0),
        col_lower=np.zeros(n),
        col_upper=np.full(n, math.inf),
    )
    return program, Ratios(np.array(above), np.array(below))


def least_by_bisection(program: LinearProgram, ratios: Ratios) -> float | None:
    """Smallest t for which scipy finds an x with every ratio at most t."""
    n = program.shape[1]
    equal = np.isfinite(program.row_lower)

    def possible(t: float) -> bool:
        rows = np.vstack((program.matrix[~equal], ratios.above - t * ratios.below))
        found = linprog(
            np.zeros(n),
            A_ub=rows,
            b_ub=np.append(program.row_upper[~equal], np.full(len(ratios.above), 1e-11)),
            A_eq=program.matrix[equal],
            b_eq=program.row_upper[equal],
            method="highs-ipm",
        )
        return bool(found.status == 0)

    low, high = 0.0, 10.0
    if not possible(high):
        return None
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (low, middle) if possible(middle) else (middle, high)
    return high


@settings(max_examples=60, deadline=None)
@given(tasks())
def test_it_is_the_least_that_bisection_finds(task):
    program, ratios = task
    found, expected = least_worst(program, ratios), least_by_bisection(program, ratios)
    assert (found is None) == (expected is None)
    if found is not None:
        assert found.worst == pytest.approx(expected, abs=1e-6)
        assert found.worst == pytest.approx(ratios.worst(found.x))
        assert found.certificate.worst <= TOLERANCE
        kept = keeping(program, ratios, found.worst * (1 + 1e-9))
        assert (kept.matrix @ found.x <= kept.row_upper + 1e-9).all()


@settings(max_examples=60, deadline=None)
@given(tasks(most_columns=3))
def test_in_whole_numbers_it_is_what_brute_force_finds(task):
    program, ratios = task
    n = program.shape[1]
    bounded = LinearProgram(
        program.cost,
        program.matrix,
        np.where(np.isfinite(program.row_lower), 1.0, -math.inf),
        np.where(np.isfinite(program.row_lower), 8.0, program.row_upper),
        np.zeros(n),
        np.full(n, 6.0),
    )
    points = [np.array(p, float) for p in itertools.product(range(7), repeat=n)]
    inside = [
        p
        for p in points
        if (bounded.matrix @ p <= bounded.row_upper + 1e-9).all()
        and (bounded.matrix @ p >= bounded.row_lower - 1e-9).all()
    ]
    found = least_worst(bounded, ratios, np.ones(n, dtype=bool))
    assert (found is None) == (not inside)
    if found is not None:
        assert found.complete
        assert found.gap == 0.0
        assert found.worst == pytest.approx(min(ratios.worst(p) for p in inside), rel=1e-6)
        assert (found.x == np.rint(found.x)).all()


def test_the_larger_of_two_ratios_decides():
    """x + y = 1: 4x/1 falls where 2y/1 rises; they meet at x = 1/3."""
    program = LinearProgram(
        np.zeros(2), np.ones((1, 2)), np.ones(1), np.ones(1), np.zeros(2), np.full(2, math.inf)
    )
    ratios = Ratios(np.array([[4.0, 0.0], [0.0, 2.0]]), np.ones((2, 2)))
    found = least_worst(program, ratios)
    np.testing.assert_allclose(found.x, [1 / 3, 2 / 3], rtol=1e-9)
    assert found.worst == pytest.approx(4 / 3)


def test_a_program_that_nothing_meets_has_no_answer():
    program = LinearProgram(
        np.zeros(1), np.ones((1, 1)), np.ones(1), np.ones(1), np.zeros(1), np.full(1, 0.5)
    )
    assert least_worst(program, Ratios(np.ones((1, 1)), np.ones((1, 1)))) is None


@given(tasks())
@settings(max_examples=20, deadline=None)
def test_the_order_of_the_ratios_does_not_matter(task):
    program, ratios = task
    found = least_worst(program, ratios)
    assume(found is not None)
    turned = least_worst(program, Ratios(ratios.above[::-1], ratios.below[::-1]))
    assert turned.worst == pytest.approx(found.worst, rel=1e-8)
