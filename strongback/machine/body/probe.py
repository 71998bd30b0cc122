"""Motion of any point of a body from the motions of its nodes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.machine.body import _kron
from strongback.machine.body.extrude import Pattern
from strongback.machine.body.values import Point3

__all__ = ["in_height", "interpolation"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]

OFF = 2e-3  # a point this near a wall is taken to lie on it [m]


def interpolation(spans: Pattern, planes: Array, points: Sequence[Point3]) -> sparse.csr_array:
    """Displacements of points from those of all nodes.

    Parameters
    ----------
    spans : Pattern
    planes : ndarray, shape (planes,)
        [m]
    points : sequence of (x, y, s)
        [m]

    Returns
    -------
    sparse array, shape (3 points, 3 planes nodes)

    Raises
    ------
    MachineError
        If a point lies off the body.
    """
    size = 3 * len(spans.nodes)
    rows, columns, values = [], [], []
    for i, (x, y, s) in enumerate(points):
        nodes, weights = _in_section(spans, i, (x, y, s))
        first, heights = in_height(planes, f"point {i + 1}", s)
        at = (first + np.arange(3))[:, None] * size + 3 * nodes
        product = np.outer(heights, weights)
        for c in range(3):
            rows.append(np.full(product.size, 3 * i + c))
            columns.append((at + c).ravel())
            values.append(product.ravel())
    shape = (3 * len(points), size * len(planes))
    if not points:
        return sparse.csr_array(shape)
    return sparse.coo_array(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=shape
    ).tocsr()


def in_height(planes: Array, what: str, s: float) -> tuple[int, Array]:
    """First plane of the element at a height and the shape functions there, (3,)."""
    ends = planes[::2]
    slack = 1e-9 * float(ends[-1])
    if not -slack <= s <= ends[-1] + slack:
        raise MachineError(f"{what} at s = {s * 1e3:.4g} mm is not on the member of {ends[-1] * 1e3:.4g} mm")
    e = int(np.clip(np.searchsorted(ends, s) - 1, 0, len(ends) - 2))
    z = np.array((s - ends[e]) / (ends[e + 1] - ends[e]))
    return 2 * e, _kron.height_shapes(z)[0]


def _in_section(spans: Pattern, number: int, point: Point3) -> tuple[Index, Array]:
    """Nodes of the triangle at or nearest to a point of the section and their shape functions, both (6,)."""
    at = np.asarray(point[:2])
    span = int(np.clip(np.searchsorted(np.cumsum(spans.lengths), point[2]), 0, len(spans.lengths) - 1))
    triangles = spans.triangles[spans.region[span] >= 0]
    back, _ = _kron.jacobians(spans.nodes, triangles)
    start = spans.nodes[triangles[:, 0]]
    local = np.einsum("exa,ex->ea", back, at - start)
    inside = _clipped(local)
    a, b, c = (spans.nodes[triangles[:, k]] for k in range(3))
    foot = a + inside[:, :1] * (b - a) + inside[:, 1:] * (c - a)
    distance = np.linalg.norm(foot - at, axis=1)
    best = int(np.argmin(distance))
    if distance[best] > OFF:
        raise MachineError(
            f"point {number + 1} at x = {at[0] * 1e3:.4g} mm, y = {at[1] * 1e3:.4g} mm lies {distance[best] * 1e3:.3g} mm "
            "off the section",
            hint="give a point on a wall",
        )
    return triangles[best], _kron.triangle_shapes(inside[best : best + 1])[0][0]


def _clipped(local: Array) -> Array:
    """Coordinates in the unit triangle brought into it, (n, 2)."""
    r, t = np.clip(local, 0.0, None).T
    over = np.maximum(r + t, 1.0)
    return np.column_stack([r / over, t / over])
