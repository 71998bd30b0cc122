"""What an outline must be before it is meshed; every refusal names the ring and the point in mm."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
import shapely.ops
from shapely.geometry import MultiPoint, Polygon

from strongback.errors import LimitError, OutlineError
from strongback.section.values import Outline, Point2, Ring

__all__ = ["MAX_VERTICES", "check"]

MAX_VERTICES = 2_000
CLOSEST = 1e-7  # points nearer than this are one point for every purpose of a machine [m]
THINNEST = 5e-6  # walls thinner than this are a slip of the pen [m]


def check(outline: Outline, *, max_vertices: int = MAX_VERTICES) -> None:
    """Refuse an outline that bounds no section.

    Parameters
    ----------
    outline : Outline
    max_vertices : int
        Most points in all rings.

    Raises
    ------
    OutlineError
        Naming the ring and the point [mm].
    LimitError
        If it has too many points.

    Examples
    --------
    >>> from strongback.materials import material
    >>> from strongback.section.outline import from_rings
    >>> bow = from_rings("bow", material("steel"), [(0, 0), (0.01, 0.01), (0.01, 0), (0, 0.01)])
    >>> check(bow)
    Traceback (most recent call last):
        ...
    strongback.errors.OutlineError: outline "bow", outer edge of wall: crosses itself at (5, 5) mm
       help: list the points in order around the edge, each once
    """
    rings = list(_rings(outline))
    if not outline.walls:
        raise OutlineError(f'outline "{outline.name}" has no wall')
    total = sum(len(ring) for _, ring in rings)
    if total > max_vertices:
        raise LimitError(
            f'outline "{outline.name}" has {total:,} points, at most {max_vertices:,} are read',
            hint="simplify it, or raise the limit",
        )
    for where, ring in rings:
        _check_ring(f'outline "{outline.name}", {where}', ring)
    for wall in outline.walls:
        _check_holes(f'outline "{outline.name}", wall "{wall.name}"', wall.ring, wall.holes)
    _check_walls(outline)
    for cell in outline.cells:
        _check_cell(outline, cell.name)


def _rings(outline: Outline) -> Iterator[tuple[str, Ring]]:
    for wall in outline.walls:
        yield f"outer edge of {wall.name}", wall.ring
        for i, hole in enumerate(wall.holes):
            yield f"hollow {i + 1} of {wall.name}", hole
    for cell in outline.cells:
        yield f'cell "{cell.name}"', cell.ring
        if cell.fill is not None:
            for i, bore in enumerate(cell.fill.bores):
                yield f'bore {i + 1} in cell "{cell.name}"', bore
            for insert in cell.fill.inserts:
                yield f'insert "{insert.name}" in cell "{cell.name}"', insert.ring
                if insert.bore:
                    yield f'bore of insert "{insert.name}" in cell "{cell.name}"', insert.bore


def _mm(point: Point2) -> str:
    return f"({point[0] * 1e3:.6g}, {point[1] * 1e3:.6g}) mm"


def _check_ring(where: str, ring: Ring) -> None:
    for point in ring:
        if not (math.isfinite(point[0]) and math.isfinite(point[1])):
            raise OutlineError(f"{where}: a point is not a number: {_mm(point)}", point=point)
    if len(ring) < 3:
        raise OutlineError(f"{where}: {len(ring)} points bound no area", hint="a ring has at least three")
    for a, b in zip(ring, [*ring[1:], ring[0]], strict=True):
        if math.dist(a, b) < CLOSEST:
            raise OutlineError(
                f"{where}: the point {_mm(b)} is there twice in a row", hint="drop one", point=b
            )
    seen: dict[Point2, int] = {}
    for i, point in enumerate(ring):
        key = (round(point[0] / CLOSEST), round(point[1] / CLOSEST))
        if key in seen:
            raise OutlineError(
                f"{where}: touches itself at {_mm(point)}", hint="a ring passes each point once", point=point
            )
        seen[key] = i
    polygon = Polygon(ring)
    if not polygon.is_valid:
        point = _invalid_point(polygon, ring)
        raise OutlineError(
            f"{where}: crosses itself at {_mm(point)}",
            hint="list the points in order around the edge, each once",
            point=point,
        )
    reach = float(np.ptp(np.asarray(ring), axis=0).max())
    if polygon.area < THINNEST * reach:
        raise OutlineError(
            f"{where}: bounds next to no area ({polygon.area * 1e6:.3g} mm² over {reach * 1e3:.4g} mm)",
            point=ring[0],
        )


def _invalid_point(polygon: Polygon, ring: Ring) -> Point2:
    reason = shapely.is_valid_reason(polygon)
    try:
        inside = reason[reason.index("[") + 1 : reason.index("]")].split()
        return float(inside[0]), float(inside[1])
    except (ValueError, IndexError):
        return ring[0]


def _check_holes(where: str, ring: Ring, holes: tuple[Ring, ...]) -> None:
    face = Polygon(ring)
    shapes = [Polygon(hole) for hole in holes]
    for i, shape in enumerate(shapes):
        name = f"{where}: hollow {i + 1}"
        if not face.contains(shape):
            raise OutlineError(
                f"{name} reaches outside at {_mm(_outside(face, shape))}", point=_outside(face, shape)
            )
        _refuse_thin(f"{name} and the outer edge", shape, face.exterior)
        for j in range(i):
            if shapes[j].intersects(shape):
                point = _common(shapes[j], shape)
                raise OutlineError(f"{name} touches or overlaps hollow {j + 1} at {_mm(point)}", point=point)
            _refuse_thin(f"{name} and hollow {j + 1}", shape, shapes[j].exterior)


def _refuse_thin(what: str, shape: Polygon, other: shapely.Geometry) -> None:
    gap = shape.exterior.distance(other)
    if gap < THINNEST:
        a, _ = shapely.ops.nearest_points(shape.exterior, other)
        raise OutlineError(
            f"{what} leave a wall of {gap * 1e3:.3g} mm at {_mm((a.x, a.y))}",
            hint=f"the thinnest wall is {THINNEST * 1e3:g} mm",
            point=(a.x, a.y),
        )


def _outside(face: Polygon, shape: Polygon) -> Point2:
    out = shape.difference(face)
    at = (
        MultiPoint(list(shape.exterior.coords)).difference(face)
        if not out.is_empty
        else shape.exterior.intersection(face.exterior)
    )
    point = (at if not at.is_empty else out).representative_point()
    return point.x, point.y


def _common(a: Polygon, b: Polygon) -> Point2:
    point = a.intersection(b).representative_point()
    return point.x, point.y


def _check_walls(outline: Outline) -> None:
    shapes = [(w.name, Polygon(w.ring, w.holes)) for w in outline.walls]
    for i, (name, shape) in enumerate(shapes):
        for other, earlier in shapes[:i]:
            if shape.intersection(earlier).area > CLOSEST * shape.length:
                point = _common(shape, earlier)
                raise OutlineError(
                    f'outline "{outline.name}": walls "{other}" and "{name}" overlap at {_mm(point)}',
                    hint="bonded walls share an edge",
                    point=point,
                )


def _check_cell(outline: Outline, name: str) -> None:
    cell = next(c for c in outline.cells if c.name == name)
    where = f'outline "{outline.name}", cell "{name}"'
    if [c.name for c in outline.cells].count(name) > 1:
        raise OutlineError(f"{where}: the name is there twice")
    face = Polygon(cell.ring)
    for wall in outline.walls:
        if face.intersection(Polygon(wall.ring, wall.holes)).area > CLOSEST * face.length:
            point = _common(face, Polygon(wall.ring, wall.holes))
            raise OutlineError(f'{where}: overlaps wall "{wall.name}" at {_mm(point)}', point=point)
    if cell.fill is None:
        return
    taken: list[tuple[str, Polygon]] = []
    for label, ring in [(f"bore {i + 1}", b) for i, b in enumerate(cell.fill.bores)] + [
        (f'insert "{i.name}"', i.ring) for i in cell.fill.inserts
    ]:
        shape = Polygon(ring)
        if not face.contains(shape):
            raise OutlineError(f"{where}: {label} reaches outside at {_mm(_outside(face, shape))}")
        _refuse_thin(f"{where}: {label} and the wall", shape, face.exterior)
        for other, earlier in taken:
            if shape.intersects(earlier):
                raise OutlineError(f"{where}: {label} touches {other} at {_mm(_common(shape, earlier))}")
        taken.append((label, shape))
    for insert in cell.fill.inserts:
        if insert.bore:
            _check_holes(f'{where}, insert "{insert.name}"', insert.ring, (insert.bore,))
