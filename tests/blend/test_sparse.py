"""Sparse matrices do as dense ones do."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.ndimage import minimum_filter

from formulate.blend.sparse import Sparse
from formulate.report.pictures.prices import boxes_within


@st.composite
def entries(draw):
    """Rows, columns and values of a small matrix, some of one place; and its shape."""
    shape = draw(st.integers(0, 5)), draw(st.integers(1, 5))
    count = draw(st.integers(0, 12)) if shape[0] else 0
    rows = [draw(st.integers(0, shape[0] - 1)) for _ in range(count)]
    columns = [draw(st.integers(0, shape[1] - 1)) for _ in range(count)]
    return rows, columns, [draw(st.integers(-3, 3)) for _ in range(count)], shape


def dense(rows, columns, values, shape):
    matrix = np.zeros(shape)
    np.add.at(matrix, (np.array(rows, int), np.array(columns, int)), values)
    return matrix


def whole(sparse):
    """The matrix in full, from its columns and again from its rows."""
    by_column, by_row = np.zeros(sparse.shape), np.zeros(sparse.shape)
    by_column[sparse.indices, sparse.columns] = sparse.data
    starts, columns, values = sparse.by_row()
    by_row[np.repeat(np.arange(sparse.shape[0]), np.diff(starts)), columns] = values
    np.testing.assert_array_equal(by_row, by_column)
    return by_column


@given(entries(), entries(), st.data())
def test_it_does_as_a_dense_matrix_does(one, other, data):
    sparse, full = Sparse.of(*one), dense(*one)
    np.testing.assert_array_equal(whole(sparse), full)
    assert sparse.indptr[-1] == sparse.nnz == len(set(zip(one[0], one[1], strict=True)))
    x = np.array([data.draw(st.integers(-4, 4)) for _ in range(sparse.shape[1])], float)
    np.testing.assert_array_equal(sparse @ x, full @ x)
    mask = np.array([data.draw(st.booleans()) for _ in range(sparse.shape[0])], bool)
    np.testing.assert_array_equal(whole(sparse.take(mask)), full[mask])
    below = (*other[:3], (other[3][0], max(other[3][1], one[3][1])))
    above = (*one[:3], (one[3][0], below[3][1]))
    stacked = Sparse.stacked((Sparse.of(*above), Sparse.of(*below)))
    np.testing.assert_array_equal(whole(stacked), np.vstack((dense(*above), dense(*below))))


@pytest.mark.parametrize("size", [(1, 1), (2, 3), (4, 5), (9, 2), (40, 3)])
def test_boxes_within_a_region_are_those_of_a_filter(size):
    where = np.random.default_rng(1).random((30, 41)) < 0.8
    where[5:20, 8:30] = True
    found = minimum_filter(where, size=size, mode="constant", cval=False)
    np.testing.assert_array_equal(boxes_within(where, *size), found)
