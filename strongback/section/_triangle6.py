"""Kernel: straight-sided six-node triangles, all elements at once. Arrays in, arrays out, no checks.

Node order: corners 0, 1, 2 counter-clockwise, then the middles of 01, 12, 20.
"""

from __future__ import annotations

import numpy as np
import scipy.sparse
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.int64]

# Integration over a triangle, exact to degree 5: Cowper, Int. J. Numer. Meth. Engng 7 (1973) 405; barycentric.
_A, _B = (6.0 - np.sqrt(15.0)) / 21.0, (6.0 + np.sqrt(15.0)) / 21.0
_WA, _WB = (155.0 - np.sqrt(15.0)) / 1200.0, (155.0 + np.sqrt(15.0)) / 1200.0
POINTS = np.array(
    [[1 / 3, 1 / 3, 1 / 3]]
    + [[1 - 2 * t, t, t] for t in (_A, _B)]
    + [[t, 1 - 2 * t, t] for t in (_A, _B)]
    + [[t, t, 1 - 2 * t] for t in (_A, _B)]
)
WEIGHTS = np.array([9 / 40, _WA, _WB, _WA, _WB, _WA, _WB])  # they add to one: times the area


def shapes(barycentric: Array) -> Array:
    """Shape functions at points, (points, 6)."""
    a, b, c = barycentric.T
    return np.column_stack(
        [a * (2 * a - 1), b * (2 * b - 1), c * (2 * c - 1), 4 * a * b, 4 * b * c, 4 * c * a]
    )


def slopes(barycentric: Array) -> Array:
    """Derivatives of the shape functions by the barycentric coordinates, (points, 6, 3)."""
    a, b, c = barycentric.T
    zero = np.zeros_like(a)
    rows = [
        [4 * a - 1, zero, zero],
        [zero, 4 * b - 1, zero],
        [zero, zero, 4 * c - 1],
        [4 * b, 4 * a, zero],
        [zero, 4 * c, 4 * b],
        [4 * c, zero, 4 * a],
    ]
    return np.array(rows).transpose(2, 0, 1)


SHAPES = shapes(POINTS)  # (7, 6)
SLOPES = slopes(POINTS)  # (7, 6, 3)
_SLOPES_FLAT = SLOPES.transpose(1, 0, 2).reshape(6, -1)  # (6, 7 * 3)
# Integrals of products of the slopes over a triangle of unit area: (3, 3, 6, 6).
_PRODUCTS = np.einsum("q,qia,qjb->abij", WEIGHTS, SLOPES, SLOPES)


def gradients(nodes: Array, triangles: Index) -> tuple[Array, Array]:
    """Gradients of the barycentric coordinates (m, 3, 2) and areas (m,)."""
    p = nodes[triangles[:, :3]]
    edge = p[:, [2, 0, 1]] - p[:, [1, 2, 0]]  # opposite to each corner
    twice = edge[:, 2, 0] * edge[:, 0, 1] - edge[:, 2, 1] * edge[:, 0, 0]
    grad = np.stack([-edge[:, :, 1], edge[:, :, 0]], axis=2) / twice[:, None, None]
    return grad, 0.5 * twice


def stiffness(grad: Array, areas: Array, weight: Array) -> Array:
    """Element matrices of div(weight grad), (m, 6, 6)."""
    metric = np.einsum("mac,mbc->mab", grad, grad) * (areas * weight)[:, None, None]
    return np.asarray(metric.reshape(len(areas), 9) @ _PRODUCTS.reshape(9, 36)).reshape(-1, 6, 6)


def slope_products(grad: Array, areas: Array) -> Array:
    """Integrals of N_i,a N_j,b for all pairs of directions, (m, 2, 2, 6, 6)."""
    metric = np.einsum("mac,mbd,m->mcdab", grad, grad, areas)
    flat = metric.reshape(-1, 9) @ _PRODUCTS.reshape(9, 36)
    return np.asarray(flat).reshape(len(areas), 2, 2, 6, 6)


def assemble(elements: Array, index: Index, size: int) -> scipy.sparse.csc_matrix:
    """Sparse matrix of all elements: (m, n, n) on the unknowns (m, n)."""
    n = index.shape[1]
    rows = np.repeat(index, n, axis=1).ravel()
    columns = np.tile(index, (1, n)).ravel()
    return scipy.sparse.coo_matrix((elements.ravel(), (rows, columns)), shape=(size, size)).tocsc()


def scatter(values: Array, triangles: Index, size: int) -> Array:
    """Sum of element vectors (m, 6) on the nodes, (size,)."""
    return np.asarray(np.bincount(triangles.ravel(), values.ravel(), minlength=size), dtype=np.float64)


def at_points(nodes: Array, triangles: Index) -> Array:
    """Integration points of straight-sided triangles, (m, 7, 2)."""
    return np.asarray(np.einsum("qc,mcd->mqd", POINTS, nodes[triangles[:, :3]]))


def slope_at_points(field: Array, grad: Array, triangles: Index) -> Array:
    """Gradient of a nodal field at the integration points, (m, 7, 2)."""
    inner = (field[triangles] @ _SLOPES_FLAT).reshape(len(triangles), len(WEIGHTS), 3)
    return np.asarray(inner @ grad)


def load(density: Array, areas: Array) -> Array:
    """Element vectors of a density given at the integration points (m, 7): integrals of density N, (m, 6)."""
    return np.asarray((density * WEIGHTS) @ SHAPES * areas[:, None])


def flux_load(flux: Array, grad: Array, areas: Array) -> Array:
    """Element vectors of a flux given at the integration points (m, 7, 2): integrals of flux . grad N, (m, 6)."""
    along = (flux @ grad.transpose(0, 2, 1)) * (WEIGHTS[None, :, None] * areas[:, None, None])
    return np.asarray(along.reshape(len(areas), -1) @ _SLOPES_FLAT.T)


def integral(density: Array, areas: Array) -> float:
    """Integral of a density at the integration points, (m, 7)."""
    return float(areas @ (density @ WEIGHTS))
