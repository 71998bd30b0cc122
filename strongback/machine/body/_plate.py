"""Kernel: a Mindlin plate on six-node triangles, five motions a node. Arrays in and out, no checks.

u, v, w are the motions of the face that looks at the member and b how the plate turns: u(z) = u + z b over the distance z
from that face, w towards the far side of the member. With D of plane stress, B of (u, v), B_b of b and B_s of b ± grad w

    K = integral of t B'D B + t²/2 (B'D B_b + B_b'D B) + t³/3 B_b'D B_b  +  5/6 G t B_s'B_s,

the shear at the three middles of sides only: with more points a thin plate locks (Zienkiewicz, Taylor & Too, Int. J.
Numer. Methods Eng. 3 (1971) 275).
"""

from __future__ import annotations

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from strongback.machine.body import _kron

Array = NDArray[np.float64]
Index = NDArray[np.int64]

MOTIONS = 5
SHEAR = 5.0 / 6.0  # Reissner, J. Appl. Mech. 12 (1945) A-69
_SIDES = np.array([[0.5, 0.0], [0.5, 0.5], [0.0, 0.5]])  # exact to degree 2 with a sixth each


def _gathered(blocks: Array, unknowns: Index, size: int) -> sparse.csr_array:
    n = unknowns.shape[1]
    rows, columns = np.repeat(unknowns, n, axis=1).ravel(), np.tile(unknowns, (1, n)).ravel()
    return sparse.coo_array((blocks.ravel(), (rows, columns)), shape=(size, size)).tocsr()


def plate_stiffness(
    nodes: Array, triangles: Index, thickness: float, E: float, nu: float, side: float
) -> sparse.csr_array:
    """Stiffness on (u, v, w, b_x, b_y) node by node, (5 nodes, 5 nodes).

    Parameters
    ----------
    nodes : ndarray, shape (nodes, 2)
    triangles : ndarray of int, shape (triangles, 6)
    thickness, E, nu : float
    side : float
        1 where the plate lies beyond its face in the direction of w, -1 where it lies before it.
    """
    stretch = stretch_blocks(nodes, triangles, E, nu)
    t = thickness
    count = len(triangles)
    blocks = np.zeros((count, 6, MOTIONS, 6, MOTIONS))
    for (a, b), factor in {(0, 0): t, (0, 3): t**2 / 2.0, (3, 0): t**2 / 2.0, (3, 3): t**3 / 3.0}.items():
        blocks[:, :, a : a + 2, :, b : b + 2] += factor * stretch
    back, det = _kron.jacobians(nodes, triangles)
    shapes, slopes = _kron.triangle_shapes(_SIDES)
    slope = np.einsum("exa,qai->eqxi", back, slopes)
    slide = np.zeros((count, 3, 2, 6, MOTIONS))
    slide[..., 2] = side * slope
    for d in range(2):
        slide[:, :, d, :, 3 + d] = shapes
    weight = SHEAR * E / (2.0 * (1.0 + nu)) * t * det / 6.0
    blocks += np.einsum("e,eqdic,eqdjm->eicjm", weight, slide, slide, optimize=True)
    unknowns = (MOTIONS * triangles[:, :, None] + np.arange(MOTIONS)).reshape(count, -1)
    return _gathered(blocks.reshape(count, 30, 30), unknowns, MOTIONS * len(nodes))


def stretch_blocks(nodes: Array, triangles: Index, E: float, nu: float) -> Array:
    """Integral of B'D B over each triangle on (u, v) node by node, (triangles, 6, 2, 6, 2)."""
    back, det = _kron.jacobians(nodes, triangles)
    _, slopes = _kron.triangle_shapes(_SIDES)
    slope = np.einsum("exa,qai->eqxi", back, slopes)
    strain = np.zeros((*slope.shape[:2], 3, 6, 2))
    strain[:, :, 0, :, 0], strain[:, :, 1, :, 1] = slope[:, :, 0], slope[:, :, 1]
    strain[:, :, 2, :, 0], strain[:, :, 2, :, 1] = slope[:, :, 1], slope[:, :, 0]
    D = E / (1.0 - nu * nu) * np.array([[1.0, nu, 0.0], [nu, 1.0, 0.0], [0.0, 0.0, 0.5 * (1.0 - nu)]])
    return np.asarray(np.einsum("e,eqkic,kl,eqljm->eicjm", det / 6.0, strain, D, strain, optimize=True))


def membrane_stiffness(
    nodes: Array, triangles: Index, thickness: float, E: float, nu: float
) -> sparse.csr_array:
    """Stiffness of a membrane on (u, v, w) node by node, of which w is free, (3 nodes, 3 nodes)."""
    count = len(triangles)
    blocks = np.zeros((count, 6, 3, 6, 3))
    blocks[:, :, :2, :, :2] = thickness * stretch_blocks(nodes, triangles, E, nu)
    unknowns = (3 * triangles[:, :, None] + np.arange(3)).reshape(count, -1)
    return _gathered(blocks.reshape(count, 18, 18), unknowns, 3 * len(nodes))


def area_matrix(nodes: Array, triangles: Index) -> sparse.csr_array:
    """Integral of N_i N_j, (nodes, nodes)."""
    _, det = _kron.jacobians(nodes, triangles)
    shapes, _ = _kron.triangle_shapes(_kron.POINTS)
    unit = np.einsum("q,qi,qj->ij", _kron.WEIGHTS, shapes, shapes)
    return _gathered(det[:, None, None] * unit, triangles, len(nodes))
