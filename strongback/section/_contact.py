"""How polygons of a section meet: along an edge, in a point, across a hair's breadth, or not at all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from strongback.section.values import Point2

TOUCH = 2e-8  # edges nearer than this are one edge [m]
EDGE = 1e-6  # a shared edge shorter than this is a point [m]


@dataclass(frozen=True, slots=True)
class Contact:
    """How two polygons meet and where."""

    kind: Literal["edge", "point", "gap", "overlap", "apart"]
    point: Point2
    width: float = 0.0


def contact(one: Polygon, other: Polygon, thinnest: float) -> Contact:
    """How two polygons meet; a point contact counts even where they share an edge elsewhere."""
    distance = one.distance(other)
    if distance >= thinnest:
        return Contact("apart", (0.0, 0.0), distance)
    common = one.intersection(other)
    if common.area > TOUCH * min(one.length, other.length) * 4.0:
        return Contact("overlap", _inside(common))
    if distance > TOUCH:
        return Contact("gap", _nearest(one, other), distance)
    shared = shapely.line_merge(shapely.boundary(other).intersection(shapely.boundary(one).buffer(TOUCH)))
    pieces = [p for p in getattr(shared, "geoms", [shared]) if not p.is_empty]
    for piece in pieces:
        if piece.length < EDGE:
            return Contact("point", _inside(piece))
    return Contact("edge", _inside(pieces[0])) if pieces else Contact("point", _nearest(one, other))


def _inside(shape: shapely.Geometry) -> Point2:
    point = shape.representative_point()
    return float(point.x), float(point.y)


def _nearest(one: Polygon, other: Polygon) -> Point2:
    line = shapely.shortest_line(one, other)
    x, y = line.coords[0][:2]
    return float(x), float(y)


def joined(count: int, pairs: list[tuple[int, int]]) -> list[int]:
    """Which group each of `count` things belongs to, given which pairs are joined."""
    group = list(range(count))
    for a, b in pairs:
        old, new = max(group[a], group[b]), min(group[a], group[b])
        group = [new if g == old else g for g in group]
    return group


def narrowest(ring: NDArray[np.float64], thinnest: float) -> tuple[float, Point2] | None:
    """The closest that a corner of a ring comes to a side that does not begin or end there, if nearer than `thinnest`.

    Sides that follow within a few times `thinnest` along the ring are bends, not necks, and are left out.
    """
    after = np.roll(ring, -1, axis=0)
    sides = shapely.linestrings(np.stack([ring, after], axis=1))
    corners = shapely.points(ring)
    corner, side = shapely.STRtree(sides).query(corners, predicate="dwithin", distance=thinnest)
    length = np.linalg.norm(after - ring, axis=1)
    start = np.concatenate([[0.0], np.cumsum(length)])
    total = start[-1]
    ahead = (start[side] - start[corner]) % total
    behind = (start[corner] - start[side + 1]) % total
    far = (side != corner) & ((side + 1) % len(ring) != corner)
    far &= (ahead > 4.0 * thinnest) & (behind > 4.0 * thinnest)
    if not np.any(far):
        return None
    distance = shapely.distance(corners[corner[far]], sides[side[far]])
    least = int(np.argmin(distance))
    x, y = ring[corner[far][least]]
    return float(distance[least]), (float(x), float(y))


def sharpest(ring: NDArray[np.float64]) -> tuple[float, Point2]:
    """The smallest angle between neighbouring sides of a ring [rad], and its corner."""
    back, on = np.roll(ring, 1, axis=0) - ring, np.roll(ring, -1, axis=0) - ring
    cross = np.abs(back[:, 0] * on[:, 1] - back[:, 1] * on[:, 0])
    angle = np.arctan2(cross, (back * on).sum(axis=1))
    least = int(np.argmin(angle))
    return float(angle[least]), (float(ring[least, 0]), float(ring[least, 1]))
