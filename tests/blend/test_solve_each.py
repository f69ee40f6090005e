"""One set of rows, several objectives: the same answers as one by one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import programs

from formulate.blend.solve import TOLERANCE, Optimal, Unbounded, solve, solve_each


@given(programs(), st.lists(st.lists(st.integers(-5, 5), min_size=6, max_size=6), min_size=1))
def test_each_answer_is_that_of_its_own_program(program, rows):
    costs = np.array(rows, dtype=float)[:, : program.shape[1]]
    for cost, got in zip(costs, solve_each(program, costs), strict=True):
        want = solve(replace(program, cost=cost))
        assert type(got) is type(want)
        if isinstance(got, Optimal) and isinstance(want, Optimal):
            assert got.objective == pytest.approx(want.objective, abs=1e-7)
            assert got.certificate.worst <= TOLERANCE


@given(programs())
def test_the_engine_is_left_as_it_was(program):
    before = solve(program)
    solve_each(program, np.eye(program.shape[1]))
    after = solve(program)
    assert type(before) is type(after)
    if isinstance(before, Optimal) and isinstance(after, Optimal):
        assert (before.x == after.x).all()


@given(programs())
def test_no_cost_is_never_unbounded(program):
    (only,) = solve_each(program, np.zeros((1, program.shape[1])))
    assert not isinstance(only, Unbounded)
