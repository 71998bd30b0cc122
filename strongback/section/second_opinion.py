"""A second opinion on a section by the library sectionproperties: both values side by side, and outlines from and to it.

Another program, other elements, another solver of the same Saint-Venant problems, so that agreement says something. Where
its theory is another one, the difference is no error of either, and the row says so:

- torsion of unlike materials is weighted there by E and scaled by one effective Poisson's ratio, here by each G;
- its warping constant is taken about the centre that depends on Poisson's ratio, here about Trefftz's;
- its shear areas are Pilkey's, which differ from those of the energy by some 0.2 % once Poisson's ratio is not zero;
- it knows no fill that slides: fills are bonded in both columns.
"""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass
from importlib import metadata
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from shapely.geometry import Polygon, box

from strongback.answer import Telling
from strongback.errors import EnvironmentFault, OutlineError
from strongback.materials import Material
from strongback.section._triangle import available
from strongback.section.analyse import DEFAULT_GAP, SectionResult, analyse
from strongback.section.check import check
from strongback.section.coupling import poisson_ratios_differ
from strongback.section.outline import regions
from strongback.section.values import Outline, SectionMesh, SectionStiffness

if TYPE_CHECKING:
    from sectionproperties.pre.geometry import CompoundGeometry, Geometry

__all__ = ["AGREE", "Opinion", "SecondOpinion", "from_geometry", "second_opinion", "to_geometry"]

AGREE = 2e-3  # relative difference to be expected where its theory holds
SYMMETRIC = 1e-4  # of the width: how near the two shear centres are where a warping constant can be compared
MM = 1e3


@dataclass(frozen=True, slots=True, kw_only=True)
class Opinion:
    """One quantity twice.

    Parameters
    ----------
    quantity : str
    unit : str
    own, second : float
        SI.
    holds : bool
        Whether the second theory is the same here, so that a difference above `AGREE` would be an error of one of them.
    why : str
        Why not; empty where it holds.
    scale : float
        What the difference is taken against: the own value, or the width for a place.
    """

    ONLY: ClassVar[Telling] = (
        ("quantity", "quantity"),
        ("unit", "unit"),
        ("own", "own"),
        ("second", "second"),
        ("difference", "difference"),
        ("theory_holds", "holds"),
        ("why", "why"),
    )

    quantity: str
    unit: str
    own: float
    second: float
    holds: bool
    why: str
    scale: float

    @property
    def difference(self) -> float:
        """Second less own, relative."""
        return (self.second - self.own) / self.scale


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondOpinion:
    """All quantities twice.

    Parameters
    ----------
    name : str
    rows : tuple of Opinion
    triangles : int
        Of the mesh that the second solver had.
    mesher : str
        Which mesher made it.
    version : str
        Of the library.
    """

    ONLY: ClassVar[Telling] = (
        ("agrees", "agrees"),
        ("library", "library"),
        ("version", "version"),
        ("triangles", "triangles"),
        ("mesher", "mesher"),
        ("rows", "rows"),
    )

    name: str
    rows: tuple[Opinion, ...]
    triangles: int
    mesher: str
    version: str

    @property
    def library(self) -> str:
        """Whose opinion it is."""
        return "sectionproperties"

    @property
    def agrees(self) -> bool:
        """Whether every row whose theory holds is within `AGREE`."""
        return all(abs(row.difference) <= AGREE for row in self.rows if row.holds)


def second_opinion(outline: Outline, *, tolerance: float = DEFAULT_GAP) -> SecondOpinion:
    """Solve a section here and by sectionproperties, fills bonded.

    Parameters
    ----------
    outline : Outline
    tolerance : float
        Relative gap between the bounds of GJ; the second solver gets the mesh that held it, from the C mesher where that is
        installed.

    Returns
    -------
    SecondOpinion

    Raises
    ------
    OutlineError, LimitError, MeshError
        As `analyse`.
    EnvironmentFault
        If the library cannot be imported.

    Examples
    --------
    >>> from strongback.section.shapes import rectangle
    >>> second_opinion(rectangle("steel", 0.04, 0.02)).agrees
    True
    """
    check(outline)
    own = analyse(outline, tolerance=tolerance, mesher="triangle" if available() else "built-in")
    stiffness = dict(own.limits).get("bonded", own.stiffness)
    section = _solved(own.mesh)
    return SecondOpinion(
        name=outline.name,
        rows=_rows(own, stiffness, section, own.mesh),
        triangles=own.elements,
        mesher=own.mesh.mesher,
        version=metadata.version("sectionproperties"),
    )


def _library() -> None:
    """Refuse in plain words where it is not there."""
    try:
        import sectionproperties  # noqa: F401
    except ImportError as error:
        raise EnvironmentFault(
            f"the library sectionproperties cannot be imported: {error}", hint="pip install sectionproperties"
        ) from None


def _solved(mesh: SectionMesh) -> Any:
    """Its section object on a mesh of ours, solved."""
    _library()
    from sectionproperties.analysis.section import Section
    from sectionproperties.pre.geometry import CompoundGeometry, Geometry

    shapes = [
        Geometry(box(2 * i, 0, 2 * i + 1, 1), material=_their_material(m, f"{i}"))
        for i, m in enumerate(mesh.materials)
    ]
    geometry = shapes[0] if len(shapes) == 1 else CompoundGeometry(shapes)
    geometry.mesh = {
        "vertices": np.array(mesh.nodes),
        "triangles": np.array(mesh.triangles)[
            :, [0, 1, 2, 4, 5, 3]
        ],  # its middles lie opposite to the corners
        "triangle_attributes": np.array(mesh.region)[:, None],
    }
    section = Section(geometry)
    section.calculate_geometric_properties()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it looks for gaps between shapes, which are not those of the mesh
        section.calculate_warping_properties()
    return section


def _their_material(of: Material, name: str, pascal: float = 1.0, density: float = 1.0) -> Any:
    from sectionproperties.pre.pre import Material as Their

    return Their(
        name=name,
        elastic_modulus=of.E * pascal,
        poissons_ratio=of.nu,
        density=of.density * density,
        yield_strength=1.0,
        color="grey",
    )


def _rows(own: SectionResult, s: SectionStiffness, section: Any, mesh: SectionMesh) -> tuple[Opinion, ...]:
    p = section.section_props
    several = len(mesh.materials) > 1
    EIx, EIy, EIxy = section.get_eic() if several else (p.ixx_c, p.iyy_c, p.ixy_c)
    nu = section.get_nu_eff() if several else mesh.materials[0].nu
    G = 1.0 / (2.0 * (1.0 + nu))
    width = float(np.ptp(mesh.nodes, axis=0).max())
    unlike = "weighted by E and one effective Poisson's ratio" if poisson_ratios_differ(mesh) else ""
    poisson = any(m.nu != 0.0 for m in mesh.materials)
    shear = unlike or ("another definition once Poisson's ratio is not zero: some 0.2 %" if poisson else "")
    apart = math.dist(s.shear_centre, own.elastic_centre) > SYMMETRIC * width
    about = "taken about the elastic shear centre" if apart else ""

    def row(quantity: str, unit: str, mine: float, theirs: float, why: str, scale: float = 0.0) -> Opinion:
        size = scale or abs(mine)
        return Opinion(
            quantity=quantity,
            unit=unit,
            own=float(mine),
            second=float(theirs),
            holds=not why,
            why=why,
            scale=float(size),
        )

    found = [
        row("EA", "N", s.EA, p.ea, ""),
        row("EIx", "N m^2", s.EIx, EIx, ""),
        row("EIy", "N m^2", s.EIy, EIy, ""),
        row("EIxy", "N m^2", s.EIxy, EIxy, "", s.EIx + s.EIy),
        row("GJ", "N m^2", s.GJ, p.j * G, unlike),
        row("kGAx", "N", s.kGAx, p.a_sx * G, shear),
        row("kGAy", "N", s.kGAy, p.a_sy * G, shear),
        row("shear centre x, Trefftz", "m", s.shear_centre[0], p.cx + p.x_st, unlike, width),
        row("shear centre y, Trefftz", "m", s.shear_centre[1], p.cy + p.y_st, unlike, width),
        row("shear centre x, elastic", "m", own.elastic_centre[0], p.cx + p.x_se, unlike, width),
        row("shear centre y, elastic", "m", own.elastic_centre[1], p.cy + p.y_se, unlike, width),
    ]
    if s.EGamma > 0.0:
        found.insert(5, row("EGamma", "N m^4", s.EGamma, p.gamma, unlike or about))
    return tuple(found)


def to_geometry(outline: Outline) -> Geometry | CompoundGeometry:
    """An outline as a geometry object of sectionproperties, in mm, N and MPa, walls and fills bonded.

    Parameters
    ----------
    outline : Outline

    Returns
    -------
    Geometry or CompoundGeometry
        One shape for each wall, fill and insert; densities in t/mm³.

    Raises
    ------
    EnvironmentFault
        If the library cannot be imported.

    Examples
    --------
    >>> from strongback.section.shapes import rectangle
    >>> round(to_geometry(rectangle("steel", 0.04, 0.02)).calculate_area(), 6)  # [mm²]
    800.0
    """
    _library()
    from sectionproperties.pre.geometry import CompoundGeometry, Geometry

    check(outline)
    shapes = []
    for part in regions(outline):
        rings = [
            [(x * MM, y * MM) for x, y in ring.coords]
            for ring in (part.polygon.exterior, *part.polygon.interiors)
        ]
        material = _their_material(part.material, part.material.name, 1e-6, 1e-12)
        shapes.append(Geometry(Polygon(rings[0], rings[1:]), material=material))
    return shapes[0] if len(shapes) == 1 else CompoundGeometry(shapes)


def from_geometry(
    geometry: Geometry | CompoundGeometry, name: str = "outline", material: Material | None = None
) -> Outline:
    """An outline from a geometry object of sectionproperties that is in mm, N and MPa.

    Parameters
    ----------
    geometry : Geometry or CompoundGeometry
    name : str
    material : Material, optional
        Of all shapes; default: those of the geometry.

    Returns
    -------
    Outline
        A wall for each shape; every hollow that no shape fills is an empty cell.

    Raises
    ------
    OutlineError
        If the shapes bound no section, or have no material of their own and none is given.

    Examples
    --------
    >>> from strongback.materials import material
    >>> from strongback.section.outline import area_of
    >>> from strongback.section.shapes import rectangle
    >>> again = from_geometry(to_geometry(rectangle("steel", 0.04, 0.02)), "bar", material("steel"))
    >>> round(area_of(again) * 1e6, 6)  # [mm²]
    800.0
    """
    shapes = list(getattr(geometry, "geoms", [geometry]))
    polygons = [shape.geom for shape in shapes]
    made = []
    for shape in shapes:
        own = shape.material
        if material is None and own.elastic_modulus <= 1.0:
            raise OutlineError(
                f'"{name}": the geometry has no material of its own (E = {own.elastic_modulus:g} MPa)',
                hint="give one: from_geometry(geometry, name, material)",
            )
        made.append(
            material
            or Material(
                name=own.name,
                E=own.elastic_modulus * 1e6,
                nu=own.poissons_ratio,
                density=own.density * 1e12,
                source="geometry of sectionproperties",
            )
        )
    walls = Outline.from_polygon(polygons, made, unit="mm", name=name)
    check(walls)
    return walls
