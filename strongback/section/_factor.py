"""Kernel: one factorisation of a symmetric sparse matrix, many right-hand sides."""

from __future__ import annotations

import numpy as np
import scipy.sparse
import scipy.sparse.csgraph
import scipy.sparse.linalg
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Factor:
    """A positive definite matrix, factorised in the order of least fill."""

    __slots__ = ("_lu", "_scale")

    def __init__(self, matrix: scipy.sparse.csc_matrix) -> None:
        scale = 1.0 / np.sqrt(matrix.diagonal())
        scaled = scipy.sparse.diags(scale) @ matrix @ scipy.sparse.diags(scale)
        self._scale = scale
        self._lu = scipy.sparse.linalg.splu(
            scaled.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        )

    def solve(self, right: Array) -> Array:
        """Solution for one right-hand side or several columns."""
        scaled = (self._scale * right.T).T
        return np.asarray((self._scale * np.asarray(self._lu.solve(scaled)).T).T)


class Grounded:
    """A Laplacian without boundary values: one node of each connected piece is held at zero."""

    __slots__ = ("_factor", "_free", "pieces", "size")

    def __init__(self, matrix: scipy.sparse.csc_matrix) -> None:
        self.size = matrix.shape[0]
        _, label = scipy.sparse.csgraph.connected_components(matrix, directed=False)
        self.pieces = label
        held = np.unique(label, return_index=True)[1]
        self._free = np.setdiff1d(np.arange(self.size), held)
        self._factor = Factor(matrix[self._free][:, self._free].tocsc())

    def solve(self, right: Array) -> Array:
        """A solution for balanced right-hand sides, zero at the held nodes."""
        found = np.zeros_like(right)
        found[self._free] = self._factor.solve(right[self._free])
        return found
