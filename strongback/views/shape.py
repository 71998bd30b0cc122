"""The machine as a shape: every member swept by its section, at rest and moved, for pictures and mesh files."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from strongback.machine.layout import BodyPlace
from strongback.machine.loop import Loop
from strongback.machine.solve import Deflection, PartMotion
from strongback.machine.values import Machine, Member
from strongback.section.values import Outline, Point2, Ring, SectionStiffness

__all__ = ["Skin", "body_displacement", "drawn_ring", "extent", "magnification", "moved_points", "skins"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
MOST_POINTS = 48  # of a ring that is drawn


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Skin:
    """The outer faces of a member.

    Parameters
    ----------
    part : str
    points : ndarray, shape (stations, ring, 3)
        At rest [m].
    displacement : ndarray, shape (stations, ring, 3)
        [m]
    rotation : ndarray, shape (stations, 3)
        Of each section [rad].
    axis : ndarray, shape (stations, 3)
        Where the origin of the section stands [m].
    axis_displacement : ndarray, shape (stations, 3)
        [m]
    """

    part: str
    points: Array
    displacement: Array
    rotation: Array
    axis: Array
    axis_displacement: Array


def drawn_ring(section: Outline | SectionStiffness) -> Ring:
    """Outer edge of a section as it is drawn.

    A section that is given by its stiffness is drawn as the rectangle with the same radii of gyration.

    Parameters
    ----------
    section : Outline or SectionStiffness

    Returns
    -------
    Ring
        [m]
    """
    if isinstance(section, Outline):
        largest = max(section.walls, key=lambda wall: Polygon(wall.ring).area)
        return _simplified(largest.ring)
    half_x = math.sqrt(3.0 * section.EIy / section.EA)
    half_y = math.sqrt(3.0 * section.EIx / section.EA)
    x, y = section.centroid
    return tuple((x + a * half_x, y + b * half_y) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1)))


def _simplified(ring: Ring) -> Ring:
    """A ring with few enough points to draw."""
    polygon = Polygon(ring)
    tolerance = 1e-4
    simple = polygon
    while len(simple.exterior.coords) > MOST_POINTS and tolerance < 0.1:
        simple = polygon.simplify(tolerance)
        tolerance *= 1.5
    points: list[Point2] = [(float(x), float(y)) for x, y in list(simple.exterior.coords)[:-1]]
    return tuple(points)


def skins(loop: Loop, deflection: Deflection) -> tuple[Skin, ...]:
    """Every member of a machine as a swept skin, at rest and moved.

    Parameters
    ----------
    loop : Loop
    deflection : Deflection

    Returns
    -------
    tuple of Skin
    """
    motions = {motion.part: motion for motion in deflection.parts}
    sections = dict(loop.machine.sections)
    found = []
    for member in loop.machine.members:
        section = sections[_widest(member)]
        place = loop.bodies.get(member.name)
        motion = motions[member.name]
        found.append(
            _skin(loop, member, section, motion)
            if place is None
            else _body_skin(place, member, section, motion)
        )
    return tuple(found)


def body_displacement(place: BodyPlace, motion: PartMotion) -> Array:
    """Displacement of every node of a body, from the motions of its interfaces.

    Parameters
    ----------
    place : BodyPlace
    motion : PartMotion
        At the interfaces, in machine axes.

    Returns
    -------
    ndarray, shape (planes, nodes, 3)
        In machine axes [m].
    """
    body = place.body
    u, r = motion.displacement @ place.axes.T, motion.rotation @ place.axes.T
    # The amplitudes belong to motions beyond the rigid motion of the first interface.
    carried = u[0] + np.cross(np.broadcast_to(r[0], body.points[1:].shape), body.points[1:] - body.points[0])
    beyond = np.concatenate([u[1:] - carried, r[1:] - r[0]], axis=1).ravel()
    own = np.einsum("nr,prc,c->pn", body.shapes, body.amplitudes, beyond, optimize=True)
    nodes = len(body.nodes)
    points = np.empty((len(body.planes), nodes, 3))
    points[:, :, :2], points[:, :, 2] = body.nodes, body.planes[:, None]
    rigid = u[0] + np.cross(np.broadcast_to(r[0], points.shape), points - body.points[0])
    return np.asarray((rigid + own.reshape(len(body.planes), nodes, 3)) @ place.axes)


def _body_skin(
    place: BodyPlace, member: Member, section: Outline | SectionStiffness, motion: PartMotion
) -> Skin:
    """A body by its outer edge: the nodes nearest to the points of the ring that is drawn."""
    body = place.body
    ring = np.asarray(drawn_ring(section))
    nearest = np.array([int(np.argmin(np.linalg.norm(body.nodes - point, axis=1))) for point in ring])
    planes = np.arange(0, len(body.planes), 2)
    u = body_displacement(place, motion)[planes]
    s = body.planes[planes]
    axis = np.asarray(member.start) + s[:, None] * place.axes[2]
    points = axis[:, None, :] + (body.nodes[nearest] @ place.axes[:2])[None, :, :]
    turn = np.broadcast_to(motion.rotation.mean(axis=0), axis.shape)
    return Skin(
        part=member.name,
        points=points,
        displacement=u[:, nearest],
        rotation=turn,
        axis=axis,
        axis_displacement=u.mean(axis=1),
    )


def _widest(member: Member) -> str:
    """The section that gives a member its looks: that of its longest span."""
    return max(member.spans, key=lambda span: span.length).section


def _skin(loop: Loop, member: Member, section: Outline | SectionStiffness, motion: PartMotion) -> Skin:
    ring = np.asarray(drawn_ring(section))
    axes = loop.stations[member.name].axes
    arms = ring @ axes[:2]
    return Skin(
        part=member.name,
        points=motion.points[:, None, :] + arms[None, :, :],
        displacement=motion.displacement[:, None, :]
        + np.cross(motion.rotation[:, None, :], np.broadcast_to(arms, (len(motion.points), *arms.shape))),
        rotation=motion.rotation,
        axis=motion.points,
        axis_displacement=motion.displacement,
    )


def moved_points(motion: PartMotion, points: Array) -> Array:
    """Displacement of points that the nearest section of a part, or a block, carries along.

    Parameters
    ----------
    motion : PartMotion
    points : ndarray, shape (n, 3)
        [m]

    Returns
    -------
    ndarray, shape (n, 3)
        [m]
    """
    s, nearest = _along(motion.points, points)
    u = np.stack([np.interp(s, _lengths(motion.points), motion.displacement[:, k]) for k in range(3)], axis=1)
    r = np.stack([np.interp(s, _lengths(motion.points), motion.rotation[:, k]) for k in range(3)], axis=1)
    return np.asarray(u + np.cross(r, points - nearest))


def _lengths(line: Array) -> Array:
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])


def _along(line: Array, points: Array) -> tuple[Array, Array]:
    """Distance along a straight line of stations of the points' feet on it, and the feet."""
    length = float(_lengths(line)[-1])
    if length == 0.0:
        return np.zeros(len(points)), np.broadcast_to(line[0], points.shape)
    along = (line[-1] - line[0]) / length
    s = np.clip((points - line[0]) @ along, 0.0, length)
    return s, line[0] + s[:, None] * along


def extent(machine: Machine) -> float:
    """Largest size of a machine [m]."""
    points = np.array(
        [m.start for m in machine.members]
        + [m.end for m in machine.members]
        + [b.at for b in machine.blocks]
        + [machine.tool.at]
        + [h.at for _, h in machine.holders()]
    )
    return float(np.ptp(points, axis=0).max())


def magnification(machine: Machine, deflection: Deflection) -> float:
    """A round factor that makes the largest motion about a ninth of the machine.

    Parameters
    ----------
    machine : Machine
    deflection : Deflection

    Returns
    -------
    float
        1, 2 or 5 times a power of ten; 1 where nothing moves.
    """
    largest = max(float(np.abs(part.displacement).max()) for part in deflection.parts)
    if largest == 0.0:
        return 1.0
    wanted = extent(machine) / 9.0 / largest
    power = 10.0 ** math.floor(math.log10(wanted))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= wanted * (1 + 1e-12))
