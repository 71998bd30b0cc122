"""Frozen values of the section stage: outline, cells, fill, mesh, stiffness.

Axes. A section lies in the plane (x, y) normal to its member; the member runs along s, and (x, y, s) is
right-handed. ``u`` are displacements and ``r`` rotations (right-hand rule) of the section at the origin of the drawing:

    u_x(x, y) = ux - rs y        u_y(x, y) = uy + rs x        u_s(x, y) = us + rx y - ry x + f omega(x, y)

Strains of the section, in this order everywhere (index 0..7):

    gamma_x = ux' - ry      gamma_y = uy' + rx      eps = us'      kappa_x = rx'      kappa_y = ry'
    tau = rs' (primary torsion)      gamma_w = rs' - f (secondary torsion)      chi = f' (warping)

and their forces Vx, Vy, N, Mx, My, T1, T2, B (bimoment). T = T1 + T2, T2 = -B'. With omega = 0 at rest,
N = EA eps, Mx = EIx kappa_x - EIxy kappa_y and My = EIy kappa_y - EIxy kappa_x about the centroid;
EIx = integral of E y², EIy of E x², EIxy of E x y.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LinearRing, MultiPolygon, Polygon
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

from strongback import checks
from strongback.answer import Telling
from strongback.errors import OutlineError
from strongback.materials import Material
from strongback.materials import material as named_material
from strongback.section import _constants as constants
from strongback.section.seams import Seam, Slip
from strongback.units import to_si

__all__ = [
    "STRAINS",
    "Bond",
    "Cell",
    "Fill",
    "Insert",
    "Outline",
    "Point2",
    "Ring",
    "SectionMesh",
    "SectionStiffness",
    "Wall",
    "stiffness_from_constants",
]

Point2: TypeAlias = tuple[float, float]
Ring: TypeAlias = tuple[Point2, ...]
Matrix: TypeAlias = tuple[tuple[float, ...], ...]
Bond: TypeAlias = Literal["bonded", "sliding"] | float
"""How a fill holds to the wall: fully, not along the member, or with a slip stiffness per area [N/m³]."""

MAX_POINTS = 2_000  # of an outline, unless it allows more
EVER_POINTS = 100_000
SCALARS = ("EA", "EIx", "EIy", "EIxy", "GJ", "EGamma", "kGAx", "kGAy", "mass_per_length")
TUPLES = (("centroid", 2), ("shear_centre", 2), ("mass_centroid", 2), ("inertia_per_length", 3))

STRAINS = ("shear x", "shear y", "axial", "bending x", "bending y", "torsion", "secondary torsion", "warping")


def _named(kind: str, name: object) -> str:
    return f'{kind} "{checks.text(kind, "name", name, OutlineError)}"'


def _ring(where: str, field: str, value: object) -> Ring:
    """Points as a tuple of pairs; whether they bound an area is for `check`, which names the point in mm."""
    points = checks.each(where, field, value, OutlineError)
    if all(type(p) is tuple and len(p) == 2 and type(p[0]) is type(p[1]) is float for p in points):
        return points
    made = []
    for i, point in enumerate(points):
        items = checks.each(where, f"{field}[{i}]", point, OutlineError)
        if len(items) != 2 or any(isinstance(v, str | bool) for v in items):
            raise OutlineError(
                f"{where}: {field}[{i}] = {checks.shown(point)} must be two numbers", hint="x and y [m]"
            )
        try:
            made.append((float(items[0]), float(items[1])))
        except (TypeError, ValueError):
            raise OutlineError(
                f"{where}: {field}[{i}] = {checks.shown(point)} must be two numbers", hint="x and y [m]"
            ) from None
    return tuple(made)


def _rings(where: str, field: str, value: object) -> tuple[Ring, ...]:
    rings = checks.each(where, field, value, OutlineError)
    return tuple(_ring(where, f"{field}[{i}]", ring) for i, ring in enumerate(rings))


def _polygons(name: str, given: object) -> list[Polygon]:
    """Polygons with their outer edge counter-clockwise."""
    faces = list(getattr(given, "geoms", [given] if isinstance(given, Polygon) else [])) or given
    if not isinstance(faces, list | tuple) or not faces or not all(isinstance(f, Polygon) for f in faces):
        raise OutlineError(
            f'outline "{name}": {checks.shown(given)} must be a polygon, several of them or a MultiPolygon of shapely'
        )
    if any(f.is_empty for f in faces):
        raise OutlineError(f'outline "{name}": a polygon is empty')
    return [orient(f) for f in faces]


def _scaled(ring: LinearRing, unit: str) -> Ring:
    return tuple(
        (to_si(float(x), unit, "length"), to_si(float(y), unit, "length")) for x, y, *_ in ring.coords[:-1]
    )


def _material(where: str, value: object) -> Material:
    """A material, also by a name of the package's table."""
    if isinstance(value, str):
        return named_material(value)
    checks.instance(where, "material", value, Material, OutlineError)
    return value  # type: ignore[return-value]


def _bond(where: str, value: object) -> Bond:
    """A word or a slip stiffness per area."""
    if isinstance(value, str):
        return checks.one_of(where, "bond", value, checks.words_of(Bond), OutlineError)  # type: ignore[return-value]
    return checks.number(where, "bond", value, OutlineError, least=0.0, infinite=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Insert:
    """A bar or tube that stands inside a cell and is bonded to what surrounds it.

    Parameters
    ----------
    name : str
    ring : Ring
        Its outline [m].
    material : Material
    bore : Ring
        A hole in it; empty for a solid bar.

    Examples
    --------
    >>> Insert(name="rod", ring=((0, 0), (0.01, 0), (0.01, 0.01), (0, 0.01)), material=named_material("steel")).bore
    ()
    """

    name: str
    ring: Ring
    material: Material
    bore: Ring = ()

    def __post_init__(self) -> None:
        where = _named("insert", self.name)
        checks.frozen(
            self,
            material=_material(where, self.material),
            ring=_ring(where, "ring", self.ring),
            bore=_ring(where, "bore", self.bore),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """What stands in a cell.

    Parameters
    ----------
    material : Material or str
        A name is one of the package's table.
    bond : {"bonded", "sliding"} or float
        Hold at the wall; a number is a slip stiffness per area [N/m³].
    bores : tuple of Ring
        Holes left free in the fill [m].
    inserts : tuple of Insert
        Bars or tubes embedded in the fill.

    Examples
    --------
    >>> Fill(material="mineral casting", bond="sliding").bond
    'sliding'
    """

    material: Material
    bond: Bond = "bonded"
    bores: tuple[Ring, ...] = ()
    inserts: tuple[Insert, ...] = ()

    def __post_init__(self) -> None:
        where = "fill"
        material = _material(where, self.material)
        inserts = checks.each(where, "inserts", self.inserts, OutlineError)
        for insert in inserts:
            checks.instance(where, "inserts", insert, Insert, OutlineError)
        checks.frozen(
            self,
            material=material,
            bond=_bond(f"{where} of {material.name}", self.bond),
            bores=_rings(where, "bores", self.bores),
            inserts=inserts,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A hollow of the section, empty or filled.

    Parameters
    ----------
    name : str
    ring : Ring
        Its outline: the inner edge of the walls around it [m].
    fill : Fill, optional
        None for an empty cell.

    Examples
    --------
    >>> Cell(name="inside", ring=((0, 0), (0.05, 0), (0.05, 0.03), (0, 0.03))).fill is None
    True
    """

    name: str
    ring: Ring
    fill: Fill | None = None

    def __post_init__(self) -> None:
        where = _named("cell", self.name)
        if self.fill is not None:
            checks.instance(where, "fill", self.fill, Fill, OutlineError)
        checks.frozen(self, ring=_ring(where, "ring", self.ring))


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """Solid material of the section: one closed ring with holes.

    Parameters
    ----------
    name : str
    material : Material or str
        A name is one of the package's table.
    ring : Ring
        Outer edge [m].
    holes : tuple of Ring
        Inner edges [m].

    Examples
    --------
    >>> Wall(name="wall", material="steel", ring=((0, 0), (0.05, 0), (0.05, 0.03), (0, 0.03))).material.nu
    0.3
    """

    name: str
    material: Material
    ring: Ring
    holes: tuple[Ring, ...] = ()

    def __post_init__(self) -> None:
        where = _named("wall", self.name)
        checks.frozen(
            self,
            material=_material(where, self.material),
            ring=_ring(where, "ring", self.ring),
            holes=_rings(where, "holes", self.holes),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """The end face of a member: walls that touch or share edges, and the cells between them.

    Rings are open lists of points (the last point is not the first one again), in metres.

    Parameters
    ----------
    name : str
    walls : tuple of Wall
        Bonded to each other where they share an edge.
    cells : tuple of Cell
        Every hollow that has a name. A hollow without one is empty.
    max_points : int
        Most points in all rings: a guard against files that would keep a computer busy for hours, at most 100,000.
    seams : tuple of Seam
        Along which some of the walls slip instead of being bonded.

    Examples
    --------
    >>> import strongback as sb
    >>> bar = Outline(name="bar", walls=(Wall(name="wall", material="steel", ring=((0, 0), (0.04, 0), (0.04, 0.02))),))
    >>> round(sb.analyse(bar).stiffness.EA * 1e-6, 6)  # 210 GPa times 400 mm² [MN]
    84.0
    """

    name: str
    walls: tuple[Wall, ...]
    cells: tuple[Cell, ...] = ()
    max_points: int = MAX_POINTS
    seams: tuple[Seam, ...] = ()

    def __post_init__(self) -> None:
        where = _named("outline", self.name)
        walls = checks.each(where, "walls", self.walls, OutlineError)
        cells = checks.each(where, "cells", self.cells, OutlineError)
        for wall in walls:
            checks.instance(where, "walls", wall, Wall, OutlineError)
        for cell in cells:
            checks.instance(where, "cells", cell, Cell, OutlineError)
        most = checks.number(where, "max_points", self.max_points, OutlineError, above=0.0)
        if most > EVER_POINTS:
            raise OutlineError(f"{where}: max_points = {most:g} must be at most {EVER_POINTS:,}")
        seams = checks.each(where, "seams", self.seams, OutlineError)
        for seam in seams:
            checks.instance(where, "seams", seam, Seam, OutlineError)
        checks.frozen(self, walls=walls, cells=cells, max_points=int(most), seams=seams)

    def __repr__(self) -> str:
        points = [point for wall in self.walls for point in wall.ring]
        width, depth = (1e3 * (max(p[k] for p in points) - min(p[k] for p in points)) for k in (0, 1))
        of = ", ".join(dict.fromkeys(wall.material.name for wall in self.walls))
        cells = ", ".join(f"{c.name} of {c.fill.material.name}" if c.fill else c.name for c in self.cells[:6])
        inside = f"; cells: {cells}" if cells else ""
        return f"Outline({self.name!r}: {width:.4g} x {depth:.4g} mm, {of}{inside})"

    @classmethod
    def from_polygon(
        cls,
        polygon: object,
        material: str | Material | Sequence[str | Material],
        *,
        unit: str = "mm",
        name: str = "outline",
        max_points: int = MAX_POINTS,
    ) -> Outline:
        """An outline from polygons of shapely.

        Parameters
        ----------
        polygon : shapely.Polygon, shapely.MultiPolygon or sequence of Polygon
            One wall for each; polygons that lie in the hollow of another are walls of their own.
        material : str, Material or sequence of these
            A name of the package's table or a value; one for all, or one for each polygon.
        unit : str
            Of the coordinates.
        name : str
        max_points : int
            Most points in all rings.

        Returns
        -------
        Outline
            Hollows that no polygon fills are empty cells, ``"inside"`` if there is one, else ``"cell 1"`` and so on.

        Raises
        ------
        OutlineError
            If it is no polygon, or the materials do not match.
        MaterialError, UnitError
            If a name is not known.

        Examples
        --------
        >>> from shapely.geometry import box
        >>> tube = Outline.from_polygon(box(0, 0, 80, 60).difference(box(3, 3, 77, 57)), "steel", unit="mm")
        >>> [cell.name for cell in tube.cells], tube.walls[0].ring[0]
        (['inside'], (0.0, 0.0))
        """
        faces = _polygons(name, polygon)
        of: list[str | Material] = (
            [material] * len(faces) if isinstance(material, str | Material) else list(material)
        )
        if len(of) != len(faces):
            raise OutlineError(f'outline "{name}": {len(faces)} polygons, {len(of)} materials')
        walls, hollows = [], []
        for i, (face, what) in enumerate(zip(faces, of, strict=True)):
            rings = [_scaled(ring, unit) for ring in (face.exterior, *face.interiors)]
            others = unary_union([f for k, f in enumerate(faces) if k != i])
            hollows += [
                ring
                for ring, hole in zip(rings[1:], face.interiors, strict=True)
                if Polygon(hole).intersection(others).area < 0.5 * Polygon(hole).area
            ]
            walls.append(
                Wall(
                    name="wall" if len(faces) == 1 else f"wall {i + 1}",
                    material=named_material(what) if isinstance(what, str) else what,
                    ring=rings[0],
                    holes=tuple(rings[1:]),
                )
            )
        names = ["inside"] if len(hollows) == 1 else [f"cell {k + 1}" for k in range(len(hollows))]
        cells = tuple(Cell(name=n, ring=ring) for n, ring in zip(names, hollows, strict=True))
        return cls(name=name, walls=tuple(walls), cells=cells, max_points=max_points)

    def with_fill(
        self, cell: str, fill: Fill | Material | str | None, *, bond: Bond | None = None
    ) -> Outline:
        """The outline with another fill in a cell, or none.

        Parameters
        ----------
        cell : str
        fill : Fill, Material, str or None
            A material, also by a name of the package's table, fills all of the cell; None empties it.
        bond : {"bonded", "sliding"} or float, optional
            Hold at the wall; a number is a slip stiffness per area [N/m³]. Default: that of a `Fill`, else ``"bonded"``.

        Returns
        -------
        Outline

        Raises
        ------
        OutlineError
            If there is no cell of that name.

        Examples
        --------
        >>> from shapely.geometry import box
        >>> tube = Outline.from_polygon(box(0, 0, 80, 60).difference(box(3, 3, 77, 57)), "steel", unit="mm")
        >>> tube.with_fill("inside", "mineral casting").cells[0].fill.material.E
        35000000000.0
        """
        names = [c.name for c in self.cells]
        if cell not in names:
            raise OutlineError(
                f'outline "{self.name}" has no cell "{cell}"', hint=checks.nearest(cell, names, "cells")
            )
        if isinstance(fill, Material | str):
            fill = Fill(material=_material("fill", fill))
        if fill is not None and bond is not None:
            fill = replace(fill, bond=bond)
        cells = tuple(replace(c, fill=fill) if c.name == cell else c for c in self.cells)
        return replace(self, cells=cells)

    def to_polygon(self, unit: str = "mm") -> MultiPolygon:
        """Walls as polygons of shapely, in their order; fills are left out.

        Parameters
        ----------
        unit : str
            Of the coordinates.

        Returns
        -------
        shapely.MultiPolygon

        Examples
        --------
        >>> from shapely.geometry import box
        >>> Outline.from_polygon(box(0, 0, 80, 60), "steel").to_polygon().area
        4800.0
        """
        per = 1.0 / to_si(1.0, unit, "length")
        return MultiPolygon(
            [
                (
                    [(x * per, y * per) for x, y in wall.ring],
                    [[(x * per, y * per) for x, y in hole] for hole in wall.holes],
                )
                for wall in self.walls
            ]
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionMesh:
    """Six-node triangles over a section.

    Parameters
    ----------
    nodes : ndarray, shape (nodes, 2)
        [m]
    triangles : ndarray of int, shape (triangles, 6)
        Corners 0, 1, 2 counter-clockwise, then the middles of edges 01, 12, 20.
    region : ndarray of int, shape (triangles,)
        Index into `materials` and `parts`.
    materials : tuple of Material
        Material of each region.
    parts : tuple of str
        What each region is: ``"wall"`` or ``"fill <cell>"`` or ``"insert <name>"``.
    mesher : str
        Which mesher made it.
    """

    nodes: NDArray[np.float64]
    triangles: NDArray[np.int64]
    region: NDArray[np.int64]
    materials: tuple[Material, ...]
    parts: tuple[str, ...]
    mesher: str

    def __post_init__(self) -> None:
        for array in (self.nodes, self.triangles, self.region):
            array.setflags(write=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionStiffness:
    """Stiffness of a section, named by what it resists; SI throughout.

    Parameters
    ----------
    name : str
    EA : float
        Axial stiffness [N].
    EIx, EIy, EIxy : float
        Bending stiffness about the centroid: integrals of E y², E x², E x y [N m²].
    GJ : float
        Torsion stiffness, weighted by the shear modulus [N m²].
    EGamma : float
        Warping stiffness about the shear centre [N m⁴].
    kGAx, kGAy : float
        Shear stiffness for a force along x, y: inverse of the diagonal of the shear compliance [N].
    centroid, shear_centre : tuple of float
        In the axes of the drawing [m].
    mass_per_length : float
        [kg/m]
    mass_centroid : tuple of float
        [m]
    inertia_per_length : tuple of float
        Integrals of rho y², rho x², rho x y about the mass centroid [kg m].
    matrix : tuple, 8 x 8
        Forces from strains at the origin of the drawing, in the order of `STRAINS`; what slips is bonded in it.
    slips : tuple of Slip
        Motions along the member of parts of the section.

    Examples
    --------
    >>> bar = stiffness_from_constants(name="bar", EA=7e8, EIx=4.0, EIy=3.0, GJ=2.0, kGAx=1e8, kGAy=1e8)
    >>> bar.matrix[3][3]
    4.0
    """

    ONLY: ClassVar[Telling] = (
        ("name", "name"),
        ("EA_N", "EA"),
        ("EIx_N_m2", "EIx"),
        ("EIy_N_m2", "EIy"),
        ("EIxy_N_m2", "EIxy"),
        ("GJ_N_m2", "GJ"),
        ("EGamma_N_m4", "EGamma"),
        ("kGAx_N", "kGAx"),
        ("kGAy_N", "kGAy"),
        ("centroid_m", "centroid"),
        ("shear_centre_m", "shear_centre"),
        ("mass_per_length_kg_per_m", "mass_per_length"),
    )

    name: str
    EA: float
    EIx: float
    EIy: float
    EIxy: float
    GJ: float
    EGamma: float
    kGAx: float
    kGAy: float
    centroid: Point2
    shear_centre: Point2
    mass_per_length: float
    mass_centroid: Point2
    inertia_per_length: tuple[float, float, float]
    matrix: Matrix
    slips: tuple[Slip, ...] = ()

    def __post_init__(self) -> None:
        where = _named("section", self.name)
        single = {key: checks.number(where, key, getattr(self, key), OutlineError) for key in SCALARS}
        points = {key: checks.numbers(where, key, getattr(self, key), n, OutlineError) for key, n in TUPLES}
        rows = [tuple(row) for row in self.matrix]
        if [len(row) for row in rows] != [8] * 8 or not all(math.isfinite(v) for row in rows for v in row):
            raise OutlineError(f"{where}: matrix must be 8 x 8 finite numbers")
        for slip in checks.each(where, "slips", self.slips, OutlineError):
            checks.instance(where, "slips", slip, Slip, OutlineError)
        checks.frozen(self, matrix=tuple(rows), slips=tuple(self.slips), **single, **points)


def stiffness_from_constants(
    *,
    name: str,
    EA: float,
    EIx: float,
    EIy: float,
    GJ: float,
    kGAx: float,
    kGAy: float,
    EIxy: float = 0.0,
    EGamma: float = 0.0,
    centroid: Point2 = (0.0, 0.0),
    shear_centre: Point2 = (0.0, 0.0),
    shear_compliance: NDArray[np.float64] | None = None,
    mass_per_length: float = 0.0,
    mass_centroid: Point2 | None = None,
    inertia_per_length: tuple[float, float, float] = (0.0, 0.0, 0.0),
) -> SectionStiffness:
    """Stiffness of a section from its constants, without coupling by Poisson's ratio.

    Parameters
    ----------
    name : str
    EA, EIx, EIy, GJ, kGAx, kGAy, EIxy, EGamma : float
        As in `SectionStiffness`.
    centroid, shear_centre : tuple of float
        [m]
    shear_compliance : ndarray, shape (3, 3), optional
        gamma_x [1/N], gamma_y [1/N], gamma_w [1/(N m²)] at the shear centre from Vx, Vy, T2, with the coupling
        between them. Default: diagonal, and warping that follows the twist (no secondary torsion compliance).
    mass_per_length : float
        [kg/m]
    mass_centroid : tuple of float, optional
        Default: the centroid [m].
    inertia_per_length : tuple of float
        [kg m]

    Returns
    -------
    SectionStiffness

    Examples
    --------
    >>> bar = stiffness_from_constants(name="bar", EA=7e8, EIx=4.0, EIy=3.0, GJ=2.0, kGAx=1e8, kGAy=1e8)
    >>> bar.matrix[5][5]
    2.0
    """
    compliance = constants.diagonal_shear(kGAx, kGAy, GJ) if shear_compliance is None else shear_compliance
    matrix = constants.assemble(EA, (EIx, EIy, EIxy), GJ, EGamma, compliance, centroid, shear_centre)
    return SectionStiffness(
        name=name,
        EA=float(EA),
        EIx=float(EIx),
        EIy=float(EIy),
        EIxy=float(EIxy),
        GJ=float(GJ),
        EGamma=float(EGamma),
        kGAx=float(kGAx),
        kGAy=float(kGAy),
        centroid=centroid,
        shear_centre=shear_centre,
        mass_per_length=float(mass_per_length),
        mass_centroid=centroid if mass_centroid is None else mass_centroid,
        inertia_per_length=inertia_per_length,
        matrix=tuple(tuple(float(v) for v in row) for row in matrix),
    )
