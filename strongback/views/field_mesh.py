"""The machine under a pull as one mesh: solids with their displacement, and lines for the tool, the gauges and the pull."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from strongback.machine.body import field
from strongback.machine.cases import CaseResult
from strongback.machine.layout import BodyPlace
from strongback.machine.loop import Loop
from strongback.machine.section_forces import FORCES
from strongback.machine.solve import PartMotion
from strongback.machine.values import GROUND, Member, Pull, Vector
from strongback.views.shape import (
    Moved,
    body_displacement,
    checked_factor,
    extent,
    magnification,
    moved_points,
    turned_points,
)
from strongback.views.solids import BOX_CELL, Prism, boxes, end_faces, prisms, runs

__all__ = ["KINDS", "FieldMesh", "field_mesh"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
KINDS = ("wall", "fill", "insert", "block", "axis", "tool", "gauge", "pull")
ARROW = 0.15  # length of the pull as a fraction of the machine


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldMesh:
    """What is written: points, cells of several kinds, and data on both.

    The tool is a line from its point to the same point of the work, a gauge a line from the point it touches to the same
    point carried by its stand: they have no length at rest, and what they stretch is what is felt and read there.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        At rest [m].
    cells : tuple of (str, ndarray)
        Kind (``"wedge"``, ``"hexahedron"``, ``"line"``) and points of each cell.
    displacement : ndarray, shape (n, 3)
        [m]
    rotation : ndarray, shape (n, 3)
        Of the section or block that carries the point [rad]; zero in a body, whose points have none.
    part : ndarray of int, shape (cells,)
        Index into `parts` of every cell, in the order of `cells`; -1 for the pull and what the ground carries.
    kind : ndarray of int, shape (cells,)
        Index into `KINDS`.
    mark : ndarray of int, shape (cells,)
        Index into `marks` of the lines of tool, gauges and pull; -1 elsewhere.
    reading : ndarray, shape (cells,)
        Of the lines of gauges [m]; NaN elsewhere.
    stress : ndarray, shape (cells, 6)
        XX, YY, ZZ, XY, YZ, XZ in machine axes [Pa]. Only bodies have it; NaN elsewhere.
    forces : ndarray, shape (cells, 7)
        Mean over the lines along the axes of beams, as `FORCES`; NaN elsewhere, and under a single pull.
    parts, marks : tuple of str
    machine, under : str
        Names of the machine, and of the pull or case.
    pulls : tuple of Pull
        What acts in it.
    reactions : tuple of (str, ndarray of shape (6,))
        Force and couple of the ground [N, N m].
    magnification : float
        By which the motion is seen well.
    """

    points: Array
    cells: tuple[tuple[str, Index], ...]
    displacement: Array
    rotation: Array
    part: Index
    kind: Index
    mark: Index
    reading: Array
    stress: Array
    forces: Array
    parts: tuple[str, ...]
    marks: tuple[str, ...]
    machine: str
    under: str
    pulls: tuple[Pull, ...]
    reactions: tuple[tuple[str, Array], ...]
    magnification: float

    @property
    def von_mises(self) -> Array:
        """Equivalent stress of every cell [Pa], (cells,)."""
        xx, yy, zz, xy, yz, xz = self.stress.T
        normal = (xx - yy) ** 2 + (yy - zz) ** 2 + (zz - xx) ** 2
        return np.asarray(np.sqrt(0.5 * normal + 3.0 * (xy**2 + yz**2 + xz**2)))

    def point_data(self) -> dict[str, Array]:
        """What is written on points, by name."""
        return {"displacement_m": self.displacement, "rotation_rad": self.rotation}

    def cell_data(self) -> dict[str, Array | Index]:
        """What is written on cells, by name; stress where a part is a body."""
        found: dict[str, Array | Index] = {
            "part_id": self.part,
            "kind_id": self.kind,
            "mark_id": self.mark,
            "reading_m": self.reading,
        }
        if not np.isnan(self.stress).all():
            found |= {"stress_Pa": self.stress, "von_mises_Pa": self.von_mises}
        if not np.isnan(self.forces).all():
            found |= {f"section_{name}": self.forces[:, k].copy() for k, (name, _) in enumerate(FORCES)}
        return found

    def ids(self) -> dict[str, int]:
        """Names of machine, pull, parts, kinds and marks with their numbers."""
        found = {f"machine: {self.machine}": 0, f"under: {self.under}": 0}
        for word, names in (("part", self.parts), ("kind", KINDS), ("mark", self.marks)):
            found |= {f"{word} {i}: {name}": i for i, name in enumerate(names)}
        return found

    def fields(self) -> dict[str, Array]:
        """What is written once: magnification, the pulls, and all names with their numbers."""
        found = {"magnification": np.array([self.magnification])}
        for pull in self.pulls:
            found |= {
                f"pull {pull.name}: point [m]": np.array(pull.at, dtype=float),
                f"pull {pull.name}: force [N]": np.array(pull.force, dtype=float),
                f"pull {pull.name}: couple [N m]": np.array(pull.couple, dtype=float),
            }
        for name, wrench in self.reactions:
            found[f"reaction {name}: force [N]"], found[f"reaction {name}: couple [N m]"] = (
                wrench[:3],
                wrench[3:],
            )
        return found | {name: np.array([float(number)]) for name, number in self.ids().items()}


class _Builder:
    """Gathers points and cells part by part."""

    def __init__(self) -> None:
        self.points: list[Array] = []
        self.displacement: list[Array] = []
        self.rotation: list[Array] = []
        self.cells: dict[str, list[Index]] = {}
        self.data: dict[str, list[tuple[Index, Array]]] = {}
        self.marks: list[str] = []
        self.count = 0

    def add(
        self,
        points: Array,
        displacement: Array,
        rotation: Array,
        shape: str,
        cells: Index,
        *,
        part: int,
        kind: str | Index,
        mark: str = "",
        reading: float = np.nan,
        stress: Array | None = None,
        forces: Array | None = None,
    ) -> None:
        """Add points and cells over them, numbered from their first."""
        number = -1
        if mark:
            number = len(self.marks)
            self.marks.append(mark)
        whole = np.empty((len(cells), 3), dtype=np.int64)
        whole[:, 0] = part
        whole[:, 1] = KINDS.index(kind) if isinstance(kind, str) else kind
        whole[:, 2] = number
        real = np.full((len(cells), 14), np.nan)
        real[:, 0] = reading
        if stress is not None:
            real[:, 1:7] = stress
        if forces is not None:
            real[:, 7:] = forces
        self.cells.setdefault(shape, []).append(cells + self.count)
        self.data.setdefault(shape, []).append((whole, real))
        self.points.append(points)
        self.displacement.append(displacement)
        self.rotation.append(np.broadcast_to(rotation, points.shape))
        self.count += len(points)


def field_mesh(loop: Loop, deflection: Moved, *, magnify: float | None = None) -> FieldMesh:
    """Members swept by all regions of their sections, bodies as solved, blocks as boxes; tool, gauges and pull as lines.

    Parameters
    ----------
    loop : Loop
    deflection : Deflection or CaseResult
    magnify : float, optional
        Factor on the motion that is kept with the mesh; default: one at which it is seen well.

    Returns
    -------
    FieldMesh
    """
    builder = _Builder()
    machine = loop.machine
    parts = (*(m.name for m in machine.members), *(b.name for b in machine.blocks))
    motions = {motion.part: motion for motion in deflection.parts}
    own = deflection.members if isinstance(deflection, CaseResult) else ()
    forces = {one.member: one.forces.reshape(-1, 2, len(FORCES)).mean(axis=1) for one in own}
    for prism in prisms(loop, deflection):
        if prism.part not in loop.bodies:
            _add_prism(builder, prism, parts.index(prism.part))
    for member in machine.members:
        if member.name in loop.bodies:
            _add_body(builder, loop, member, motions[member.name], parts.index(member.name))
        else:
            _add_axis(builder, motions[member.name], parts.index(member.name), forces.get(member.name))
    for box in boxes(loop, deflection):
        builder.add(
            box.points,
            box.displacement,
            box.rotation,
            "hexahedron",
            BOX_CELL,
            part=parts.index(box.part),
            kind="block",
        )
    _add_marks(builder, loop, deflection, parts)
    data = [pair for shape in builder.cells for pair in builder.data[shape]]
    whole, real = (np.concatenate([pair[k] for pair in data]) for k in (0, 1))
    return FieldMesh(
        points=np.concatenate(builder.points),
        cells=tuple((shape, np.concatenate(index)) for shape, index in builder.cells.items()),
        displacement=np.concatenate(builder.displacement),
        rotation=np.concatenate(builder.rotation),
        part=whole[:, 0],
        kind=whole[:, 1],
        mark=whole[:, 2],
        reading=real[:, 0],
        stress=real[:, 1:7],
        forces=real[:, 7:],
        parts=parts,
        marks=tuple(builder.marks),
        machine=machine.name,
        under=deflection.name,
        pulls=deflection.pulls,
        reactions=deflection.reactions,
        magnification=magnification(machine, deflection) if magnify is None else checked_factor(magnify),
    )


def _layers(triangles: Index, points: int, stations: int) -> Index:
    """Wedges between every two stations over the triangles of one, (cells, 6)."""
    starts = points * np.arange(stations - 1)[:, None, None]
    return np.asarray(
        np.concatenate([triangles + starts, triangles + starts + points], axis=2).reshape(-1, 6)
    )


def _add_prism(builder: _Builder, prism: Prism, part: int) -> None:
    stations, count = prism.points.shape[:2]
    builder.add(
        prism.points.reshape(-1, 3),
        prism.displacement.reshape(-1, 3),
        np.repeat(prism.rotation, count, axis=0),
        "wedge",
        _layers(prism.face.triangles(), count, stations),
        part=part,
        kind=prism.face.kind,
    )


def _add_axis(builder: _Builder, motion: PartMotion, part: int, forces: Array | None) -> None:
    """The line of origins of the sections of a member."""
    count = len(motion.points)
    line = np.column_stack([np.arange(count - 1), np.arange(1, count)])
    builder.add(
        motion.points,
        motion.displacement,
        motion.rotation,
        "line",
        line,
        part=part,
        kind="axis",
        forces=forces,
    )


def _add_body(builder: _Builder, loop: Loop, member: Member, motion: PartMotion, part: int) -> None:
    """A body as wedges between its planes, over the corners of its triangles."""
    place = loop.bodies[member.name]
    body = place.body
    u = body_displacement(place, motion)
    used, corners = np.unique(body.triangles[:, :3], return_inverse=True)
    corners = corners.reshape(-1, 3)
    planes = np.arange(0, len(body.planes), 2)
    flat = body.nodes[used] @ place.axes[:2]
    points = np.asarray(place.start) + flat[None] + (body.planes[planes][:, None] * place.axes[2])[:, None]
    span_of = np.repeat(np.arange(len(body.span_elements)), body.span_elements)
    kinds = _kinds(loop, member, place)
    wedges, kind = [], []
    for level, span in enumerate(span_of):
        solid = body.region[span] >= 0
        wedges.append(
            np.hstack([corners[solid] + level * len(used), corners[solid] + (level + 1) * len(used)])
        )
        middle = 0.5 * (body.planes[planes[level]] + body.planes[planes[level + 1]])
        row = next(k for k, (low, high, _) in enumerate(runs(member)) if low <= middle <= high)
        kind.append(kinds[row][solid])
    builder.add(
        points.reshape(-1, 3),
        u[planes][:, used].reshape(-1, 3),
        np.zeros(3),
        "wedge",
        np.concatenate(wedges),
        part=part,
        kind=np.concatenate(kind),
        stress=_stress(place, motion),
    )


def _kinds(loop: Loop, member: Member, place: BodyPlace) -> list[Index]:
    """What each triangle of a body is in each run of one section: the region that its middle lies in."""
    sections = dict(loop.machine.sections)
    middle = place.body.nodes[place.body.triangles[:, :3]].mean(axis=1)
    found = []
    for _, _, name in runs(member):
        kind = np.full(len(middle), KINDS.index("wall"), dtype=np.int64)
        for face in end_faces(sections[name]):
            kind[shapely.contains_xy(face.polygon, *middle.T)] = KINDS.index(face.kind)
        found.append(kind)
    return found


def _stress(place: BodyPlace, motion: PartMotion) -> Array:
    """Stress of a body in the middle of its cells, XX, YY, ZZ, XY, YZ, XZ in machine axes [Pa], (cells, 6)."""
    motions = np.concatenate([motion.displacement @ place.axes.T, motion.rotation @ place.axes.T], axis=1)
    xx, yy, ss, ys, xs, xy = field(place.body, motions.ravel()).stress.T
    tensor = np.array([[xx, xy, xs], [xy, yy, ys], [xs, ys, ss]])
    turned = np.einsum("ai,abe,bj->eij", place.axes, tensor, place.axes, optimize=True)
    return np.asarray(turned[:, [0, 1, 2, 0, 1, 0], [0, 1, 2, 1, 2, 2]])


def _add_marks(builder: _Builder, loop: Loop, deflection: Moved, parts: tuple[str, ...]) -> None:
    """Lines of the tool against the work, of every gauge against its stand, and of the pull."""
    machine = loop.machine

    def carried(part: str, at: Vector) -> tuple[Array, Array]:
        return _carried(loop, deflection, part, at)

    def add(
        name: str, kind: str, ends: tuple[tuple[str, Vector], tuple[str, Vector]], reading: float
    ) -> None:
        (here, at), (there, foot) = ends
        moved = [carried(here, at), carried(there, foot)]
        builder.add(
            np.array([at, foot], dtype=float),
            np.array([u for u, _ in moved]),
            np.array([r for _, r in moved]),
            "line",
            np.array([[0, 1]]),
            part=parts.index(here) if here in parts else -1,
            kind=kind,
            mark=name,
            reading=reading,
        )

    add("tool", "tool", ((machine.tool.part, machine.tool.at), (machine.work.part, machine.work.at)), np.nan)
    readings = dict(deflection.gauges)
    for gauge in machine.gauges:
        add(gauge.name, "gauge", ((gauge.part, gauge.at), (gauge.reference, gauge.at)), readings[gauge.name])
    for pull in deflection.pulls:
        u, r = carried(pull.part, pull.at)
        along = np.array(pull.force if np.any(pull.force) else pull.couple, dtype=float)
        tail = np.array(pull.at) - ARROW * extent(machine) * along / np.linalg.norm(along)
        builder.add(
            np.array([tail, pull.at]),
            np.array([u, u]),
            r,
            "line",
            np.array([[0, 1]]),
            part=-1,
            kind="pull",
            mark=pull.name,
        )


def _carried(loop: Loop, deflection: Moved, part: str, at: Vector) -> tuple[Array, Array]:
    """Displacement and rotation of a point that a part carries."""
    if part == GROUND:
        return np.zeros(3), np.zeros(3)
    motion = next(m for m in deflection.parts if m.part == part)
    if part in loop.bodies:
        every = np.zeros(loop.size)
        every[loop.bodies[part].columns] = np.hstack([motion.displacement, motion.rotation])
        six = loop.motion_of(part, at) @ every
        return six[:3], six[3:]
    point = np.array([at], dtype=float)
    return moved_points(motion, point)[0], turned_points(motion, point)[0]
