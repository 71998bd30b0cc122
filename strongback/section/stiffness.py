"""Stiffness of a meshed section from one factorisation of its shear problem.

With u_s = tau omega for twist and u_s = phi for shear all fields solve div(G grad w) = given, with natural boundary
terms; torsion and shear are weighted by G, bending by E. Regions are bonded. One matrix serves torsion, both shear
forces and the warping (secondary) torsion.

Shear. The bending stress of a shear force is balanced by shear stress G gamma, gamma = grad phi - nu d, where d are the
sideways displacements that Poisson's ratio adds to bending (Saint-Venant's flexure; Pilkey, Analysis and Design of
Elastic Beams, 2002, Ch. 6). The shear compliance is the energy of that state with its torque about the shear centre
removed. For materials of different Poisson's ratio the E-weighted mean is used in this term; `coupling` has the exact
stiffness.

Shear centre. Trefftz's, for which bending and twist exchange no energy; warping is taken about it, so that the warping
constant does not depend on Poisson's ratio.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.section import _triangle6 as t6
from strongback.section._factor import Grounded
from strongback.section.values import SectionMesh, SectionStiffness, stiffness_from_constants

__all__ = ["SectionFields", "fields", "stiffness"]

Array = NDArray[np.float64]


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
class SectionFields:
    """Solved fields of a section.

    Parameters
    ----------
    mesh : SectionMesh
    stiffness : SectionStiffness
    GJ : float
        Upper bound of the torsion stiffness [N m²].
    omega : ndarray, shape (nodes,)
        Warping about the shear centre per unit rate of twist [m²].
    torsion_strain : ndarray, shape (triangles, 7, 2)
        Shear strain per unit rate of twist [m].
    shear_strain : ndarray, shape (2, triangles, 7, 2)
        Shear strain per unit force along x and y through the shear centre [1/N].
    """

    mesh: SectionMesh
    stiffness: SectionStiffness
    GJ: float
    omega: Array
    torsion_strain: Array
    shear_strain: Array


def stiffness(mesh: SectionMesh, name: str = "section") -> SectionStiffness:
    """Stiffness of a meshed section with bonded regions.

    Parameters
    ----------
    mesh : SectionMesh
    name : str

    Returns
    -------
    SectionStiffness
        Its GJ is the upper bound of this mesh.

    Examples
    --------
    >>> from strongback.materials import material
    >>> from strongback.section.mesh import mesh
    >>> from strongback.section.shapes import rectangle
    >>> bar = stiffness(mesh(rectangle(material("steel"), 0.02, 0.01)))
    >>> round(bar.EA / 210e9 * 1e6, 6)
    200.0
    """
    return fields(mesh, name).stiffness


def _by_region(mesh: SectionMesh, key: str) -> Array:
    return np.array([getattr(m, key) for m in mesh.materials], dtype=float)[mesh.region]


def _moments(areas: Array, points: Array, weight: Array) -> Moments:
    x, y = points[..., 0], points[..., 1]
    w = weight * areas

    def total(density: Array) -> float:
        return float(w @ (density @ t6.WEIGHTS))

    one = np.ones_like(x)
    return Moments(
        A=total(one), Sx=total(y), Sy=total(x), Ixx=total(y * y), Iyy=total(x * x), Ixy=total(x * y)
    )


def fields(mesh: SectionMesh, name: str = "section") -> SectionFields:
    """Solve a meshed section and keep its fields.

    Parameters
    ----------
    mesh : SectionMesh
    name : str

    Returns
    -------
    SectionFields
    """
    # About a point near the section, so that distances cancel no digits.
    shift = mesh.nodes.mean(axis=0)
    nodes, tri = mesh.nodes - shift, mesh.triangles
    grad, areas = t6.gradients(nodes, tri)
    points = t6.at_points(nodes, tri)
    E, G, nu, rho = (_by_region(mesh, k) for k in ("E", "G", "nu", "density"))
    bending = _moments(areas, points, E)
    solver = Grounded(t6.assemble(t6.stiffness(grad, areas, G), tri, len(nodes)))
    problem = _Problem(
        tri=tri, grad=grad, areas=areas, points=points, E=E, G=G, solver=solver, size=len(nodes)
    )
    torsion = _torsion(problem)
    twist = _twist_energy(problem, torsion)
    centre, omega, EGamma = _warping(problem, torsion, bending)
    mean_nu = float((E * areas) @ nu / bending.A)
    shear = _shear(problem, bending, mean_nu, omega, centre, twist)
    compliance = _compliance(problem, shear, omega, EGamma, twist[1])
    mass = _moments(areas, points, rho)
    own = stiffness_from_constants(
        name=name,
        EA=bending.A,
        EIx=bending.about_centre()[0],
        EIy=bending.about_centre()[1],
        EIxy=bending.about_centre()[2],
        GJ=twist[1],
        EGamma=EGamma,
        kGAx=1.0 / compliance[0, 0],
        kGAy=1.0 / compliance[1, 1],
        centroid=_shifted(bending.centre(), shift),
        shear_centre=_shifted(centre, shift),
        shear_compliance=compliance,
        mass_per_length=mass.A,
        mass_centroid=_shifted(mass.centre(), shift),
        inertia_per_length=mass.about_centre(),
    )
    return SectionFields(
        mesh=mesh, stiffness=own, GJ=twist[1], omega=omega, torsion_strain=twist[0], shear_strain=shear
    )


def _shifted(point: tuple[float, float], by: Array) -> tuple[float, float]:
    return float(point[0] + by[0]), float(point[1] + by[1])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Problem:
    """What every field of one section is solved with."""

    tri: NDArray[np.int64]
    grad: Array
    areas: Array
    points: Array
    E: Array
    G: Array
    solver: Grounded
    size: int

    def solve(self, elements: Array) -> Array:
        right = t6.scatter(elements, self.tri, self.size)
        return self.solver.solve(right)

    def slope(self, field: Array) -> Array:
        return t6.slope_at_points(field, self.grad, self.tri)

    def energy(self, a: Array, b: Array) -> float:
        """Integral of G a . b for strains at the integration points."""
        return t6.integral(np.einsum("mqc,mqc->mq", a, b) * self.G[:, None], self.areas)

    def weighted(self, field: Array) -> Array:
        """Field times E at the integration points, (m, 7)."""
        return (field[self.tri] @ t6.SHAPES.T) * self.E[:, None]


def _turned(points: Array) -> Array:
    """(-y, x): displacement of points per unit rotation."""
    return np.stack([-points[..., 1], points[..., 0]], axis=-1)


def _torsion(problem: _Problem) -> Array:
    """Warping about the origin per unit rate of twist: div G(grad w + (-y, x)) = 0."""
    flux = -_turned(problem.points) * problem.G[:, None, None]
    return problem.solve(t6.flux_load(flux, problem.grad, problem.areas))


def _twist_energy(problem: _Problem, omega: Array) -> tuple[Array, float]:
    strain = problem.slope(omega) + _turned(problem.points)
    return strain, problem.energy(strain, strain)


def _warping(problem: _Problem, omega: Array, bending: Moments) -> tuple[tuple[float, float], Array, float]:
    """Trefftz shear centre, warping about it free of axial force and moments, and warping stiffness."""
    xc, yc = bending.centre()
    x, y = problem.points[..., 0] - xc, problem.points[..., 1] - yc
    Ew = problem.weighted(omega)
    areas = problem.areas
    wx, wy = t6.integral(Ew * x, areas), t6.integral(Ew * y, areas)
    Ixx, Iyy, Ixy = bending.about_centre()
    # omega - b x + a y about (a, b): no moment of E omega about either axis.
    a, b = np.linalg.solve(np.array([[Ixy, -Iyy], [Ixx, -Ixy]]), np.array([-wx, -wy]))
    nodes_x, nodes_y = _node_coordinates(problem)
    own = omega - b * nodes_x + a * nodes_y
    own = own - t6.integral(problem.weighted(own), areas) / bending.A
    square = t6.integral(problem.weighted(own) * (own[problem.tri] @ t6.SHAPES.T), areas)
    return (float(a), float(b)), own, square


def _node_coordinates(problem: _Problem) -> tuple[Array, Array]:
    """Nodal coordinates, recovered from the integration points of straight-sided triangles."""
    corners = np.linalg.lstsq(t6.POINTS, np.eye(7), rcond=None)[0] @ problem.points  # (m, 3, 2)
    middles = 0.5 * (corners + np.roll(corners, -1, axis=1))
    values = np.concatenate([corners, middles], axis=1).reshape(-1, 2)
    found = np.empty((problem.size, 2))
    found[problem.tri.ravel()] = values
    return found[:, 0], found[:, 1]


def _shear(
    problem: _Problem,
    bending: Moments,
    nu: float,
    omega: Array,
    centre: tuple[float, float],
    twist: tuple[Array, float],
) -> Array:
    """Shear strain of unit forces along x and y through the shear centre, (2, m, 7, 2)."""
    xc, yc = bending.centre()
    x, y = problem.points[..., 0] - xc, problem.points[..., 1] - yc
    half = 0.5 * (x * x - y * y)
    # Sideways displacement by Poisson's ratio for unit rates of kappa_x and kappa_y.
    poisson = nu * np.array([np.stack([x * y, -half], axis=-1), np.stack([-half, -x * y], axis=-1)])
    G = problem.G[:, None, None]
    rates = []
    for stress, d in zip((y, -x), poisson, strict=True):
        elements = t6.load(stress * problem.E[:, None], problem.areas)
        elements = elements + t6.flux_load(d * G, problem.grad, problem.areas)
        rates.append(problem.slope(problem.solve(elements)) - d)
    Ixx, Iyy, Ixy = bending.about_centre()
    # Vx = EIxy kx' - EIy ky', Vy = EIx kx' - EIxy ky'
    to_rates = np.linalg.inv(np.array([[Ixy, -Iyy], [Ixx, -Ixy]]))
    strains = np.einsum("kv,kmqc->vmqc", to_rates, np.array(rates))
    arm = problem.points - np.asarray(centre)
    for v in range(2):
        torque = t6.integral(
            np.einsum("mqc,mqc->mq", strains[v], _turned(arm)) * problem.G[:, None], problem.areas
        )
        strains[v] -= torque / twist[1] * twist[0]
    return np.asarray(strains)


def _compliance(problem: _Problem, shear: Array, omega: Array, EGamma: float, GJ: float) -> Array:
    """Compliance of (Vx, Vy, T2): energies of the three states, (3, 3)."""
    smallest = 1e-9 * GJ * float(problem.areas.sum()) * float((problem.E / problem.G).max())
    if EGamma > smallest:
        psi = problem.solve(t6.load(-problem.weighted(omega) / EGamma, problem.areas))
        states = [shear[0], shear[1], problem.slope(psi)]
    else:  # a section that does not warp
        states = [shear[0], shear[1]]
    n = len(states)
    found = np.diag([0.0, 0.0, 1e-8 / GJ])
    for i in range(n):
        for j in range(i, n):
            found[i, j] = found[j, i] = problem.energy(states[i], states[j])
    return found
