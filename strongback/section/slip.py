"""Torsion of a section whose fills slip along the member: springs at the interface, bounds from both sides.

Upper: warping that may jump at the interface, the jump stretching springs of stiffness k per area. Lower: a stress
function whose slope along the interface is the traction there, at the cost of its square over k. For k = 0 the stress
function is constant along the interface, one unknown constant as around a hollow; for k without bound it is the bonded
section. Uniform twist makes the slip uniform, so no length of the member enters.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import scipy.sparse
from numpy.typing import NDArray

from strongback.section import _triangle6 as t6
from strongback.section._factor import Factor, Grounded
from strongback.section._problem import by_region, turned
from strongback.section.bounds import TorsionBounds, unknowns
from strongback.section.values import SectionMesh

__all__ = ["Interface", "slip_bounds", "split_mesh"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]

# Three-node side, order start, middle, end: integrals of N_i N_j (times length) and N_i' N_j' (over length).
_MASS = np.array([[4.0, 2.0, -1.0], [2.0, 16.0, 2.0], [-1.0, 2.0, 4.0]]) / 30.0
_SLOPE = np.array([[7.0, -8.0, 1.0], [-8.0, 16.0, -8.0], [1.0, -8.0, 7.0]]) / 3.0
_GAUSS, _GAUSS_WEIGHT = np.polynomial.legendre.leggauss(3)
_T = 0.5 * (_GAUSS + 1.0)
_N = np.column_stack([(1 - _T) * (1 - 2 * _T), 4 * _T * (1 - _T), _T * (2 * _T - 1)])  # (3, 3)
_DN = np.column_stack([4 * _T - 3, 4 - 8 * _T, 4 * _T - 1])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Interface:
    """Sides between fill and wall, run through with the fill to the left."""

    wall: Index  # (s, 3) nodes on the wall: start, middle, end
    fill: Index  # (s, 3) their doubles on the fill
    triangle: Index  # (s,) the triangle of the fill
    length: Array  # (s,)
    slip: Array  # (s,)

    @property
    def weights(self) -> Array:
        """Of squares of jumps at the integration points in their energy, (s, 3)."""
        return np.asarray(_GAUSS_WEIGHT * 0.5 * (self.length * self.slip)[:, None])

    def jump(self, field: Array) -> Array:
        """From fill to wall at the integration points, of a field on the nodes, (s, 3)."""
        return np.asarray((field[self.wall] - field[self.fill]) @ _N.T)

    def springs(self, count: int) -> scipy.sparse.csr_matrix:
        """Stiffness of the interface on the nodes, (count, count)."""
        own = np.kron(np.array([[1.0, -1.0], [-1.0, 1.0]]), _MASS) * (self.slip * self.length)[:, None, None]
        return t6.assemble(own, np.hstack([self.wall, self.fill]), count)


def slip_bounds(mesh: SectionMesh, cell: tuple[str, ...], slip: Mapping[str, float]) -> TorsionBounds:
    """Bounds of the torsion stiffness of a section with slipping fills.

    Parameters
    ----------
    mesh : SectionMesh
        Bonded, with nodes shared between wall and fill.
    cell : tuple of str
        Cell of each region of the mesh; empty for walls.
    slip : mapping of str to float
        Slip stiffness per area of each cell that slips [N/m³], above 0.

    Returns
    -------
    TorsionBounds
    """
    shift = mesh.nodes.mean(axis=0)
    nodes = mesh.nodes - shift
    grad, areas = t6.gradients(nodes, mesh.triangles)
    G = by_region(mesh, "G")
    split, count, face = split_mesh(mesh, nodes, cell, slip)
    strain, jump = _warping(nodes, mesh.triangles, split, count, face, grad, areas, G)
    stress, traction = _stress(nodes, mesh.triangles, face, grad, areas, G)
    upper = (np.einsum("mqc,mqc->mq", strain, strain) @ t6.WEIGHTS) * areas * G
    weight = face.weights
    high = float(upper.sum() + (weight * jump**2).sum())
    apart = strain * G[:, None, None] - stress
    gap = (np.einsum("mqc,mqc->mq", apart, apart) @ t6.WEIGHTS) * areas / G
    at_face = (weight * (jump - traction / face.slip[:, None]) ** 2).sum(axis=1)
    np.add.at(gap, face.triangle, at_face)
    return TorsionBounds(lower=high - float(gap.sum()), upper=high, gap=gap)


def split_mesh(
    mesh: SectionMesh, nodes: Array, cell: tuple[str, ...], slip: Mapping[str, float]
) -> tuple[Index, int, Interface]:
    """Triangles with their own nodes in every part that slips, the number of nodes, and the interface."""
    names = sorted(slip)
    number = {name: i for i, name in enumerate(names)}
    core = np.array([number.get(c, -1) for c in cell], dtype=np.int64)[mesh.region]
    tri = mesh.triangles
    split, count = tri.copy(), len(nodes)
    sides = np.stack([tri[:, [0, 3, 1]], tri[:, [1, 4, 2]], tri[:, [2, 5, 0]]], axis=1)  # (m, 3, 3)
    wall, fill, owner = [], [], []
    for i in range(len(names)):
        inside = core == i
        outside = np.zeros(len(nodes), dtype=bool)
        outside[tri[~inside]] = True
        chosen = np.flatnonzero(inside)
        shared = np.unique(tri[chosen][outside[tri[chosen]]])
        double = np.arange(len(nodes), dtype=np.int64)
        double[shared] = count + np.arange(len(shared))
        count += len(shared)
        split[chosen] = double[tri[chosen]]
        at = outside[sides[chosen][:, :, 1]]
        wall.append(sides[chosen][at])
        fill.append(double[sides[chosen][at]])
        owner.append(np.repeat(chosen[:, None], 3, axis=1)[at])
    first = np.vstack(wall)
    length = np.linalg.norm(nodes[first[:, 2]] - nodes[first[:, 0]], axis=1)
    triangle = np.concatenate(owner)
    value = np.array([slip[name] for name in names])[core[triangle]]
    return (
        split,
        count,
        Interface(wall=first, fill=np.vstack(fill), triangle=triangle, length=length, slip=value),
    )


def _warping(
    nodes: Array, tri: Index, split: Index, count: int, face: Interface, grad: Array, areas: Array, G: Array
) -> tuple[Array, Array]:
    """Shear strain (m, 7, 2) and jump from fill to wall (s, 3) per unit rate of twist."""
    matrix = t6.assemble(t6.stiffness(grad, areas, G), split, count) + face.springs(count)
    around = turned(t6.at_points(nodes, tri))
    right = t6.scatter(t6.flux_load(-around * G[:, None, None], grad, areas), split, count)
    omega = Grounded(matrix.tocsc()).solve(right)
    strain = t6.slope_at_points(omega, grad, split) + around
    return strain, face.jump(omega)


def _stress(
    nodes: Array, tri: Index, face: Interface, grad: Array, areas: Array, G: Array
) -> tuple[Array, Array]:
    """Shear stress (m, 7, 2) and traction of the wall on the fill (s, 3) per unit rate of twist."""
    place, enclosed = unknowns(nodes, tri)
    count = len(enclosed)
    matrix = t6.assemble(t6.stiffness(grad, areas, 1.0 / G), place[tri], count + 1)
    softness = _SLOPE * (1.0 / (face.slip * face.length))[:, None, None]
    matrix = (matrix + t6.assemble(softness, place[face.wall], count + 1))[:count, :count]
    density = np.full((len(tri), len(t6.WEIGHTS)), 2.0)
    right = t6.scatter(t6.load(density, areas), place[tri], count + 1)[:count] + 2.0 * enclosed
    potential = np.append(Factor(matrix.tocsc()).solve(right), 0.0)[place]
    slope = t6.slope_at_points(potential, grad, tri)
    along = potential[face.wall] @ _DN.T / face.length[:, None]
    return np.stack([slope[..., 1], -slope[..., 0]], axis=-1), along
