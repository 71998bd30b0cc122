"""Motions that a body makes as a whole, between its interfaces and gauge points."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["carried_points", "relative_motions"]

Array = NDArray[np.float64]


def relative_motions(positions: Array) -> Array:
    """Motions of the other interfaces less what the first carries them along, (6 (n - 1), 6 n).

    Parameters
    ----------
    positions : ndarray, shape (n, 3)
        [m]
    """
    carried = np.vstack([_rigid_six(point - positions[0]) for point in positions[1:]] or [np.zeros((0, 6))])
    return np.hstack([-carried, np.eye(len(carried))])


def carried_points(points: Array, anchor: Array, interfaces: int) -> Array:
    """Motion of points with the first interface, (3 points, 6 interfaces).

    Parameters
    ----------
    points : ndarray, shape (points, 3)
    anchor : ndarray, shape (3,)
        The first interface.
    interfaces : int
    """
    carried = np.zeros((3 * len(points), 6 * interfaces))
    for i, point in enumerate(points):
        carried[3 * i : 3 * i + 3, :6] = _rigid_six(point - anchor)[:3]
    return carried


def _rigid_six(arm: Array) -> Array:
    """Six motions of a point carried by a rigid body from those at another, (6, 6)."""
    x, y, s = arm
    carried = np.eye(6)
    carried[:3, 3:] = [[0.0, s, -y], [-s, 0.0, x], [y, -x, 0.0]]
    return carried
