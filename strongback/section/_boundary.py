"""Kernel: a boundary cut as finely as its walls are thin, and a lattice of points between. No checks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

FINEST = 100.0  # largest over smallest piece; thinner walls get longer elements
GRADE = 0.35  # growth of the element size with distance
ACUTE = np.radians(60.0)  # segments that meet below this angle are cut at equal distances from their corner


@dataclass(slots=True)
class Front:
    """Points and boundary while they grow: boundary points first, then free ones."""

    fixed: Array
    free: Array
    segments: Index  # (s, 2)
    origin: Index  # (s,) segment of the outline that a piece lies on
    owner: Index  # (fixed,) segment of the outline that a point lies on; -1 for its corners
    acute: Flags  # (fixed,) corners where segments meet at a small angle
    floor: float  # sides shorter than this are not cut for the sake of angles [m]

    @property
    def points(self) -> Array:
        return np.vstack([self.fixed, self.free])


class TooFine(Exception):
    """The walls call for more pieces than are allowed."""


def cut_to_walls(
    points: Array, segments: Index, largest: float, across: float, most: int
) -> tuple[Front, Array]:
    """The boundary cut to the wall thickness over `across`, and the length wanted for each piece.

    Raises
    ------
    TooFine
        If that makes more than `most` pieces.
    """
    smallest = largest / FINEST
    front = Front(
        fixed=points,
        free=np.zeros((0, 2)),
        segments=segments,
        origin=np.arange(len(segments)),
        owner=np.full(len(points), -1, dtype=np.int64),
        acute=acute_corners(points, segments),
        floor=0.3 * smallest,
    )
    tips = _tip_lengths(front, largest)
    while True:
        a, b = front.fixed[front.segments[:, 0]], front.fixed[front.segments[:, 1]]
        size = wall_size(points, segments, a, b, front.origin, largest) / across
        size = graded(0.5 * (a + b), np.maximum(size, smallest))
        tip = np.minimum(tips[front.segments[:, 0]], tips[front.segments[:, 1]])
        size = np.where(np.isfinite(tip), tip, size)
        long = np.linalg.norm(b - a, axis=1) > 1.0001 * size
        if not np.any(long):
            return front, size
        if len(front.segments) + int(long.sum()) > most:
            raise TooFine
        cut(front, long)
        tips = np.append(tips, np.full(int(long.sum()), np.inf))


def _tip_lengths(front: Front, largest: float) -> Array:
    """How long a piece at each acute corner may be, (points,); infinite elsewhere.

    A corner is as narrow as one likes near its tip: there the walls cannot say where to stop.
    """
    length = np.linalg.norm(np.subtract(*front.fixed[front.segments.T]), axis=1)
    tips = np.full(len(front.fixed), np.inf)
    for column in (0, 1):
        np.minimum.at(tips, front.segments[:, column], np.minimum(length / 8.0, largest))
    return np.where(front.acute, tips, np.inf)


def cut(front: Front, chosen: Flags) -> None:
    """Cut the chosen segments in two, at the middle or at a power of two from an acute corner."""
    first, last = front.segments[chosen].T
    a, b = front.fixed[first], front.fixed[last]
    length = np.linalg.norm(b - a, axis=1)
    share = np.full(len(a), 0.5)
    for corner, other, back in ((first, last, False), (last, first, True)):
        at = front.acute[corner] & ~front.acute[other]
        shell = 2.0 ** np.round(np.log2(0.5 * length[at])) / length[at]
        share[at] = 1.0 - shell if back else shell
    both = front.acute[first] & front.acute[last]
    share[both] = 2.0 ** np.round(np.log2(0.5 * length[both])) / length[both]
    new = len(front.fixed) + np.arange(len(a))
    origin = front.origin[chosen]
    front.fixed = np.vstack([front.fixed, a + (b - a) * share[:, None]])
    front.owner = np.concatenate([front.owner, origin])
    front.acute = np.concatenate([front.acute, np.zeros(len(a), dtype=bool)])
    halves = [np.column_stack([first, new]), np.column_stack([new, last])]
    front.segments = np.vstack([front.segments[~chosen], *halves])
    front.origin = np.concatenate([front.origin[~chosen], origin, origin])


def wall_size(points: Array, segments: Index, a: Array, b: Array, origin: Index, largest: float) -> Array:
    """Distance from the middles of the pieces a-b to the segment opposite, on the nearer side.

    `largest` where it is more than the length of the piece.
    """
    middle, along = 0.5 * (a + b), b - a
    length = np.linalg.norm(along, axis=1)
    reach = np.minimum(length, largest)[:, None]  # walls thicker than a piece is long do not cut it
    normal = np.column_stack([-along[:, 1], along[:, 0]]) / length[:, None]
    first, last = points[segments[:, 0]], points[segments[:, 1]]
    tree = shapely.STRtree(shapely.linestrings(np.stack([first, last], axis=1)))
    size = np.full(len(a), largest)
    for side in (1.0, -1.0):
        rays = shapely.linestrings(np.stack([middle, middle + side * normal * reach], axis=1))
        own, other = tree.query(rays, predicate="intersects")
        apart = origin[own] != other
        own, other = own[apart], other[apart]
        hits = _hit_distance(middle[own], side * normal[own], first[other], last[other])
        np.minimum.at(size, own, np.where(hits > 0.0, hits, np.inf))
    return size


def _hit_distance(start: Array, direction: Array, a: Array, b: Array) -> Array:
    """Distance along rays to the lines through a and b."""
    edge, offset = b - a, a - start
    cross = direction[:, 0] * edge[:, 1] - direction[:, 1] * edge[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        distance = (offset[:, 0] * edge[:, 1] - offset[:, 1] * edge[:, 0]) / cross
    return np.asarray(np.where(np.isfinite(distance), distance, np.inf))


def graded(middle: Array, size: Array) -> Array:
    """Sizes lowered so that they grow no faster than GRADE from one piece to another."""
    distance, near = cKDTree(middle).query(middle, k=min(12, len(middle)))
    return np.asarray((size[near] + GRADE * distance).min(axis=1))


def acute_corners(points: Array, segments: Index) -> Flags:
    """Which points are corners where two segments meet below ACUTE, (points,)."""
    found = np.zeros(len(points), dtype=bool)
    at = np.concatenate([segments[:, 0], segments[:, 1]])
    to = np.concatenate([segments[:, 1], segments[:, 0]])
    heading = np.arctan2(*(points[to] - points[at]).T[::-1])
    order = np.lexsort([heading, at])
    at, heading = at[order], heading[order]
    start = np.flatnonzero(np.append(True, at[1:] != at[:-1]))
    last = np.append(start[1:], len(at)) - 1
    following = np.arange(1, len(at) + 1)
    following[last] = start
    turn = (heading[following] - heading) % (2.0 * np.pi)
    sharp = (turn < ACUTE) & (following != np.arange(len(at)))
    found[at[sharp]] = True
    return found


def lattice(
    face: shapely.Geometry, points: Array, segments: Index, size: Array, largest: float, most: int
) -> Array:
    """Hexagonal lattice inside the face in at most four spacings that halve towards the boundary, (n, 2)."""
    a, b = points[segments[:, 0]], points[segments[:, 1]]
    tree = cKDTree(0.5 * (a + b))
    shapely.prepare(face)
    found = [np.zeros((0, 2))]
    for level in range(4):
        spacing = largest / 2.0**level
        spots = _hexagonal(face.bounds, spacing, most if level == 0 else 20_000)
        spots = spots[shapely.contains_xy(face, spots[:, 0], spots[:, 1])]
        if len(spots) == 0:
            continue
        distance, near = tree.query(spots, k=min(4, len(segments)))
        distance, near = distance.reshape(len(spots), -1), near.reshape(len(spots), -1)
        here = np.minimum((size[near] + GRADE * distance).min(axis=1), largest)
        fits = (here >= 0.999 * spacing) & ((here < 2.0 * spacing) | (level == 0))
        found.append(spots[fits & (distance[:, 0] > 0.7 * spacing)])
    return np.vstack(found)


def _hexagonal(bounds: tuple[float, float, float, float], spacing: float, most: int) -> Array:
    """Lattice over a rectangle; empty where it would have more than `most` points."""
    x0, y0, x1, y1 = bounds
    rise = spacing * np.sqrt(3.0) / 2.0
    columns, rows = (x1 - x0) / spacing, (y1 - y0) / rise
    if columns * rows > most:
        return np.zeros((0, 2))
    x, y = np.meshgrid(np.arange(x0 + 0.37 * spacing, x1, spacing), np.arange(y0 + 0.41 * rise, y1, rise))
    x = x + 0.5 * spacing * (np.arange(len(x))[:, None] % 2)
    return np.column_stack([x.ravel(), y.ravel()])
