"""The tables of joints and supports, key by key, with the words that docs/file.md prints for it."""

from __future__ import annotations

import math
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field

from strongback.errors import UnitError
from strongback.project.quantities import Direction, Name, Point2, Point3, Words, fail, quantity, vector
from strongback.project.schema_sections import MOST_CELLS, Thickness
from strongback.project.source import nearest
from strongback.project.tables import LengthTable, Table
from strongback.units import parse

__all__ = [
    "COMPONENT_KEYS",
    "AboutTable",
    "AlongTable",
    "BoltTable",
    "BoltedTable",
    "HolderTable",
    "JointTable",
    "OpensTable",
    "PlayTable",
    "RubberFootTable",
    "ScrewFootTable",
    "SlidePadTable",
    "SlidewayTable",
    "SpindleTable",
    "SpringTable",
    "SupportTable",
]

STIFFEST = 1e15  # [N/m] or [N m/rad]
Share = Annotated[float, quantity("number", least=0.0)]


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
        if found > STIFFEST:
            fail("must be a stiffness that a joint can have", 'write "rigid" for one that does not give')
        return found

    return BeforeValidator(convert)


def _bound(dimension: str) -> Any:
    """One end of a range: a stiffness that a joint can have."""
    return quantity(dimension, above=0.0, most=STIFFEST)


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
    low: Annotated[float | None, _bound("stiffness")] = None
    high: Annotated[float | None, _bound("stiffness")] = None


class AboutTable(SpringTable):
    """Stiffness about an axis, such as ``"2e5 N*m/rad"``."""

    value: Annotated[float | None, _spring("rotational stiffness")] = None
    low: Annotated[float | None, _bound("rotational stiffness")] = None
    high: Annotated[float | None, _bound("rotational stiffness")] = None


def _as_table(value: Any) -> Any:
    return value if isinstance(value, dict) else {"value": value}


Along = Annotated[AlongTable | None, BeforeValidator(_as_table)]
About = Annotated[AboutTable | None, BeforeValidator(_as_table)]

COMPONENT_KEYS = ("along_x", "along_y", "along_z", "about_x", "about_y", "about_z")


class BoltTable(LengthTable):
    """``[[joint.bolted.bolt]]``: a bolt of the face."""

    at: Annotated[Point2, Field(description="in the plane of the face, from its middle")]
    diameter: Annotated[Thickness, Field(description="nominal diameter")]
    preload: Annotated[
        float, quantity("force", above=0.0), Field(description='pull in the bolt, such as "9 kN"')
    ]


class BoltedTable(LengthTable):
    """``[joint.bolted]``: a face bolted down; x and y of the joint lie in it."""

    shares_unit: ClassVar[tuple[str, ...]] = ("bolt",)
    size: Annotated[
        tuple[float, float],
        vector("length", 2, above=0.0),
        Field(description="of the contact face along x and y"),
    ]
    plate: Annotated[Thickness, Field(description="thickness under the bolt heads")]
    finish: Annotated[
        Literal["scraped fine", "scraped", "ground", "milled"],
        Field(description='"scraped fine", "scraped", "ground" or "milled"'),
    ] = "milled"
    bolt: Annotated[list[BoltTable], Field(min_length=1, max_length=MOST_CELLS, description="its bolts")]


class SlidePadTable(LengthTable):
    """``[[joint.slideway.pad]]``: a face on which the slide bears."""

    at: Annotated[Point2, Field(description="its middle, across and along the slide")]
    size: Annotated[
        tuple[float, float], vector("length", 2, above=0.0), Field(description="across and along the slide")
    ]


class SlidewayTable(LengthTable):
    """``[joint.slideway]``: a slide with adjusted gibs; x of the joint across it, y along it, z out of the faces."""

    shares_unit: ClassVar[tuple[str, ...]] = ("pad",)
    pad: Annotated[list[SlidePadTable], Field(min_length=1, max_length=MOST_CELLS, description="its faces")]
    vertical: Annotated[bool, Field(description="whether it runs up and down")] = False
    along: Annotated[
        tuple[float, float] | None,
        vector("stiffness", 2, above=0.0),
        Field(
            description='lowest and highest stiffness of screw or lock, such as "20, 80 N/um"; else it slides'
        ),
    ] = None


def _bearing(words: str) -> Any:
    return Field(description=f'lowest and highest stiffness {words}, such as "40, 120 N/um"')


class SpindleTable(LengthTable):
    """``[joint.spindle]``: a spindle in two bearings; `at` of the joint is the front one, z points to the nose."""

    span: Annotated[Thickness, Field(description="between the bearings")]
    front: Annotated[
        tuple[float, float], vector("stiffness", 2, above=0.0), _bearing("of the front bearing")
    ] = (
        10e6,
        200e6,
    )
    rear: Annotated[
        tuple[float, float], vector("stiffness", 2, above=0.0), _bearing("of the rear bearing")
    ] = (
        10e6,
        200e6,
    )
    axial: Annotated[
        tuple[float, float], vector("stiffness", 2, above=0.0), _bearing("along the spindle")
    ] = (
        10e6,
        200e6,
    )
    held: Annotated[bool, Field(description="whether it is kept from turning, as while pulling at it")] = True


class RubberFootTable(LengthTable):
    """``[support.rubber_foot]``: a bonded rubber foot, z upright."""

    diameter: Annotated[Thickness, Field(description="of the rubber")]
    height: Annotated[Thickness, Field(description="of the rubber")]


class ScrewFootTable(LengthTable):
    """``[support.screw_foot]``: a levelling screw on a hard floor, z upright."""

    diameter: Annotated[Thickness, Field(description="core of the thread")]
    length: Annotated[Thickness, Field(description="free length")]


Component = Literal["along x", "along y", "along z", "about x", "about y", "about z"]


class PlayTable(Table):
    """``[[joint.play]]``: free motion of a component between two stops."""

    component: Annotated[Component, Field(description='such as "along x" or "about z"')]
    gap: Annotated[Words, Field(description='from stop to stop: "5 um", or an angle such as "20 urad"')]


class OpensTable(Table):
    """``[[joint.opens]]``: a component that holds under pressure only and opens when the preload is used up."""

    component: Annotated[Component, Field(description='such as "along z"')]
    preload: Annotated[Words, Field(description='standing pressure: a force such as "2 kN", or a couple')] = (
        ""
    )
    opening: Annotated[
        Literal["+", "-"],
        Field(
            description='"+" if it opens when the second part moves along the axis away from the first, else "-"'
        ),
    ] = "+"


class HolderTable(LengthTable):
    """What joints and supports share: six springs at a point."""

    shares_unit: ClassVar[tuple[str, ...]] = ("bolted", "slideway", "spindle", "rubber_foot", "screw_foot")
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
    about_y: Annotated[About, Field(description="the same about y (side tilt)")] = None
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
    bolted: Annotated[BoltedTable | None, Field(description="starting values of a bolted face")] = None
    slideway: Annotated[SlidewayTable | None, Field(description="starting values of a slideway")] = None
    spindle: Annotated[SpindleTable | None, Field(description="starting values of a spindle in bearings")] = (
        None
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

    parts: Annotated[list[Name], Field(min_length=2, max_length=2, description="names of the two parts")]
    pad: Annotated[Name, Field(description="pad through which it meets a member that is a body")] = ""


class SupportTable(HolderTable):
    """``[[support]]``: a part held to the ground by six springs."""

    part: Annotated[Name, Field(description="name of the part")]
    rubber_foot: Annotated[RubberFootTable | None, Field(description="starting values of a rubber foot")] = (
        None
    )
    screw_foot: Annotated[
        ScrewFootTable | None, Field(description="starting values of a levelling screw")
    ] = None
