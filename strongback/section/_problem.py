"""Kernel: the G-weighted Laplacian of a meshed section, assembled and factorised once for every field. No checks.

With u_s = tau omega for twist and u_s = phi for shear all fields solve div(G grad w) = given with natural boundary terms.
Coordinates are about the middle of the nodes, so that distances cancel no digits.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.section import _triangle6 as t6
from strongback.section._factor import Grounded
from strongback.section.values import SectionMesh

Array = NDArray[np.float64]
Index = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Moments:
    """Weighted integrals over a section: weight, first and second moments about the origin."""

    A: float
    Sx: float  # of y
    Sy: float  # of x
    Ixx: float  # of y²
    Iyy: float  # of x²
    Ixy: float

    def centre(self) -> tuple[float, float]:
        return self.Sy / self.A, self.Sx / self.A

    def about_centre(self) -> tuple[float, float, float]:
        x, y = self.centre()
        return self.Ixx - self.A * y * y, self.Iyy - self.A * x * x, self.Ixy - self.A * x * y


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Problem:
    """Geometry, weights and factorised matrix of one mesh."""

    mesh: SectionMesh
    shift: Array  # (2,) from these coordinates to those of the drawing
    nodes: Array  # (n, 2)
    grad: Array  # (m, 3, 2)
    areas: Array  # (m,)
    points: Array  # (m, 7, 2)
    E: Array  # (m,)
    G: Array  # (m,)
    solver: Grounded

    @property
    def tri(self) -> Index:
        return self.mesh.triangles

    def solve(self, elements: Array) -> Array:
        """Field of balanced element loads (m, 6), or several fields of (m, 6, k)."""
        if elements.ndim == 2:
            return self.solver.solve(t6.scatter(elements, self.tri, len(self.nodes)))
        columns = [t6.scatter(elements[..., k], self.tri, len(self.nodes)) for k in range(elements.shape[2])]
        return self.solver.solve(np.column_stack(columns))

    def slope(self, field: Array) -> Array:
        """Gradient at the integration points, (m, 7, 2)."""
        return t6.slope_at_points(field, self.grad, self.tri)

    def energy(self, a: Array, b: Array) -> float:
        """Integral of G a . b for strains at the integration points."""
        return t6.integral(np.einsum("mqc,mqc->mq", a, b) * self.G[:, None], self.areas)

    def at_points(self, field: Array) -> Array:
        """Nodal field at the integration points, (m, 7)."""
        return np.asarray(field[self.tri] @ t6.SHAPES.T)

    def weighted(self, field: Array) -> Array:
        """Field times E at the integration points, (m, 7)."""
        return self.at_points(field) * self.E[:, None]

    def moments(self, weight: Array) -> Moments:
        return moments(self.areas, self.points, weight)

    def to_drawing(self, point: tuple[float, float]) -> tuple[float, float]:
        return float(point[0] + self.shift[0]), float(point[1] + self.shift[1])


def by_region(mesh: SectionMesh, key: str) -> Array:
    """A property of the material of each triangle, (m,)."""
    return np.array([getattr(m, key) for m in mesh.materials], dtype=float)[mesh.region]


def problem(mesh: SectionMesh) -> Problem:
    """Assemble and factorise."""
    shift = mesh.nodes.mean(axis=0)
    nodes, tri = mesh.nodes - shift, mesh.triangles
    grad, areas = t6.gradients(nodes, tri)
    G = by_region(mesh, "G")
    matrix = t6.assemble(t6.stiffness(grad, areas, G), tri, len(nodes))
    return Problem(
        mesh=mesh,
        shift=shift,
        nodes=nodes,
        grad=grad,
        areas=areas,
        points=t6.at_points(nodes, tri),
        E=by_region(mesh, "E"),
        G=G,
        solver=Grounded(matrix),
    )


def moments(areas: Array, points: Array, weight: Array) -> Moments:
    """Weighted moments of a section from its integration points."""
    x, y = points[..., 0], points[..., 1]
    w = weight * areas

    def total(density: Array) -> float:
        return float(w @ (density @ t6.WEIGHTS))

    one = np.ones_like(x)
    return Moments(
        A=total(one), Sx=total(y), Sy=total(x), Ixx=total(y * y), Iyy=total(x * x), Ixy=total(x * y)
    )


def turned(points: Array) -> Array:
    """(-y, x): displacement of points per unit rotation."""
    return np.stack([-points[..., 1], points[..., 0]], axis=-1)


def torsion(p: Problem) -> tuple[Array, Array]:
    """Warping about the origin and shear strain per unit rate of twist: div G(grad w + (-y, x)) = 0."""
    around = turned(p.points)
    omega = p.solve(t6.flux_load(-around * p.G[:, None, None], p.grad, p.areas))
    return omega, p.slope(omega) + around
