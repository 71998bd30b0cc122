"""How far points of a machine move, how large it is, and how much its motion is magnified to be seen."""

from __future__ import annotations

import math
from typing import Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

from strongback.errors import InputError
from strongback.machine.cases import CaseResult
from strongback.machine.layout import BodyPlace
from strongback.machine.solve import Deflection, PartMotion
from strongback.machine.values import Machine

__all__ = [
    "Moved",
    "Shaped",
    "body_displacement",
    "checked_factor",
    "extent",
    "magnification",
    "moved_points",
    "turned_points",
]

Array = NDArray[np.float64]
Moved: TypeAlias = Deflection | CaseResult
"""A machine under a pull, or under a case."""


class Shaped(Protocol):
    """Any motion of the parts of a machine: under a pull, under a case, in a mode."""

    @property
    def parts(self) -> tuple[PartMotion, ...]:
        """Of every member and block."""


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
    return np.asarray(u + np.cross(turned_points(motion, points), points - nearest))


def turned_points(motion: PartMotion, points: Array) -> Array:
    """Rotation of the nearest section of a part, or of a block, at points.

    Parameters
    ----------
    motion : PartMotion
    points : ndarray, shape (n, 3)
        [m]

    Returns
    -------
    ndarray, shape (n, 3)
        [rad]
    """
    s, _ = _along(motion.points, points)
    return np.stack([np.interp(s, _lengths(motion.points), motion.rotation[:, k]) for k in range(3)], axis=1)


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


def magnification(machine: Machine, deflection: Shaped) -> float:
    """A round factor that makes the largest motion about a ninth of the machine.

    Parameters
    ----------
    machine : Machine
    deflection : Deflection or CaseResult

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


def checked_factor(magnify: float) -> float:
    """A factor on the motion that was asked for.

    Raises
    ------
    InputError
        If it is not above zero and finite.
    """
    if not (math.isfinite(magnify) and magnify > 0.0):
        raise InputError(f"magnify is {magnify}", hint="give a number above 0, such as 500")
    return float(magnify)
