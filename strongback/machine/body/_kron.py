"""Kernel: elasticity of an extruded section as sums of (height matrix) ⊗ (section matrix). Arrays in and out, no checks.

A displacement is u_c(x, y, s) = sum of phi_i(x, y) h_p(s) u[p, i, c] with phi on six-node triangles of the section and h
quadratic in the height. The stiffness of a length with one section is then

    K = H00 ⊗ E0 + H01 ⊗ E1 + H01' ⊗ E1' + H11 ⊗ E2,      H00 = integral of h h', H01 of h dh/ds, H11 of dh/ds dh/ds

(test function first). Unknowns of a section are numbered node by node with the components x, y, s together.
"""

from __future__ import annotations

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.int64]

# Hammer's seven-point rule, exact to degree 5: Zienkiewicz & Taylor, The Finite Element Method, Table 8.2 (from memory).
_A, _B = (6.0 - np.sqrt(15.0)) / 21.0, (6.0 + np.sqrt(15.0)) / 21.0
POINTS = np.array(
    [
        [1 / 3, 1 / 3],
        [_A, _A],
        [1 - 2 * _A, _A],
        [_A, 1 - 2 * _A],
        [_B, _B],
        [1 - 2 * _B, _B],
        [_B, 1 - 2 * _B],
    ]
)
_WA, _WB = (155.0 - np.sqrt(15.0)) / 2400.0, (155.0 + np.sqrt(15.0)) / 2400.0
WEIGHTS = np.array([9.0 / 80.0, _WA, _WA, _WA, _WB, _WB, _WB])

# Height matrices of a quadratic element of unit length on (start, middle, end), exact.
H00 = np.array([[4.0, 2.0, -1.0], [2.0, 16.0, 2.0], [-1.0, 2.0, 4.0]]) / 30.0
H01 = np.array([[-3.0, 4.0, -1.0], [-4.0, 0.0, 4.0], [1.0, -4.0, 3.0]]) / 6.0
H11 = np.array([[7.0, -8.0, 1.0], [-8.0, 16.0, -8.0], [1.0, -8.0, 7.0]]) / 3.0


def triangle_shapes(points: Array) -> tuple[Array, Array]:
    """Shape functions (points, 6) and their derivatives (points, 2, 6) on the unit triangle."""
    r, t = points[:, 0], points[:, 1]
    z = 1.0 - r - t
    one = np.ones_like(r)
    shapes = np.stack(
        [z * (2 * z - 1), r * (2 * r - 1), t * (2 * t - 1), 4 * z * r, 4 * r * t, 4 * t * z], axis=1
    )
    by_r = np.stack([1 - 4 * z, 4 * r - 1, 0 * one, 4 * (z - r), 4 * t, -4 * t], axis=1)
    by_t = np.stack([1 - 4 * z, 0 * one, 4 * t - 1, -4 * r, 4 * r, 4 * (z - t)], axis=1)
    return shapes, np.stack([by_r, by_t], axis=1)


def height_shapes(z: Array) -> tuple[Array, Array]:
    """Shape functions (..., 3) and derivatives of the height element on 0 <= z <= 1."""
    shapes = np.stack([(1 - z) * (1 - 2 * z), 4 * z * (1 - z), z * (2 * z - 1)], axis=-1)
    slopes = np.stack([4 * z - 3, 4 - 8 * z, 4 * z - 1], axis=-1)
    return shapes, slopes


def jacobians(nodes: Array, triangles: Index) -> tuple[Array, Array]:
    """Map (triangles, 2, 2) from derivatives on the unit triangle to those in x, y; twice the area (triangles,).

    The sides are straight, so both are constant in a triangle.
    """
    a, b, c = (nodes[triangles[:, k]] for k in range(3))
    u, v = b - a, c - a
    det = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    inverse = np.stack([np.stack([v[:, 1], -u[:, 1]], -1), np.stack([-v[:, 0], u[:, 0]], -1)], axis=1)
    return inverse / det[:, None, None], det


def element_matrices(nodes: Array, triangles: Index, lame: Array, shear: Array) -> tuple[Array, Array, Array]:
    """E0, E1, E2 of every triangle, each (triangles, 18, 18).

    Parameters
    ----------
    nodes : ndarray, shape (nodes, 2)
    triangles : ndarray of int, shape (triangles, 6)
    lame, shear : ndarray, shape (triangles,)
        Lamé's first parameter and the shear modulus [Pa].
    """
    back, det = jacobians(nodes, triangles)
    shapes, slopes = triangle_shapes(POINTS)
    mass_unit = np.einsum("q,qi,qj->ij", WEIGHTS, shapes, shapes)
    mixed_unit = np.einsum("q,qi,qaj->aij", WEIGHTS, shapes, slopes)
    slope_unit = np.einsum("q,qai,qbj->abij", WEIGHTS, slopes, slopes)
    mass = det[:, None, None] * mass_unit
    mixed = np.einsum("e,exa,aij->exij", det, back, mixed_unit, optimize=True)  # integral of phi_i dphi_j/dx
    slope = np.einsum("e,exa,eyb,abij->exyij", det, back, back, slope_unit, optimize=True)
    count = len(triangles)
    lam, mu = lame[:, None, None], shear[:, None, None]
    E0, E1, E2 = (np.zeros((count, 6, 3, 6, 3)) for _ in range(3))
    laplace = slope[:, 0, 0] + slope[:, 1, 1]
    for c in range(2):
        for d in range(2):
            E0[:, :, c, :, d] = lam * slope[:, c, d] + mu * slope[:, d, c] + (c == d) * mu * laplace
        E1[:, :, c, :, 2] = lam * mixed[:, c].transpose(0, 2, 1)
        E1[:, :, 2, :, c] = mu * mixed[:, c].transpose(0, 2, 1)
        E2[:, :, c, :, c] = mu * mass
    E0[:, :, 2, :, 2] = mu * laplace
    E2[:, :, 2, :, 2] = (lam + 2 * mu) * mass
    return E0.reshape(count, 18, 18), E1.reshape(count, 18, 18), E2.reshape(count, 18, 18)


def section_matrices(
    nodes: Array, triangles: Index, lame: Array, shear: Array
) -> tuple[sparse.csr_array, ...]:
    """E0, E1, E2 of a section, each sparse (3 nodes, 3 nodes)."""
    unknowns = (3 * triangles[:, :, None] + np.arange(3)).reshape(len(triangles), 18)
    rows = np.repeat(unknowns, 18, axis=1).ravel()
    columns = np.tile(unknowns, (1, 18)).ravel()
    size = 3 * len(nodes)
    return tuple(
        sparse.coo_array((E.ravel(), (rows, columns)), shape=(size, size)).tocsr()
        for E in element_matrices(nodes, triangles, lame, shear)
    )


def height_matrices(lengths: Array, first: int, planes: int) -> tuple[sparse.csr_array, ...]:
    """H00, H01, H11 of a run of height elements, each sparse (planes, planes).

    Parameters
    ----------
    lengths : ndarray, shape (elements,)
        [m]
    first : int
        Plane at which the run starts.
    planes : int
        Planes of the whole body.
    """
    index = first + 2 * np.arange(len(lengths))[:, None] + np.arange(3)
    rows, columns = np.repeat(index, 3, axis=1).ravel(), np.tile(index, (1, 3)).ravel()

    def gather(unit: Array, weights: Array) -> sparse.csr_array:
        data = (weights[:, None, None] * unit).ravel()
        return sparse.coo_array((data, (rows, columns)), shape=(planes, planes)).tocsr()

    return gather(H00, lengths), gather(H01, np.ones_like(lengths)), gather(H11, 1.0 / lengths)


def extruded(height: tuple[sparse.csr_array, ...], section: tuple[sparse.csr_array, ...]) -> sparse.csr_array:
    """Stiffness of one run, sparse (planes * 3 nodes, planes * 3 nodes)."""
    (h00, h01, h11), (E0, E1, E2) = height, section
    cross = sparse.kron(h01, E1, format="csr")
    return (sparse.kron(h00, E0, format="csr") + cross + cross.T + sparse.kron(h11, E2, format="csr")).tocsr()
