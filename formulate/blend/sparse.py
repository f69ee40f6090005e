"""Matrices of which only the entries that are not zero are kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formulate.base.content import ByContent

__all__ = ["Sparse"]

Array = NDArray[np.float64]
Indices = NDArray[np.int32]


@dataclass(frozen=True, eq=False)
class Sparse(ByContent):
    """A matrix by its columns, as HiGHS takes it.

    Parameters
    ----------
    shape : tuple of int
        (rows, columns).
    indptr : ndarray of int, shape (columns + 1,)
        Where each column starts in the next two.
    indices : ndarray of int, shape (nnz,)
        Row of each entry; within a column they rise.
    data : ndarray, shape (nnz,)
        The entries.
    """

    shape: tuple[int, int]
    indptr: Indices
    indices: Indices
    data: Array

    @classmethod
    def of(
        cls, rows: ArrayLike, columns: ArrayLike, values: ArrayLike, shape: tuple[int, int]
    ) -> Sparse:
        """A matrix from its entries in any order; those of one place are added up."""
        row, column = np.asarray(rows, dtype=np.int64), np.asarray(columns, dtype=np.int64)
        data = np.asarray(values, dtype=float)
        order = np.lexsort((row, column))
        row, column, data = row[order], column[order], data[order]
        if row.size:
            new = np.append(True, (np.diff(row) != 0) | (np.diff(column) != 0))
            data = np.add.reduceat(data, np.flatnonzero(new))
            row, column = row[new], column[new]
        return cls(shape, _starts(column, shape[1]), row.astype(np.int32), data)

    @property
    def nnz(self) -> int:
        """How many entries are kept."""
        return self.data.size

    @property
    def columns(self) -> Indices:
        """Column of each entry, shape (nnz,)."""
        return np.repeat(np.arange(self.shape[1], dtype=np.int32), np.diff(self.indptr))

    def __matmul__(self, x: Array) -> Array:
        worth = self.data * x[self.columns]
        return np.bincount(self.indices, worth, self.shape[0]).astype(float, copy=False)

    def by_row(self) -> tuple[Indices, Indices, Array]:
        """Where each row starts, and the columns and the values of the entries."""
        order = np.argsort(self.indices, kind="stable")
        starts = _starts(self.indices[order], self.shape[0])
        return starts, self.columns[order], self.data[order]

    def take(self, rows: NDArray[np.bool_]) -> Sparse:
        """The rows of a mask, shape (rows,)."""
        kept = rows[self.indices]
        number = np.cumsum(rows) - 1
        shape = (int(np.count_nonzero(rows)), self.shape[1])
        return Sparse.of(number[self.indices[kept]], self.columns[kept], self.data[kept], shape)

    @staticmethod
    def stacked(blocks: Sequence[Sparse]) -> Sparse:
        """Matrices of as many columns, one below the other."""
        above = np.cumsum([0, *(block.shape[0] for block in blocks)])
        return Sparse.of(
            np.concatenate([b.indices + a for a, b in zip(above, blocks, strict=False)]),
            np.concatenate([block.columns for block in blocks]),
            np.concatenate([block.data for block in blocks]),
            (int(above[-1]), blocks[0].shape[1]),
        )


def _starts(numbers: NDArray[np.signedinteger], count: int) -> Indices:
    """Where each number starts in a rising list, and where the last ends."""
    return np.concatenate(([0], np.cumsum(np.bincount(numbers, minlength=count)))).astype(np.int32)
