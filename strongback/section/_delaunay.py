"""Kernel: triangles with a given boundary and no needles. Plain arrays in and out, no checks.

Delaunay triangles of all points; a segment of the boundary that is not among their sides is cut in two; then a triangle
with too small an angle gets a point at the centre of its circle, or, where that point lies beyond or close to a
segment, that segment is cut in two instead (Ruppert, J. Algorithms 18 (1995) 548). Here a whole round of such points
goes in at once, far enough apart to be independent. Segments that meet at an acute corner are cut at distances from
it that are powers of two, so that their cuts never call for each other.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import Delaunay, QhullError, cKDTree

from strongback.section._boundary import Front, cut

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

LOST_ROUNDS = 40
QUALITY_ROUNDS = 24
WORK = 100_000  # points handled in all quality rounds together: about a second
SMALLEST_ANGLE = np.radians(26.0)


class NotRecovered(Exception):
    """The boundary could not be kept."""


def triangulated(front: Front, face: shapely.Geometry, most: int) -> tuple[Array, Index, int]:
    """Points, triangles (m, 3) over their hull, and how many points, the first ones, lie on the boundary.

    Raises
    ------
    NotRecovered
        If the boundary is not kept within the bound on rounds and points.
    """
    triangles = _recovered(front, most)
    work = 0
    for _ in range(QUALITY_ROUNDS):
        count = len(front.fixed) + len(front.free)
        work += count
        if count > most or work > max(WORK, 2 * count) or not _improve(front, triangles, face):
            break
        triangles = _recovered(front, most)
    return front.points, triangles, len(front.fixed)


def _recovered(front: Front, most: int) -> Index:
    """Delaunay triangles after every lost segment has been cut until none is lost."""
    for _ in range(LOST_ROUNDS):
        points = front.points
        triangles = _delaunay(points)
        lost = _lost(triangles, front.segments, len(points))
        if not np.any(lost):
            return triangles
        if len(points) + int(lost.sum()) > most:
            break
        cut(front, lost)
    raise NotRecovered


def _delaunay(points: Array) -> Index:
    centre = points.mean(axis=0)
    scale = float(np.ptp(points, axis=0).max())
    try:
        found = Delaunay((points - centre) / scale, qhull_options="Qbb Qc Qz Q12").simplices
    except QhullError as error:
        raise NotRecovered from error
    return np.asarray(found, dtype=np.int64)


def _lost(triangles: Index, segments: Index, count: int) -> Flags:
    have = np.unique(side_keys(triangles, count))
    want = segments.min(axis=1) * count + segments.max(axis=1)
    place = np.minimum(np.searchsorted(have, want), len(have) - 1)
    return np.asarray(have[place] != want)


def side_keys(triangles: Index, count: int) -> Index:
    """One number for each side of each triangle, the same from both sides, (m, 3): sides 01, 12, 20."""
    after = triangles[:, [1, 2, 0]]
    return np.asarray(np.minimum(triangles, after) * count + np.maximum(triangles, after))


def _improve(front: Front, triangles: Index, face: shapely.Geometry) -> bool:
    """One round against small angles; whether anything was added."""
    points = front.points
    corners = points[_bad(front, points, triangles)]
    middle = corners.mean(axis=1)
    within = shapely.contains_xy(face, middle[:, 0], middle[:, 1])
    corners, middle = corners[within], middle[within]
    if len(corners) == 0:
        return False
    centre, radius = _wanted(corners)
    blocked, chosen = _blocking(front, middle, centre)
    length = np.linalg.norm(np.subtract(*front.fixed[front.segments.T]), axis=1)
    chosen &= length > 2.0 * front.floor
    grown = _apart(centre[~blocked], radius[~blocked])
    grown = grown[shapely.contains_xy(face, grown[:, 0], grown[:, 1])]
    if not np.any(chosen) and len(grown) == 0:
        return False
    front.free = np.vstack([front.free, grown])
    cut(front, chosen)
    return True


def _bad(front: Front, points: Array, triangles: Index) -> Index:
    """Triangles with a small angle that is not forced by the outline, shortest side first, (bad, 3)."""
    corners = points[triangles]
    sides = np.linalg.norm(corners[:, [1, 2, 0]] - corners, axis=2)  # 01, 12, 20
    shortest = np.argmin(sides, axis=1)
    short = sides.min(axis=1)
    area = np.abs(signed_areas(points, triangles))
    # Three points of one straight side make no triangle, whatever rounding says.
    solid = area > 1e-9 * sides.max(axis=1) ** 2
    small = 0.5 * sides.prod(axis=1) * np.sin(SMALLEST_ANGLE) > short * area
    bad = np.flatnonzero(small & solid & (short > front.floor))
    turned = triangles[bad[:, None], (shortest[bad, None] + np.arange(3)) % 3]
    return np.asarray(turned[~_forced(front, turned)])


def _forced(front: Front, triangles: Index) -> Flags:
    """Whether the first side joins two segments that meet at an acute corner: no point can widen that."""
    one, two, three = np.minimum(triangles, len(front.fixed)).T
    owner, tip = np.append(front.owner, -1), np.append(front.acute, False)
    of_one, of_two = owner[one], owner[two]
    across = (of_one >= 0) & (of_two >= 0) & (of_one != of_two)
    return np.asarray((across & _share_corner(front, of_one, of_two)) | tip[three])


def _share_corner(front: Front, one: Index, two: Index) -> Flags:
    """Whether two segments of the outline end at the same acute corner."""
    ends = np.full((int(front.origin.max()) + 1, 2), -1, dtype=np.int64)
    for column in (0, 1):
        corner = front.segments[:, column]
        at = front.acute[corner]
        origin, where = front.origin[at], corner[at]
        free = ends[origin, 0] < 0
        ends[origin[free], 0] = where[free]
        ends[origin[~free], 1] = where[~free]
    a, b = ends[one], ends[two]
    equal = (a[:, :, None] == b[:, None, :]) & (a[:, :, None] >= 0)
    return np.asarray(equal.any(axis=(1, 2)))


def _wanted(corners: Array) -> tuple[Array, Array]:
    """Where a point would widen the small angle of triangles (n, 3, 2), and its distance from the corners there.

    The centre of the circle; if that is far, the nearer point from which the shortest side, the first, is seen under the
    smallest angle allowed (Üngör, LATIN 2004): fewer points for the same angles.
    """
    p, q, r = corners[:, 0], corners[:, 1], corners[:, 2]
    u = q - p
    twice = np.abs(u[:, 0] * (r - p)[:, 1] - u[:, 1] * (r - p)[:, 0])
    inward = np.column_stack([-u[:, 1], u[:, 0]])
    inward *= np.sign(np.einsum("nd,nd->n", inward, r - p))[:, None]
    half = 0.5 * np.linalg.norm(u, axis=1)
    to_centre = half * np.einsum("nd,nd->n", p - r, q - r) / np.maximum(twice, 1e-300)
    near = np.minimum(to_centre, half / np.tan(0.5 * SMALLEST_ANGLE))
    return p + 0.5 * u + inward * (0.5 * near / half)[:, None], np.hypot(half, near)


def _blocking(front: Front, start: Array, centre: Array) -> tuple[Flags, Flags]:
    """Which centres lie beyond or close to a segment, and the segments to be cut for them."""
    a, b = front.fixed[front.segments[:, 0]], front.fixed[front.segments[:, 1]]
    chosen = np.zeros(len(a), dtype=bool)
    blocked = np.zeros(len(centre), dtype=bool)
    paths = shapely.linestrings(np.stack([start, centre], axis=1))
    path, segment = shapely.STRtree(shapely.linestrings(np.stack([a, b], axis=1))).query(paths, "intersects")
    if len(path):
        away = _hit_share(start[path], centre[path], a[segment], b[segment])
        order = np.lexsort([away, path])
        first = order[np.append(True, path[order][1:] != path[order][:-1])]
        chosen[segment[first]] = True
        blocked[path[first]] = True
    middle, radius = 0.5 * (a + b), 0.5 * np.linalg.norm(b - a, axis=1)
    boxes = shapely.box(*(middle - radius[:, None]).T, *(middle + radius[:, None]).T)
    spot, near = shapely.STRtree(boxes).query(shapely.points(centre), "intersects")
    inside = np.linalg.norm(centre[spot] - middle[near], axis=1) < radius[near]
    inside &= ~blocked[spot]
    chosen[near[inside]] = True
    blocked[spot[inside]] = True
    return blocked, chosen


def _hit_share(start: Array, stop: Array, a: Array, b: Array) -> Array:
    d, e, offset = stop - start, b - a, a - start
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(
            (offset[:, 0] * e[:, 1] - offset[:, 1] * e[:, 0]) / (d[:, 0] * e[:, 1] - d[:, 1] * e[:, 0])
        )


def _apart(spots: Array, radius: Array) -> Array:
    """As many of the spots as lie outside of each other's circles: by lot, so that chains of them thin out at once."""
    if len(spots) < 2:
        return spots
    order = np.random.default_rng(0).permutation(len(spots))
    spots, radius = spots[order], radius[order]
    reach = min(float(radius.max()), 8.0 * float(np.median(radius)))
    pairs = cKDTree(spots).query_pairs(reach, output_type="ndarray")
    distance = np.linalg.norm(spots[pairs[:, 0]] - spots[pairs[:, 1]], axis=1)
    first, later = pairs[distance < 0.9 * radius[pairs].min(axis=1)].T  # query_pairs gives first < later
    kept, open_ = np.zeros(len(spots), dtype=bool), np.ones(len(spots), dtype=bool)
    while np.any(open_):
        waits = np.zeros(len(spots), dtype=bool)
        waits[later[open_[first]]] = True
        chosen = open_ & ~waits
        kept |= chosen
        open_ &= ~chosen
        open_[later[chosen[first]]] = False
    return np.asarray(spots[kept])


def signed_areas(points: Array, triangles: Index) -> Array:
    """Areas of triangles, above 0 for counter-clockwise ones, (m,)."""
    p = points[triangles]
    u, v = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    return np.asarray(0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]))


def smallest_angles(points: Array, triangles: Index) -> Array:
    """Smallest angle of each triangle [rad], (m,)."""
    p = points[triangles[:, :3]]
    sides = np.sort(np.linalg.norm(p[:, [1, 2, 0]] - p, axis=2), axis=1)
    a, b, c = sides.T
    return np.asarray(np.arccos(np.clip((b * b + c * c - a * a) / (2.0 * b * c), -1.0, 1.0)))


def smoothed(points: Array, triangles: Index, fixed: int, sweeps: int = 3) -> Array:
    """Free points drawn to the middle of their neighbours where no angle around them gets smaller, (n, 2)."""
    if fixed == len(points):
        return points
    count = len(points)
    sides = np.unique(side_keys(triangles, count))
    one, two = sides // count, sides % count
    degree = np.bincount(np.concatenate([one, two]), minlength=count)
    for _ in range(sweeps):
        trial = points.copy()
        for axis in (0, 1):
            total = np.bincount(one, points[two, axis], count) + np.bincount(two, points[one, axis], count)
            trial[fixed:, axis] = total[fixed:] / np.maximum(degree[fixed:], 1)
        trial[degree == 0] = points[degree == 0]
        points = _where_better(points, trial, triangles)
    return points


def _where_better(points: Array, trial: Array, triangles: Index) -> Array:
    before = smallest_angles(points, triangles)
    worst = np.full(len(points), np.inf)
    np.minimum.at(worst, triangles.ravel(), np.repeat(before, 3))
    moved = trial
    for _ in range(4):
        now = np.where(signed_areas(moved, triangles) > 0.0, smallest_angles(moved, triangles), -1.0)
        reached = np.full(len(points), np.inf)
        np.minimum.at(reached, triangles.ravel(), np.repeat(now, 3))
        back = reached < np.minimum(worst, np.radians(35.0))
        if not np.any(back & np.any(moved != points, axis=1)):
            return moved
        moved = np.where(back[:, None], points, moved)
    return points
