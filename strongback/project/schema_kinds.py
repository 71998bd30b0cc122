"""The tables of the joint library, key by key, with the words that docs/file.md prints for them.

A kind is described by what one sees and can measure: where its face looks, where it slides, where the nose points, sizes,
bolts. Its own axes follow from that.
"""

from __future__ import annotations

import math
import re
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field

from strongback.project.quantities import Direction, Name, Point2, Point3, fail, quantity, vector
from strongback.project.schema_sections import MOST_CELLS, Thickness
from strongback.project.springs_schema import AlongTable, as_spring
from strongback.project.tables import LengthTable

__all__ = [
    "AngleBracketTable",
    "BallScrewTable",
    "BearingTable",
    "BenchTable",
    "BoxWayTable",
    "ClampTable",
    "DovetailTable",
    "DriveTable",
    "FaceTable",
    "FlangeTable",
    "GluedTable",
    "LevellingFootTable",
    "ProfileRailTable",
    "QuillTable",
    "RoundRailTable",
    "RubberFootTable",
    "SpindleTable",
    "TailstockTable",
    "ToolInNoseTable",
    "ToolPostTable",
    "TrapezoidalScrewTable",
    "WeldTable",
]

_BOLTS = re.compile(r"\s*(?:(\d+)\s*[x×*]?\s+|(\d+)\s*[x×*]\s*)?M\s*(\d+(?:\.\d+)?)\s*", re.IGNORECASE)
_THREAD = re.compile(r"\s*M\s*(\d+(?:\.\d+)?)\s*", re.IGNORECASE)


def _bolts(value: Any) -> tuple[int, float]:
    """Number and diameter of ``"4 x M8"``, ``"M10"``."""
    found = _BOLTS.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        fail("must be bolts", 'write how many and their thread, such as "4 x M8"')
    count = int(found.group(1) or found.group(2) or 1)
    if not 1 <= count <= 100:
        fail("must be 1 to 100 bolts")
    return count, float(found.group(3)) * 1e-3


def _thread(value: Any) -> float:
    found = _THREAD.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        fail("must be a thread", 'such as "M10"')
    return float(found.group(1)) * 1e-3


Bolts = Annotated[tuple[int, float], BeforeValidator(_bolts)]
Thread = Annotated[float, BeforeValidator(_thread)]
Torque = Annotated[float | None, quantity("couple", above=0.0)]
Force = Annotated[float | None, quantity("force", above=0.0)]
Size2 = Annotated[tuple[float, float], vector("length", 2, above=0.0)]
Stiffness2 = Annotated[tuple[float, float] | None, vector("stiffness", 2, above=0.0)]
Finish = Literal["scraped fine", "scraped", "ground", "milled"]
LOOKS = "where the face of the first part looks, such as"


class FaceTable(LengthTable):
    """What all faces share."""

    face_looks: Annotated[
        Direction | None,
        Field(description=f'{LOOKS} "+z"; default: along the member that begins or ends there'),
    ] = None
    size: Annotated[
        Size2,
        Field(
            description="of the face that touches: left-right and front-back if it lies flat, else across and high"
        ),
    ]


class _BoltedTable(FaceTable):
    bolts: Annotated[Bolts, Field(description='how many and their thread, such as "4 x M8"')]
    torque: Annotated[
        Torque,
        Field(description="of a bolt, by torque wrench; default: the usual one, and three times as unsure"),
    ] = None
    preload: Annotated[Force, Field(description='pull in a bolt, instead of its torque, such as "9 kN"')] = (
        None
    )


class _PatternTable(_BoltedTable):
    bolt_spacing: Annotated[
        Size2 | None,
        Field(description="between the middles of four bolts, in the order of size; default: corners"),
    ] = None
    bolt_circle: Annotated[Thickness | None, Field(description="diameter on which they lie, instead")] = None
    bolt_at: Annotated[
        list[Point2],
        Field(
            default_factory=list,
            max_length=MOST_CELLS,
            description="where each is, from the middle of the face, instead",
        ),
    ]
    finish: Annotated[
        Finish, Field(description='of the faces: "scraped fine", "scraped", "ground" or "milled"')
    ] = "milled"


class FlangeTable(_PatternTable):
    """``[joint.flange_on_bolts]``: two machined faces held by bolts; `at` is the middle of the face."""

    thickness: Annotated[Thickness, Field(description="of the flange under the bolt heads")]
    wall_to_bolt: Annotated[
        float,
        quantity("length", least=0.0),
        Field(
            description="from the wall of the column to the middle of a bolt; 0 if they lie inside the walls, or if the "
            "flange is a member of its own"
        ),
    ] = 0.0
    flange_material: Annotated[
        Name | None, Field(description="of the second part, with the flange; default: that of the member")
    ] = None
    base_material: Annotated[
        Name | None, Field(description="of the first part, on which it sits; default: that of the member")
    ] = None


class AngleBracketTable(_PatternTable):
    """``[joint.angle_bracket]``: a part stood on another by angle brackets."""

    thickness: Annotated[Thickness, Field(description="of a leg")]
    leg: Annotated[Thickness, Field(description="from the corner of a bracket to the middle of a bolt")]
    bracket_material: Annotated[Name, Field(description="of the brackets")]
    base_material: Annotated[
        Name | None, Field(description="of the first part, on which they sit; default: that of the member")
    ] = None


class ToolPostTable(_BoltedTable):
    """``[joint.tool_post]``: a tool post on one bolt through its middle."""

    thickness: Annotated[Thickness, Field(description="of its base under the nut")]
    post_material: Annotated[Name, Field(description="of the post")]
    slide_material: Annotated[Name, Field(description="of the slide under it")]


class GluedTable(FaceTable):
    """``[joint.glued_joint]``: faces glued all over."""

    glue: Annotated[Thickness, Field(description="thickness of the layer")]


class ClampTable(LengthTable):
    """``[joint.clamp_on_round_column]``: a head, arm or collar clamped on a round column; `at` is its middle."""

    post_along: Annotated[
        Direction | None, Field(description='along the column, such as "+z"; default: along the member')
    ] = None
    diameter: Annotated[Thickness, Field(description="of the column")]
    height: Annotated[Thickness, Field(description="of the clamp")]
    bolts: Annotated[Bolts, Field(description='pinch bolts, such as "2 x M12"')]
    torque: Annotated[Torque, Field(description="of a bolt; default: the usual one")] = None
    preload: Annotated[Force, Field(description="pull in a bolt, instead of its torque")] = None
    finish: Annotated[Finish, Field(description="of the bore")] = "milled"
    hub_material: Annotated[
        Name | None, Field(description="of the clamp; default: that of its part, if it is a member")
    ] = None


class BallScrewTable(LengthTable):
    """``ball_screw``: what holds a slide along its way."""

    diameter: Annotated[Thickness, Field(description="of the screw")]
    lead: Annotated[Thickness, Field(description="of its thread")]
    free: Annotated[Thickness, Field(description="from the fixed bearing to the nut")]
    preload: Annotated[
        float, quantity("force", least=0.0), Field(description="of a double nut; 0 for a single one")
    ] = 0.0
    holding_torque: Annotated[
        Torque, Field(description="of a stepping motor of 200 steps that holds it; default: held fast")
    ] = None
    fixed_both_ends: Annotated[
        bool, Field(description="whether both ends are fixed along; free is then between them")
    ] = False


class TrapezoidalScrewTable(LengthTable):
    """``trapezoidal_screw``: what holds a slide along its way."""

    diameter: Annotated[Thickness, Field(description="of the screw")]
    pitch: Annotated[Thickness, Field(description="of its thread")]
    free: Annotated[Thickness, Field(description="from the thrust to the nut")]
    nut: Annotated[Thickness | None, Field(description="length of the nut; default: 1.5 diameters")] = None
    thrust: Annotated[
        Literal["collar", "ball thrust washer", "bearing pair"], Field(description="what takes the push")
    ] = "collar"


class DriveTable(LengthTable):
    """What slides share: their directions and what holds them along the way."""

    shares_unit: ClassVar[tuple[str, ...]] = ("ball_screw", "trapezoidal_screw")
    slides: Annotated[Direction, Field(description='along the way, such as "+z"; either sense')]
    face_looks: Annotated[
        Direction | None,
        Field(description=f'{LOOKS} "-y"; default: away from the axis of the member that carries the way'),
    ] = None
    held_by: Annotated[
        Literal["lock", "belt", "rack"] | None,
        Field(description='what holds it along: "lock", "belt", "rack"'),
    ] = None
    ball_screw: Annotated[BallScrewTable | None, Field(description="or a ball screw")] = None
    trapezoidal_screw: Annotated[TrapezoidalScrewTable | None, Field(description="or such a screw")] = None


Gib = Literal["strip", "taper", "none"]


class _WayTable(DriveTable):
    flat: Annotated[Thickness, Field(description="width of each flat face")]
    length: Annotated[Thickness, Field(description="that stays engaged")]
    apart: Annotated[Thickness, Field(description="between the middles of the flats")]
    gib: Annotated[Gib, Field(description='"strip" on screws, "taper", or "none" that bears')] = "strip"
    locked: Annotated[bool, Field(description="whether it is locked while it is pulled")] = False


class DovetailTable(_WayTable):
    """``[joint.dovetail_way]``: a dovetail with gib; `at` is the middle of what is engaged."""

    slant: Annotated[
        Thickness | None, Field(description="width of a slanting face; default: 0.6 of the flat")
    ] = None
    angle: Annotated[
        float, quantity("angle", above=0.0), Field(description="of the slanting faces from the flat")
    ] = math.radians(55.0)
    gib_screws: Annotated[int, Field(ge=1, le=50, description="of a strip, a bare number")] = 4


class BoxWayTable(_WayTable):
    """``[joint.box_way]``: flat ways with a side guide; `at` is the middle of what is engaged."""

    side: Annotated[Thickness, Field(description="height of the side guide")] = 12e-3
    keep_plate: Annotated[
        float,
        quantity("length", least=0.0),
        Field(description="width of keep plates that bear; 0 if slack or not there: it then lifts"),
    ] = 0.0
    gib_screws: Annotated[int, Field(ge=1, le=50, description="of a strip, a bare number")] = 3


Spacing = Annotated[tuple[float, float], vector("length", 2)]


class ProfileRailTable(DriveTable):
    """``[joint.profile_rail_carriage]``: ball carriages on profiled rails; `at` is the middle between them."""

    size: Annotated[Thickness, Field(description="width of the head of a rail")]
    spacing: Annotated[
        Spacing,
        Field(
            description="between the middles of the carriages across and along; 0 for one in that direction"
        ),
    ]
    preload: Annotated[
        Literal["clearance", "light", "medium", "heavy", "unknown"],
        Field(description="class of the carriages"),
    ] = "unknown"


class RoundRailTable(DriveTable):
    """``[joint.round_rail]``: bushings on round rails; `at` is the middle between them."""

    diameter: Annotated[Thickness, Field(description="of a rail")]
    spacing: Annotated[
        Spacing,
        Field(
            description="between the middles of the bushings across and along; 0 for one in that direction"
        ),
    ]
    bush: Annotated[Literal["ball", "plain"], Field(description="kind of bushing")] = "ball"
    length: Annotated[Thickness | None, Field(description="of a bushing; default: the usual one")] = None
    open_below: Annotated[bool, Field(description="open bushings on supported rails")] = False


class BearingTable(LengthTable):
    """``front`` and ``rear`` of ``[joint.spindle_bearings]``."""

    kind: Annotated[
        Literal["angular pair", "deep groove", "taper"],
        Field(description='"angular pair", "deep groove" or "taper"'),
    ]
    bore: Annotated[Thickness, Field(description="its bore")]
    preload: Annotated[
        float | None,
        quantity("force", least=0.0),
        Field(description="along the spindle; 0 for none; default: by feel, 5 N per mm of bore"),
    ] = None
    fit: Annotated[Literal["pressed", "sliding"], Field(description="of its outer ring")] = "pressed"
    balls: Annotated[int | None, Field(ge=3, le=200, description="or rollers, if counted")] = None
    ball: Annotated[Thickness | None, Field(description="diameter of one, or length of a roller")] = None
    angle: Annotated[
        float | None, quantity("angle", above=0.0), Field(description="of contact; default: by kind")
    ] = None
    along_x: Annotated[
        AlongTable | None,
        BeforeValidator(as_spring),
        Field(description="of a spindle that is a member: stiffness instead, across"),
    ] = None
    along_y: Annotated[AlongTable | None, BeforeValidator(as_spring), Field(description="the same")] = None
    along_z: Annotated[
        AlongTable | None, BeforeValidator(as_spring), Field(description="the same along the spindle")
    ] = None


class SpindleTable(LengthTable):
    """``[joint.spindle_bearings]``: a spindle, the second part, in two bearings.

    One that is a member gets a joint at each bearing, one that is a block a joint that holds the bending of its shaft.
    """

    shares_unit: ClassVar[tuple[str, ...]] = ("front", "rear")
    nose: Annotated[Direction, Field(description='where the nose points, such as "-z"')]
    front_bearing: Annotated[
        Point3, Field(description="middle of the bearing at the nose; `at` is not given")
    ]
    bearing_span: Annotated[Thickness, Field(description="between the middles of the bearings")]
    front: Annotated[BearingTable, Field(description="the bearing at the nose")]
    rear: Annotated[BearingTable, Field(description="the other one")]
    overhang: Annotated[
        Thickness | None, Field(description="from the front bearing to the nose face, where it is a block")
    ] = None
    diameter: Annotated[Thickness | None, Field(description="of the spindle, where it is a block")] = None
    thrust: Annotated[
        Literal["front", "rear"], Field(description="bearing that holds the spindle along its axis")
    ] = "front"
    held: Annotated[bool, Field(description="whether it is kept from turning, as while pulling at it")] = True


class ToolInNoseTable(LengthTable):
    """``[joint.tool_in_the_nose]``: what holds the tool; `at` is the middle of what it grips."""

    nose: Annotated[Direction, Field(description='where the nose points, such as "-z"')]
    holder: Annotated[
        Literal["7:24", "slender taper", "collet", "drill chuck", "jaw chuck"], Field(description="its kind")
    ] = "collet"
    size: Annotated[int, Field(ge=0, le=100, description="of a taper, a bare number")] = 30
    pull: Annotated[
        float, quantity("force", above=0.0), Field(description="of the drawbar, or of the nut")
    ] = 2500.0
    shank: Annotated[Thickness, Field(description="diameter in a collet")] = 8e-3
    gripped: Annotated[Thickness | None, Field(description="length in a collet; default: 2.5 diameters")] = (
        None
    )


class QuillTable(LengthTable):
    """``[joint.quill_in_bore]``: a quill in its bore; `at` is the middle of the clamp."""

    nose: Annotated[Direction, Field(description='where the nose points, such as "-z"')]
    diameter: Annotated[Thickness, Field(description="of the quill")]
    length: Annotated[Thickness, Field(description="of the clamp, or guided")]
    clamped: Annotated[bool, Field(description="whether it is clamped while it is pulled")] = True
    pressure: Annotated[
        float | None,
        quantity("pressure", above=0.0),
        Field(description="in the bore; default: unknown, 0.5 to 3 MPa"),
    ] = None
    held_by: Annotated[Literal["rack"] | None, Field(description='what holds a loose one along: "rack"')] = (
        None
    )
    head_material: Annotated[
        Name | None, Field(description="of the first part; default: that of the member")
    ] = None


class WeldTable(LengthTable):
    """``[joint.welded_on_a_plate]``: a column welded on a plate that is no member of its own."""

    post_along: Annotated[
        Direction | None, Field(description='along the column, such as "+z"; default: along the member')
    ] = None
    thickness: Annotated[Thickness, Field(description="of the plate")]
    column: Annotated[Thickness, Field(description="width of the column")]
    held: Annotated[Thickness, Field(description="width over which the plate is held")]
    plate_material: Annotated[Name, Field(description="of the plate")]
    clamped: Annotated[bool, Field(description="whether it is clamped there, or only rests")] = True


class TailstockTable(LengthTable):
    """``[joint.tailstock]``: a tailstock clamped on its bed."""

    slides: Annotated[Direction, Field(description='along the bed, such as "+x"')]


class LevellingFootTable(LengthTable):
    """``[support.levelling_foot_steel]``: a steel levelling screw that stands."""

    thread: Annotated[Thread, Field(description='such as "M10"')]
    free: Annotated[Thickness, Field(description="length below the nut")]
    end: Annotated[
        Thickness | None, Field(description="diameter of its end; default: that of the thread")
    ] = None
    stands_on: Annotated[
        Literal["steel", "concrete", "wood"], Field(description='"steel", "concrete" or "wood"')
    ]
    weight: Annotated[
        float | None,
        quantity("force", above=0.0),
        Field(description="on it; default: an equal share of all members and masses"),
    ] = None


class RubberFootTable(LengthTable):
    """``[support.rubber_foot]``: a bonded rubber foot."""

    diameter: Annotated[Thickness, Field(description="of the rubber")]
    height: Annotated[Thickness, Field(description="of the rubber")]
    hardness: Annotated[
        float | None,
        quantity("number", least=30.0, below=90.0),
        Field(description="Shore A, a bare number; default: unknown, 40 to 70"),
    ] = None


class BenchTable(LengthTable):
    """``[support.bench]``: the bench under the machine, alone or beside the foot that stands on it."""

    thickness: Annotated[Thickness, Field(description="of the top")]
    depth: Annotated[Thickness, Field(description="of the top, front to back")]
    span: Annotated[Thickness, Field(description="between the legs")]
    material: Annotated[Literal["wood", "steel"], Field(description="of the top")] = "wood"
    frame: Annotated[Literal["nailed", "welded"], Field(description="how its corners are made")] = "nailed"
