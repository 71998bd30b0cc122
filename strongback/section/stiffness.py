"""Stiffness of a meshed section from one factorisation of its shear problem.

With u_s = tau omega for twist and u_s = phi for shear all fields solve div(G grad w) = given, with natural boundary
terms; torsion and shear are weighted by G, bending by E. Regions are bonded. One matrix serves torsion, both shear
forces and the warping (secondary) torsion.

Shear. The bending stress of a shear force is balanced by shear stress G gamma, gamma = grad phi - nu d, where d are the
sideways displacements that Poisson's ratio adds to bending (Saint-Venant's flexure; Pilkey, Analysis and Design of
Elastic Beams, 2002, Ch. 6). The shear compliance is the energy of that state with its torque about the shear centre
removed. For nu = 0 it agrees with Cowper's coefficient; above zero the definitions differ, and this one is the energy's.
For materials of different Poisson's ratio the E-weighted mean is used in this term; `coupling` has the exact stiffness.

Shear centre. Trefftz's, for which bending and twist exchange no energy; warping is taken about it, so that the warping
constant does not depend on Poisson's ratio.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.section import _triangle6 as t6
from strongback.section._problem import Moments, Problem, by_region, problem, torsion, turned
from strongback.section.values import Point2, SectionMesh, SectionStiffness, stiffness_from_constants

__all__ = ["SectionFields", "fields", "stiffness"]

Array = NDArray[np.float64]
NO_WARPING = 1e-9  # least EGamma worth a name, over GJ A E/G


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionFields:
    """Solved fields of a section.

    Parameters
    ----------
    mesh : SectionMesh
    stiffness : SectionStiffness
        Its GJ is the upper bound of this mesh.
    omega : ndarray, shape (nodes,)
        Warping about the shear centre per unit rate of twist [m²].
    torsion_strain : ndarray, shape (triangles, 7, 2)
        Shear strain per unit rate of twist [m].
    shear_strain : ndarray, shape (2, triangles, 7, 2)
        Shear strain per unit force along x and y through the shear centre [1/N].
    secondary_strain : ndarray, shape (triangles, 7, 2), or None
        Shear strain per unit secondary torque [1/(N m)]; None for a section that does not warp.
    elastic_centre : tuple of float
        Shear centre with Poisson's ratio: a force through it has no torque in the flexure about the centroid [m].
    """

    mesh: SectionMesh
    stiffness: SectionStiffness
    omega: Array
    torsion_strain: Array
    shear_strain: Array
    secondary_strain: Array | None
    elastic_centre: Point2


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
    p = problem(mesh)
    return solved(p, *torsion(p), name)


def solved(p: Problem, omega: Array, strain: Array, name: str) -> SectionFields:
    """Fields of a factorised problem whose torsion is known."""
    bending = p.moments(p.E)
    GJ = p.energy(strain, strain)
    centre, omega, EGamma = warping(p, omega, bending)
    mean_nu = float((p.E * p.areas) @ by_region(p.mesh, "nu") / bending.A)
    shear, secondary = _shear(p, bending, mean_nu, omega, EGamma, GJ)
    arm = turned(p.points - np.asarray(bending.centre()))
    torque = [
        p.energy(state, arm) for state in shear
    ]  # of unit Vx, Vy about the centroid: -y, x of their line of action
    elastic = bending.centre()[0] + torque[1], bending.centre()[1] - torque[0]
    shear = without_torque(p, shear, centre, strain, GJ)
    if secondary is None:  # what is left is rounding, and that of the polygon drawn for a round tube
        omega, EGamma = np.zeros_like(omega), 0.0
    compliance = shear_compliance(p, shear, secondary, GJ)
    mass = p.moments(by_region(p.mesh, "density"))
    own = stiffness_from_constants(
        name=name,
        EA=bending.A,
        EIx=bending.about_centre()[0],
        EIy=bending.about_centre()[1],
        EIxy=bending.about_centre()[2],
        GJ=GJ,
        EGamma=EGamma,
        kGAx=1.0 / compliance[0, 0],
        kGAy=1.0 / compliance[1, 1],
        centroid=p.to_drawing(bending.centre()),
        shear_centre=p.to_drawing(centre),
        shear_compliance=compliance,
        mass_per_length=mass.A,
        mass_centroid=p.to_drawing(mass.centre()),
        inertia_per_length=mass.about_centre(),
    )
    return SectionFields(
        mesh=p.mesh,
        stiffness=own,
        omega=omega,
        torsion_strain=strain,
        shear_strain=shear,
        secondary_strain=secondary,
        elastic_centre=p.to_drawing(elastic),
    )


def warping(p: Problem, omega: Array, bending: Moments) -> tuple[tuple[float, float], Array, float]:
    """Trefftz shear centre, warping about it free of axial force and moments, and warping stiffness."""
    xc, yc = bending.centre()
    x, y = p.points[..., 0] - xc, p.points[..., 1] - yc
    Ew = p.weighted(omega)
    wx, wy = t6.integral(Ew * x, p.areas), t6.integral(Ew * y, p.areas)
    Ixx, Iyy, Ixy = bending.about_centre()
    # omega - b x + a y about (a, b): no moment of E omega about either axis.
    a, b = np.linalg.solve(np.array([[Ixy, -Iyy], [Ixx, -Ixy]]), np.array([-wx, -wy]))
    own = omega - b * p.nodes[:, 0] + a * p.nodes[:, 1]
    own = own - t6.integral(p.weighted(own), p.areas) / bending.A
    square = t6.integral(p.weighted(own) * p.at_points(own), p.areas)
    return (float(a), float(b)), own, square


def _shear(
    p: Problem, bending: Moments, nu: float, omega: Array, EGamma: float, GJ: float
) -> tuple[Array, Array | None]:
    """Shear strain of unit forces along x and y, (2, m, 7, 2), and of unit secondary torque, (m, 7, 2)."""
    xc, yc = bending.centre()
    x, y = p.points[..., 0] - xc, p.points[..., 1] - yc
    half = 0.5 * (x * x - y * y)
    # Sideways displacement by Poisson's ratio for unit rates of kappa_x and kappa_y.
    sideways = -nu * np.array([np.stack([x * y, -half], axis=-1), np.stack([-half, -x * y], axis=-1)])
    stress = np.array([y, -x]) * p.E[:, None]
    state = warping_state(p, omega, EGamma, GJ)
    found = p.solve(np.stack([*flexure_loads(p, stress, sideways), *state], axis=-1))
    rates = np.array([p.slope(found[:, k]) + sideways[k] for k in range(2)])
    Ixx, Iyy, Ixy = bending.about_centre()
    # Vx = EIxy kx' - EIy ky', Vy = EIx kx' - EIxy ky'
    to_rates = np.linalg.inv(np.array([[Ixy, -Iyy], [Ixx, -Ixy]]))
    return np.einsum("kv,kmqc->vmqc", to_rates, rates), p.slope(found[:, 2]) if state else None


def warping_state(p: Problem, omega: Array, EGamma: float, GJ: float) -> list[Array]:
    """Element load of a unit secondary torque, [(m, 6)]; none for a section that does not warp."""
    if EGamma <= NO_WARPING * GJ * float(p.areas.sum()) * float((p.E / p.G).max()):
        return []
    return [t6.load(-p.weighted(omega) / EGamma, p.areas)]


def flexure_loads(p: Problem, stress: Array, sideways: Array) -> list[Array]:
    """Element loads of the shear problem for unit rates of curvature: axial stress (2, m, 7), sideways (2, m, 7, 2)."""
    return [
        t6.load(s, p.areas) - t6.flux_load(v * p.G[:, None, None], p.grad, p.areas)
        for s, v in zip(stress, sideways, strict=True)
    ]


def without_torque(p: Problem, shear: Array, centre: tuple[float, float], twist: Array, GJ: float) -> Array:
    """Shear states with their torque about a point taken off by twist."""
    arm = turned(p.points - np.asarray(centre))
    return np.array([state - p.energy(state, arm) / GJ * twist for state in shear])


def shear_compliance(p: Problem, shear: Array, secondary: Array | None, GJ: float) -> Array:
    """Compliance of (Vx, Vy, T2): energies of the three states, (3, 3)."""
    states = [*shear] if secondary is None else [*shear, secondary]
    found = np.diag([0.0, 0.0, 1e-8 / GJ])  # for a section that does not warp
    for i, a in enumerate(states):
        for j, b in enumerate(states[: i + 1]):
            found[i, j] = found[j, i] = p.energy(a, b)
    return found
