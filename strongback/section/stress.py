"""Stress in a section under unit loads, for a look at where a load runs.

Values at the middle of each triangle. At sharp inner corners the true stress has no bound, and a mesh shows whatever its
size allows: these fields are for understanding, not for strength.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.section._problem import by_region
from strongback.section.stiffness import SectionFields, fields
from strongback.section.values import SectionMesh

__all__ = ["SectionStress", "stress"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionStress:
    """Stress at the middle of each triangle, bonded regions.

    Parameters
    ----------
    centres : ndarray, shape (triangles, 2)
        In the axes of the drawing [m].
    torque : ndarray, shape (triangles, 2)
        Shear stress per unit torque, warping free [Pa/(N m)].
    shear_x, shear_y : ndarray, shape (triangles, 2)
        Shear stress per unit force along x, y through the shear centre [Pa/N].
    axial : ndarray, shape (triangles,)
        Direct stress per unit axial force through the centroid [Pa/N].
    bending_x, bending_y : ndarray, shape (triangles,)
        Direct stress per unit moment about x, y [Pa/(N m)].
    warping : ndarray, shape (triangles,)
        Direct stress per unit bimoment [Pa/(N m²)]; zero for a section that does not warp.
    """

    centres: Array
    torque: Array
    shear_x: Array
    shear_y: Array
    axial: Array
    bending_x: Array
    bending_y: Array
    warping: Array

    def __post_init__(self) -> None:
        for key in self.__slots__:
            getattr(self, key).setflags(write=False)


def stress(mesh: SectionMesh) -> SectionStress:
    """Stress under unit loads.

    Parameters
    ----------
    mesh : SectionMesh

    Returns
    -------
    SectionStress

    Examples
    --------
    A bar of 20 x 10 mm pulled by 1 N has 1 N / 200 mm²:

    >>> from strongback.materials import material
    >>> from strongback.section.mesh import mesh
    >>> from strongback.section.shapes import rectangle
    >>> found = stress(mesh(rectangle(material("steel"), 0.02, 0.01)))
    >>> round(float(found.axial[0]), 6)
    5000.0
    """
    return stress_of(fields(mesh))


def stress_of(solved: SectionFields) -> SectionStress:
    """Stress under unit loads from fields already solved."""
    mesh, s = solved.mesh, solved.stiffness
    E, G = by_region(mesh, "E"), by_region(mesh, "G")
    centres = mesh.nodes[mesh.triangles[:, :3]].mean(axis=1)
    # The first integration point is the middle of the triangle.
    torque = G[:, None] * solved.torsion_strain[:, 0] / s.GJ
    shear = G[:, None] * solved.shear_strain[:, :, 0]
    x, y = (centres - np.asarray(s.centroid)).T
    curvature = np.linalg.inv(np.array([[s.EIx, -s.EIxy], [-s.EIxy, s.EIy]]))
    bending = E * (curvature[:, :1] * y - curvature[:, 1:] * x)  # rows: unit Mx, unit My (symmetric inverse)
    # Quadratic field in the middle of a triangle: -1/9 of the corners, 4/9 of the middles.
    omega = solved.omega[mesh.triangles] @ np.array([-1 / 9] * 3 + [4 / 9] * 3)
    return SectionStress(
        centres=centres,
        torque=torque,
        shear_x=shear[0],
        shear_y=shear[1],
        axial=E / s.EA,
        bending_x=bending[0],
        bending_y=bending[1],
        warping=E * omega / s.EGamma if s.EGamma > 0.0 else np.zeros(len(E)),
    )
