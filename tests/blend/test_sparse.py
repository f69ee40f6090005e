"""The sparse road gives what the dense one gives."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import csc_array
from strategies import programs

from formulate.base.errors import SolverFault
from formulate.blend.solve import Infeasible, solve_integer
from formulate.blend.whole.sparse import SparseProgram, solve_large


def sparse(program, integer):
    return SparseProgram(
        program.cost,
        csc_array(program.matrix),
        program.row_lower,
        program.row_upper,
        program.col_lower,
        program.col_upper,
        integer,
    )


def bounded(program):
    """The same within a box, so that nothing is unbounded."""
    return dataclasses.replace(
        program,
        col_lower=np.maximum(program.col_lower, -7.0),
        col_upper=np.minimum(program.col_upper, 9.0),
    )


@given(programs(), st.data())
def test_same_as_dense(program, data):
    program = bounded(program)
    integer = np.array([data.draw(st.booleans()) for _ in program.cost])
    dense = solve_integer(program, integer)
    found = solve_large(sparse(program, integer))
    assert isinstance(found, Infeasible) == isinstance(dense, Infeasible)
    if isinstance(found, Infeasible):
        return
    assert found.objective == pytest.approx(dense.objective, abs=1e-6)
    assert found.bound == pytest.approx(found.objective, abs=1e-5)
    assert sparse(program, integer).miss(found.x) <= 1e-6
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
        np.ones(n, bool),
    )


def test_a_start_comes_back_where_nothing_is_better():
    best = solve_large(knapsack())
    again = solve_large(knapsack(), start=best.x)
    assert again.objective == best.objective
    # A start that is not the best is left behind.
    worse = solve_large(knapsack(), start=np.array([0.0, 0.0, 2.0]))
    assert worse.objective == best.objective == pytest.approx(14.0)


def test_a_start_that_breaks_a_bound_is_refused():
    with pytest.raises(SolverFault, match="begin from"):
        solve_large(knapsack(), start=np.zeros(3))


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_numbers_that_are_none_are_refused(bad):
    with pytest.raises(SolverFault, match="not a finite number"):
        knapsack(weights=(3, bad, 7))
    with pytest.raises(SolverFault, match="not a number"):
        dataclasses.replace(knapsack(), row_lower=np.array([np.nan]))
