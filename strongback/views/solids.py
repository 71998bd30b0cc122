"""The parts of a machine as solids, at rest and moved: members swept by every region of their section, blocks as boxes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from strongback.machine.frames import member_axes
from strongback.machine.layout import BodyPlace
from strongback.machine.loop import Loop
from strongback.machine.solve import PartMotion
from strongback.machine.values import Block, Machine, Member
from strongback.section.outline import regions
from strongback.section.values import Outline, Ring, SectionStiffness
from strongback.views.shape import Shaped, body_displacement, extent, moved_points

__all__ = ["BOX_CELL", "Box", "Face", "Prism", "boxes", "end_faces", "prisms", "resting", "runs"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Kind = Literal["wall", "fill", "insert"]
SAME = 1e-9  # [m]
BOX_CELL = np.arange(8, dtype=np.int64)[None]  # the points of a box as one cell of eight corners
SLENDER = 0.3  # least thickness of a box that nothing gives a size, as a fraction of its length
LEAST = 0.04  # and of the machine


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Face:
    """One region of the end face of a member.

    Parameters
    ----------
    kind : {"wall", "fill", "insert"}
    name : str
        As the section calls it; empty where the section is given by its stiffness.
    rings : tuple of ndarray, shape (n, 2)
        Outer edge counter-clockwise, then the edges of its holes clockwise [m].
    """

    kind: Kind
    name: str
    rings: tuple[Array, ...]

    @property
    def polygon(self) -> Polygon:
        """The region [m]."""
        return Polygon(self.rings[0], self.rings[1:])

    def triangles(self) -> Index:
        """Triangles over the points of all rings in their order, counter-clockwise, (triangles, 3)."""
        points = np.concatenate(self.rings)
        if len(points) == 3:
            return np.arange(3, dtype=np.int64)[None]
        cut = shapely.constrained_delaunay_triangles(self.polygon)
        corners = np.array([np.asarray(t.exterior.coords)[:3] for t in cut.geoms])
        number = {(x, y): i for i, (x, y) in enumerate(points.tolist())}
        found = np.array([[number[x, y] for x, y in corner] for corner in corners.tolist()], dtype=np.int64)
        a, b, c = (points[found[:, k]] for k in range(3))
        clockwise = (b - a)[:, 0] * (c - a)[:, 1] < (b - a)[:, 1] * (c - a)[:, 0]
        found[clockwise] = found[clockwise][:, ::-1]
        return found


def end_faces(section: Outline | SectionStiffness, *, fine: int | None = None) -> tuple[Face, ...]:
    """Every region of a section: walls with their hollows, fills, inserts.

    A section that is given by its stiffness is the solid rectangle with the same radii of gyration.

    Parameters
    ----------
    section : Outline or SectionStiffness
    fine : int, optional
        Leave out points of curves until a region has about as many, for pictures; default: all of them.

    Returns
    -------
    tuple of Face
        Walls first.
    """
    if isinstance(section, SectionStiffness):
        return (Face(kind="wall", name="", rings=(np.array(_bar(section)),)),)
    found = []
    for region in regions(section):
        first = region.part.split(" ")[0]
        kind: Kind = "fill" if first == "fill" else "insert" if first == "insert" else "wall"
        polygon = orient(region.polygon if fine is None else _simplified(region.polygon, fine))
        rings = [np.asarray(ring.coords)[:-1, :2] for ring in (polygon.exterior, *polygon.interiors)]
        found.append(Face(kind=kind, name=region.part, rings=tuple(rings)))
    return tuple(found)


def _bar(section: SectionStiffness) -> Ring:
    half_x = math.sqrt(3.0 * section.EIy / section.EA)
    half_y = math.sqrt(3.0 * section.EIx / section.EA)
    x, y = section.centroid
    return tuple((x + a * half_x, y + b * half_y) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1)))


def _simplified(polygon: Polygon, fine: int) -> Polygon:
    """A region with few enough points to draw."""
    tolerance, simple = 1e-4, polygon
    most = fine + 8 * len(polygon.interiors)
    while shapely.get_num_coordinates(simple) > most and tolerance < 0.1:
        found = polygon.simplify(tolerance)
        if found.geom_type == "Polygon" and not found.is_empty:
            simple = found
        tolerance *= 1.5
    return simple


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prism:
    """A region of a section swept along one span of a member.

    Parameters
    ----------
    part : str
    face : Face
    points : ndarray, shape (stations, n, 3)
        Points of all rings of the face, at rest [m].
    displacement : ndarray, shape (stations, n, 3)
        [m]
    rotation : ndarray, shape (stations, 3)
        Of each section [rad].
    """

    part: str
    face: Face
    points: Array
    displacement: Array
    rotation: Array

    def outer(self) -> slice:
        """Points of the outer edge among all."""
        return slice(0, len(self.face.rings[0]))


def prisms(loop: Loop, deflection: Shaped, *, fine: int | None = None) -> tuple[Prism, ...]:
    """Every member of a machine as swept regions, at rest and moved.

    Parameters
    ----------
    loop : Loop
    deflection : Deflection or CaseResult
    fine : int, optional
        As in `end_faces`.

    Returns
    -------
    tuple of Prism
        Spans from start to end, all regions of each.
    """
    motions = {motion.part: motion for motion in deflection.parts}
    sections = dict(loop.machine.sections)
    found: list[Prism] = []
    for member in loop.machine.members:
        place = loop.bodies.get(member.name)
        for low, high, name in runs(member):
            for face in end_faces(sections[name], fine=fine):
                motion = motions[member.name]
                found.append(
                    _swept(member, face, motion, (low, high))
                    if place is None
                    else _swept_body(place, member, face, motion, (low, high))
                )
    return tuple(found)


def resting(machine: Machine, *, fine: int | None = None) -> tuple[tuple[Prism, ...], tuple[Box, ...]]:
    """Members and blocks of a machine at rest, without any pull.

    Parameters
    ----------
    machine : Machine
    fine : int, optional
        As in `end_faces`.

    Returns
    -------
    tuple of (tuple of Prism, tuple of Box)
    """
    sections = dict(machine.sections)
    found = []
    for member in machine.members:
        axes = member_axes(member)
        for low, high, name in runs(member):
            line = np.asarray(member.start) + np.array([[low], [high]]) * axes[2]
            for face in end_faces(sections[name], fine=fine):
                points = line[:, None, :] + (np.concatenate(face.rings) @ axes[:2])[None, :, :]
                still = np.zeros_like(points)
                found.append(
                    Prism(
                        part=member.name, face=face, points=points, displacement=still, rotation=still[:, 0]
                    )
                )
    still_boxes = [
        Box(
            part=block.name,
            points=_corners(machine, block),
            displacement=np.zeros((8, 3)),
            rotation=np.zeros(3),
        )
        for block in machine.blocks
    ]
    return tuple(found), tuple(still_boxes)


def runs(member: Member) -> list[tuple[float, float, str]]:
    """Where each run of one section along a member starts and ends [m], and its name.

    Parameters
    ----------
    member : Member
    """
    found: list[tuple[float, float, str]] = []
    at = 0.0
    for span in member.spans:
        start = found.pop()[0] if found and found[-1][2] == span.section else at
        at += span.length
        found.append((start, at, span.section))
    return found


def _swept(
    member: Member,
    face: Face,
    motion: PartMotion,
    span: tuple[float, float],
) -> Prism:
    axes = member_axes(member)
    along = (motion.points - np.asarray(member.start)) @ axes[2]
    here = (along >= span[0] - SAME) & (along <= span[1] + SAME)
    arms = np.concatenate(face.rings) @ axes[:2]
    shape = (int(here.sum()), *arms.shape)
    return Prism(
        part=member.name,
        face=face,
        points=motion.points[here, None, :] + arms[None, :, :],
        displacement=motion.displacement[here, None, :]
        + np.cross(motion.rotation[here, None, :], np.broadcast_to(arms, shape)),
        rotation=motion.rotation[here],
    )


def _swept_body(
    place: BodyPlace,
    member: Member,
    face: Face,
    motion: PartMotion,
    span: tuple[float, float],
) -> Prism:
    """A body by its edges: the nodes nearest to the points of the rings."""
    body = place.body
    ring = np.concatenate(face.rings)
    nearest = np.array([int(np.argmin(np.linalg.norm(body.nodes - point, axis=1))) for point in ring])
    planes = np.arange(0, len(body.planes), 2)
    planes = planes[(body.planes[planes] >= span[0] - SAME) & (body.planes[planes] <= span[1] + SAME)]
    u = body_displacement(place, motion)[planes]
    axis = np.asarray(member.start) + body.planes[planes][:, None] * place.axes[2]
    return Prism(
        part=member.name,
        face=face,
        points=axis[:, None, :] + (body.nodes[nearest] @ place.axes[:2])[None, :, :],
        displacement=u[:, nearest],
        rotation=np.broadcast_to(motion.rotation.mean(axis=0), axis.shape),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Box:
    """A block: it has no size in the model, so that its box is a picture only.

    Parameters
    ----------
    part : str
    points : ndarray, shape (8, 3)
        Lower face counter-clockwise from above, then the upper one, at rest [m].
    displacement : ndarray, shape (8, 3)
        [m]
    rotation : ndarray, shape (3,)
        [rad]
    """

    part: str
    points: Array
    displacement: Array
    rotation: Array


def boxes(loop: Loop, deflection: Shaped) -> tuple[Box, ...]:
    """Every block of a machine as a box, at rest and moved.

    The box covers the pads on which the block bears; without any it is the even solid with the mass and inertia that
    the block carries; without those it reaches to its joints.

    Parameters
    ----------
    loop : Loop
    deflection : Deflection or CaseResult

    Returns
    -------
    tuple of Box
    """
    motions = {motion.part: motion for motion in deflection.parts}
    found = []
    for block in loop.machine.blocks:
        points = _corners(loop.machine, block)
        motion = motions[block.name]
        found.append(
            Box(
                part=block.name,
                points=points,
                displacement=moved_points(motion, points),
                rotation=motion.rotation[0],
            )
        )
    return tuple(found)


def _corners(machine: Machine, block: Block) -> Array:
    low, high = _size(machine, block)
    unit = np.array([(x, y, z) for z in (0, 1) for x, y in ((0, 0), (1, 0), (1, 1), (0, 1))], dtype=float)
    return np.asarray(low + unit * (high - low))


def _size(machine: Machine, block: Block) -> tuple[Array, Array]:
    """Lowest and highest corner of the box of a block [m]."""
    corners = list(_of_pads(machine, block)) or list(_of_masses(machine, block.name))
    if corners:
        every = np.array(corners)
        return every.min(axis=0), every.max(axis=0)
    points = [block.at, *(j.at for j in machine.joints if block.name in j.parts)]
    points += [s.at for s in machine.supports if s.part == block.name]
    low, high = np.min(points, axis=0), np.max(points, axis=0)
    least = max(SLENDER * float(np.max(high - low)), LEAST * extent(machine))
    room = np.maximum(0.0, 0.5 * (least - (high - low)))
    return low - room, high + room


def _of_masses(machine: Machine, part: str) -> Iterator[Array]:
    """Corners of the even box with the mass and inertia of each mass of a part."""
    for mass in machine.masses:
        if mass.part == part and min(mass.inertia) > 0.0:
            # of a box with sides a, b, c: Ix = m (b² + c²) / 12
            squares = 6.0 / mass.mass * (sum(mass.inertia) - 2.0 * np.array(mass.inertia))
            half = 0.5 * np.sqrt(np.maximum(squares, 0.0))
            yield from (np.array(mass.at) - half, np.array(mass.at) + half)


def _of_pads(machine: Machine, block: Block) -> Iterator[Array]:
    """Corners of the pads on which a block bears, and as far behind its reference point as that is from the wall."""
    pads = {pad.name: pad for pad in machine.pads}
    members = {member.name: member for member in machine.members}
    for joint in machine.joints:
        if block.name in joint.parts and joint.pad in pads:
            pad = pads[joint.pad]
            along = np.subtract(members[pad.part].end, members[pad.part].start)
            along = along / np.linalg.norm(along)
            out = np.array(pad.normal) / np.linalg.norm(pad.normal)
            half = 0.5 * (pad.size[0] * np.abs(np.cross(along, out)) + pad.size[1] * np.abs(along))
            near = np.array(pad.at)
            far = near + 2.0 * out * float(out @ np.subtract(block.at, pad.at))
            yield from (near - half, near + half, far - half, far + half)
