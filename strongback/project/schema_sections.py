"""The tables of a section, key by key, with the words that docs/file.md prints for it."""

from __future__ import annotations

import math
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field

from strongback.errors import UnitError
from strongback.project.quantities import FilePath, Name, Point2, RadiusPoint, Words, fail, quantity, vector
from strongback.project.tables import LengthTable, Table
from strongback.section.values import EVER_POINTS, MAX_POINTS
from strongback.units import parse

__all__ = [
    "MOST_CELLS",
    "CellTable",
    "HoleTable",
    "InsertTable",
    "Radius",
    "Ring",
    "SeamTable",
    "SectionTable",
    "StiffnessTable",
    "StripTable",
    "Thickness",
    "WallTable",
]

Thickness = Annotated[float, quantity("length", above=0.0)]
Radius = Annotated[float, quantity("length", least=0.0)]
MOST_POINTS = 2_000
MOST_CELLS = 100
Ring = Annotated[list[RadiusPoint], Field(min_length=3, max_length=MOST_POINTS)]


class HoleTable(LengthTable):
    """``[[section.cell.bore]]``: a hole left free in the fill; round, or a ring of points."""

    at: Annotated[Point2 | None, Field(description="centre of a round hole")] = None
    diameter: Annotated[Thickness | None, Field(description="of a round hole")] = None
    points: Annotated[Ring | None, Field(description="a hole of any shape, as a ring of points")] = None


class InsertTable(LengthTable):
    """``[[section.cell.insert]]``: a bar or tube embedded in the fill and bonded to it."""

    name: Annotated[Name, Field(description="how results call it")]
    material: Annotated[Name, Field(description="name of a material")]
    at: Annotated[Point2 | None, Field(description="centre of a round bar")] = None
    diameter: Annotated[Thickness | None, Field(description="of a round bar")] = None
    points: Annotated[Ring | None, Field(description="a bar of any shape, as a ring of points")] = None
    bore: Annotated[Thickness | None, Field(description="diameter of the hole of a round tube")] = None


def _bond(value: Any) -> str | float:
    if value in ("bonded", "sliding"):
        return str(value)
    hint = 'write a slip stiffness such as "5 N/mm^3"'
    if not isinstance(value, str) or not any(c.isdigit() for c in value):
        fail('must be "bonded", "sliding" or a stiffness per area', hint)
    try:
        found = parse(value, "stiffness per area")
    except UnitError as error:
        fail(error.message, hint)
    if not found > 0.0:
        fail("must be above 0", 'write "sliding" for a fill that does not hold along the wall')
    return found


class CellTable(LengthTable):
    """``[[section.cell]]``: a hollow of the section, named, empty or filled."""

    shares_unit: ClassVar[tuple[str, ...]] = ("bore", "insert")
    name: Annotated[
        Name, Field(description='of a ring in the file, "inside" of a tube, or a new name with points')
    ]
    points: Annotated[
        Ring | None, Field(description="its outline, if the section does not give it already")
    ] = None
    radius: Annotated[Radius, Field(description="of every corner of `points` that has none of its own")] = 0.0
    fill: Annotated[Name | None, Field(description="material that fills it; leave out for an empty cell")] = (
        None
    )
    bond: Annotated[
        Any,
        BeforeValidator(_bond),
        Field(description='"bonded", "sliding", or slip stiffness per area such as "5 N/mm^3"'),
    ] = "bonded"
    bore: Annotated[
        list[HoleTable],
        Field(default_factory=list, max_length=MOST_CELLS, description="holes left free in the fill"),
    ]
    insert: Annotated[
        list[InsertTable],
        Field(default_factory=list, max_length=MOST_CELLS, description="bars or tubes embedded in the fill"),
    ]


class WallTable(LengthTable):
    """``[[section.wall]]``: one of several walls; walls are bonded where they share an edge."""

    name: Annotated[Name, Field(description="how results call it")]
    material: Annotated[
        Name | None, Field(description="name of a material; default: that of the section")
    ] = None
    ring: Annotated[Name | None, Field(description="ring of the section's file that is its outer edge")] = (
        None
    )
    points: Annotated[Ring | None, Field(description="its outer edge as a ring of points")] = None
    radius: Annotated[Radius, Field(description="of every corner of `points` that has none of its own")] = 0.0
    holes: Annotated[
        list[Ring],
        Field(
            default_factory=list,
            max_length=MOST_CELLS,
            description="rings of holes that are not cells, such as the room for another wall",
        ),
    ]


def _seam(value: Any) -> float:
    hint = 'write shear force per length and slip, all strips together, such as "100 N/mm^2", or "bonded"'
    if value == "bonded":
        return math.inf
    if not isinstance(value, str) or not any(c.isdigit() for c in value):
        fail("must be a stiffness per length", hint)
    try:
        found = parse(value, "pressure")
    except UnitError as error:
        fail(error.message, hint)
    if not found >= 0.0:
        fail("must not be below 0", hint)
    return found


def _held(value: Any) -> list[bool]:
    if not isinstance(value, list) or len(value) != 2 or not all(isinstance(v, bool) for v in value):
        fail("must be two of true and false", "for the start and the end of the member")
    return value


class SeamTable(Table):
    """``[[section.seam]]``: walls that slip along the member on what they touch."""

    name: Annotated[Name, Field(description="how results call it")]
    walls: Annotated[
        list[Name], Field(min_length=1, max_length=MOST_CELLS, description="walls that slip as one")
    ]
    stiffness: Annotated[
        Any,
        BeforeValidator(_seam),
        Field(
            description='shear force per length and slip, all strips of contact together, such as "100 N/mm^2"; '
            '"0 N/mm^2" slides, "bonded" does not slip'
        ),
    ]
    held: Annotated[
        Any,
        BeforeValidator(_held),
        Field(
            description="whether these walls stand on what holds the start and the end of the member, where that is held"
        ),
    ] = (True, True)
    source: Annotated[Words, Field(description="where the stiffness comes from")] = ""


def _numbers(count: int) -> Any:
    """Converter of a list of plain numbers in SI."""

    def convert(value: Any) -> list[float]:
        good = isinstance(value, list) and len(value) == count
        if not good or not all(isinstance(v, int | float) and math.isfinite(v) for v in value):
            fail(f"must be {count} finite numbers in SI")
        return [float(v) for v in value]

    return convert


def _matrix(value: Any) -> list[list[float]] | None:
    if not isinstance(value, list) or len(value) != 8:
        fail("must be 8 rows of 8 finite numbers in SI")
    return [_numbers(8)(row) for row in value]


class StripTable(LengthTable):
    """``[[section.strip]]``: a middle line with its own thickness; strips that run into each other are one wall."""

    points: Annotated[
        list[Point2],
        Field(
            min_length=2,
            max_length=MOST_POINTS,
            description="corners of the middle line; closed if the last is the first",
        ),
    ]
    thickness: Annotated[float, quantity("length", above=0.0), Field(description="of the wall there")]


class StiffnessTable(LengthTable):
    """``[section.stiffness]``: a section whose stiffness is known and not computed."""

    EA: Annotated[
        float, quantity("force", above=0.0), Field(description='axial stiffness, such as "1.1e8 N"')
    ]
    EIx: Annotated[
        float,
        quantity("bending stiffness", above=0.0),
        Field(description="bending about x: integral of E y²"),
    ]
    EIy: Annotated[
        float,
        quantity("bending stiffness", above=0.0),
        Field(description="bending about y: integral of E x²"),
    ]
    EIxy: Annotated[float, quantity("bending stiffness"), Field(description="integral of E x y")] = 0.0
    GJ: Annotated[float, quantity("bending stiffness", above=0.0), Field(description="torsion stiffness")]
    EGamma: Annotated[
        float,
        quantity("warping stiffness", least=0.0),
        Field(description='warping stiffness, such as "40 N*m^4"'),
    ] = 0.0
    kGAx: Annotated[
        float, quantity("force", above=0.0), Field(description="shear stiffness for a force along x")
    ]
    kGAy: Annotated[
        float, quantity("force", above=0.0), Field(description="shear stiffness for a force along y")
    ]
    centroid: Annotated[Point2, Field(description="in the axes of the drawing")] = (0.0, 0.0)
    shear_centre: Annotated[Point2, Field(description="in the axes of the drawing")] = (0.0, 0.0)
    mass_per_length: Annotated[
        float, quantity("mass per length", least=0.0), Field(description="mass per length")
    ] = 0.0
    mass_centroid: Annotated[
        Point2 | None, Field(description="in the axes of the drawing; default: the centroid")
    ] = None
    inertia_per_length: Annotated[
        list[float],
        BeforeValidator(_numbers(3)),
        Field(
            description="of the mass about its centroid, three numbers in kg m: integrals of rho y², rho x², rho x y"
        ),
    ] = [0.0, 0.0, 0.0]  # noqa: RUF012
    matrix: Annotated[
        list[list[float]] | None,
        BeforeValidator(_matrix),
        Field(
            description="all of it, 8 rows of 8 numbers in SI, as a program writes it; what stands above is then for the "
            "reader"
        ),
    ] = None


def _origin(value: Any, info: Any) -> Any:
    if value in ("drawing", "centroid"):
        return value
    if isinstance(value, str) and "," not in value:
        fail('must be "drawing", "centroid" or a point', 'such as origin = "40, 60 mm"')
    return vector("length", 2).func(value, info)


def _most_points(value: Any) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not 3 <= value <= EVER_POINTS:
        fail(f"must be a whole number of points, at most {EVER_POINTS}")
    return value


class SectionTable(LengthTable):
    """``[[section]]``: the end face of a member, by one of file, points, midline, shape, wall, like or stiffness."""

    shares_unit: ClassVar[tuple[str, ...]] = ("cell", "wall", "strip")
    name: Annotated[Name, Field(description="how members call it")]
    material: Annotated[Name | None, Field(description="material of the walls")] = None
    file: Annotated[
        FilePath | None,
        Field(
            description="table of rings: columns ring, x, y and, if wanted, radius; or a drawing that ends in .dxf, .svg, "
            ".geojson or .wkt"
        ),
    ] = None
    chord: Annotated[
        Thickness | None,
        Field(description='of curves in a drawing: "0.05 mm" unless said'),
    ] = None
    layers: Annotated[
        dict[str, Name] | None,
        Field(
            max_length=MOST_CELLS,
            description='of a drawing: layer or colour and its material, or "fill MATERIAL" for what fills a hollow',
        ),
    ] = None
    outer: Annotated[
        Name, Field(description="ring of the file that is the outer edge; every other ring is a cell")
    ] = "outer"
    points: Annotated[Ring | None, Field(description="outer edge: [x, y] or [x, y, corner radius] each")] = (
        None
    )
    midline: Annotated[
        list[Point2] | None,
        Field(min_length=2, max_length=MOST_POINTS, description="corners of the middle line of the wall"),
    ] = None
    thickness: Annotated[
        Thickness | None, Field(description="of the wall: with midline, a tube, an angle or a Z")
    ] = None
    closed: Annotated[bool, Field(description="with midline: true joins the last point to the first")] = False
    radius: Annotated[
        Radius, Field(description="of every corner (of the midline, or of points without their own)")
    ] = 0.0
    shape: Annotated[
        Literal[
            "rectangle",
            "circle",
            "rectangular tube",
            "round tube",
            "hollow section",
            "I",
            "channel",
            "tapered channel",
            "angle",
            "Z",
            "slit tube",
        ]
        | None,
        Field(description="a plain shape by its sizes, see above"),
    ] = None
    width: Annotated[
        Thickness | None, Field(description="of the shape along x, outside; of a Z, of one flange")
    ] = None
    depth: Annotated[Thickness | None, Field(description="of the shape along y, outside")] = None
    diameter: Annotated[Thickness | None, Field(description="of a circle or round tube, outside")] = None
    flange: Annotated[
        Thickness | None, Field(description="thickness of the flanges of an I or a channel")
    ] = None
    web: Annotated[Thickness | None, Field(description="thickness of the web of an I or a channel")] = None
    root_radius: Annotated[
        Radius, Field(description="between web and flange of an I or a tapered channel")
    ] = 0.0
    toe_radius: Annotated[Radius, Field(description="at the toes of the flanges of a tapered channel")] = 0.0
    slit: Annotated[Thickness | None, Field(description="width of the slit of a slit tube, at +x")] = None
    finish: Annotated[
        Literal["hot", "cold"] | None,
        Field(description='of a hollow section: "hot" finished or "cold" formed, for its corners'),
    ] = None
    outer_radius: Annotated[Radius, Field(description="of the corners of a rectangular tube, outside")] = 0.0
    inner_radius: Annotated[Radius, Field(description="of the corners of a rectangular tube, inside")] = 0.0
    like: Annotated[
        Name | None,
        Field(description="an earlier section with the same walls; cells given here replace its own"),
    ] = None
    origin: Annotated[
        Any,
        BeforeValidator(_origin),
        Field(
            description='what runs along the member: "drawing" (its 0, 0), "centroid" (of the walls), or a point'
        ),
    ] = "drawing"
    max_points: Annotated[
        int,
        BeforeValidator(_most_points),
        Field(description="most points in all its rings, for outlines of many holes; at most 100000"),
    ] = MAX_POINTS
    wall: Annotated[
        list[WallTable],
        Field(
            default_factory=list,
            max_length=MOST_CELLS,
            description="several walls, for more than one material",
        ),
    ]
    strip: Annotated[
        list[StripTable],
        Field(
            default_factory=list,
            max_length=MOST_CELLS,
            description="middle lines with a thickness each: skins, webs and ribs",
        ),
    ]
    cell: Annotated[
        list[CellTable], Field(default_factory=list, max_length=MOST_CELLS, description="hollows")
    ]
    seam: Annotated[
        list[SeamTable],
        Field(
            default_factory=list,
            max_length=MOST_CELLS,
            description="where walls slip instead of being bonded",
        ),
    ]
    stiffness: Annotated[StiffnessTable | None, Field(description="stiffness values that are known")] = None
