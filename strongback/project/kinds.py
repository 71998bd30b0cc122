"""From the table of a kind of joint, and the parts around it, to its stiffness, its axes and its place."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from strongback.errors import InputError, MaterialError
from strongback.machine.directions import UP, axis_axes, face_axes, slide_axes, word_of
from strongback.machine.joints import library as kinds
from strongback.machine.joints.estimate import between, series
from strongback.machine.values import Axes, Vector
from strongback.materials import Material, material
from strongback.project.schema_joints import HolderTable, JointTable, SupportTable
from strongback.project.schema_kinds import (
    AngleBracketTable,
    BearingTable,
    BenchTable,
    BoxWayTable,
    ClampTable,
    DovetailTable,
    DriveTable,
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

__all__ = ["KindFault", "Line", "Placed", "Surroundings", "on_bench", "placed"]

SAME_PLACE = 2e-3  # a joint this near to the end of a member is at it [m]
STRAIGHT = math.cos(math.radians(1.0))
SOFT_THREAD = (
    90e9,
    2.0 / 3.0,
)  # below this modulus threads take two thirds of the usual torque (VDI 2230-1, memory)
SHORE = ((40.0, 1.5e6), (70.0, 6e6))  # modulus of rubber by hardness, from memory
SHORE_SURE = 1.3  # factor either way with a known hardness


class KindFault(InputError):
    """A kind that cannot be put in as its table stands; `key` is where."""

    def __init__(self, message: str, *, hint: str = "", key: str = "") -> None:
        super().__init__(message, hint=hint)
        self.key = key


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A member as its file draws it.

    Parameters
    ----------
    start, end : Vector
        [m]
    material : Material, optional
        Of its wall, where the section is an outline.
    body : bool
        Whether its walls give.
    """

    start: Vector
    end: Vector
    material: Material | None
    body: bool

    @property
    def along(self) -> np.ndarray:
        """Unit vector from start to end."""
        way = np.subtract(self.end, self.start)
        return np.asarray(way / np.linalg.norm(way))


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What a kind can be told from the parts around it.

    Parameters
    ----------
    members : mapping of str to Line
    materials : mapping of str to Material
        The file's own.
    feet : int
        Number of supports.
    weight : float
        Of all members and masses [N].
    """

    members: Mapping[str, Line]
    materials: Mapping[str, Material]
    feet: int
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A kind put into its place.

    Parameters
    ----------
    made : JointStiffness
    axes : Axes
    at : Vector
        [m]
    suffix : str
        Behind the name of a joint of which there are two, such as ``" front"``.
    table : BearingTable, optional
        Of such a joint, for what it says itself.
    """

    made: kinds.JointStiffness
    axes: Axes
    at: Vector
    suffix: str = ""
    table: BearingTable | None = None


def placed(table: HolderTable, key: str, around: Surroundings) -> tuple[Placed, ...]:
    """A kind of joint or support put into its place.

    Parameters
    ----------
    table : JointTable or SupportTable
    key : str
        Which of its kinds.
    around : Surroundings

    Returns
    -------
    tuple of Placed
        Two for a spindle that is a member.

    Raises
    ------
    KindFault
        If what is needed can neither be read nor derived, with the line to write.
    MachineError
        If a size is impossible.
    """
    site = _Site(table, around)
    if table.at is None and key != "spindle_bearings":
        raise KindFault("at is missing", hint="give where the springs act, such as the middle of the face")
    return _BUILDERS[key](site, getattr(table, key))


class _Site:
    """A joint among its parts."""

    def __init__(self, table: HolderTable, around: Surroundings) -> None:
        self.table = table
        self.around = around
        if isinstance(table, JointTable):
            self.parts: tuple[str, str] = (table.parts[0], table.parts[1])
        else:
            assert isinstance(table, SupportTable)
            self.parts = ("ground", table.part)

    @property
    def at(self) -> Vector:
        if self.table.at is None:
            raise KindFault(
                "at is missing", hint="give where the springs act, such as the middle of the face"
            )
        return self.table.at

    def line(self, side: int) -> Line | None:
        return self.around.members.get(self.parts[side])

    def bodies(self) -> tuple[bool, bool]:
        """Flange first, base second, as the library has them."""
        first, second = (self.line(side) for side in (0, 1))
        return (second is not None and second.body, first is not None and first.body)

    def made_of(self, key: str, given: str | None, side: int) -> Material:
        """A material as given, else that of the member on a side."""
        if given is None:
            line = self.line(side)
            if line is not None and line.material is not None:
                return line.material
            what = f'"{self.parts[side]}" is no member with an outline, so its material is not known'
            raise KindFault(what, hint=f'write {key} = "steel"', key="")
        if given in self.around.materials:
            return self.around.materials[given]
        try:
            return material(given)
        except MaterialError as error:
            raise KindFault(error.message, hint=error.hint, key=key) from None

    def face(self, given: Vector | None) -> Axes:
        """Axes of a face: as given, else along the member that begins or ends there."""
        if given is not None:
            return face_axes(given)
        if isinstance(self.table, SupportTable):
            return face_axes(UP)
        found = []
        for side, sign in ((1, 1.0), (0, -1.0)):
            line = self.line(side)
            if line is None:
                continue
            for end, inward in ((line.start, 1.0), (line.end, -1.0)):
                if math.dist(end, self.at) <= SAME_PLACE:
                    found.append(sign * inward * line.along)
        if not found or any(float(found[0] @ other) < STRAIGHT for other in found):
            raise KindFault(
                "where its face looks does not follow from its parts",
                hint=f'write face_looks = "+z": out of "{self.parts[0]}"',
            )
        return face_axes([float(v) for v in found[0]])

    def slide(self, table: DriveTable) -> Axes:
        """Axes of a slide; the faces look away from the axis of the member that carries the way."""
        if table.face_looks is not None:
            return slide_axes(table.slides, table.face_looks)
        for side, sign in ((0, 1.0), (1, -1.0)):
            line = self.line(side)
            if line is None:
                continue
            off = np.subtract(self.at, line.start)
            off = sign * (off - (off @ line.along) * line.along)
            off = off - (off @ np.asarray(table.slides)) * np.asarray(table.slides)
            looks = [float(v) for v in off]
            if math.hypot(*looks) > 1e-6 and word_of(looks):
                return slide_axes(table.slides, word_of(looks))
        raise KindFault(
            "where its faces look does not follow from its parts",
            hint=f'write face_looks = "-y": out of "{self.parts[0]}"',
        )

    def post(self, given: Vector | None) -> Axes:
        """Axes of a clamp or weld: along the post."""
        if given is not None:
            return axis_axes(given)
        lines = [line for line in (self.line(0), self.line(1)) if line is not None]
        if len(lines) != 1:
            raise KindFault(
                "which of its parts is the post does not follow from them", hint='write post_along = "+z"'
            )
        return axis_axes([float(v) for v in lines[0].along])


def _flange(site: _Site, table: FlangeTable) -> tuple[Placed, ...]:
    pair = (
        site.made_of("flange_material", table.flange_material, 1),
        site.made_of("base_material", table.base_material, 0),
    )
    preload, torqued = _preload(table, pair[1])
    made = kinds.flange_on_bolts(
        table.size,
        _pattern(table, preload),
        table.thickness,
        pair,
        wall_to_bolt=table.wall_to_bolt,
        finish=table.finish,
        torqued=torqued,
        bodies=site.bodies(),
    )
    return (Placed(made=made, axes=site.face(table.face_looks), at=site.at),)


def _brackets(site: _Site, table: AngleBracketTable) -> tuple[Placed, ...]:
    base = site.made_of("base_material", table.base_material, 0)
    pair = (site.made_of("bracket_material", table.bracket_material, 1), base)
    preload, _ = _preload(table, base)
    made = kinds.angle_brackets(
        table.size, _pattern(table, preload), table.thickness, table.leg, pair, finish=table.finish
    )
    return (Placed(made=made, axes=site.face(table.face_looks), at=site.at),)


def _tool_post(site: _Site, table: ToolPostTable) -> tuple[Placed, ...]:
    pair = (
        site.made_of("post_material", table.post_material, 1),
        site.made_of("slide_material", table.slide_material, 0),
    )
    count, diameter = table.bolts
    if count != 1:
        raise KindFault("a tool post has one bolt", hint='write bolts = "M10"', key="bolts")
    preload, _ = _preload(table, pair[1])
    made = kinds.tool_post(table.size, diameter, preload, table.thickness, pair)
    return (Placed(made=made, axes=site.face(table.face_looks), at=site.at),)


def _glued(site: _Site, table: GluedTable) -> tuple[Placed, ...]:
    made = kinds.glued_joint(table.size, table.glue)
    return (Placed(made=made, axes=site.face(table.face_looks), at=site.at),)


def _preload(table: Any, threads: Material) -> tuple[float, bool]:
    """Pull in a bolt, and whether anybody has measured it."""
    _, diameter = table.bolts
    if table.torque is not None and table.preload is not None:
        raise KindFault("give the torque or the preload", hint="not both", key="preload")
    if table.preload is not None:
        return table.preload, True
    if table.torque is not None:
        return kinds.preload_of(table.torque, diameter), True
    thread = min(kinds.USUAL_TORQUE, key=lambda size: abs(size - 1e3 * diameter))
    torque = kinds.USUAL_TORQUE[thread] * (1e3 * diameter / thread) ** 3
    share = SOFT_THREAD[1] if threads.E < SOFT_THREAD[0] else 1.0
    return share * kinds.preload_of(torque, diameter), False


def _pattern(table: FlangeTable | AngleBracketTable, preload: float) -> tuple[kinds.FlangeBolt, ...]:
    """Where the bolts are: listed, on a circle, or four at the corners."""
    count, diameter = table.bolts
    given = [
        key for key in ("bolt_spacing", "bolt_circle", "bolt_at") if getattr(table, key) not in (None, [])
    ]
    if len(given) > 1:
        raise KindFault(f"{given[0]} says where the bolts are already", hint="keep one of them", key=given[1])
    if table.bolt_at:
        if len(table.bolt_at) != count:
            raise KindFault(
                f"{count} bolts, {len(table.bolt_at)} places", hint="give a place for each", key="bolt_at"
            )
        places = list(table.bolt_at)
    elif table.bolt_circle is not None:
        half = math.pi / count
        places = [
            (
                0.5 * table.bolt_circle * math.cos(half + 2.0 * math.pi * i / count),
                0.5 * table.bolt_circle * math.sin(half + 2.0 * math.pi * i / count),
            )
            for i in range(count)
        ]
    elif count == 1:
        places = [(0.0, 0.0)]
    elif count != 4:
        raise KindFault(
            f"where {count} bolts are does not follow from their number",
            hint='write bolt_circle = "165 mm", or bolt_at = [[-30, 0], [30, 0]] with unit = "mm"',
        )
    elif table.bolt_spacing is not None:
        x, y = (0.5 * s for s in table.bolt_spacing)
        places = [(-x, -y), (x, -y), (x, y), (-x, y)]
    else:
        return kinds.corner_bolts(table.size, diameter, preload)
    return tuple(kinds.FlangeBolt(at=at, diameter=diameter, preload=preload) for at in places)


def _clamp(site: _Site, table: ClampTable) -> tuple[Placed, ...]:
    axes = site.post(table.post_along)
    lines = [site.line(side) for side in (0, 1)]
    posts = [
        side
        for side in (0, 1)
        if (line := lines[side]) is not None and abs(float(line.along @ np.asarray(axes[2]))) > STRAIGHT
    ]
    post = posts[0] if posts else 0
    hub = site.made_of("hub_material", table.hub_material, 1 - post)
    count, _ = table.bolts
    preload, _ = _preload(table, hub)
    body = lines[1 - post]
    made = kinds.clamp_on_round_column(
        table.diameter,
        table.height,
        count,
        preload,
        (hub, hub),
        finish=table.finish,
        bodies=(body is not None and body.body, False),
    )
    return (Placed(made=made, axes=axes, at=site.at),)


def _weld(site: _Site, table: WeldTable) -> tuple[Placed, ...]:
    plate = site.made_of("plate_material", table.plate_material, 0)
    if site.line(0) is not None:
        raise KindFault(
            f'the plate "{site.parts[0]}" is a member and bends there already',
            hint='write along = "rigid" and about = "rigid", or make the plate a block',
        )
    made = kinds.welded_on_a_plate(table.thickness, table.column, table.held, plate, clamped=table.clamped)
    return (Placed(made=made, axes=site.post(table.post_along), at=site.at),)


def _drive(table: DriveTable, *, locked: bool = False) -> tuple[float, float] | None:
    """Lowest and highest stiffness along a way, of what holds it."""
    given = [key for key in ("held_by", "ball_screw", "trapezoidal_screw") if getattr(table, key) is not None]
    if len(given) > 1:
        raise KindFault(f"{given[0]} holds it along already", hint="keep one of them", key=given[1])
    found: list[kinds.JointStiffness] = []
    if table.ball_screw is not None:
        t = table.ball_screw
        motor = math.inf if t.holding_torque is None else kinds.motor_spring(t.holding_torque, t.lead)
        found.append(
            kinds.ball_screw(
                t.diameter,
                t.lead,
                t.free,
                preload=t.preload,
                motor=motor,
                fixed_both_ends=t.fixed_both_ends,
            )
        )
    if table.trapezoidal_screw is not None:
        s = table.trapezoidal_screw
        found.append(kinds.trapezoidal_screw(s.diameter, s.pitch, s.free, nut=s.nut, thrust=s.thrust))
    if table.held_by is not None and not (locked and table.held_by == "lock"):
        found.append({"lock": kinds.lock, "belt": kinds.belt, "rack": kinds.rack}[table.held_by]())
    if locked:
        found.append(kinds.lock())
    if not found:
        return None
    return sum(f.low[1] for f in found), sum(f.high[1] for f in found)


def _vertical(table: DriveTable) -> bool:
    """Whether a slide runs up and down rather than level."""
    return abs(table.slides[2]) > math.cos(math.radians(45.0))


def _dovetail(site: _Site, table: DovetailTable) -> tuple[Placed, ...]:
    made = kinds.dovetail_way(
        table.flat,
        table.length,
        table.apart,
        slant=table.slant,
        angle=table.angle,
        gib=table.gib,
        gib_screws=table.gib_screws,
        vertical=_vertical(table),
        locked=table.locked,
        along=_drive(table, locked=table.locked),
    )
    return (Placed(made=made, axes=site.slide(table), at=site.at),)


def _box(site: _Site, table: BoxWayTable) -> tuple[Placed, ...]:
    made = kinds.box_way(
        table.flat,
        table.length,
        table.apart,
        side=table.side,
        keep_plate=table.keep_plate,
        gib=table.gib,
        gib_screws=table.gib_screws,
        vertical=_vertical(table),
        locked=table.locked,
        along=_drive(table, locked=table.locked),
    )
    return (Placed(made=made, axes=site.slide(table), at=site.at),)


def _places(spacing: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    """Middles of one, two or four carriages."""
    if min(spacing) < 0.0:
        raise KindFault("a distance between carriages below 0", key="spacing")
    across, along = ((0.0,) if s == 0.0 else (-0.5 * s, 0.5 * s) for s in spacing)
    return tuple((x, y) for x in across for y in along)


def _carriages(site: _Site, table: ProfileRailTable) -> tuple[Placed, ...]:
    made = kinds.profile_rail_carriage(
        table.size, preload=table.preload, places=_places(table.spacing), along=_drive(table)
    )
    return (Placed(made=made, axes=site.slide(table), at=site.at),)


def _bushings(site: _Site, table: RoundRailTable) -> tuple[Placed, ...]:
    made = kinds.round_rail(
        table.diameter,
        places=_places(table.spacing),
        bush=table.bush,
        length=table.length,
        open_below=table.open_below,
        along=_drive(table),
    )
    return (Placed(made=made, axes=site.slide(table), at=site.at),)


def _bearing(table: BearingTable) -> kinds.Bearing:
    return kinds.Bearing(
        kind=table.kind,
        bore=table.bore,
        preload=table.preload,
        fit=table.fit,
        balls=table.balls,
        ball=table.ball,
        angle=table.angle,
    )


def _spindle(site: _Site, table: SpindleTable) -> tuple[Placed, ...]:
    if site.table.at is not None:
        raise KindFault("front_bearing says where it is", hint="drop at", key="front_bearing")
    axes, front, rear = axis_axes(table.nose), _bearing(table.front), _bearing(table.rear)
    line = site.line(1)
    if line is not None:
        if abs(float(line.along @ np.asarray(table.nose))) < STRAIGHT:
            ways = word_of([float(v) for v in line.along]).lstrip("+-") or "askew"
            raise KindFault(
                f'the nose does not point along the member "{site.parts[1]}"',
                hint=f'it runs along {ways}: write nose = "+{ways}" or "-{ways}"',
                key="nose",
            )
        behind = np.subtract(table.front_bearing, table.bearing_span * np.asarray(table.nose))
        x, y, z = (float(v) + 0.0 for v in behind)
        one = kinds.one_bearing(front, thrust=table.thrust == "front")
        two = kinds.one_bearing(rear, thrust=table.thrust == "rear", held=table.held)
        return (
            Placed(made=one, axes=axes, at=table.front_bearing, suffix=" front", table=table.front),
            Placed(made=two, axes=axes, at=(x, y, z), suffix=" rear", table=table.rear),
        )
    missing = [key for key in ("overhang", "diameter") if getattr(table, key) is None]
    if missing:
        raise KindFault(
            f'the spindle "{site.parts[1]}" is a block, and how its shaft bends is not known',
            hint="write " + " and ".join(f'{key} = "30 mm"' for key in missing) + ", or make it a member",
        )
    made = kinds.spindle_bearings(
        front,
        rear,
        table.bearing_span,
        overhang=table.overhang,
        diameter=table.diameter,
        thrust=table.thrust,
        held=table.held,
    )
    return (Placed(made=made, axes=axes, at=table.front_bearing),)


def _quill(site: _Site, table: QuillTable) -> tuple[Placed, ...]:
    head = site.made_of("head_material", table.head_material, 0)
    made = kinds.quill_in_bore(
        table.diameter, table.length, (head, head), pressure=table.pressure, clamped=table.clamped
    )
    if not table.clamped:
        if table.held_by is None:
            raise KindFault("nothing holds a loose quill along", hint='write held_by = "rack"', key="clamped")
        made = _along_z(made, kinds.rack())
    return (Placed(made=made, axes=axis_axes(table.nose), at=site.at),)


def _along_z(made: kinds.JointStiffness, drive: kinds.JointStiffness) -> kinds.JointStiffness:
    """A joint held along its axis by a drive instead of friction."""
    low, best, high = (
        (six[0], six[1], hold[1], *six[3:])
        for six, hold in ((made.low, drive.low), (made.best, drive.best), (made.high, drive.high))
    )
    return kinds.JointStiffness(
        kind=made.kind,
        low=low,
        best=best,
        high=high,
        source=f"{made.source}; {drive.source}",
        play=made.play,
        opens=made.opens,
        notes=made.notes,
    )


def _tool(site: _Site, table: ToolInNoseTable) -> tuple[Placed, ...]:
    made = kinds.tool_in_the_nose(
        table.holder, size=table.size, pull=table.pull, shank=table.shank, held=table.gripped
    )
    return (Placed(made=made, axes=axis_axes(table.nose), at=site.at),)


def _tailstock(site: _Site, table: TailstockTable) -> tuple[Placed, ...]:
    return (Placed(made=kinds.tailstock(), axes=slide_axes(table.slides, UP), at=site.at),)


def _foot(site: _Site, table: LevellingFootTable) -> tuple[Placed, ...]:
    weight = site.around.weight / max(1, site.around.feet) if table.weight is None else table.weight
    if not weight > 0.0:
        raise KindFault("nothing weighs on it", hint='write weight = "100 N"')
    end = table.thread if table.end is None else table.end
    made = kinds.levelling_foot_steel(0.85 * table.thread, table.free, end, weight, stands_on=table.stands_on)
    if site.around.feet < 4:  # three feet do not rock
        made = dataclasses.replace(made, play=())
    return (Placed(made=made, axes=face_axes(UP), at=site.at),)


def _rubber(site: _Site, table: RubberFootTable) -> tuple[Placed, ...]:
    if table.hardness is None:
        made = kinds.rubber_foot(table.diameter, table.height)
    else:
        (h0, e0), (h1, e1) = SHORE
        E = e0 * (e1 / e0) ** ((table.hardness - h0) / (h1 - h0))
        made = kinds.rubber_foot(table.diameter, table.height, modulus=(E / SHORE_SURE, E * SHORE_SURE))
    return (Placed(made=made, axes=face_axes(UP), at=site.at),)


def _bench(site: _Site, table: BenchTable) -> tuple[Placed, ...]:
    made = kinds.bench(table.thickness, table.depth, table.span, material=table.material, frame=table.frame)
    return (Placed(made=made, axes=face_axes(UP), at=site.at),)


def on_bench(foot: Placed, bench: Placed, feet: int) -> Placed:
    """A foot on its share of a bench, one after the other; feet on one bench share it."""
    share = 1.0 / max(1, feet)
    low, high = (
        tuple(series(k, share * b) if b > 0.0 else k for k, b in zip(one, other, strict=True))
        for one, other in ((foot.made.low, bench.made.low), (foot.made.high, bench.made.high))
    )
    ends = between(low, high)
    made = kinds.JointStiffness(
        kind=foot.made.kind,
        low=ends[0],
        best=ends[1],
        high=ends[2],
        source=f"{foot.made.source}; on its share of a bench: {bench.made.source}",
        play=foot.made.play,
        opens=foot.made.opens,
        notes=foot.made.notes,
    )
    return Placed(made=made, axes=foot.axes, at=foot.at)


_BUILDERS: dict[str, Callable[[_Site, Any], tuple[Placed, ...]]] = {
    "flange_on_bolts": _flange,
    "angle_bracket": _brackets,
    "tool_post": _tool_post,
    "glued_joint": _glued,
    "clamp_on_round_column": _clamp,
    "welded_on_a_plate": _weld,
    "dovetail_way": _dovetail,
    "box_way": _box,
    "profile_rail_carriage": _carriages,
    "round_rail": _bushings,
    "spindle_bearings": _spindle,
    "quill_in_bore": _quill,
    "tool_in_the_nose": _tool,
    "tailstock": _tailstock,
    "levelling_foot_steel": _foot,
    "rubber_foot": _rubber,
    "bench": _bench,
}
