"""Frozen values of the machine stage. Positions in metres in the axes of the room: X to the operator's right, Y away from
the operator, Z up; nod is rotation about X, side tilt about Y, yaw or twist about Z.

A machine is a set of *parts* that joints and supports hold together. A part is a `Member` (elastic) or a `Block`
(as good as rigid). Joints, supports, masses, pulls and gauges name a part and a point in space; the point is carried by
the nearest section of the member, or by the block. ``GROUND`` is the bench or floor.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import InitVar, dataclass, field, replace
from typing import Any, Literal, TypeAlias

from strongback import checks
from strongback.answer import told
from strongback.errors import MachineError
from strongback.machine.plates import Diaphragm, EndPlate
from strongback.machine.points import (
    DIRECTION,
    GROUND,
    POINT,
    Gauge,
    Place,
    PointMass,
    Vector,
    named,
    placed,
)
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

SPRINGS = 'along x, y, z [N/m], about x, y, z [N m/rad]; "rigid" and "free" are words'

Six: TypeAlias = tuple[float, float, float, float, float, float]
Axes: TypeAlias = tuple[Vector, Vector, Vector]
EndCondition: TypeAlias = Literal["held", "free", "joined"]
MemberModel: TypeAlias = Literal["auto", "beam", "body"]

RIGID = math.inf
FREE = 0.0
WORDS = {"rigid": RIGID, "free": FREE}
COMPONENTS = ("along x", "along y", "along z", "about x", "about y", "about z")
MECHANISMS = ("bending", "torsion", "shear", "axial", "warping", "wall", "contact")
MACHINE_AXES: Axes = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def _all_of(where: str, field: str, value: object, kind: type) -> tuple[object, ...]:
    """A sequence of one kind as a tuple."""
    items = checks.each(where, field, value)
    for i, item in enumerate(items):
        checks.instance(where, f"{field}[{i}]", item, kind)
    return items


def _factors(where: str, field: str, value: object, count: int) -> tuple[tuple[Any, ...], ...]:
    """Multipliers by mechanism, from pairs or a mapping."""
    return tuple(
        (
            checks.one_of(where, f"a mechanism of {field}", name, MECHANISMS),
            *(checks.number(where, f"{field} of {name}", v, above=0.0) for v in rest),
        )
        for name, *rest in checks.pairs(where, field, value, count + 1)
    )


def _spans(where: str, spans: object, section: str | None, length: float) -> tuple[Span, ...]:
    """Lengths with their sections, from spans, pairs, or the one section of all."""
    if section is not None:
        if checks.each(where, "spans", spans):
            raise MachineError(f"{where}: section and spans are both given", hint="keep one of them")
        return (Span(section=checks.text(where, "section", section), length=length),)
    if isinstance(spans, Mapping):
        raise MachineError(
            f"{where}: spans are in order, and a mapping has none that counts", hint='(("tube", 0.3), ...)'
        )
    items = checks.each(where, "spans", spans)
    made = [Span(section=s[0], length=s[1]) if _is_pair(s, str) else s for s in items]
    return _all_of(where, "spans", made, Span)  # type: ignore[return-value]


def _is_pair(value: object, first: type) -> bool:
    return isinstance(value, tuple | list) and len(value) == 2 and isinstance(value[0], first)


def _stiff(value: object) -> object:
    """Six springs as numbers, where words say that they are rigid or not there."""
    if isinstance(value, str):
        return (WORDS[value],) * 6 if value in WORDS else value
    if not isinstance(value, tuple | list):
        return value
    return [WORDS.get(v, v) if isinstance(v, str) else v for v in value]


def _springs(holder: Joint | Support, where: str) -> None:
    """Where six springs stand, which way they point, and how stiff they are."""
    axes = checks.each(where, "axes", holder.axes)
    if len(axes) != 3:
        raise MachineError(f"{where}: axes must be three directions", hint=DIRECTION)
    stiffness = {
        field: checks.numbers(where, field, _stiff(value), 6, least=0.0, infinite=True, hint=SPRINGS)
        for field in ("stiffness", "low", "high")
        if (value := getattr(holder, field)) is not None
    }
    checks.frozen(
        holder,
        at=checks.numbers(where, "at", holder.at, 3, hint=POINT),
        axes=tuple(checks.numbers(where, f"axes[{i}]", a, 3, hint=DIRECTION) for i, a in enumerate(axes)),
        loss_factor=checks.number(where, "loss_factor", holder.loss_factor, least=0.0),
        **stiffness,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A length of a member with one section.

    Parameters
    ----------
    section : str
        Name of a section of the machine.
    length : float
        [m]

    Examples
    --------
    >>> Span(section="tube", length=0.45).length  # [m]
    0.45
    """

    section: str
    length: float

    def __post_init__(self) -> None:
        checks.text("span", "section", self.section)
        checks.frozen(self, length=checks.number(f'span of section "{self.section}"', "length", self.length))


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
    spans : tuple of Span, or of (str, float)
        From start to end, each with its section and length; lengths add to the length of the member.
    section : str
        In place of `spans`: the section of all its length. Kept as the one span.
    ends : tuple of str
        Warping at start and end: ``"held"`` (a thick plate or a solid joint keeps the end face plane), ``"free"``, or
        ``"joined"`` (continues into the member that meets it there on the same axis).
    model : {"auto", "beam", "body"}
        Line of sections, or three-dimensional body whose walls can give; left open, a body where a joint bears on its wall
        through a pad, see `strongback.machine.part.kinds.kind_of`.
    factors : tuple of (str, float)
        Multipliers on stiffness by mechanism: of a beam ``bending``, ``torsion``, ``shear``, ``axial``, ``warping``; of a
        body ``wall``, on all that it gives but for the contact under its pads, and ``contact``, on that.
    factor_ranges : tuple of (str, float, float)
        Mechanism, lowest and highest factor to be expected.
    cap, foot : EndPlate, optional
        Plate on the end and on the start of a body; the foot stands on its screws. A beam leaves them out.
    diaphragms : tuple of Diaphragm
        Inside a body. A beam leaves them out.

    Examples
    --------
    >>> arm = Member(name="arm", start=(0, 0, 0.5), end=(0, -0.3, 0.5), x_axis=(1, 0, 0), section="box")
    >>> arm.spans
    (Span(section='box', length=0.3),)
    """

    name: str
    start: Vector
    end: Vector
    x_axis: Vector
    spans: tuple[Span, ...] = ()
    ends: tuple[EndCondition, EndCondition] = ("free", "free")
    model: MemberModel = "auto"
    factors: tuple[tuple[str, float], ...] = ()
    factor_ranges: tuple[tuple[str, float, float], ...] = ()
    cap: EndPlate | None = None
    foot: EndPlate | None = None
    diaphragms: tuple[Diaphragm, ...] = ()
    section: InitVar[str | None] = None

    def __post_init__(self, section: str | None) -> None:
        where = named("member", self.name)
        if self.foot is not None and not self.foot.screws:
            raise MachineError(f"{where}: its foot needs screws", hint="the bolts on which it stands")
        ends = checks.each(where, "ends", self.ends)
        if len(ends) != 2:
            raise MachineError(
                f"{where}: ends = {checks.shown(self.ends)} must be two words", hint="for start and end"
            )
        start = checks.numbers(where, "start", self.start, 3, hint=POINT)
        end = checks.numbers(where, "end", self.end, 3, hint=POINT)
        checks.frozen(
            self,
            start=start,
            end=end,
            x_axis=checks.numbers(where, "x_axis", self.x_axis, 3, hint=DIRECTION),
            spans=_spans(where, self.spans, section, math.dist(start, end)),
            ends=tuple(
                checks.one_of(where, f"ends[{i}]", end, checks.words_of(EndCondition))
                for i, end in enumerate(ends)
            ),
            model=checks.one_of(where, "model", self.model, checks.words_of(MemberModel)),
            factors=_factors(where, "factors", self.factors, 1),
            factor_ranges=_factors(where, "factor_ranges", self.factor_ranges, 2),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A part that moves as one: table, saddle, spindle, head block.

    Parameters
    ----------
    name : str
    at : Vector
        Its reference point [m].

    Examples
    --------
    >>> Block(name="table", at=(0, -0.3, 0.1)).at
    (0.0, -0.3, 0.1)
    """

    name: str
    at: Vector

    def __post_init__(self) -> None:
        placed(self, named("block", self.name))


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
    within_joint : bool
        Whether the joint on it has been left without this contact, so that a beam in the place of the body needs it back.

    Examples
    --------
    >>> Pad(name="flange", part="column", at=(0, -0.05, 0.4), normal=(0, -1, 0), size=(0.08, 0.1)).stiffness  # [N/m³]
    1000000000000.0
    """

    name: str
    part: str
    at: Vector
    normal: Vector
    size: tuple[float, float]
    stiffness: float = 1e12
    tangential: float = 0.5
    within_joint: bool = False

    def __post_init__(self) -> None:
        where = named("pad", self.name)
        checks.text(where, "part", self.part)
        placed(self, where)
        checks.frozen(
            self,
            normal=checks.numbers(where, "normal", self.normal, 3, hint=DIRECTION),
            size=checks.numbers(
                where, "size", self.size, 2, above=0.0, hint="across and along the member [m]"
            ),
            stiffness=checks.number(where, "stiffness", self.stiffness, above=0.0, infinite=True),
            tangential=checks.number(where, "tangential", self.tangential, least=0.0),
        )


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
        Along x, y, z [N/m], about x, y, z [N m/rad]; ``"rigid"`` and ``"free"`` are words for infinity and zero, and one
        word stands for all six.
    axes : Axes
        Directions of the joint's own axes in the machine.
    low, high : Six, optional
        Range in which each stiffness is expected.
    pad : str
        Pad through which the joint meets the first or second part that carries it; empty for none.
    loss_factor : float

    Examples
    --------
    >>> gib = Joint(name="gib", parts=("bed", "table"), at=(0, -0.3, 0.1), stiffness=(2e8, "free", 4e8, 5e5, 5e5, 5e5))
    >>> gib.stiffness[1]
    0.0
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

    def __post_init__(self) -> None:
        where = named("joint", self.name)
        parts = checks.each(where, "parts", self.parts)
        if len(parts) != 2:
            raise MachineError(f"{where}: parts = {checks.shown(self.parts)} must be two names of parts")
        checks.frozen(self, parts=tuple(checks.text(where, "parts", part) for part in parts))
        _springs(self, where)


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

    Examples
    --------
    >>> Support(name="foot", part="bed", at=(0, 0, 0), stiffness="rigid").stiffness[0]
    inf
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

    def __post_init__(self) -> None:
        where = named("support", self.name)
        checks.text(where, "part", self.part)
        _springs(self, where)


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

    Examples
    --------
    >>> Pull(name="sideways", part="head", at=(0, -0.3, 0.25), force=(100.0, 0, 0)).against
    'ground'
    """

    name: str
    part: str
    at: Vector = field(metadata=told("at_m"))
    force: Vector = field(default=(0.0, 0.0, 0.0), metadata=told("force_N"))
    couple: Vector = field(default=(0.0, 0.0, 0.0), metadata=told("couple_N_m"))
    against: str = GROUND

    def __post_init__(self) -> None:
        where = named("pull", self.name)
        checks.text(where, "part", self.part)
        checks.text(where, "against", self.against)
        placed(self, where)
        checks.frozen(
            self,
            force=checks.numbers(where, "force", self.force, 3, hint="along x, y, z of the machine [N]"),
            couple=checks.numbers(where, "couple", self.couple, 3, hint="about x, y, z of the machine [N m]"),
        )


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

    Examples
    --------
    >>> Travel(name="head", parts=("head", "spindle"), direction=(0, 0, 1), low=-0.1, high=0.05).stays
    ()
    """

    name: str
    parts: tuple[str, ...]
    direction: Vector
    low: float
    high: float
    stays: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        where = named("travel", self.name)
        checks.frozen(
            self,
            parts=tuple(
                checks.text(where, "parts", part) for part in checks.each(where, "parts", self.parts)
            ),
            stays=tuple(
                checks.text(where, "stays", name) for name in checks.each(where, "stays", self.stays)
            ),
            direction=checks.numbers(where, "direction", self.direction, 3, hint=DIRECTION),
            low=checks.number(where, "low", self.low),
            high=checks.number(where, "high", self.high),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """The structural loop as its owner sees it.

    Parameters
    ----------
    name : str
    sections : mapping of str to Outline or SectionStiffness, or pairs
        By name, which each takes for its own; a stiffness may be given where it is known. Kept as pairs.
    members, blocks, joints, supports, masses, pulls, gauges, pads, travels : tuples
    tool : Place, or (str, Vector)
        Where the cutting edge meets the work, on the part that carries the tool.
    work : Place, or (str, Vector)
        The same point on the part that carries the work; its part may be `GROUND`.
    state : tuple of (str, str)
        Gib, lock, quill and the like, in words.
    correlation : tuple of (str, str, float)
        Of the logarithms of two stiffnesses within their ranges, by the names of their `parameters.Parameter`; pairs that
        are not listed are independent.
    operator : {"-y", "+y", "-x", "+x"}
        Side on which the operator stands; see `room`.

    Examples
    --------
    >>> import strongback as sb
    >>> tube = sb.from_midline("tube", "steel", [(0, 0), (0.1, 0), (0.1, 0.08), (0, 0.08)], 0.004, closed=True)
    >>> machine = Machine(
    ...     name="post",
    ...     sections={"tube": tube},
    ...     members=[Member(name="post", start=(0, 0, 0), end=(0, 0, 0.6), x_axis=(1, 0, 0), section="tube")],
    ...     supports=[Support(name="foot", part="post", at=(0, 0, 0), stiffness="rigid")],
    ...     pulls=[Pull(name="up", part="post", at=(0.05, 0.04, 0.6), force=(0, 0, 1000.0))],
    ...     tool=("post", (0.05, 0.04, 0.6)),
    ...     work=("ground", (0.05, 0.04, 0.6)),
    ... )
    >>> found = sb.deflect(machine)["up"]
    >>> round(float(found.deflection.tool_displacement[2]) * 1e6, 3)  # P L/EA: E = 210 GPa, A = 1440 mm² [µm]
    1.984
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

    def __post_init__(self) -> None:
        where = named("machine", self.name)
        sections = checks.pairs(where, "sections", self.sections)
        for name, section in sections:
            checks.instance(where, f'section "{name}"', section, (Outline, SectionStiffness))
        sections = tuple((n, s if s.name == n else replace(s, name=n)) for n, s in sections)
        lists = {name: _all_of(where, name, getattr(self, name), kind) for name, kind in LISTS.items()}
        for place in ("tool", "work"):
            point = getattr(self, place)
            if _is_pair(point, str):
                checks.frozen(self, **{place: Place(part=point[0], at=point[1])})
            checks.instance(where, place, getattr(self, place), Place)
        checks.one_of(where, "operator", self.operator, checks.words_of(Operator))
        checks.frozen(
            self,
            sections=sections,
            state=checks.pairs(where, "state", self.state),
            correlation=tuple(
                (first, checks.text(where, "correlation", second), checks.number(where, "correlation", r))
                for first, second, r in checks.pairs(where, "correlation", self.correlation, 3)
            ),
            **lists,
        )

    def __repr__(self) -> str:
        counts = [
            f"{len(own)} {field if len(own) != 1 else LISTS[field].__name__.lower().replace('pointmass', 'mass')}"
            for field in LISTS
            if (own := getattr(self, field))
        ]
        return f"Machine({self.name!r}: {', '.join(counts)})"

    def with_section(self, name: str, section: Outline | SectionStiffness) -> Machine:
        """The machine with another section in the place of one.

        Parameters
        ----------
        name : str
            Of a section that the machine has, as its members call it.
        section : Outline or SectionStiffness

        Returns
        -------
        Machine

        Raises
        ------
        MachineError
            If the machine has no section of that name.

        Examples
        --------
        >>> import strongback as sb
        >>> machine = sb.read("demo").machine
        >>> solid = sb.from_rings("solid", "steel", [(0, 0), (0.1, 0), (0.1, 0.08), (0, 0.08)])
        >>> changed = machine.with_section("column", solid)
        >>> dict(changed.sections)["column"].walls[0].material.name
        'steel'
        """
        known = dict(self.sections)
        if name not in known:
            raise MachineError(
                f'machine "{self.name}" has no section "{name}"', hint=checks.nearest(name, known, "sections")
            )
        return replace(self, sections=tuple((n, section if n == name else old) for n, old in self.sections))

    def holders(self) -> tuple[tuple[Literal["joint", "support"], Joint | Support], ...]:
        """Every joint and support with its kind."""
        return (
            *(("joint", joint) for joint in self.joints),
            *(("support", support) for support in self.supports),
        )


LISTS: dict[str, type] = {
    "members": Member,
    "blocks": Block,
    "joints": Joint,
    "supports": Support,
    "masses": PointMass,
    "pulls": Pull,
    "gauges": Gauge,
    "pads": Pad,
    "travels": Travel,
}
"""What each list of a machine holds."""
