"""Torsion stiffness between two bounds.

From above: the warping solution has a compatible strain field, so that its energy is too high. From below: Prandtl's stress
function has a balanced stress field, zero on the outer edge and a constant of its own on the edge of each hollow. The
gap is the energy of the difference of the two fields (Prager & Synge 1947), a sum of squares over elements: where it is
large the mesh is too coarse. Regions of different material enter by G and 1/G.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.section import _triangle6 as t6
from strongback.section._factor import Factor, Grounded
from strongback.section.values import SectionMesh

__all__ = ["TorsionBounds", "torsion_bounds"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TorsionBounds:
    """Bounds of GJ and where the gap between them comes from.

    Parameters
    ----------
    lower, upper : float
        [N m²]
    gap : ndarray, shape (triangles,)
        Part of upper - lower that arises in each triangle [N m²].
    """

    lower: float
    upper: float
    gap: Array

    @property
    def relative_gap(self) -> float:
        """(upper - lower) / middle [-]."""
        return 2.0 * (self.upper - self.lower) / (self.upper + self.lower)


def torsion_bounds(mesh: SectionMesh) -> TorsionBounds:
    """Guaranteed bounds of the torsion stiffness on a mesh.

    Parameters
    ----------
    mesh : SectionMesh

    Returns
    -------
    TorsionBounds
    """
    shift = mesh.nodes.mean(axis=0)
    nodes, tri = mesh.nodes - shift, mesh.triangles
    grad, areas = t6.gradients(nodes, tri)
    G = np.array([m.G for m in mesh.materials])[mesh.region]
    points = t6.at_points(nodes, tri)
    around = np.stack([-points[..., 1], points[..., 0]], axis=-1)
    warping = Grounded(t6.assemble(t6.stiffness(grad, areas, G), tri, len(nodes)))
    right = t6.scatter(t6.flux_load(-around * G[:, None, None], grad, areas), tri, len(nodes))
    strain = t6.slope_at_points(warping.solve(right), grad, tri) + around
    stress = _prandtl_stress(nodes, tri, grad, areas, G)
    density = strain * G[:, None, None] - stress
    upper = (np.einsum("mqc,mqc->mq", strain, strain) @ t6.WEIGHTS) * areas * G
    gap = (np.einsum("mqc,mqc->mq", density, density) @ t6.WEIGHTS) * areas / G
    high = float(upper.sum())
    return TorsionBounds(lower=high - float(gap.sum()), upper=high, gap=gap)


def _prandtl_stress(nodes: Array, tri: Index, grad: Array, areas: Array, G: Array) -> Array:
    """Shear stress per unit rate of twist from Prandtl's stress function, (m, 7, 2)."""
    place, enclosed = _unknowns(nodes, tri)
    count = len(enclosed)
    K = t6.assemble(t6.stiffness(grad, areas, 1.0 / G), place[tri], count + 1)[:count, :count]
    density = np.full((len(tri), len(t6.WEIGHTS)), 2.0)
    right = t6.scatter(t6.load(density, areas), place[tri], count + 1)[:count] + 2.0 * enclosed
    potential = np.append(Factor(K.tocsc()).solve(right), 0.0)[place]
    slope = t6.slope_at_points(potential, grad, tri)
    return np.stack([slope[..., 1], -slope[..., 0]], axis=-1)


def _unknowns(nodes: Array, tri: Index) -> tuple[Index, Array]:
    """Unknown of each node, and area enclosed by each unknown.

    Nodes on an outer edge share the last, unused one; nodes around a hollow share one that encloses its area.
    """
    place = np.full(len(nodes), -1, dtype=np.int64)
    hollows = []
    outer = np.zeros(len(nodes), dtype=bool)
    for loop in boundary_loops(tri):
        # Material lies to the left of its boundary: an outer edge runs counter-clockwise, a hollow clockwise.
        area = _loop_area(nodes, loop)
        if area > 0.0:
            outer[loop.ravel()] = True
        else:
            hollows.append((loop, -area))
    for i, (loop, _) in enumerate(hollows):
        place[loop.ravel()] = i
    free = (place < 0) & ~outer
    place[free] = len(hollows) + np.arange(int(free.sum()))
    count = len(hollows) + int(free.sum())
    place[outer] = count
    enclosed = np.zeros(count)
    enclosed[: len(hollows)] = [area for _, area in hollows]
    return place, enclosed


def _loop_area(nodes: Array, loop: Index) -> float:
    a, b = nodes[loop[:, 0]], nodes[loop[:, 1]]
    return float(0.5 * np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]))


def boundary_loops(tri: Index) -> list[Index]:
    """Closed chains of the sides that belong to one triangle only; each side as (start, end, middle) nodes."""
    sides = np.vstack([tri[:, [0, 1, 3]], tri[:, [1, 2, 4]], tri[:, [2, 0, 5]]])
    _, inverse, count = np.unique(sides[:, 2], return_inverse=True, return_counts=True)
    free = sides[count[inverse] == 1]
    following = {int(start): i for i, start in enumerate(free[:, 0])}
    if len(following) != len(free):
        return _pinched_loops(free)
    loops, seen = [], np.zeros(len(free), dtype=bool)
    for first in range(len(free)):
        chain, i = [], first
        while not seen[i]:
            seen[i] = True
            chain.append(i)
            i = following[int(free[i, 1])]
        if chain:
            loops.append(free[chain])
    return loops


def _pinched_loops(free: Index) -> list[Index]:
    """Loops of a boundary that passes some node twice: walls that meet in one point."""
    starts: dict[int, list[int]] = {}
    for i, node in enumerate(free[:, 0]):
        starts.setdefault(int(node), []).append(i)
    loops = []
    while any(starts.values()):
        i = next(v[-1] for v in starts.values() if v)
        chain: list[int] = []
        while starts.get(int(free[i, 0])) and i in starts[int(free[i, 0])]:
            starts[int(free[i, 0])].remove(i)
            chain.append(i)
            after = starts.get(int(free[i, 1]))
            if not after:
                break
            i = after[-1]
        loops.append(free[chain])
    return loops
