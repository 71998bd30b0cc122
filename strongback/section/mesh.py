"""A mesh of a section: checked outline in, six-node triangles out.

Two meshers give it. The built-in one (see `_boundary` and `_delaunay`) is always there, fast, and starts no other
process. The other is the C code behind sectionproperties; it can crash or hang on hostile input and is only ever run in
a child process with bounds on time and memory (see `_triangle`). The solver refines either mesh further where its
bounds ask for it.
"""

from __future__ import annotations

import dataclasses
import itertools
import warnings
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from strongback.errors import LimitError, MeshError
from strongback.section import _boundary, _delaunay
from strongback.section._triangle import available, triangulate
from strongback.section.check import check
from strongback.section.outline import Region, regions
from strongback.section.values import Outline, SectionMesh

__all__ = ["MAX_TRIANGLES", "MesherNotice", "mesh", "mesh_regions", "quadratic"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Mesher = Literal["auto", "built-in", "triangle"]

MAX_TRIANGLES = 200_000
SNAP = 1e-9  # points of two rings nearer than this are one [m]
ACROSS = 1.0  # elements across a wall to begin with


class MesherNotice(UserWarning):
    """Said when the mesher asked for is not there and the built-in one is used."""


def mesh(
    outline: Outline,
    *,
    size: float | None = None,
    mesher: Mesher = "auto",
    max_triangles: int = MAX_TRIANGLES,
) -> SectionMesh:
    """Mesh an outline.

    Parameters
    ----------
    outline : Outline
    size : float, optional
        Largest side of a triangle [m]; default from the extent of the section. Thin walls get smaller ones.
    mesher : {"auto", "built-in", "triangle"}
        ``"auto"`` is the built-in mesher, and the C mesher where that fails.
    max_triangles : int
        Refuse to make more.

    Returns
    -------
    SectionMesh

    Raises
    ------
    OutlineError
        If the outline bounds no section.
    LimitError
        If the mesh would be larger than allowed.
    MeshError
        If no mesher can mesh it.
    """
    check(outline)
    return mesh_regions(regions(outline), size=size, mesher=mesher, max_triangles=max_triangles)


def mesh_regions(
    parts: list[Region],
    *,
    size: float | None = None,
    mesher: Mesher = "auto",
    max_triangles: int = MAX_TRIANGLES,
) -> SectionMesh:
    """As `mesh`, for regions already made and checked.

    Made about the middle of the section, so that distances cancel no digits where an outline stands far from its origin.
    """
    bounds = shapely.total_bounds([p.polygon for p in parts])
    centre = (bounds[:2] + bounds[2:]) / 2.0
    moved = [
        dataclasses.replace(part, polygon=shapely.transform(part.polygon, lambda points: points - centre))
        for part in parts
    ]
    made = _meshed(moved, size, mesher, max_triangles)
    return dataclasses.replace(made, nodes=made.nodes + centre)


def _meshed(parts: list[Region], size: float | None, mesher: Mesher, max_triangles: int) -> SectionMesh:
    face = _face(parts)
    extent = max(face.bounds[2] - face.bounds[0], face.bounds[3] - face.bounds[1])
    largest = extent / 10.0 if size is None else _checked_size(size, face, max_triangles)
    points, segments = _linework(parts)
    if mesher == "triangle" and not available():
        warnings.warn(
            "the C mesher of sectionproperties cannot be imported here; the built-in mesher is used",
            MesherNotice,
            stacklevel=2,
        )
        mesher = "built-in"
    if mesher == "triangle":
        return _by_triangle(parts, points, segments, largest, max_triangles)
    try:
        return _built_in(parts, face, points, segments, largest, max_triangles)
    except MeshError:
        if mesher == "built-in" or not available():
            raise
        return _by_triangle(parts, points, segments, largest, max_triangles)


def _face(parts: list[Region]) -> shapely.Geometry:
    """All parts as one shape; without the grid a corner on the middle of another part's side may leave a crack."""
    return shapely.union_all([p.polygon for p in parts], grid_size=SNAP)


def _checked_size(size: float, face: shapely.Geometry, max_triangles: int) -> float:
    if not (np.isfinite(size) and size > 0.0):
        raise LimitError(f"element size {size * 1e3:g} mm must be above 0")
    count = 2.3 * face.area / size**2
    if count > max_triangles:
        raise LimitError(
            f"elements of {size * 1e3:.3g} mm would make about {count:,.0f} triangles, at most {max_triangles:,} are made",
            hint="give a larger size",
        )
    return size


def _linework(parts: list[Region]) -> tuple[Array, Index]:
    """Points and segments of all region boundaries, each shared one once."""
    rings = [np.asarray(r.coords)[:-1, :2] for p in parts for r in (p.polygon.exterior, *p.polygon.interiors)]
    points = np.vstack(rings)
    starts = np.cumsum([0, *(len(r) for r in rings)])
    chains = [
        np.column_stack([np.arange(a, b), np.roll(np.arange(a, b), -1)])
        for a, b in itertools.pairwise(starts)
    ]
    segments = np.vstack(chains)
    _, first, inverse = np.unique(
        np.round(points / SNAP).astype(np.int64), axis=0, return_index=True, return_inverse=True
    )
    segments = np.unique(np.sort(inverse.ravel()[segments], axis=1), axis=0)
    points = points[first]
    return _with_crossings(points, segments[segments[:, 0] != segments[:, 1]])


def _with_crossings(points: Array, segments: Index) -> tuple[Array, Index]:
    """Segments cut where another region's corner lies on them."""
    lines = shapely.linestrings(points[segments])
    tree = shapely.STRtree(lines)
    touching = tree.query(shapely.points(points), predicate="dwithin", distance=SNAP)
    on = touching[:, (segments[touching[1]] != touching[0][:, None]).all(axis=1)]
    if on.shape[1] == 0:
        return points, segments
    cut = np.unique(on[1])
    kept = [segments[np.setdiff1d(np.arange(len(segments)), cut)]]
    for i in cut:
        a, b = segments[i]
        between = on[0, on[1] == i]
        along = (points[between] - points[a]) @ (points[b] - points[a])
        chain = [a, *between[np.argsort(along)], b]
        kept.append(np.column_stack([chain[:-1], chain[1:]]))
    return points, np.unique(np.sort(np.vstack(kept), axis=1), axis=0)


def _built_in(
    parts: list[Region],
    face: shapely.Geometry,
    points: Array,
    segments: Index,
    largest: float,
    max_triangles: int,
) -> SectionMesh:
    front, size = _front(points, segments, largest, max_triangles)
    front.free = _boundary.lattice(face, front.fixed, front.segments, size, largest, 2 * max_triangles)
    try:
        nodes, corners, fixed = _delaunay.triangulated(front, face, max_triangles)
    except _delaunay.NotRecovered as error:
        raise MeshError(
            "the built-in mesher could not keep the outline",
            hint="look for walls or gaps of next to no thickness",
        ) from error
    region = _region_of(parts, nodes, corners)
    corners, region = _counter_clockwise(nodes, corners[region >= 0]), region[region >= 0]
    nodes = _delaunay.smoothed(nodes, corners, fixed)
    return _finished(parts, nodes, corners, region, "built-in", max_triangles)


def _front(
    points: Array, segments: Index, largest: float, max_triangles: int
) -> tuple[_boundary.Front, Array]:
    try:
        return _boundary.cut_to_walls(points, segments, largest, ACROSS, max_triangles // 2)
    except _boundary.TooFine:
        raise LimitError(
            f"the boundary alone would make more than {max_triangles // 2:,} pieces",
            hint="its walls are too thin for their length",
        ) from None


def _by_triangle(
    parts: list[Region], points: Array, segments: Index, largest: float, max_triangles: int
) -> SectionMesh:
    front, _ = _front(points, segments, largest, max_triangles)
    seeds = np.array([p.polygon.representative_point().coords[0] for p in parts])
    holes = _hole_points(parts)
    nodes, corners = triangulate(front.fixed, front.segments, holes, seeds, 0.45 * largest**2, max_triangles)
    region = _region_of(parts, nodes, corners)
    if np.any(region < 0):
        raise MeshError("the C mesher filled what is not part of the section")
    return _finished(parts, nodes, _counter_clockwise(nodes, corners), region, "triangle", max_triangles)


def _hole_points(parts: list[Region]) -> Array:
    face = _face(parts)
    faces = list(face.geoms) if hasattr(face, "geoms") else [face]
    holes = [shapely.Polygon(ring).representative_point().coords[0] for f in faces for ring in f.interiors]
    return np.array(holes).reshape(-1, 2)


def _region_of(parts: list[Region], nodes: Array, corners: Index) -> Index:
    """Which region each triangle lies in; -1 outside."""
    middle = nodes[corners].mean(axis=1)
    region = np.full(len(corners), -1, dtype=np.int64)
    for i, part in enumerate(parts):
        shapely.prepare(part.polygon)
        region[shapely.contains_xy(part.polygon, middle[:, 0], middle[:, 1])] = i
    return region


def _counter_clockwise(nodes: Array, corners: Index) -> Index:
    back = _delaunay.signed_areas(nodes, corners) < 0.0
    turned = corners.copy()
    turned[back] = corners[back][:, [0, 2, 1]]
    return turned


def _finished(
    parts: list[Region], nodes: Array, corners: Index, region: Index, mesher: str, max_triangles: int
) -> SectionMesh:
    areas = _delaunay.signed_areas(nodes, corners)
    flat = areas < 1e-9 * np.median(areas)
    corners, region, areas = corners[~flat], region[~flat], areas[~flat]
    if len(corners) > max_triangles:
        raise LimitError(
            f"{len(corners):,} triangles, at most {max_triangles:,} are made", hint="give a larger size"
        )
    for i, part in enumerate(parts):
        have = float(areas[region == i].sum())
        if not abs(have - part.polygon.area) <= 1e-9 * part.polygon.area:
            raise MeshError(
                f"the mesh of {part.part} covers {have * 1e6:.9g} mm² of {part.polygon.area * 1e6:.9g} mm²",
                hint="look for points of the outline that nearly coincide",
            )
    used, packed = np.unique(corners, return_inverse=True)
    corner_nodes = packed.reshape(corners.shape).astype(np.int64)
    all_nodes, triangles = quadratic(nodes[used], corner_nodes)
    return SectionMesh(
        nodes=all_nodes,
        triangles=triangles,
        region=region.copy(),
        materials=tuple(p.material for p in parts),
        parts=tuple(p.part for p in parts),
        mesher=mesher,
    )


def quadratic(nodes: Array, corners: Index) -> tuple[Array, Index]:
    """Six-node triangles from three-node ones: a node in the middle of every edge.

    Parameters
    ----------
    nodes : ndarray, shape (n, 2)
    corners : ndarray of int, shape (m, 3)

    Returns
    -------
    nodes : ndarray, shape (n + edges, 2)
    triangles : ndarray of int, shape (m, 6)
    """
    edges = np.sort(corners[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    key, inverse = np.unique(edges[:, 0] * len(nodes) + edges[:, 1], return_inverse=True)
    first, second = key // len(nodes), key % len(nodes)
    middle = 0.5 * (nodes[first] + nodes[second])
    return np.vstack([nodes, middle]), np.hstack([corners, len(nodes) + inverse.reshape(-1, 3)])
