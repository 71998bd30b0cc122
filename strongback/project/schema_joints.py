"""The tables of joints and supports, key by key, with the words that docs/file.md prints for them."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import BeforeValidator, Field

from strongback.project.quantities import Direction, Name, Point3, Words, quantity
from strongback.project.schema_kinds import (
    AngleBracketTable,
    BenchTable,
    BoxWayTable,
    ClampTable,
    DovetailTable,
    FlangeTable,
    GluedTable,
    LevellingFootTable,
    ProfileRailTable,
    QuillTable,
    RoundRailTable,
    RubberFootTable,
    SpindleTable,
    TailstockTable,
    ToolInNoseTable,
    ToolPostTable,
    WeldTable,
)
from strongback.project.springs_schema import AboutTable, AlongTable, as_spring
from strongback.project.tables import LengthTable, Table

__all__ = [
    "COMPONENT_KEYS",
    "JOINT_KINDS",
    "SUPPORT_KINDS",
    "HolderTable",
    "JointTable",
    "OpensTable",
    "PlayTable",
    "SupportTable",
]

Share = Annotated[float, quantity("number", least=0.0)]
Along = Annotated[AlongTable | None, BeforeValidator(as_spring)]
About = Annotated[AboutTable | None, BeforeValidator(as_spring)]

COMPONENT_KEYS = ("along_x", "along_y", "along_z", "about_x", "about_y", "about_z")


JOINT_KINDS = (
    "flange_on_bolts",
    "angle_bracket",
    "tool_post",
    "glued_joint",
    "clamp_on_round_column",
    "welded_on_a_plate",
    "dovetail_way",
    "box_way",
    "profile_rail_carriage",
    "round_rail",
    "spindle_bearings",
    "quill_in_bore",
    "tool_in_the_nose",
    "tailstock",
)
SUPPORT_KINDS = ("flange_on_bolts", "angle_bracket", "levelling_foot_steel", "rubber_foot", "bench")

Component = Literal[
    "sideways",
    "in and out",
    "up",
    "nod",
    "side tilt",
    "yaw",
    "along x",
    "along y",
    "along z",
    "about x",
    "about y",
    "about z",
]


class PlayTable(Table):
    """``[[joint.play]]``: free motion of a component between two stops."""

    component: Annotated[Component, Field(description='such as "sideways", "nod", or "along x" of the joint')]
    gap: Annotated[Words, Field(description='from stop to stop: "5 um", or an angle such as "20 urad"')]


class OpensTable(Table):
    """``[[joint.opens]]``: a component that holds under pressure only and opens when the preload is used up."""

    component: Annotated[Component, Field(description='such as "up", or "along z" of the joint')]
    preload: Annotated[Words, Field(description='standing pressure: a force such as "2 kN", or a couple')] = (
        ""
    )
    opening: Annotated[
        Literal["+", "-"],
        Field(
            description='"+" if it opens when the second part (of a support: its part) moves along the axis away from '
            'the first (of a support: from the ground), else "-"'
        ),
    ] = "+"


class HolderTable(LengthTable):
    """What joints and supports share: six springs at a point."""

    name: Annotated[Name, Field(description="how results call it")]
    at: Annotated[
        Point3 | None,
        Field(
            description="where the springs act, such as the middle of the contact face; of a spindle see there"
        ),
    ] = None
    along_x: Annotated[
        Along, Field(description='stiffness along x of the joint: a number, "rigid", "free", a range')
    ] = None
    along_y: Annotated[Along, Field(description="the same along y")] = None
    along_z: Annotated[Along, Field(description="the same along z")] = None
    about_x: Annotated[About, Field(description="stiffness against turning about x of the joint (nod)")] = (
        None
    )
    about_y: Annotated[About, Field(description="the same about y (side tilt)")] = None
    about_z: Annotated[About, Field(description="the same about z (yaw, twist)")] = None
    along: Annotated[Along, Field(description="for each of along_x, along_y, along_z that is not given")] = (
        None
    )
    about: Annotated[About, Field(description="for each of about_x, about_y, about_z that is not given")] = (
        None
    )
    x_axis: Annotated[
        Direction, Field(description="direction of the joint's own x axis, where no kind says it")
    ] = (1.0, 0.0, 0.0)
    y_axis: Annotated[Direction, Field(description="direction of its y axis, at right angles to x")] = (
        0.0,
        1.0,
        0.0,
    )
    play: Annotated[
        list[PlayTable], Field(default_factory=list, max_length=6, description="components with free motion")
    ]
    opens: Annotated[
        list[OpensTable], Field(default_factory=list, max_length=6, description="components that can open")
    ]
    loss_factor: Annotated[Share, Field(description="damping of the joint, a bare number")] = 0.0
    source: Annotated[
        Words, Field(description='where the stiffness comes from, such as "common practice, no source"')
    ] = ""


class JointTable(HolderTable):
    """``[[joint]]``: two parts held together by six springs."""

    shares_unit: ClassVar[tuple[str, ...]] = JOINT_KINDS
    parts: Annotated[
        list[Name],
        Field(min_length=2, max_length=2, description="names of the two parts, first the one that carries"),
    ]
    pad: Annotated[Name, Field(description="pad through which it meets a member that is a body")] = ""
    flange_on_bolts: Annotated[FlangeTable | None, Field(description="machined faces held by bolts")] = None
    angle_bracket: Annotated[AngleBracketTable | None, Field(description="angle brackets")] = None
    tool_post: Annotated[ToolPostTable | None, Field(description="a tool post on one bolt")] = None
    glued_joint: Annotated[GluedTable | None, Field(description="faces glued all over")] = None
    clamp_on_round_column: Annotated[ClampTable | None, Field(description="a clamp on a round column")] = None
    welded_on_a_plate: Annotated[WeldTable | None, Field(description="a column welded on a plate")] = None
    dovetail_way: Annotated[DovetailTable | None, Field(description="a dovetail with gib")] = None
    box_way: Annotated[BoxWayTable | None, Field(description="flat ways with a side guide")] = None
    profile_rail_carriage: Annotated[
        ProfileRailTable | None, Field(description="ball carriages on profiled rails")
    ] = None
    round_rail: Annotated[RoundRailTable | None, Field(description="bushings on round rails")] = None
    spindle_bearings: Annotated[SpindleTable | None, Field(description="a spindle in two bearings")] = None
    quill_in_bore: Annotated[QuillTable | None, Field(description="a quill in its bore")] = None
    tool_in_the_nose: Annotated[ToolInNoseTable | None, Field(description="what holds the tool")] = None
    tailstock: Annotated[TailstockTable | None, Field(description="a tailstock on its bed")] = None


class SupportTable(HolderTable):
    """``[[support]]``: a part held to the ground by six springs."""

    shares_unit: ClassVar[tuple[str, ...]] = SUPPORT_KINDS
    part: Annotated[Name, Field(description="name of the part")]
    flange_on_bolts: Annotated[FlangeTable | None, Field(description="a face bolted down")] = None
    angle_bracket: Annotated[AngleBracketTable | None, Field(description="angle brackets")] = None
    levelling_foot_steel: Annotated[
        LevellingFootTable | None, Field(description="a steel levelling screw")
    ] = None
    rubber_foot: Annotated[RubberFootTable | None, Field(description="a rubber foot")] = None
    bench: Annotated[BenchTable | None, Field(description="the bench under it")] = None
