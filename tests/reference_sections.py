"""The library sectionproperties run on our own meshes, as an independent second opinion."""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
from sectionproperties.analysis.section import Section
from sectionproperties.pre.geometry import CompoundGeometry, Geometry
from sectionproperties.pre.pre import Material as TheirMaterial
from shapely.geometry import box

from strongback.section.values import SectionMesh


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """Its answers, weighted by E."""

    EA: float
    EIx: float
    EIy: float
    EIxy: float
    EJ: float
    G_of_E: float  # its one G/E for the whole section
    EGamma: float
    shear_centre: tuple[float, float]
    kEAx: float
    kEAy: float


def section_on(mesh: SectionMesh) -> Section:
    """Its section object on our mesh."""
    materials = [
        TheirMaterial(
            name=f"{i}",
            elastic_modulus=m.E,
            poissons_ratio=m.nu,
            density=m.density,
            yield_strength=1.0,
            color="w",
        )
        for i, m in enumerate(mesh.materials)
    ]
    shapes = [Geometry(box(2 * i, 0, 2 * i + 1, 1), material=m) for i, m in enumerate(materials)]
    geometry = shapes[0] if len(shapes) == 1 else CompoundGeometry(shapes)
    geometry.mesh = {
        "vertices": np.array(mesh.nodes),
        "triangles": np.array(mesh.triangles)[:, [0, 1, 2, 4, 5, 3]],  # middles opposite to the corners
        "triangle_attributes": np.array(mesh.region)[:, None],
    }
    return Section(geometry)


def solve(section: Section) -> None:
    """All that it solves for a stiffness."""
    section.calculate_geometric_properties()
    with warnings.catch_warnings():
        warnings.simplefilter(
            "ignore"
        )  # it looks for gaps between the shapes, which are not those of our mesh
        section.calculate_warping_properties()


def reference(mesh: SectionMesh) -> Reference:
    """Its stiffness on our mesh."""
    section = section_on(mesh)
    solve(section)
    p = section.section_props
    EIx, EIy, EIxy = section.get_eic() if len(mesh.materials) > 1 else (p.ixx_c, p.iyy_c, p.ixy_c)
    return Reference(
        EA=p.ea,
        EIx=EIx,
        EIy=EIy,
        EIxy=EIxy,
        EJ=p.j,
        G_of_E=1.0 / (2.0 * (1.0 + section.get_nu_eff())) if len(mesh.materials) > 1 else np.nan,
        EGamma=p.gamma,
        shear_centre=(p.cx + p.x_st, p.cy + p.y_st),
        kEAx=p.a_sx,
        kEAy=p.a_sy,
    )
