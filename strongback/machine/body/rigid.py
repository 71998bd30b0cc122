"""Motions that a body makes as a whole, between its interfaces and gauge points."""

from __future__ import annotations

from collections.abc import Sequence

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


def carried_points(points: Array, anchor: Array, bars: Sequence[float], interfaces: int) -> Array:
    """Motion of points and of bars with the first interface, (3 points + 6 bars, 6 interfaces).

    Parameters
    ----------
    points : ndarray, shape (points, 3)
    bars : sequence of float
        Heights above the origin of the section.
    anchor : ndarray, shape (3,)
        The first interface.
    interfaces : int
    """
    moved = [_rigid_six(point - anchor)[:3] for point in points]
    moved += [_rigid_six(np.array([0.0, 0.0, s]) - anchor) for s in bars]
    carried = np.zeros((3 * len(points) + 6 * len(bars), 6 * interfaces))
    if moved:
        carried[:, :6] = np.vstack(moved)
    return carried


def _rigid_six(arm: Array) -> Array:
    """Six motions of a point carried by a rigid body from those at another, (6, 6)."""
    x, y, s = arm
    carried = np.eye(6)
    carried[:3, 3:] = [[0.0, s, -y], [-s, 0.0, x], [y, -x, 0.0]]
    return carried
