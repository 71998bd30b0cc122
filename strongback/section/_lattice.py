"""Kernel: the built-in mesher. Boundary split to the local wall thickness, graded lattice inside, Delaunay, conformed.

Plain arrays in and out. The boundary is kept by splitting what Delaunay lost until nothing is lost (conforming Delaunay).
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import Delaunay, cKDTree

Array = NDArray[np.float64]
Index = NDArray[np.int64]

GRADE = 0.35  # growth of the element size with distance
ROUNDS = 14  # of splitting what Delaunay lost


def local_size(points: Array, segments: Index, largest: float, across: float) -> Array:
    """Element size wanted at the middle of each boundary segment, (segments,).

    The wall thickness there, on the thinner side, over `across`; at most `largest`.
    """
    a, b = points[segments[:, 0]], points[segments[:, 1]]
    middle = 0.5 * (a + b)
    length = np.linalg.norm(b - a, axis=1)
    normal = np.column_stack([a[:, 1] - b[:, 1], b[:, 0] - a[:, 0]]) / length[:, None]
    lines = shapely.linestrings(np.stack([a, b], axis=1))
    tree = shapely.STRtree(lines)
    size = np.full(len(segments), largest)
    for side in (1.0, -1.0):
        rays = shapely.linestrings(np.stack([middle, middle + side * normal * largest * across], axis=1))
        found = tree.query(rays, predicate="intersects")
        other = found[:, found[0] != found[1]]
        if other.shape[1] == 0:
            continue
        hits = _hit_distance(middle[other[0]], side * normal[other[0]], a[other[1]], b[other[1]])
        np.minimum.at(size, other[0], np.where(hits > 1e-9, hits, largest * across) / across)
    return np.asarray(np.minimum(size, largest))


def _hit_distance(origin: Array, direction: Array, a: Array, b: Array) -> Array:
    """Distance along rays to the segments a-b that they meet."""
    edge = b - a
    cross = direction[:, 0] * edge[:, 1] - direction[:, 1] * edge[:, 0]
    offset = a - origin
    along = offset[:, 0] * edge[:, 1] - offset[:, 1] * edge[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        distance = along / cross
    return np.where(np.abs(cross) > 1e-12 * np.linalg.norm(edge, axis=1), distance, np.inf)


def graded(points: Array, segments: Index, size: Array) -> Array:
    """Sizes lowered so that they grow no faster than GRADE along and across the boundary."""
    middle = 0.5 * (points[segments[:, 0]] + points[segments[:, 1]])
    tree = cKDTree(middle)
    count = min(24, len(middle))
    distance, near = tree.query(middle, k=count)
    for _ in range(6):
        lower = (size[near] + GRADE * distance).min(axis=1)
        if np.all(lower >= size * (1 - 1e-9)):
            break
        size = np.minimum(size, lower)
    return size


def split(points: Array, segments: Index, size: Array) -> tuple[Array, Index, Array]:
    """Boundary cut into pieces no longer than the size there; sizes of the pieces."""
    a, b = points[segments[:, 0]], points[segments[:, 1]]
    length = np.linalg.norm(b - a, axis=1)
    pieces = np.maximum(1, np.ceil(length / size - 1e-9)).astype(np.int64)
    added, made, wanted = [], [], []
    start = len(points)
    for i in range(len(segments)):
        n = int(pieces[i])
        inner = a[i] + (b[i] - a[i]) * (np.arange(1, n)[:, None] / n)
        ids = np.concatenate([[segments[i, 0]], start + np.arange(n - 1), [segments[i, 1]]])
        added.append(inner)
        made.append(np.column_stack([ids[:-1], ids[1:]]))
        wanted.append(np.full(n, max(length[i] / n, 0.0)))
        start += n - 1
    return np.vstack([points, *added]), np.vstack(made).astype(np.int64), np.concatenate(wanted)


def interior(face: shapely.Geometry, points: Array, segments: Index, size: Array, largest: float) -> Array:
    """Graded hexagonal lattice inside the face, clear of its boundary, (n, 2)."""
    middle = 0.5 * (points[segments[:, 0]] + points[segments[:, 1]])
    tree = cKDTree(middle)
    low = float(size.min())
    levels = np.arange(int(np.floor(np.log2(max(low, largest / 256)))), int(np.ceil(np.log2(largest))) + 1)
    bounds = face.bounds
    shapely.prepare(face)
    found = []
    for level in levels:
        spacing = 2.0**level
        candidates = _hexagonal(bounds, spacing)
        if len(candidates) == 0 or len(candidates) > 400_000:
            continue
        distance, near = tree.query(candidates, k=min(6, len(middle)))
        distance, near = distance.reshape(len(candidates), -1), near.reshape(len(candidates), -1)
        here = np.minimum((size[near] + GRADE * distance).min(axis=1), largest)
        clear = distance[:, 0] > 0.62 * np.minimum(here, spacing * 1.4)
        fits = (here >= spacing) & ((here < 2 * spacing) | (level == levels[-1]))
        chosen = candidates[fits & clear]
        if len(chosen):
            found.append(chosen[shapely.contains_xy(face, chosen[:, 0], chosen[:, 1])])
    return np.vstack(found) if found else np.zeros((0, 2))


def _hexagonal(bounds: tuple[float, float, float, float], spacing: float) -> Array:
    x0, y0, x1, y1 = bounds
    rise = spacing * np.sqrt(3.0) / 2.0
    xs = np.arange(x0 + 0.37 * spacing, x1, spacing)
    ys = np.arange(y0 + 0.41 * rise, y1, rise)
    if len(xs) == 0 or len(ys) == 0:
        return np.zeros((0, 2))
    x, y = np.meshgrid(xs, ys)
    x = x + 0.5 * spacing * (np.arange(len(ys))[:, None] % 2)
    return np.column_stack([x.ravel(), y.ravel()])


def conformed(points: Array, segments: Index, inner: Array) -> tuple[Array, Index, int]:
    """Delaunay triangles of boundary and inner points in which every boundary segment is an edge.

    Returns points, triangles (m, 3) and how many of the points, the first ones, lie on the boundary.

    Raises
    ------
    RuntimeError
        If the boundary is not recovered within the bound.
    """
    inner = _not_encroaching(points, segments, inner)
    for _ in range(ROUNDS):
        everything = np.vstack([points, inner])
        centre = everything.mean(axis=0)
        triangles = Delaunay(everything - centre, qhull_options="Qbb Qc Qz Q12").simplices.astype(np.int64)
        lost = _lost(triangles, segments, len(everything))
        if not np.any(lost):
            return everything, triangles, len(points)
        middles = 0.5 * (points[segments[lost, 0]] + points[segments[lost, 1]])
        new = len(points) + np.arange(int(lost.sum()))
        halves = np.vstack(
            [np.column_stack([segments[lost, 0], new]), np.column_stack([new, segments[lost, 1]])]
        )
        points = np.vstack([points, middles])
        segments = np.vstack([segments[~lost], halves])
        inner = _not_encroaching(points, halves, inner)
    raise RuntimeError("boundary not recovered")


def _lost(triangles: Index, segments: Index, count: int) -> NDArray[np.bool_]:
    edges = np.sort(triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    have = np.unique(edges[:, 0] * count + edges[:, 1])
    want = np.sort(segments, axis=1)
    return ~np.isin(want[:, 0] * count + want[:, 1], have)


def _not_encroaching(points: Array, segments: Index, inner: Array) -> Array:
    """Inner points outside of the circles that have a boundary segment as diameter."""
    if len(inner) == 0:
        return inner
    a, b = points[segments[:, 0]], points[segments[:, 1]]
    middle, radius = 0.5 * (a + b), 0.5 * np.linalg.norm(b - a, axis=1)
    inside = cKDTree(inner).query_ball_point(middle, radius * 1.05)
    drop = np.unique(
        np.concatenate([np.asarray(i, dtype=np.int64) for i in inside] or [np.zeros(0, dtype=np.int64)])
    )
    return np.delete(inner, drop.astype(np.int64), axis=0)


def smoothed(points: Array, triangles: Index, fixed: int, sweeps: int = 3) -> Array:
    """Inner points drawn to the middle of their neighbours where no triangle turns over, (n, 2)."""
    edges = np.unique(np.sort(triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1), axis=0)
    count = np.bincount(edges.ravel(), minlength=len(points)).astype(float)
    moved = points.copy()
    for _ in range(sweeps):
        total = np.zeros_like(moved)
        np.add.at(total, edges[:, 0], moved[edges[:, 1]])
        np.add.at(total, edges[:, 1], moved[edges[:, 0]])
        trial = moved.copy()
        free = np.arange(len(points)) >= fixed
        trial[free] = total[free] / np.maximum(count[free], 1.0)[:, None]
        bad = triangles[_areas(trial, triangles) < 0.2 * _areas(moved, triangles)].ravel()
        trial[bad] = moved[bad]
        if np.all(_areas(trial, triangles) > 0.0):
            moved = trial
    return moved


def _areas(points: Array, triangles: Index) -> Array:
    p = points[triangles]
    u, v = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    return 0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
