"""A sparse symmetric matrix factored once: solutions, and those entries of its inverse that lie on its own pattern.

The inverse of a sparse matrix is full; what the variances of a network need of it are the entries between
neighbours, and these can be had without the rest.
"""

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

Array = NDArray[np.float64]


class FactoredMatrix:
    """L D L' of a symmetric positive definite sparse matrix, rows ordered so that little fills in."""

    def __init__(self, matrix: sparse.spmatrix) -> None:
        options = {"SymmetricMode": True}
        if not matrix.shape[0]:  # nothing to solve for: any factor will do
            matrix = sparse.identity(1)
        self._lu = splu(matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options)
        self._lower = self._lu.L.tocsc()
        self._lower.sort_indices()
        self._place = self._lu.perm_c  # where a row of the matrix stands in the factor

    def solve(self, right_side: Array) -> Array:
        """Solution for one right side, or for the columns of several."""
        return self._lu.solve(right_side) if right_side.size else right_side

    def inverse_at(self, rows: NDArray[np.int64], columns: NDArray[np.int64]) -> Array:
        """Entries of the inverse, for pairs of rows whose entry in the matrix itself is not nought (or the diagonal).

        From the last column of the factor to the first: Z[I, j] = -Z[I, I] L[I, j], Z[j, j] = 1/d - L[I, j]' Z[I, j],
        where I are the rows below the diagonal in column j. They all stand in the column of the first of them,
        so its small dense block holds all that is asked for (Takahashi, Fagan and Chen 1973, from memory).
        """
        start, rows_of, values = self._lower.indptr, self._lower.indices, self._lower.data
        diagonal = self._lu.U.diagonal()
        blocks: list[Array] = [np.empty((0, 0))] * len(diagonal)
        for j in range(len(diagonal) - 1, -1, -1):
            below, factor = rows_of[start[j] + 1 : start[j + 1]], values[start[j] + 1 : start[j + 1]]
            block = np.empty((len(below) + 1, len(below) + 1))
            if len(below):
                parent = below[0]
                at = np.searchsorted(rows_of[start[parent] : start[parent + 1]], below)
                block[1:, 1:] = blocks[parent][np.ix_(at, at)]
                block[1:, 0] = block[0, 1:] = -block[1:, 1:] @ factor
            block[0, 0] = 1.0 / diagonal[j] - factor @ block[1:, 0]
            blocks[j] = block
        first = np.minimum(self._place[rows], self._place[columns])
        second = np.maximum(self._place[rows], self._place[columns])
        elements = np.empty(len(first))
        for number, (j, i) in enumerate(zip(first.tolist(), second.tolist(), strict=True)):
            elements[number] = blocks[j][0, np.searchsorted(rows_of[start[j] : start[j + 1]], i)]
        return elements
