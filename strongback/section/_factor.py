"""Kernel: one factorisation of a symmetric sparse matrix, many right-hand sides."""

from __future__ import annotations

import numpy as np
import scipy.sparse
import scipy.sparse.csgraph
import scipy.sparse.linalg
from numpy.typing import NDArray

from strongback import memory

Array = NDArray[np.float64]

# SuperLU asks at the start for 30 times the entries of the matrix, values of L and U and their rows, and asks again and
# again with less, for ever, where that is refused (`fill_ratio` of its `sp_ienv`; SuperLU Users' Guide, from memory).
ASKED_AT_THE_START = 30 * (8 + 8 + 4)  # [bytes an entry]


def factor_memory(entries: int) -> int:
    """Memory that SuperLU asks for at the start [bytes].

    Parameters
    ----------
    entries : int
        Of the matrix that are not zero.
    """
    return ASKED_AT_THE_START * entries


class Factor:
    """A positive definite matrix, factorised in the order of least fill."""

    __slots__ = ("_lu", "_scale")

    def __init__(self, matrix: scipy.sparse.csc_matrix) -> None:
        memory.require(factor_memory(matrix.nnz), "a section as fine as this")
        self._scale = scale = 1.0 / np.sqrt(matrix.diagonal())
        data = matrix.data * scale[matrix.indices] * np.repeat(scale, np.diff(matrix.indptr))
        scaled = scipy.sparse.csc_matrix((data, matrix.indices, matrix.indptr), shape=matrix.shape)
        self._lu = scipy.sparse.linalg.splu(
            scaled, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        )

    def solve(self, right: Array) -> Array:
        """Solution for one right-hand side or several columns."""
        scaled = (self._scale * right.T).T
        return np.asarray((self._scale * np.asarray(self._lu.solve(scaled)).T).T)


class Grounded:
    """A Laplacian without boundary values: one node of each connected piece is held at zero.

    It is held by a spring as stiff as the node itself: under a balanced load the spring carries nothing.
    """

    __slots__ = ("_factor",)

    def __init__(self, matrix: scipy.sparse.csc_matrix) -> None:
        label = scipy.sparse.csgraph.connected_components(matrix, directed=False)[1]
        diagonal = matrix.diagonal()
        diagonal[np.unique(label, return_index=True)[1]] *= 2.0
        held = matrix.copy()
        held.setdiag(diagonal)
        self._factor = Factor(held)

    def solve(self, right: Array) -> Array:
        """A solution for balanced right-hand sides, one or several columns."""
        return self._factor.solve(right)
