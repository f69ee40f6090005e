"""The engine against other solvers, known programs, and numbers that are not numbers."""

from __future__ import annotations

import math
import pickle
from concurrent.futures import ThreadPoolExecutor
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from second_opinion import by_pulp, by_scipy
from strategies import programs

from formulate.base.errors import SolverFault
from formulate.blend.mixed_integer import solve_integer
from formulate.blend.program import Certificate
from formulate.blend.solve import (
    TOLERANCE,
    Infeasible,
    LinearProgram,
    Optimal,
    Unbounded,
    certify,
    solve,
)

inf = math.inf
SAYS = {Optimal: "optimal", Infeasible: "infeasible", Unbounded: "unbounded"}


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


@given(programs())
def test_other_solvers_agree_and_every_optimum_is_certified(given_program):
    found = solve(given_program)
    opinions = [by_scipy(given_program)]
    # PuLP leaves out a row of zeros, be it impossible, and CBC fails without any row.
    ends = np.isfinite(given_program.row_lower) | np.isfinite(given_program.row_upper)
    if ends.any() and given_program.matrix[ends].any(axis=1).all():
        opinions.append(by_pulp(given_program))
    for opinion in opinions:
        assert opinion.says == SAYS[type(found)]
        if isinstance(found, Optimal):
            assert found.objective == pytest.approx(opinion.value, rel=1e-7, abs=1e-7)
    if isinstance(found, Optimal):
        again = certify(given_program, found.x, found.row_dual)
        assert again == found.certificate
        assert again.worst <= TOLERANCE


@given(programs())
def test_an_optimum_is_what_it_says(given_program):
    found = solve(given_program)
    if not isinstance(found, Optimal):
        assert not hasattr(found, "x")  # only an optimum holds amounts
        return
    activity = given_program.matrix @ found.x
    slack = 1e-8 * max(1.0, np.abs(found.x).max(), np.abs(activity).max(initial=0.0))
    assert (found.x >= given_program.col_lower - slack).all()
    assert (found.x <= given_program.col_upper + slack).all()
    assert (activity >= given_program.row_lower - slack).all()
    assert (activity <= given_program.row_upper + slack).all()
    assert found.objective == pytest.approx(float(given_program.cost @ found.x), abs=1e-12)
    expected = given_program.cost - found.row_dual @ given_program.matrix
    np.testing.assert_allclose(found.reduced_cost, expected, atol=1e-9)
    # A basis has as many members as there are rows, and what is outside it sits on an end.
    assert found.basic_cols.sum() + found.basic_rows.sum() == given_program.shape[0]
    outside = ~found.basic_cols & (np.isfinite(given_program.col_lower))
    ends = np.minimum(
        np.abs(found.x - given_program.col_lower), np.abs(found.x - given_program.col_upper)
    )
    assert (ends[outside] <= slack).all()


@given(programs(), st.sampled_from([2.0, 10.0]))
def test_the_value_follows_the_cost(given_program, factor):
    found = solve(given_program)
    scaled = solve(replace(given_program, cost=given_program.cost * factor))
    assert type(scaled) is type(found)
    if isinstance(found, Optimal):
        assert scaled.objective == pytest.approx(found.objective * factor, rel=1e-9, abs=1e-9)


@given(programs(most_rows=4, most_columns=4))
def test_a_dual_is_the_slope_of_the_value(given_program):
    """Where the value has one slope at the end of a row, the dual is that slope."""
    found = solve(given_program)
    if not isinstance(found, Optimal):
        return
    step = 1e-4
    for i in range(given_program.shape[0]):
        moved = []
        for sign in (-1, 1):
            shift = np.zeros(given_program.shape[0])
            shift[i] = sign * step
            other = solve(
                replace(
                    given_program,
                    row_lower=given_program.row_lower + shift,
                    row_upper=given_program.row_upper + shift,
                )
            )
            moved.append(other.objective if isinstance(other, Optimal) else math.nan)
        left = (found.objective - moved[0]) / step
        right = (moved[1] - found.objective) / step
        if abs(left - right) < 1e-6:
            assert found.row_dual[i] == pytest.approx(right, abs=1e-5)


@pytest.mark.parametrize("field", [f.name for f in fields(LinearProgram)])
@pytest.mark.parametrize("bad", [math.nan, inf, -inf])
def test_what_is_not_a_number_never_reaches_a_solver(field, bad):
    sound = program([1, 2], [[1, 1], [1, -1]], [1, -3], [4, 3], [0, 0], [9, 9])
    array = getattr(sound, field).copy()
    array[(-1,) * array.ndim] = bad
    if field in ("cost", "matrix") or math.isnan(bad):
        with pytest.raises(SolverFault, match="not a"):
            replace(sound, **{field: array})
    else:
        replace(sound, **{field: array})  # an open bound is none


def test_an_empty_program_is_rejected():
    with pytest.raises(SolverFault, match="empty"):
        solve(program([], np.zeros((0, 0)), [], []))


def test_a_program_without_rows():
    found = solve(program([1, -1], [], [], [], [2, 0], [5, 7]))
    assert isinstance(found, Optimal)
    assert found.x.tolist() == [2, 7]
    assert isinstance(solve(program([-1], [], [], [])), Unbounded)


def test_beales_cycling_example():
    """Beale 1955: the simplex method without care goes round for ever here. Optimum −1/20."""
    found = solve(
        program(
            [-0.75, 150, -0.02, 6],
            [[0.25, -60, -0.04, 9], [0.5, -90, -0.02, 3], [0, 0, 1, 0]],
            [-inf] * 3,
            [0, 0, 1],
        )
    )
    assert isinstance(found, Optimal)
    assert found.objective == pytest.approx(-1 / 20, rel=1e-12)


@pytest.mark.parametrize("size", [3, 6, 9])
def test_klee_and_mintys_cube(size):
    """Klee & Minty 1972: a cube so bent that Dantzig's rule visits every corner; optimum 5ⁿ."""
    matrix = np.eye(size)
    for i in range(size):
        for j in range(i):
            matrix[i, j] = 2.0 ** (i - j + 1)
    cost = [-(2.0 ** (size - 1 - j)) for j in range(size)]
    found = solve(program(cost, matrix, [-inf] * size, [5.0 ** (i + 1) for i in range(size)]))
    assert isinstance(found, Optimal)
    assert found.objective == pytest.approx(-(5.0**size), rel=1e-12)


def test_rows_of_very_different_size():
    """Vitamins in IU and copper in mg stand in one program; the certificate still holds."""
    found = solve(
        program(
            [1e-3, 4e-3, 2e-2],
            [[3e4, 1e2, 5e5], [1e-7, 4e-7, 2e-6], [1, 1, 1]],
            [2e4, 2e-7, 1],
            [inf, inf, 1],
        )
    )
    assert isinstance(found, Optimal)
    assert found.certificate.worst <= TOLERANCE


def test_a_wrong_answer_is_detected():
    cheap = program([1, 2], [[1, 1]], [1], [inf])
    right = certify(cheap, np.array([1.0, 0.0]), np.array([1.0]))
    assert right.worst == 0
    assert certify(cheap, np.array([0.0, 1.0]), np.array([1.0])).gap > 0.1  # dearer vertex
    assert certify(cheap, np.array([0.5, 0.0]), np.array([1.0])).primal > 0.1  # row unmet
    assert certify(cheap, np.array([1.0, 0.0]), np.array([-1.0])).dual > 0.1  # wrong sign


@pytest.mark.parametrize("part", ["primal", "dual", "gap"])
def test_an_answer_without_a_valid_certificate_is_dropped(monkeypatch, part):
    """A hundred millionth out of tolerance is refused; a tenth of the tolerance is not."""
    cheap = program([1, 2], [[1, 1]], [1], [inf])

    def out_by(amount):
        parts = {"primal": 0.0, "dual": 0.0, "gap": 0.0, part: amount}
        monkeypatch.setattr("formulate.blend.solve.certify", lambda *_: Certificate(**parts))

    out_by(1e-10)
    assert isinstance(solve(cheap), Optimal)
    out_by(1e-8)
    with pytest.raises(SolverFault, match="without an answer"):
        solve(cheap)


def test_nothing_is_printed(capfd):
    solve(program([1, 2], [[1, 1]], [1], [inf]))
    solve(program([1], [[1], [1]], [2, -inf], [inf, 1]))
    solve_integer(program([1, 2], [[2, 2]], [3], [inf]), np.array([True, True]))
    assert capfd.readouterr() == ("", "")


def test_the_same_on_every_run_and_in_every_thread():
    random = np.random.default_rng(3)
    matrix = random.uniform(0, 1, (8, 12))
    wanted = program(random.uniform(1, 2, 12), matrix, [1.0] * 8, [inf] * 8)
    first = solve(wanted)
    solve(program([1], [[1]], [1], [1]))  # the engine is used for something else in between
    assert isinstance(first, Optimal)
    with ThreadPoolExecutor(4) as pool:
        for other in (solve(wanted), *pool.map(solve, [wanted] * 8)):
            assert isinstance(other, Optimal)
            assert other.x.tobytes() == first.x.tobytes()
            assert other.row_dual.tobytes() == first.row_dual.tobytes()


def test_answers_travel_between_processes():
    found = solve(program([1, 2], [[1, 1]], [1], [inf]))
    assert pickle.loads(pickle.dumps(found)).x.tolist() == found.x.tolist()
