"""Every table that a project file may hold, key by key, with the words that FORMAT.md prints for it.

Shapes, units and limits of single keys stand here; what refers to what is checked where values are built.
"""

from __future__ import annotations

import math
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field

from strongback.errors import UnitError
from strongback.project.quantities import (
    Direction,
    FilePath,
    Length,
    Name,
    Point2,
    Point3,
    RadiusPoint,
    Words,
    fail,
    quantity,
    vector,
)
from strongback.project.source import nearest
from strongback.project.tables import LengthTable, Table
from strongback.units import parse

__all__ = [
    "COMPONENT_KEYS",
    "TABLES",
    "BlockTable",
    "CellTable",
    "FactorTable",
    "GaugeTable",
    "HolderTable",
    "HoleTable",
    "InsertTable",
    "JointTable",
    "MachineTable",
    "MassTable",
    "MaterialTable",
    "MemberTable",
    "PadTable",
    "PlaceTable",
    "PullTable",
    "SectionTable",
    "SpanTable",
    "SpringTable",
    "StiffnessTable",
    "SupportTable",
    "TravelTable",
    "WallTable",
]

Thickness = Annotated[float, quantity("length", above=0.0)]
Radius = Annotated[float, quantity("length", least=0.0)]
MOST_POINTS = 2_000
MOST_CELLS = 100
Ring = Annotated[list[RadiusPoint], Field(min_length=3, max_length=MOST_POINTS)]
Share = Annotated[float, quantity("number", least=0.0)]


class MachineTable(Table):
    """``[machine]``: the machine as a whole."""

    name: Annotated[Name, Field(description="name of the machine")]
    note: Annotated[
        Words, Field(description="anything the reader should know, such as where data come from")
    ] = ""


class MaterialTable(Table):
    """``[[material]]``: a material of your own."""

    name: Annotated[Name, Field(description="how sections and fills call it")]
    E: Annotated[float, quantity("pressure", above=0.0), Field(description="Young's modulus")]
    E_range: Annotated[
        tuple[float, float] | None,
        vector("pressure", 2, above=0.0),
        Field(description="lowest and highest Young's modulus to be expected"),
    ] = None
    nu: Annotated[
        float, quantity("number", above=-1.0, below=0.5), Field(description="Poisson's ratio, a bare number")
    ]
    density: Annotated[float, quantity("density", above=0.0), Field(description="mass per volume")]
    expansion: Annotated[
        float, quantity("expansion"), Field(description='thermal expansion, such as "23 um/m/K"')
    ] = 0.0
    loss_factor: Annotated[Share, Field(description="loss factor of the material itself, a bare number")] = (
        0.0
    )
    source: Annotated[Words, Field(description='where the figures come from; "a guess" is a source too')]


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


def _origin(value: Any, info: Any) -> Any:
    if value in ("drawing", "centroid"):
        return value
    if isinstance(value, str) and "," not in value:
        fail('must be "drawing", "centroid" or a point', 'such as origin = "40, 60 mm"')
    return vector("length", 2).func(value, info)


class SectionTable(LengthTable):
    """``[[section]]``: the end face of a member, by one of file, points, midline, shape, wall, like or stiffness."""

    shares_unit: ClassVar[tuple[str, ...]] = ("cell", "wall")
    name: Annotated[Name, Field(description="how members call it")]
    material: Annotated[Name | None, Field(description="material of the walls")] = None
    file: Annotated[
        FilePath | None, Field(description="table of rings: columns ring, x, y and, if wanted, radius")
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
    thickness: Annotated[Thickness | None, Field(description="of the wall: with midline, or with a tube")] = (
        None
    )
    closed: Annotated[bool, Field(description="with midline: true joins the last point to the first")] = False
    radius: Annotated[
        Radius, Field(description="of every corner (of the midline, or of points without their own)")
    ] = 0.0
    shape: Annotated[
        Literal["rectangle", "circle", "rectangular tube", "round tube"] | None,
        Field(description="a plain shape, centred on the origin of the drawing"),
    ] = None
    width: Annotated[Thickness | None, Field(description="of a rectangle or its tube, along x, outside")] = (
        None
    )
    depth: Annotated[Thickness | None, Field(description="of a rectangle or its tube, along y, outside")] = (
        None
    )
    diameter: Annotated[Thickness | None, Field(description="of a circle or round tube, outside")] = None
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
    wall: Annotated[
        list[WallTable],
        Field(
            default_factory=list,
            max_length=MOST_CELLS,
            description="several walls, for more than one material",
        ),
    ]
    cell: Annotated[
        list[CellTable], Field(default_factory=list, max_length=MOST_CELLS, description="hollows")
    ]
    stiffness: Annotated[StiffnessTable | None, Field(description="stiffness values that are known")] = None


def _rest(value: Any, info: Any) -> float:
    return math.nan if value == "rest" else quantity("length", above=0.0).func(value, info)


class SpanTable(LengthTable):
    """``[[member.span]]``: a length of a member with one section, such as the filled foot of a column."""

    section: Annotated[Name, Field(description="name of a section")]
    length: Annotated[
        float, BeforeValidator(_rest), Field(description='along the member; "rest" for what is left, once')
    ]


class FactorTable(Table):
    """``[member.factor]``: multipliers on the computed stiffness, as a calibration finds them."""

    bending: Annotated[
        float, quantity("number", above=0.0), Field(description="on bending in both planes")
    ] = 1.0
    torsion: Annotated[float, quantity("number", above=0.0), Field(description="on torsion")] = 1.0
    shear: Annotated[float, quantity("number", above=0.0), Field(description="on shear")] = 1.0
    axial: Annotated[float, quantity("number", above=0.0), Field(description="on stretching")] = 1.0
    warping: Annotated[float, quantity("number", above=0.0), Field(description="on warping")] = 1.0
    wall: Annotated[float, quantity("number", above=0.0), Field(description="on the walls of a body")] = 1.0


End = Literal["held", "free", "joined"]


class MemberTable(LengthTable):
    """``[[member]]``: an elastic part, a line of sections from start to end."""

    shares_unit: ClassVar[tuple[str, ...]] = ("span",)
    name: Annotated[Name, Field(description="how joints, pulls and results call it")]
    start: Annotated[Point3, Field(description="where the origin of the section stands at the first end")]
    end: Annotated[Point3, Field(description="the same at the last end")]
    x_axis: Annotated[
        Direction, Field(description="direction in the machine of the x axis of the section's drawing")
    ]
    section: Annotated[Name | None, Field(description="section of the whole member")] = None
    span: Annotated[
        list[SpanTable],
        Field(
            default_factory=list,
            max_length=MOST_CELLS,
            description="several sections along it, from start to end",
        ),
    ]
    warping: Annotated[
        list[End],
        Field(
            default_factory=lambda: ["free", "free"],
            min_length=2,
            max_length=2,
            description='end faces at start and end: "held" plane, "free", or "joined" to the next member',
        ),
    ]
    model: Annotated[
        Literal["beam", "body"], Field(description='"beam", or "body" whose walls can give (slower)')
    ] = "beam"
    factor: Annotated[FactorTable, Field(description="multipliers on the computed stiffness")] = FactorTable()


class BlockTable(LengthTable):
    """``[[block]]``: a part that moves as one, such as a table or a head casting."""

    name: Annotated[Name, Field(description="how joints, pulls and results call it")]
    at: Annotated[Point3, Field(description="its reference point, such as the middle of it")]


def _spring(dimension: str) -> Any:
    def convert(value: Any) -> float | None:
        if value in ("rigid", "free"):
            return math.inf if value == "rigid" else 0.0
        if not isinstance(value, str) or not any(c.isdigit() for c in value):
            near = nearest(value, ("rigid", "free")) if isinstance(value, str) else ""
            hint = near if near.startswith("did") else f"write a {dimension} in quotes with its unit"
            fail('must be a stiffness, "rigid" or "free"', hint)
        try:
            found = parse(value, dimension)
        except UnitError as error:
            fail(error.message, error.hint)
        if not found > 0.0:
            fail("must be above 0", 'write "free" for a component that holds nothing')
        return found

    return BeforeValidator(convert)


class SpringTable(Table):
    """A stiffness with its range: ``{ value = "200 N/um", low = "80 N/um", high = "500 N/um" }``."""

    value: Annotated[
        float | None, Field(description="best guess; default: the geometric middle of low and high")
    ] = None
    low: Annotated[float | None, Field(description="lowest value to be expected")] = None
    high: Annotated[float | None, Field(description="highest value to be expected")] = None


class AlongTable(SpringTable):
    """Stiffness along an axis, such as ``"200 N/um"``."""

    value: Annotated[float | None, _spring("stiffness")] = None
    low: Annotated[float | None, quantity("stiffness", above=0.0)] = None
    high: Annotated[float | None, quantity("stiffness", above=0.0)] = None


class AboutTable(SpringTable):
    """Stiffness about an axis, such as ``"2e5 N*m/rad"``."""

    value: Annotated[float | None, _spring("rotational stiffness")] = None
    low: Annotated[float | None, quantity("rotational stiffness", above=0.0)] = None
    high: Annotated[float | None, quantity("rotational stiffness", above=0.0)] = None


def _as_table(value: Any) -> Any:
    return value if isinstance(value, dict) else {"value": value}


Along = Annotated[AlongTable | None, BeforeValidator(_as_table)]
About = Annotated[AboutTable | None, BeforeValidator(_as_table)]

COMPONENT_KEYS = ("along_x", "along_y", "along_z", "about_x", "about_y", "about_z")


class HolderTable(LengthTable):
    """What joints and supports share: six springs at a point."""

    name: Annotated[Name, Field(description="how results call it")]
    at: Annotated[Point3, Field(description="where the springs act, such as the middle of the contact face")]
    along_x: Annotated[
        Along, Field(description='stiffness along x of the joint: a number, "rigid", "free", a range')
    ] = None
    along_y: Annotated[Along, Field(description="the same along y")] = None
    along_z: Annotated[Along, Field(description="the same along z")] = None
    about_x: Annotated[About, Field(description="stiffness against turning about x of the joint (nod)")] = (
        None
    )
    about_y: Annotated[About, Field(description="the same about y (roll)")] = None
    about_z: Annotated[About, Field(description="the same about z (yaw, twist)")] = None
    along: Annotated[Along, Field(description="for each of along_x, along_y, along_z that is not given")] = (
        None
    )
    about: Annotated[About, Field(description="for each of about_x, about_y, about_z that is not given")] = (
        None
    )
    x_axis: Annotated[Direction, Field(description="direction of the joint's own x axis")] = (1.0, 0.0, 0.0)
    y_axis: Annotated[Direction, Field(description="direction of its y axis, at right angles to x")] = (
        0.0,
        1.0,
        0.0,
    )
    loss_factor: Annotated[Share, Field(description="damping of the joint, a bare number")] = 0.0
    source: Annotated[
        Words, Field(description='where the stiffness comes from, such as "common practice, no source"')
    ] = ""


class JointTable(HolderTable):
    """``[[joint]]``: two parts held together by six springs."""

    parts: Annotated[list[Name], Field(min_length=2, max_length=2, description="names of the two parts")]
    pad: Annotated[Name, Field(description="pad through which it meets a member that is a body")] = ""


class SupportTable(HolderTable):
    """``[[support]]``: a part held to the ground by six springs."""

    part: Annotated[Name, Field(description="name of the part")]


class PadTable(LengthTable):
    """``[[pad]]``: a contact area on the wall of a member that is a body."""

    name: Annotated[Name, Field(description="how joints call it")]
    part: Annotated[Name, Field(description="the member")]
    at: Annotated[Point3, Field(description="centre of the area, on the wall")]
    normal: Annotated[Direction, Field(description="out of the wall")]
    size: Annotated[
        tuple[float, float], vector("length", 2, above=0.0), Field(description="across and along the member")
    ]
    stiffness: Annotated[
        float,
        quantity("stiffness per area", above=0.0),
        Field(description='contact stiffness per area, such as "1000 N/mm^3"'),
    ] = 1e12
    tangential: Annotated[Share, Field(description="the same along the wall, as a fraction of it")] = 0.5


class MassTable(LengthTable):
    """``[[mass]]``: a lumped mass, such as a motor."""

    name: Annotated[Name, Field(description="how results call it")]
    part: Annotated[Name, Field(description="the part that carries it")]
    at: Annotated[Point3, Field(description="centre of mass")]
    mass: Annotated[float, quantity("mass", above=0.0), Field(description='mass, such as "4.2 kg"')]
    inertia: Annotated[
        tuple[float, float, float],
        vector("inertia", 3),
        Field(
            description='about x, y, z of the machine through the centre of mass, such as "0.02, 0.02, 0.01 kg*m^2"'
        ),
    ] = (0.0, 0.0, 0.0)


def _load(dimension: str) -> Any:
    """One number for a direction, or three along the machine's axes."""

    def convert(value: Any, info: Any) -> tuple[float, ...]:
        if isinstance(value, list) or (isinstance(value, str) and "," in value):
            found: tuple[float, ...] = vector(dimension).func(value, info)
            return found
        return (quantity(dimension).func(value, info),)

    return BeforeValidator(convert)


class PullTable(LengthTable):
    """``[[pull]]``: a force or a couple on a part."""

    name: Annotated[Name, Field(description="how results and readings call it")]
    part: Annotated[Name, Field(description="the part that is pulled")]
    at: Annotated[Point3, Field(description="where")]
    force: Annotated[
        tuple[float, ...],
        _load("force"),
        Field(description='"100 N" with direction, or three numbers such as "100, 0, 0 N"'),
    ] = ()
    couple: Annotated[
        tuple[float, ...],
        _load("couple"),
        Field(description='"5 N*m" with direction as its axis, or three numbers'),
    ] = ()
    direction: Annotated[Direction | None, Field(description='"+x", "-z" or three numbers')] = None
    against: Annotated[Name, Field(description='part that takes the reaction, for a jack; else "ground"')] = (
        "ground"
    )


class GaugeTable(LengthTable):
    """``[[gauge]]``: a dial indicator."""

    name: Annotated[Name, Field(description="how results and readings call it")]
    part: Annotated[Name, Field(description="the part that it touches")]
    at: Annotated[Point3, Field(description="the point that it touches")]
    direction: Annotated[
        Direction, Field(description='motion of the part that reads positive: "+y" or three numbers')
    ]
    reference: Annotated[Name, Field(description='part that carries its stand; "ground" for the bench')] = (
        "ground"
    )
    stand: Annotated[
        Point3 | None, Field(description="where the stand sits on it; default: nearest to the point")
    ] = None
    resolution: Annotated[
        float, quantity("length", above=0.0), Field(description='smallest step of its scale, such as "1 um"')
    ] = 1e-6


class PlaceTable(LengthTable):
    """``[tool]`` and ``[work]``: where the cutting edge meets the work, on either side."""

    part: Annotated[Name, Field(description="part that carries the tool, or the work")]
    at: Annotated[Point3, Field(description="the point")]


class TravelTable(LengthTable):
    """``[[travel]]``: parts that move together along a way, for maps of the work space."""

    name: Annotated[Name, Field(description="how results call it")]
    parts: Annotated[
        list[Name], Field(min_length=1, description="the parts that move, with all that hangs on them")
    ]
    direction: Annotated[Direction, Field(description="of the motion")]
    low: Annotated[Length, Field(description="least travel from the place drawn, may be negative")]
    high: Annotated[Length, Field(description="most travel from the place drawn")]


TABLES: dict[str, tuple[type[Table], bool]] = {
    "machine": (MachineTable, False),
    "material": (MaterialTable, True),
    "section": (SectionTable, True),
    "member": (MemberTable, True),
    "block": (BlockTable, True),
    "joint": (JointTable, True),
    "support": (SupportTable, True),
    "pad": (PadTable, True),
    "mass": (MassTable, True),
    "tool": (PlaceTable, False),
    "work": (PlaceTable, False),
    "pull": (PullTable, True),
    "gauge": (GaugeTable, True),
    "travel": (TravelTable, True),
}
"""Top-level tables: model, and whether there is one for each. ``[state]`` holds free words and is read apart."""
