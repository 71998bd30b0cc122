"""Exact stiffness of a section of bonded materials with different Poisson's ratios.

Saint-Venant's solution in three dimensions for a prism that is isotropic piece by piece. Axial strain e = eps + kappa_x y
- kappa_y x makes every material want to shrink sideways by its own Poisson's ratio; where they differ they hold each
other. The sideways displacement v minimises the elastic energy in the plane (plane elasticity with three right-hand
sides), which gives the axial and bending stiffness, a little above the rule of mixtures, and couples N and M slightly.
Under shear the curvature varies along the member and v with it, so that the shear strain is grad phi + v; phi solves
the G-weighted Laplacian with the exact axial stress as its load (Iesan, Saint-Venant's Problem, 1987, Ch. 3).

By the mirror symmetry of isotropic materials (N, Mx, My) and (Vx, Vy, T) do not couple with each other. Inside each
triple the coupling is written as the position of a point: the centroid, where N and M do not couple, and the shear
centre, where V and T do not. Warping restraint is a small effect in filled sections and keeps the E-weighted figures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse
from numpy.typing import NDArray

from strongback.section import _triangle6 as t6
from strongback.section._factor import Factor
from strongback.section._problem import Problem, by_region, problem, torsion
from strongback.section.stiffness import (
    flexure_loads,
    shear_compliance,
    solved,
    warping,
    warping_state,
    without_torque,
)
from strongback.section.values import SectionMesh, SectionStiffness, stiffness_from_constants

__all__ = ["exact_stiffness", "poisson_ratios_differ"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Axial:
    """Answer of the section to unit axial strain and curvatures (k = eps, kappa_x, kappa_y) about a point."""

    stiffness: Array  # (3, 3): N, Mx, My
    sideways: Array  # (3, m, 7, 2) displacement in the plane [m]
    stress: Array  # (3, m, 7) axial stress [Pa]


def poisson_ratios_differ(mesh: SectionMesh) -> bool:
    """Whether the materials of a mesh have different Poisson's ratios."""
    return len({mesh.materials[i].nu for i in np.unique(mesh.region)}) > 1


def exact_stiffness(mesh: SectionMesh, name: str = "section") -> SectionStiffness:
    """Stiffness of a meshed section, Poisson's ratios taken one by one.

    Parameters
    ----------
    mesh : SectionMesh
        Connected and bonded.
    name : str

    Returns
    -------
    SectionStiffness

    Examples
    --------
    >>> from strongback.materials import material
    >>> from strongback.section.mesh import mesh
    >>> from strongback.section.shapes import rectangle
    >>> bar = exact_stiffness(mesh(rectangle(material("steel"), 0.02, 0.01)))
    >>> round(bar.EA / 210e9 * 1e6, 9)
    200.0
    """
    p = problem(mesh)
    omega, twist = torsion(p)
    plain = solved(p, omega, twist, name).stiffness
    axial = _about_centroid(plane_elasticity(p))
    K = axial[0].stiffness
    GJ = p.energy(twist, twist)
    EIx, EIy, EIxy = K[1, 1], K[2, 2], -K[1, 2]
    centre = _shear_centre(p, omega, axial[0], (EIx, EIy, EIxy))
    loads = flexure_loads(p, axial[0].stress[1:], axial[0].sideways[1:])
    own, EGamma = warping(p, omega, p.moments(p.E))[1:]
    state = warping_state(p, own, EGamma, GJ)
    found = p.solve(np.stack([*loads, *state], axis=-1))
    rates = np.array([p.slope(found[:, k]) + axial[0].sideways[1 + k] for k in range(2)])
    to_rates = np.linalg.inv(np.array([[EIxy, -EIy], [EIx, -EIxy]]))
    shear = without_torque(p, np.einsum("kv,kmqc->vmqc", to_rates, rates), centre, twist, GJ)
    compliance = shear_compliance(p, shear, p.slope(found[:, 2]) if state else None, GJ)
    return stiffness_from_constants(
        name=name,
        EA=K[0, 0],
        EIx=EIx,
        EIy=EIy,
        EIxy=EIxy,
        GJ=GJ,
        EGamma=EGamma,
        kGAx=1.0 / compliance[0, 0],
        kGAy=1.0 / compliance[1, 1],
        centroid=p.to_drawing(axial[1]),
        shear_centre=p.to_drawing(centre),
        shear_compliance=compliance,
        mass_per_length=plain.mass_per_length,
        mass_centroid=plain.mass_centroid,
        inertia_per_length=plain.inertia_per_length,
    )


def plane_elasticity(p: Problem) -> Axial:
    """Sideways displacement, axial stress and stiffness for unit strains about the origin of the problem."""
    nu = by_region(p.mesh, "nu")
    lame, mu = p.E * nu / ((1.0 + nu) * (1.0 - 2.0 * nu)), p.G
    x, y = p.points[..., 0], p.points[..., 1]
    e = np.array([np.ones_like(x), y, -x])  # (3, m, 7)
    v = _sideways(p, lame, mu, e)  # (3, n, 2)
    # Slopes of v: (3, m, 7, component, direction)
    slope = np.array([[p.slope(v[k, :, c]) for c in range(2)] for k in range(3)]).transpose(0, 2, 3, 1, 4)
    divergence = slope[..., 0, 0] + slope[..., 1, 1]
    strain = 0.5 * (slope + slope.swapaxes(-1, -2))
    volume = e + divergence
    K = np.empty((3, 3))
    for i in range(3):
        for j in range(3):
            density = lame[:, None] * volume[i] * volume[j]
            pair = (strain[i] * strain[j]).sum(axis=(-1, -2)) + e[i] * e[j]
            K[i, j] = t6.integral(density + 2.0 * mu[:, None] * pair, p.areas)
    stress = lame[:, None] * volume + 2.0 * mu[:, None] * e
    at_points = np.stack([np.stack([p.at_points(v[k, :, c]) for c in range(2)], axis=-1) for k in range(3)])
    return Axial(stiffness=K, sideways=at_points, stress=stress)


def _sideways(p: Problem, lame: Array, mu: Array, e: Array) -> Array:
    """Displacement in the plane of least energy, (3, n, 2)."""
    K, freedom = _plane_matrix(p, lame, mu)
    size = 2 * len(p.nodes)
    right = np.zeros((size, len(e)))
    for k, strain in enumerate(e):
        pressure = -(lame[:, None] * strain)[..., None]  # (m, 7, 1)
        loads = [t6.flux_load(pressure * np.eye(2)[c], p.grad, p.areas) for c in range(2)]  # each (m, 6)
        right[:, k] = t6.scatter(np.concatenate(loads, axis=1), freedom, size)
    # Held: one node, and sideways another far from it.
    far = int(np.argmax(((p.nodes - p.nodes[0]) ** 2).sum(axis=1)))
    away = p.nodes[far] - p.nodes[0]
    third = 2 * far + (1 if abs(away[0]) > abs(away[1]) else 0)
    free = np.setdiff1d(np.arange(size), [0, 1, third])
    found = np.zeros_like(right)
    found[free] = Factor(K[free][:, free].tocsc()).solve(right[free])
    return np.asarray(found.T.reshape(len(e), len(p.nodes), 2))


def _plane_matrix(p: Problem, lame: Array, mu: Array) -> tuple[scipy.sparse.csc_matrix, NDArray[np.int64]]:
    """Stiffness matrix and the freedoms of each element: first all along x, then all along y."""
    products = t6.slope_products(p.grad, p.areas)  # (m, 2, 2, 6, 6)
    trace = products[:, 0, 0] + products[:, 1, 1]
    m = len(p.areas)
    K = np.empty((m, 2, 6, 2, 6))
    for a in range(2):
        for b in range(2):
            block = lame[:, None, None] * products[:, a, b] + mu[:, None, None] * products[:, b, a]
            K[:, a, :, b, :] = block + (mu[:, None, None] * trace if a == b else 0.0)
    freedom = np.hstack([2 * p.tri, 2 * p.tri + 1])
    return t6.assemble(K.reshape(m, 12, 12), freedom, 2 * len(p.nodes)), freedom


def _about_centroid(axial: Axial) -> tuple[Axial, tuple[float, float]]:
    """The same about the point where axial force and moments do not couple, and that point."""
    K = axial.stiffness
    y, x = K[0, 1] / K[0, 0], -K[0, 2] / K[0, 0]
    shift = np.array([[1.0, 0.0, 0.0], [-y, 1.0, 0.0], [x, 0.0, 1.0]])
    about = Axial(
        stiffness=shift @ K @ shift.T,
        sideways=np.einsum("ij,jmqc->imqc", shift, axial.sideways),
        stress=np.einsum("ij,jmq->imq", shift, axial.stress),
    )
    return about, (float(x), float(y))


def _shear_centre(
    p: Problem, omega: Array, axial: Axial, bending: tuple[float, float, float]
) -> tuple[float, float]:
    """Point about which the warping of twist does no work on the axial stress of bending."""
    warp = p.at_points(omega)
    by_x, by_y = (t6.integral(axial.stress[k] * warp, p.areas) for k in (1, 2))
    EIx, EIy, EIxy = bending
    a, b = np.linalg.solve(np.array([[EIxy, -EIy], [EIx, -EIxy]]), np.array([by_y, -by_x]))
    return float(a), float(b)
