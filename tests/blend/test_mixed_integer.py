"""Programs with whole numbers: against every point there is, dense and sparse alike."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import csc_array
from second_opinion import by_scipy
from strategies import programs

from formulate.base.errors import OutOfTime, SolverFault
from formulate.blend.mixed_integer import IntegerOptimal, solve_integer
from formulate.blend.program import LinearProgram, SparseProgram
from formulate.blend.solve import Infeasible

inf = math.inf


def program(cost, matrix, row_lower, row_upper, col_lower=None, col_upper=None) -> LinearProgram:
    """A program of plain lists; columns from 0 up unless told."""
    n = len(cost)
    arrays = (
        cost,
        np.reshape(matrix, (len(row_lower), n)),
        row_lower,
        row_upper,
        [0.0] * n if col_lower is None else col_lower,
        [inf] * n if col_upper is None else col_upper,
    )
    return LinearProgram(*(np.array(array, dtype=float) for array in arrays))


@st.composite
def integer_programs(draw):
    """Boxes of at most 4 × 4 × 4 × 4 points, so that every point can be tried."""
    drawn = draw(programs(most_rows=4, most_columns=4))
    n = drawn.shape[1]
    low = np.array([float(draw(st.integers(-1, 1))) for _ in range(n)])
    high = low + np.array([float(draw(st.integers(0, 3))) for _ in range(n)])
    return replace(drawn, col_lower=low, col_upper=high)


@given(integer_programs())
def test_whole_numbers_against_every_point(given_program):
    found = solve_integer(given_program, np.ones(given_program.shape[1], dtype=bool))
    best = inf
    ranges = (
        range(int(low), int(high) + 1)
        for low, high in zip(given_program.col_lower, given_program.col_upper, strict=True)
    )
    for point in product(*ranges):
        x = np.array(point, dtype=float)
        activity = given_program.matrix @ x
        if ((activity >= given_program.row_lower) & (activity <= given_program.row_upper)).all():
            best = min(best, float(given_program.cost @ x))
    if best == inf:
        assert isinstance(found, Infeasible)
    else:
        assert isinstance(found, IntegerOptimal)
        assert found.objective == pytest.approx(best, abs=1e-9)
        assert found.complete
        assert found.gap <= 1e-9
        assert (found.x == np.round(found.x)).all()


@given(integer_programs(), st.data())
def test_some_whole_numbers_against_every_choice_of_them(given_program, data):
    """Each choice of the whole numbers leaves a linear program; the best of those is the best.

    (No second opinion of CBC here: for minimise −x₀ − 2x₂ + x₃, x₀ − x₂ + x₃ ≥ −6, all within
    0 to 9 and x₃ whole, the CBC that PuLP 3.3.2 brings calls −18 optimal; −27 is.)
    """
    integer = np.array([data.draw(st.booleans()) for _ in range(given_program.shape[1])])
    found = solve_integer(given_program, integer)
    best = inf
    ranges = (
        range(int(low), int(high) + 1) if whole else (None,)
        for whole, low, high in zip(
            integer, given_program.col_lower, given_program.col_upper, strict=True
        )
    )
    for point in product(*ranges):
        chosen = np.array([math.nan if value is None else value for value in point], dtype=float)
        rest = replace(
            given_program,
            col_lower=np.where(integer, chosen, given_program.col_lower),
            col_upper=np.where(integer, chosen, given_program.col_upper),
        )
        opinion = by_scipy(rest)
        if opinion.says == "optimal":
            best = min(best, opinion.value)
    if best == inf:
        assert isinstance(found, Infeasible)
        return
    assert isinstance(found, IntegerOptimal)
    assert found.objective == pytest.approx(best, rel=1e-7, abs=1e-7)
    assert (found.x[integer] == np.round(found.x[integer])).all()
    activity = given_program.matrix @ found.x
    assert (activity >= given_program.row_lower - 1e-7).all()
    assert (activity <= given_program.row_upper + 1e-7).all()


def test_a_mixed_program_that_another_solver_gets_wrong():
    mixed = program([-1, 0, -2, 1], [[1, 0, -1, 1]], [-6], [inf], None, [9.0] * 4)
    found = solve_integer(mixed, np.array([False, False, False, True]))
    assert isinstance(found, IntegerOptimal)
    assert found.objective == -27


def test_no_time_is_no_answer():
    random = np.random.default_rng(5)
    weights = random.integers(100, 999, (5, 60)).astype(float)
    hard = program(
        -random.integers(100, 999, 60).astype(float),
        weights,
        [-inf] * 5,
        weights.sum(axis=1) / 2,
        None,
        [1.0] * 60,
    )
    with pytest.raises(OutOfTime, match="no answer was found in 0 s"):
        solve_integer(hard, np.ones(60, dtype=bool), time_limit=0.0)


def sparse(program):
    return SparseProgram(
        program.cost,
        csc_array(program.matrix),
        program.row_lower,
        program.row_upper,
        program.col_lower,
        program.col_upper,
    )


def bounded(program):
    """The same within a box, so that nothing is unbounded."""
    return dataclasses.replace(
        program,
        col_lower=np.maximum(program.col_lower, -7.0),
        col_upper=np.minimum(program.col_upper, 9.0),
    )


@given(programs(), st.data())
def test_a_sparse_program_gives_what_the_dense_one_gives(program, data):
    program = bounded(program)
    integer = np.array([data.draw(st.booleans()) for _ in program.cost])
    dense = solve_integer(program, integer)
    found = solve_integer(sparse(program), integer)
    assert isinstance(found, Infeasible) == isinstance(dense, Infeasible)
    if isinstance(found, Infeasible):
        return
    assert found.objective == pytest.approx(dense.objective, abs=1e-6)
    assert found.bound == pytest.approx(found.objective, abs=1e-5)
    assert sparse(program).miss(found.x) <= 1e-6
    np.testing.assert_array_equal(found.x[integer], np.round(found.x[integer]))


def knapsack(weights=(3, 5, 7), least=11.0):
    n = len(weights)
    return SparseProgram(
        np.array([4.0, 6.0, 8.5][:n]),
        csc_array(np.array([weights], float)),
        np.array([least]),
        np.array([np.inf]),
        np.zeros(n),
        np.full(n, 10.0),
    )


def test_the_start_is_returned_if_nothing_is_better():
    best = solve_integer(knapsack(), np.ones(3, bool))
    again = solve_integer(knapsack(), np.ones(3, bool), start=best.x)
    assert again.objective == best.objective
    # A start that is not the best is left behind.
    worse = solve_integer(knapsack(), np.ones(3, bool), start=np.array([0.0, 0.0, 2.0]))
    assert worse.objective == best.objective == pytest.approx(14.0)


def test_a_start_that_breaks_a_bound_is_rejected():
    with pytest.raises(SolverFault, match="start from"):
        solve_integer(knapsack(), np.ones(3, bool), start=np.zeros(3))


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_nan_and_infinity_are_rejected(bad):
    with pytest.raises(SolverFault, match="not a finite number"):
        knapsack(weights=(3, bad, 7))
    with pytest.raises(SolverFault, match="not a number"):
        dataclasses.replace(knapsack(), row_lower=np.array([np.nan]))
