"""Guaranteed bounds of the torsion stiffness.

The warping formulation has kinematically admissible strains: its energy bounds GJ from above. Prandtl's stress function,
weighted by 1/G, zero on the outer edge and one unknown constant around every hollow, has statically admissible stresses:
it bounds GJ from below. The squared distance between the two states, element by element, adds up to upper - lower
(Prager and Synge, Approximations in elasticity based on the concept of function space, Q. Appl. Math. 5 (1947) 241), so
it shows where to refine. The bounds hold for the outline as drawn: a polygon.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse
import scipy.sparse.csgraph
from numpy.typing import NDArray

from strongback.section import _triangle6 as t6
from strongback.section._factor import Factor
from strongback.section._problem import Problem, problem, torsion
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
    def middle(self) -> float:
        """Half way between the bounds [N m²]."""
        return 0.5 * (self.lower + self.upper)

    @property
    def relative_gap(self) -> float:
        """(upper - lower) / middle [-]."""
        return (self.upper - self.lower) / self.middle


def torsion_bounds(mesh: SectionMesh) -> TorsionBounds:
    """Guaranteed bounds of the torsion stiffness on a mesh.

    Parameters
    ----------
    mesh : SectionMesh

    Returns
    -------
    TorsionBounds

    Examples
    --------
    >>> from strongback.materials import Material
    >>> from strongback.section.mesh import mesh
    >>> from strongback.section.shapes import rectangle
    >>> unit = Material(name="G = 1", E=2.0, nu=0.0, density=1.0, source="example")
    >>> found = torsion_bounds(mesh(rectangle(unit, 1.0, 1.0)))
    >>> found.lower < 0.1405770 < found.upper  # Saint-Venant's series for the square
    True
    """
    p = problem(mesh)
    return bounds_of(p, torsion(p)[1])


def bounds_of(p: Problem, strain: Array) -> TorsionBounds:
    """Bounds from the shear strain of a solved torsion problem."""
    stress = prandtl_stress(p)
    upper = p.energy(strain, strain)
    apart = strain * p.G[:, None, None] - stress
    gap = (np.einsum("mqc,mqc->mq", apart, apart) @ t6.WEIGHTS) * p.areas / p.G
    return TorsionBounds(lower=upper - float(gap.sum()), upper=upper, gap=gap)


def prandtl_stress(p: Problem) -> Array:
    """Shear stress per unit rate of twist from Prandtl's stress function, (m, 7, 2)."""
    tri = p.tri
    place, enclosed = unknowns(p.nodes, tri)
    count = len(enclosed)
    K = t6.assemble(t6.stiffness(p.grad, p.areas, 1.0 / p.G), place[tri], count + 1)[:count, :count]
    density = np.full((len(tri), len(t6.WEIGHTS)), 2.0)
    right = t6.scatter(t6.load(density, p.areas), place[tri], count + 1)[:count] + 2.0 * enclosed
    potential = np.append(Factor(K.tocsc()).solve(right), 0.0)[place]
    slope = p.slope(potential)
    return np.stack([slope[..., 1], -slope[..., 0]], axis=-1)


def unknowns(nodes: Array, tri: Index) -> tuple[Index, Array]:
    """Unknown of each node, and area enclosed by each unknown.

    Nodes on an outer edge share the last, unused one; nodes around a hollow share one that encloses its area. Edges that
    meet in a node have one constant between them, so that the stress stays admissible.
    """
    side = boundary_sides(tri)
    edge = edges_at_nodes(side, len(nodes))
    on_edge = edge >= 0
    area = np.zeros(int(edge.max()) + 1)
    a, b = nodes[side[:, 0]], nodes[side[:, 1]]
    # Material lies to the left of its boundary: an outer edge runs counter-clockwise, a hollow clockwise.
    np.add.at(area, edge[side[:, 0]], 0.5 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]))
    hollow = area < 0.0
    number = np.cumsum(hollow) - 1
    place = np.full(len(nodes), -1, dtype=np.int64)
    place[on_edge] = np.where(hollow, number, -2)[edge[on_edge]]
    inner = place == -1
    count = int(hollow.sum() + inner.sum())
    place[inner] = int(hollow.sum()) + np.arange(int(inner.sum()))
    place[place == -2] = count
    enclosed = np.zeros(count)
    enclosed[: int(hollow.sum())] = -area[hollow]
    return place, enclosed


def boundary_sides(tri: Index) -> Index:
    """Sides that belong to one triangle only, each as (start, end, middle) nodes."""
    sides = np.vstack([tri[:, [0, 1, 3]], tri[:, [1, 2, 4]], tri[:, [2, 0, 5]]])
    count = np.bincount(sides[:, 2], minlength=int(tri.max()) + 1)
    return np.asarray(sides[count[sides[:, 2]] == 1])


def edges_at_nodes(side: Index, size: int) -> Index:
    """Which connected edge of the section each node lies on; -1 for the others."""
    rows = np.concatenate([side[:, 0], side[:, 0]])
    columns = np.concatenate([side[:, 1], side[:, 2]])
    graph = scipy.sparse.coo_matrix((np.ones(len(rows)), (rows, columns)), shape=(size, size))
    _, label = scipy.sparse.csgraph.connected_components(graph, directed=False)
    edge = np.full(size, -1, dtype=np.int64)
    touched = np.unique(side)
    edge[touched] = np.unique(label[touched], return_inverse=True)[1]
    return edge
