"""Kernel: perspective, straight sides and corners of contours. Plain arrays in and out, no checks.

Points of a picture are (column, row) in pixels, row downwards; points of the end face are (x, y) in metres, y upwards.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

Array = NDArray[np.float64]


def homography(pixels: Array, metres: Array) -> Array:
    """The projective map, (3, 3), that takes four or more picture points to points of the plane, by least squares.

    Both sets are first brought to their centre and unit spread, without which the equations are ill-conditioned (Hartley,
    IEEE Trans. Pattern Anal. Mach. Intell. 19 (1997) 580).
    """
    first, p = _centred(pixels)
    second, q = _centred(metres)
    zero, one = np.zeros(len(p)), np.ones(len(p))
    x, y, u, v = *p.T, *q.T
    rows = np.vstack(
        [
            np.column_stack([x, y, one, zero, zero, zero, -u * x, -u * y, -u]),
            np.column_stack([zero, zero, zero, x, y, one, -v * x, -v * y, -v]),
        ]
    )
    solved = np.linalg.svd(rows)[2][-1].reshape(3, 3)
    whole = np.linalg.inv(second) @ solved @ first
    return np.asarray(whole / whole[2, 2])


def _centred(points: Array) -> tuple[Array, Array]:
    centre = points.mean(axis=0)
    spread = np.sqrt(2.0) / np.linalg.norm(points - centre, axis=1).mean()
    turn = np.array([[spread, 0.0, -spread * centre[0]], [0.0, spread, -spread * centre[1]], [0.0, 0.0, 1.0]])
    return turn, (points - centre) * spread


def inverse(matrix: Array) -> Array:
    """The projective map the other way."""
    return np.asarray(np.linalg.inv(matrix), dtype=np.float64)


def mapped(matrix: Array, points: Array) -> Array:
    """Points taken through a projective map, (n, 2)."""
    whole = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    return np.asarray(whole[:, :2] / whole[:, 2:])


def line_through(points: Array) -> tuple[Array, Array]:
    """Line of least squared distance from the points: a point on it and its direction."""
    centre = points.mean(axis=0)
    return centre, np.linalg.svd(points - centre, full_matrices=False)[2][0]


def meeting(one: tuple[Array, Array], other: tuple[Array, Array]) -> Array | None:
    """Where two lines meet; None where they are all but parallel."""
    (a, d), (b, e) = one, other
    cross = d[0] * e[1] - d[1] * e[0]
    if abs(cross) < 0.05:
        return None
    return np.asarray(a + d * (((b - a)[0] * e[1] - (b - a)[1] * e[0]) / cross))


def quadrilateral(contour: Array) -> tuple[Array, float] | None:
    """The four corners of a closed contour that is one, and how far its sides bend; None if it is none.

    Lines are fitted to the middle four fifths of each side, so that round corners do no harm.
    """
    ring = shapely.Polygon(contour)
    for share in (0.02, 0.04, 0.06):
        outline = ring.simplify(share * np.sqrt(ring.area))
        if outline.geom_type == "Polygon" and len(outline.exterior.coords) == 5:
            break
    else:
        return None
    if outline.area < 0.95 * ring.area or ring.area < 0.95 * outline.area:
        return None
    rough = np.asarray(outline.exterior.coords)[:4]
    return _fitted_sides(contour, rough)


def _fitted_sides(contour: Array, rough: Array) -> tuple[Array, float] | None:
    lines, bend = [], 0.0
    for a, b in zip(rough, np.roll(rough, -1, axis=0), strict=True):
        along = b - a
        share = (contour - a) @ along / (along @ along)
        away = np.abs((contour - a) @ np.array([-along[1], along[0]])) / np.linalg.norm(along)
        side = contour[(share > 0.1) & (share < 0.9) & (away < 0.05 * np.linalg.norm(along))]
        if len(side) < 8:
            return None
        centre, direction = line_through(side)
        lines.append((centre, direction))
        bend = max(bend, float(np.abs((side - centre) @ np.array([-direction[1], direction[0]])).max()))
    corners = [meeting(lines[i - 1], lines[i]) for i in range(4)]
    found = [corner for corner in corners if corner is not None]
    return (np.array(found), bend) if len(found) == 4 else None


def level_across(grey: Array, corners: Array) -> float:
    """The grey half-way between the darkest just inside of a quadrilateral's sides and the paper just outside."""
    centre = corners.mean(axis=0)
    share = np.linspace(0.1, 0.9, 200)[:, None]
    spots = np.vstack(
        [a + (b - a) * share for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    )
    outward = (spots - centre) / np.linalg.norm(spots - centre, axis=1)[:, None]
    samples = []
    for step in range(-6, 7):
        column, row = np.rint(spots + step * outward).astype(np.int64).T
        samples.append(grey[np.clip(row, 0, grey.shape[0] - 1), np.clip(column, 0, grey.shape[1] - 1)])
    dark = np.median(np.min(samples[:7], axis=0))
    return float(0.5 * (dark + np.median(np.max(samples[6:], axis=0))))


def clockwise_from_top_left(corners: Array) -> Array:
    """Four corners of a picture in the order top left, top right, bottom right, bottom left."""
    centre = corners.mean(axis=0)
    angle = np.arctan2(corners[:, 1] - centre[1], corners[:, 0] - centre[0])
    ring = corners[np.argsort(angle)]
    return np.roll(ring, -int(np.argmin(ring.sum(axis=1))), axis=0)


def simplified(contour: Array, tolerance: float) -> Array:
    """A closed contour with few corners: none of its points is farther from it than about the tolerance.

    Between the corners of the simplification lines are fitted to all points, and corners put where the lines meet, so that
    a blurred corner comes out sharp and an arc neither inside nor outside of the true one.
    """
    ring = np.asarray(contour[:-1] if np.array_equal(contour[0], contour[-1]) else contour)
    start = int(np.argmax(np.linalg.norm(ring - ring.mean(axis=0), axis=1)))
    ring = np.roll(ring, -start, axis=0)
    closed = np.vstack([ring, ring[:1]])
    rough = np.asarray(shapely.simplify(shapely.LineString(closed), tolerance).coords)[:-1]
    at = _places(ring, rough)
    stops = np.append(at[1:], len(ring))
    count = stops - at
    # A short side between two long ones is the blur of the corner where they meet.
    blur = (count < 6) & (np.roll(count, 1) >= 12) & (np.roll(count, -1) >= 12)
    if np.count_nonzero(~blur) < 3:
        return np.asarray(rough)
    lines = [_side(closed[i : j + 1]) for i, j in zip(at[~blur], stops[~blur], strict=True)]
    made = []
    for i, corner in enumerate(rough[~blur]):
        one, other = lines[i - 1], lines[i]
        spot = meeting(one, other) if one is not None and other is not None else None
        near = spot is not None and np.linalg.norm(spot - corner) < 8.0 * tolerance
        made.append(spot if near and spot is not None else corner)
    return np.asarray(shapely.Polygon(made).simplify(0.5 * tolerance).exterior.coords)[:-1]


def _places(ring: Array, chosen: Array) -> NDArray[np.int64]:
    """Where in a ring its chosen points are; both in the same order."""
    where = {tuple(point): i for i, point in reversed(list(enumerate(ring.tolist())))}
    return np.array([where[tuple(point)] for point in chosen.tolist()], dtype=np.int64)


def _side(points: Array) -> tuple[Array, Array] | None:
    """Line through the points of a side but for those near its blurred ends; None for a side of few points."""
    if len(points) < 4:
        return None
    cut = max(1, min(len(points) // 5, 4))
    return line_through(points[cut:-cut]) if len(points) - 2 * cut >= 3 else line_through(points)


def paper_shade(grey: Array, paper: NDArray[np.bool_]) -> Array:
    """Brightness of the paper all over the picture: a quadratic surface through the pixels that show it."""
    rows, columns = grey.shape
    y, x = np.nonzero(paper)
    step = max(1, len(x) // 20_000)
    x, y = x[::step], y[::step]

    def terms(u: Array, v: Array) -> Array:
        return np.stack([np.ones_like(u), u, v, u * u, u * v, v * v], axis=-1)

    solved = np.linalg.lstsq(terms(x / columns, y / rows), grey[y, x], rcond=None)[0]
    u, v = np.meshgrid(np.arange(columns) / columns, np.arange(rows) / rows)
    return np.asarray(terms(u, v) @ solved)
