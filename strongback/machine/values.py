"""Frozen values of the machine stage. Positions in metres in the axes of the room: X to the operator's right, Y away from
the operator, Z up; nod is rotation about X, roll about Y, yaw or twist about Z.

A machine is a set of *parts* that joints and supports hold together. A part is a `Member` (elastic) or a `Block`
(as good as rigid). Joints, supports, masses, pulls and gauges name a part and a point in space; the point is carried by
the nearest section of the member, or by the block. ``GROUND`` is the bench or floor.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

from strongback.machine.room import Operator
from strongback.section.values import Outline, SectionStiffness

__all__ = [
    "COMPONENTS",
    "FREE",
    "GROUND",
    "RIGID",
    "Block",
    "Gauge",
    "Joint",
    "Machine",
    "Member",
    "Pad",
    "Place",
    "PointMass",
    "Pull",
    "Six",
    "Span",
    "Support",
    "Travel",
    "Vector",
]

Vector: TypeAlias = tuple[float, float, float]
Six: TypeAlias = tuple[float, float, float, float, float, float]
Axes: TypeAlias = tuple[Vector, Vector, Vector]
EndCondition: TypeAlias = Literal["held", "free", "joined"]

GROUND = "ground"
RIGID = math.inf
FREE = 0.0
COMPONENTS = ("along x", "along y", "along z", "about x", "about y", "about z")
MACHINE_AXES: Axes = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A length of a member with one section.

    Parameters
    ----------
    section : str
        Name of a section of the machine.
    length : float
        [m]
    """

    section: str
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """An elastic part: a line of sections.

    Parameters
    ----------
    name : str
    start, end : Vector
        Where the origin of the section's drawing stands at the two ends [m].
    x_axis : Vector
        Direction in the machine of the section's x axis (made normal to the member).
    spans : tuple of Span
        From start to end; lengths add to the length of the member.
    ends : tuple of str
        Warping at start and end: ``"held"`` (a thick plate or a solid joint keeps the end face plane), ``"free"``, or
        ``"joined"`` (continues into the member that meets it there on the same axis).
    model : {"beam", "body"}
        Line of sections, or three-dimensional body whose walls can give.
    factors : tuple of (str, float)
        Multipliers on stiffness by mechanism: of a beam ``bending``, ``torsion``, ``shear``, ``axial``, ``warping``; of a
        body ``wall``, on all that it gives but for the contact under its pads, and ``contact``, on that.
    factor_ranges : tuple of (str, float, float)
        Mechanism, lowest and highest factor to be expected.
    """

    name: str
    start: Vector
    end: Vector
    x_axis: Vector
    spans: tuple[Span, ...]
    ends: tuple[EndCondition, EndCondition] = ("free", "free")
    model: Literal["beam", "body"] = "beam"
    factors: tuple[tuple[str, float], ...] = ()
    factor_ranges: tuple[tuple[str, float, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A part that moves as one: table, saddle, spindle, head block.

    Parameters
    ----------
    name : str
    at : Vector
        Its reference point [m].
    """

    name: str
    at: Vector


@dataclass(frozen=True, slots=True, kw_only=True)
class Pad:
    """A flat contact area on the wall of a member, through which a joint pushes.

    Used when the member is a body; a beam takes the point alone.

    Parameters
    ----------
    name : str
    part : str
        The member.
    at : Vector
        Centre of the area on the wall [m].
    normal : Vector
        Out of the wall.
    size : tuple of float
        Across and along the member [m].
    stiffness : float
        Contact stiffness per area, normal to the wall [N/m³]; ``inf`` for a rigid pad.
    tangential : float
        The same along the wall, as a fraction of `stiffness`.
    """

    name: str
    part: str
    at: Vector
    normal: Vector
    size: tuple[float, float]
    stiffness: float = 1e12
    tangential: float = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """Six springs between two parts at one point.

    Parameters
    ----------
    name : str
    parts : tuple of str
    at : Vector
        [m]
    stiffness : Six
        Along x, y, z [N/m], about x, y, z [N m/rad]; `RIGID` and `FREE` allowed.
    axes : Axes
        Directions of the joint's own axes in the machine.
    low, high : Six, optional
        Range in which each stiffness is expected.
    pad : str
        Pad through which the joint meets the first or second part that carries it; empty for none.
    loss_factor : float
    """

    name: str
    parts: tuple[str, str]
    at: Vector
    stiffness: Six
    axes: Axes = MACHINE_AXES
    low: Six | None = None
    high: Six | None = None
    pad: str = ""
    loss_factor: float = 0.0
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Support:
    """Six springs between a part and the ground.

    Parameters
    ----------
    name, part : str
    at : Vector
        [m]
    stiffness : Six
        As in `Joint`.
    """

    name: str
    part: str
    at: Vector
    stiffness: Six
    axes: Axes = MACHINE_AXES
    low: Six | None = None
    high: Six | None = None
    loss_factor: float = 0.0
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PointMass:
    """A lumped mass: motor, spindle, table.

    Parameters
    ----------
    name, part : str
    at : Vector
        Centre of mass [m].
    mass : float
        [kg]
    inertia : Vector
        About the machine's axes through the centre of mass [kg m²].
    """

    name: str
    part: str
    at: Vector
    mass: float
    inertia: Vector = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A point carried by a part [m]."""

    part: str
    at: Vector


@dataclass(frozen=True, slots=True, kw_only=True)
class Pull:
    """A force or a couple on a part.

    Parameters
    ----------
    name, part : str
    at : Vector
        [m]
    force : Vector
        [N]
    couple : Vector
        [N m]
    against : str
        Part that takes the opposite force and couple at the same point (a jack); `GROUND` for a weight or a cord.
    """

    name: str
    part: str
    at: Vector
    force: Vector = (0.0, 0.0, 0.0)
    couple: Vector = (0.0, 0.0, 0.0)
    against: str = GROUND


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """A dial indicator: motion of a point along a direction, relative to the body that carries its stand.

    Parameters
    ----------
    name, part : str
        The part that it touches.
    at : Vector
        Point it touches [m].
    direction : Vector
        Positive reading: motion of the part along this direction.
    reference : str
        Part that carries the stand; `GROUND` for the bench.
    stand : Vector, optional
        Where the stand sits on it; default the point of the part nearest to `at` [m].
    resolution : float
        Smallest step of the scale [m].
    """

    name: str
    part: str
    at: Vector
    direction: Vector
    reference: str = GROUND
    stand: Vector | None = None
    resolution: float = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Travel:
    """A way along which some parts move together: head on the column, quill, table.

    Parameters
    ----------
    name : str
    parts : tuple of str
        What moves; joints between a moving and a resting part move along.
    direction : Vector
        Unit vector.
    low, high : float
        Ends of the travel from the place as drawn [m].
    stays : tuple of str
        Joints that keep their place although a part of theirs moves: the bore in which a quill slides, the guide on which
        a table slides.
    """

    name: str
    parts: tuple[str, ...]
    direction: Vector
    low: float
    high: float
    stays: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """The structural loop as its owner sees it.

    Parameters
    ----------
    name : str
    sections : tuple of (str, Outline or SectionStiffness)
        By name; a stiffness may be given where it is known.
    members, blocks, joints, supports, masses, pulls, gauges, pads, travels : tuples
    tool : Place
        Where the cutting edge meets the work, on the part that carries the tool.
    work : Place
        The same point on the part that carries the work; its part may be `GROUND`.
    state : tuple of (str, str)
        Gib, lock, quill and the like, in words.
    correlation : tuple of (str, str, float)
        Of the logarithms of two stiffnesses within their ranges, by the names of their `parameters.Parameter`; pairs that
        are not listed are independent.
    operator : {"-y", "+y", "-x", "+x"}
        Side on which the operator stands; see `room`.
    """

    name: str
    sections: tuple[tuple[str, Outline | SectionStiffness], ...]
    members: tuple[Member, ...]
    tool: Place
    work: Place
    blocks: tuple[Block, ...] = ()
    joints: tuple[Joint, ...] = ()
    supports: tuple[Support, ...] = ()
    masses: tuple[PointMass, ...] = ()
    pulls: tuple[Pull, ...] = ()
    gauges: tuple[Gauge, ...] = ()
    pads: tuple[Pad, ...] = ()
    travels: tuple[Travel, ...] = ()
    state: tuple[tuple[str, str], ...] = ()
    correlation: tuple[tuple[str, str, float], ...] = ()
    operator: Operator = "-y"

    def holders(self) -> tuple[tuple[Literal["joint", "support"], Joint | Support], ...]:
        """Every joint and support with its kind."""
        return (
            *(("joint", joint) for joint in self.joints),
            *(("support", support) for support in self.supports),
        )
