"""Every table that a project file may hold, key by key, with the words that docs/file.md prints for it.

Shapes, units and limits of single keys stand here and in the two modules beside it; what refers to what is checked where
values are built.
"""

from __future__ import annotations

import math
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field

from strongback.machine.room import Operator
from strongback.project.quantities import (
    Direction,
    FilePath,
    Length,
    Name,
    Point3,
    Words,
    fail,
    quantity,
    vector,
)
from strongback.project.schema_joints import JointTable, SupportTable
from strongback.project.schema_plates import Cap, DiaphragmTable, FootTable
from strongback.project.schema_sections import MOST_CELLS, SectionTable
from strongback.project.tables import LengthTable, Table

__all__ = [
    "TABLES",
    "BlockTable",
    "FactorTable",
    "GaugeTable",
    "MachineTable",
    "MassTable",
    "MaterialTable",
    "MemberTable",
    "PadTable",
    "PlaceTable",
    "PullTable",
    "SpanTable",
    "TravelTable",
]

STRONGEST = 1e7  # [N] or [N m]
Share = Annotated[float, quantity("number", least=0.0)]


class MachineTable(Table):
    """``[machine]``: the machine as a whole."""

    name: Annotated[Name, Field(description="name of the machine")]
    note: Annotated[
        Words, Field(description="anything the reader should know, such as where data come from")
    ] = ""
    operator: Annotated[
        Operator,
        Field(
            description='side on which the operator stands: "-y", "+y", "-x" or "+x"; words and pictures say left and '
            "right as seen from there"
        ),
    ] = "-y"
    units: Annotated[
        Literal["mm", "inch"],
        Field(
            description='units of what is printed and drawn: "mm" (µm, N, mm) or "inch" (thou, lbf, in); JSON stays SI'
        ),
    ] = "mm"
    correlation: Annotated[
        FilePath | None,
        Field(description="table of the correlation between stiffnesses, as a calibration writes it"),
    ] = None


class MaterialTable(Table):
    """``[[material]]``: a material of your own."""

    name: Annotated[Name, Field(description="how sections and fills call it")]
    E: Annotated[float, quantity("pressure", above=0.0, below=1e13), Field(description="Young's modulus")]
    E_range: Annotated[
        tuple[float, float] | None,
        vector("pressure", 2, above=0.0),
        Field(description="lowest and highest Young's modulus to be expected"),
    ] = None
    nu: Annotated[
        float, quantity("number", above=-1.0, below=0.5), Field(description="Poisson's ratio, a bare number")
    ]
    density: Annotated[float, quantity("density", above=0.0, below=1e5), Field(description="mass per volume")]
    expansion: Annotated[
        float, quantity("expansion"), Field(description='thermal expansion, such as "23 um/m/K"')
    ] = 0.0
    loss_factor: Annotated[Share, Field(description="loss factor of the material itself, a bare number")] = (
        0.0
    )
    source: Annotated[Words, Field(description='where the figures come from; "a guess" is a source too')]


def _rest(value: Any, info: Any) -> float:
    return math.nan if value == "rest" else quantity("length", above=0.0).func(value, info)


class SpanTable(LengthTable):
    """``[[member.span]]``: a length of a member with one section, such as the filled foot of a column."""

    section: Annotated[Name, Field(description="name of a section")]
    length: Annotated[
        float, BeforeValidator(_rest), Field(description='along the member; "rest" for what is left, once')
    ]


class FactorRange(Table):
    """A factor with its range: ``{ value = 0.95, low = 0.88, high = 1.03 }``."""

    value: Annotated[float, quantity("number", above=0.0), Field(description="best guess")] = 1.0
    low: Annotated[
        float | None, quantity("number", above=0.0), Field(description="lowest factor to be expected")
    ] = None
    high: Annotated[
        float | None, quantity("number", above=0.0), Field(description="highest factor to be expected")
    ] = None


def _as_range(value: Any) -> Any:
    return value if isinstance(value, dict) else {"value": value}


Factor = Annotated[FactorRange, BeforeValidator(_as_range)]
ONE = FactorRange.model_construct(value=1.0, low=None, high=None)


class FactorTable(Table):
    """``[member.factor]``: multipliers on the computed stiffness, as a calibration finds them."""

    bending: Annotated[Factor, Field(description="on bending in both planes")] = ONE
    torsion: Annotated[Factor, Field(description="on torsion")] = ONE
    shear: Annotated[Factor, Field(description="on shear")] = ONE
    axial: Annotated[Factor, Field(description="on stretching")] = ONE
    warping: Annotated[Factor, Field(description="on warping")] = ONE
    wall: Annotated[Factor, Field(description="on a body, without the contact under its pads")] = ONE
    contact: Annotated[Factor, Field(description="on the contact under the pads of a body")] = ONE


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
        Literal["auto", "beam", "body"],
        Field(
            description='"auto": a "body", whose walls can give, where a joint bears on them through a pad, else a "beam"'
        ),
    ] = "auto"
    cap: Annotated[Cap, Field(description="plate on the last end of a body: its thickness, or a table")] = (
        None
    )
    foot: Annotated[FootTable | None, Field(description="plate under the first end of a body, on bolts")] = (
        None
    )
    diaphragm: Annotated[
        list[DiaphragmTable],
        Field(default_factory=list, max_length=MOST_CELLS, description="plates inside the hollows of a body"),
    ]
    factor: Annotated[FactorTable, Field(description="multipliers on the computed stiffness")] = FactorTable()


class BlockTable(LengthTable):
    """``[[block]]``: a part that moves as one, such as a table or a head casting."""

    name: Annotated[Name, Field(description="how joints, pulls and results call it")]
    at: Annotated[Point3, Field(description="its reference point, such as the middle of it")]


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
        float | None,
        quantity("stiffness per area", above=0.0),
        Field(
            description='contact stiffness per area, such as "150 N/mm^3"; default: that of the kind of joint that names it'
        ),
    ] = None
    tangential: Annotated[
        Share | None,
        Field(description="the same along the wall, as a fraction of it; default: as of the joint, else 0.5"),
    ] = None
    within_joint: Annotated[
        bool, Field(description="whether it holds the contact of its joint, which then has the rest alone")
    ] = False


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
        else:
            found = (quantity(dimension).func(value, info),)
        if max(map(abs, found)) > STRONGEST:
            fail("must be a load that a person can apply", "check the unit")
        return found

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
    stays: Annotated[
        list[Name],
        Field(
            default_factory=list,
            description="joints that keep their place, such as the bore in which a quill slides",
        ),
    ]


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
