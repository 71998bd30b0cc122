"""Where things are: member axes, stations along a member, and rigid carriage from a station to a point."""

from __future__ import annotations

import functools
import math

import numpy as np
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.machine.values import Machine, Member, Vector

__all__ = [
    "attachments",
    "carriage",
    "carriages",
    "member_axes",
    "member_length",
    "six_by_six",
    "skew",
    "station_of",
]

Array = NDArray[np.float64]
_STILL = np.eye(6)


def member_length(member: Member) -> float:
    """Distance from start to end [m]."""
    return math.dist(member.start, member.end)


def member_axes(member: Member) -> Array:
    """Directions of the member's (x, y, s) axes in the machine, one a row.

    Parameters
    ----------
    member : Member

    Returns
    -------
    ndarray, shape (3, 3)

    Raises
    ------
    MachineError
        If the member has no length or its x axis runs along it.
    """
    length = member_length(member)
    if not length > 0.0:
        raise MachineError(
            f'member "{member.name}" has no length', hint="start and end must be different points"
        )
    found = _axes(member.start, member.end, member.x_axis)
    if found is None:
        raise MachineError(
            f'member "{member.name}": x_axis runs along the member',
            hint="give a direction across it, such as [1, 0, 0]",
        )
    return found


@functools.lru_cache(maxsize=1024)
def _axes(start: Vector, end: Vector, x_axis: Vector) -> Array | None:
    """Rows x, y, s, kept since everything asks for them; None where x runs along s."""
    s = np.subtract(end, start) / math.dist(start, end)
    x = np.asarray(x_axis, dtype=float)
    size = float(np.linalg.norm(x))
    across = x - (x @ s) * s
    if not np.linalg.norm(across) > 1e-6 * max(size, 1e-300):
        return None
    x = across / np.linalg.norm(across)
    found = np.array([x, np.cross(s, x), s])
    found.setflags(write=False)
    return found


def six_by_six(axes: Array) -> Array:
    """Axes for displacements and rotations alike, (6, 6)."""
    found = np.zeros((6, 6))
    found[:3, :3] = found[3:, 3:] = axes
    return found


def station_of(member: Member, at: Vector) -> float:
    """Distance along the member of the section nearest to a point [m], within its ends."""
    (x, y, z), (a, b, c), (u, v, w) = member.start, member.end, at
    length = math.dist(member.start, member.end)
    dx, dy, dz = (a - x) / length, (b - y) / length, (c - z) / length
    return min(max((u - x) * dx + (v - y) * dy + (w - z) * dz, 0.0), length)


def skew(r: Array) -> Array:
    """Matrix S with S v = r x v."""
    return np.array([[0.0, -r[2], r[1]], [r[2], 0.0, -r[0]], [-r[1], r[0], 0.0]])


def carriage(origin: Array, at: Vector) -> Array:
    """Six motions at a point from those at the origin of the same rigid section or block, (6, 6)."""
    x, y, z = at[0] - origin[0], at[1] - origin[1], at[2] - origin[2]
    matrix = _STILL.copy()
    matrix[0, 4], matrix[0, 5] = z, -y
    matrix[1, 3], matrix[1, 5] = -z, x
    matrix[2, 3], matrix[2, 4] = y, -x
    return matrix


def carriages(origins: Array, points: Array) -> Array:
    """`carriage` of many pairs of places at once, (..., 6, 6) from (..., 3) each."""
    x, y, z = np.moveaxis(np.subtract(points, origins), -1, 0)
    found = np.zeros((*x.shape, 6, 6))
    found[..., range(6), range(6)] = 1.0
    found[..., 0, 4], found[..., 0, 5] = z, -y
    found[..., 1, 3], found[..., 1, 5] = -z, x
    found[..., 2, 3], found[..., 2, 4] = y, -x
    return found


def attachments(machine: Machine) -> list[tuple[str, Vector]]:
    """Every (part, point) that something is fixed to."""
    found: list[tuple[str, Vector]] = [
        (machine.tool.part, machine.tool.at),
        (machine.work.part, machine.work.at),
    ]
    for joint in machine.joints:
        found += [(part, joint.at) for part in joint.parts]
    found += [(support.part, support.at) for support in machine.supports]
    found += [(mass.part, mass.at) for mass in machine.masses]
    found += [(pull.part, pull.at) for pull in machine.pulls]
    found += [(gauge.part, gauge.at) for gauge in machine.gauges]
    found += [(pull.against, pull.at) for pull in machine.pulls]
    found += [(gauge.reference, gauge.at if gauge.stand is None else gauge.stand) for gauge in machine.gauges]
    return found
