"""What an outline must be before it is meshed; every refusal names the ring and the point in mm."""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon

from strongback.errors import LimitError, OutlineError
from strongback.plausible import UnlikelySize, slip
from strongback.section._contact import Contact, contact, joined, narrowest, sharpest
from strongback.section.outline import LARGEST
from strongback.section.values import Cell, Outline, Point2, Ring, Wall

__all__ = ["CLOSEST", "SHARPEST", "THINNEST", "check", "refuse", "unlikely_size"]

USUAL = (0.002, 0.1, 4.0)  # lowest, usual and highest size of a section; outside a warning is given [m]
CLOSEST = 1e-6  # points nearer than this are one point for every purpose of a machine [m]
THINNEST = 1e-5  # walls and gaps thinner than this are slips of the pen [m]
SHARPEST = math.radians(0.5)  # a corner below this is a spike


def check(outline: Outline) -> None:
    """Refuse an outline that bounds no section.

    Parameters
    ----------
    outline : Outline

    Raises
    ------
    OutlineError
        Naming the ring and the point [mm].
    LimitError
        If it has more points than it allows itself (`Outline.max_points`).

    Warns
    -----
    UnlikelySize
        If it is so large or small that a unit was most likely mixed up.

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
    refuse(outline)
    words = unlikely_size(outline)
    if words:
        warnings.warn(words, UnlikelySize, stacklevel=2)


def refuse(outline: Outline) -> None:
    """As `check`, without a word about an unlikely size: for one ring of an outline."""
    where = f'outline "{outline.name}"'
    if not outline.walls:
        raise OutlineError(f"{where} has no wall")
    _check_size(where, outline)
    for label, ring in rings_of(outline):
        _check_ring(f"{where}, {label}", ring)
    for wall in outline.walls:
        _check_holes(f'{where}, wall "{wall.name}"', wall.ring, wall.holes, "hollow")
    _check_names(where, outline)
    for cell in outline.cells:
        _check_fill(f'{where}, cell "{cell.name}"', cell)
    _check_contacts(where, outline)
    _check_seams(where, outline)


def unlikely_size(outline: Outline) -> str:
    """What about the size of an outline looks like a slip of the unit; empty if nothing does."""
    across = float(np.ptp(np.vstack([wall.ring for wall in outline.walls]), axis=0).max())
    words = slip(across, *USUAL)
    shown = f"{across:.4g} m" if across >= 1.0 else f"{across * 1e3:.4g} mm"
    return f'outline "{outline.name}" measures {shown}: {words}' if words else ""


def rings_of(outline: Outline) -> Iterator[tuple[str, Ring]]:
    """Every ring of an outline, with what it is."""
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


def in_mm(point: Point2) -> str:
    """A point as it is written in messages."""
    return f"({point[0] * 1e3:.6g}, {point[1] * 1e3:.6g}) mm"


def _check_size(where: str, outline: Outline) -> None:
    edges = {ring for wall in outline.walls for ring in wall.holes}
    twice = sum(len(cell.ring) for cell in outline.cells if cell.ring in edges)
    total = sum(len(ring) for _, ring in rings_of(outline)) - twice
    if total > outline.max_points:
        raise LimitError(
            f"{where} has {total:,} points, at most {outline.max_points:,} are read",
            hint=f"simplify it, or allow more: {more_points(total)}",
        )


def more_points(total: int) -> str:
    """Where an outline is allowed more points."""
    return (
        f"max_points = {total} in its [[section]], --max-points {total} with --outline, "
        f"dataclasses.replace(outline, max_points={total}) in Python"
    )


def _check_names(where: str, outline: Outline) -> None:
    names = [cell.name for cell in outline.cells]
    for name in names:
        if names.count(name) > 1:
            raise OutlineError(f'{where}: cell "{name}" is there twice')


def _check_seams(where: str, outline: Outline) -> None:
    """Seams name walls that are there, each once, and leave something that does not slip."""
    known = {wall.name for wall in outline.walls}
    taken: dict[str, str] = {}
    for i, seam in enumerate(outline.seams):
        if seam.name in {s.name for s in outline.seams[:i]}:
            raise OutlineError(f'{where}: seam "{seam.name}" is there twice')
        for wall in seam.walls:
            if wall not in known:
                raise OutlineError(
                    f'{where}, seam "{seam.name}": no wall is called "{wall}"',
                    hint=f"walls: {', '.join(sorted(known))}",
                )
            if wall in taken:
                raise OutlineError(f'{where}: wall "{wall}" slips in two seams', hint="name it in one")
            taken[wall] = seam.name
    if outline.seams and len(taken) == len(known):
        raise OutlineError(f"{where}: every wall slips", hint="leave out those that carry the member")
    if outline.seams and any(c.fill is not None and c.fill.bond != "bonded" for c in outline.cells):
        raise OutlineError(
            f"{where}: a fill that slips and a seam in one section are not solved together",
            hint='give the fill bond = "bonded", or leave the seam out',
        )
    faces = {wall.name: _face(wall) for wall in outline.walls}
    for one, first in taken.items():
        for other, second in taken.items():
            if first < second and contact(faces[one], faces[other], THINNEST).kind == "edge":
                raise OutlineError(
                    f'{where}: walls "{one}" and "{other}" slip in two seams and touch',
                    hint="let them slip as one, in one seam",
                )


def _check_ring(where: str, ring: Ring) -> None:
    for point in ring:
        if not (math.isfinite(point[0]) and math.isfinite(point[1])):
            raise OutlineError(f"{where}: a point is not a number: {in_mm(point)}", point=point)
        if max(abs(point[0]), abs(point[1])) > LARGEST:
            raise OutlineError(
                f"{where}: {in_mm(point)} is further out than {LARGEST:g} m",
                hint="check the unit",
                point=point,
            )
    if len(ring) < 3:
        raise OutlineError(f"{where}: {len(ring)} points bound no area", hint="a ring has at least three")
    _check_repeats(where, ring)
    polygon = Polygon(ring)
    if not polygon.is_valid:
        crossing = _invalid_point(polygon, ring)
        raise OutlineError(
            f"{where}: crosses itself at {in_mm(crossing)}",
            hint="list the points in order around the edge, each once",
            point=crossing,
        )
    _check_thickness(where, polygon, ring)


def _check_repeats(where: str, ring: Ring) -> None:
    for a, b in zip(ring, [*ring[1:], ring[0]], strict=True):
        if math.dist(a, b) < CLOSEST:
            raise OutlineError(
                f"{where}: the point {in_mm(b)} is there twice in a row", hint="drop one", point=b
            )
    seen: set[Point2] = set()
    for point in ring:
        if point in seen:
            raise OutlineError(
                f"{where}: touches itself at {in_mm(point)}",
                hint="a ring passes each point once",
                point=point,
            )
        seen.add(point)


def _invalid_point(polygon: Polygon, ring: Ring) -> Point2:
    reason = shapely.is_valid_reason(polygon)
    try:
        inside = reason[reason.index("[") + 1 : reason.index("]")].split()
        return float(inside[0]), float(inside[1])
    except (ValueError, IndexError):
        return ring[0]


def _check_thickness(where: str, polygon: Polygon, ring: Ring) -> None:
    points = np.asarray(ring)
    reach = float(np.ptp(points, axis=0).max())
    if polygon.area < THINNEST * reach:
        raise OutlineError(
            f"{where}: bounds next to no area ({polygon.area * 1e6:.3g} mm² over {reach * 1e3:.4g} mm)",
            point=ring[0],
        )
    angle, corner = sharpest(points)
    if angle < SHARPEST:
        raise OutlineError(
            f"{where}: has a spike of {math.degrees(angle):.2g} degrees at {in_mm(corner)}",
            hint="drop the point",
            point=corner,
        )
    neck = narrowest(points, THINNEST)
    if neck is not None:
        raise OutlineError(
            f"{where}: comes within {neck[0] * 1e3:.2g} mm of itself at {in_mm(neck[1])}",
            hint=f"walls and gaps are at least {THINNEST * 1e3:g} mm",
            point=neck[1],
        )


def _check_holes(where: str, ring: Ring, holes: tuple[Ring, ...], noun: str) -> None:
    face = Polygon(ring)
    shapes = [Polygon(hole) for hole in holes]
    for i, shape in enumerate(shapes):
        name = f"{where}: {noun} {i + 1}"
        _check_inside(name, face, shape, "the outer edge")
        for j in range(i):
            _check_clear(name, f"{noun} {j + 1}", shape, shapes[j])


def _check_inside(name: str, face: Polygon, shape: Polygon, edge: str) -> None:
    if not face.covers(shape):
        point = _outside(face, shape)
        raise OutlineError(f"{name} reaches outside at {in_mm(point)}", point=point)
    gap = shapely.distance(shape.exterior, face.exterior)
    if gap < THINNEST:
        raise _thin(name, edge, gap, shapely.shortest_line(shape.exterior, face.exterior))


def _check_clear(name: str, other_name: str, shape: Polygon, other: Polygon) -> None:
    common = shape.intersection(other)
    if common.area > 0.0:
        spot = common.representative_point()
        raise OutlineError(
            f"{name} overlaps {other_name} at {in_mm((spot.x, spot.y))}", point=(spot.x, spot.y)
        )
    gap = shape.distance(other)
    if gap < THINNEST:
        raise _thin(name, other_name, gap, shapely.shortest_line(shape, other))


def _thin(name: str, other: str, gap: float, line: shapely.Geometry) -> OutlineError:
    x, y = line.coords[0][:2]
    what = "touches" if gap < CLOSEST else f"leaves a wall of {gap * 1e3:.2g} mm to"
    return OutlineError(
        f"{name} {what} {other} at {in_mm((x, y))}",
        hint=f"the thinnest wall is {THINNEST * 1e3:g} mm",
        point=(float(x), float(y)),
    )


def _outside(face: Polygon, shape: Polygon) -> Point2:
    corners = MultiPoint(list(shape.exterior.coords)).difference(face)
    out = corners if not corners.is_empty else shape.difference(face)
    point = out.representative_point() if not out.is_empty else shape.exterior.centroid
    return float(point.x), float(point.y)


def _check_fill(where: str, cell: Cell) -> None:
    if cell.fill is None:
        return
    face = Polygon(cell.ring)
    inner = [(f"bore {i + 1}", Polygon(b)) for i, b in enumerate(cell.fill.bores)]
    inner += [(f'insert "{i.name}"', Polygon(i.ring)) for i in cell.fill.inserts]
    for i, (label, shape) in enumerate(inner):
        _check_inside(f"{where}: {label}", face, shape, "the wall")
        for other_label, other in inner[:i]:
            _check_clear(f"{where}: {label}", other_label, shape, other)
    for insert in cell.fill.inserts:
        if insert.bore:
            _check_holes(f'{where}, insert "{insert.name}"', insert.ring, (insert.bore,), "bore")


def _check_contacts(where: str, outline: Outline) -> None:
    """Walls and filled cells meet along edges and hang together; cells lie clear of walls."""
    filled = [c for c in outline.cells if c.fill is not None]
    named = [(f'wall "{w.name}"', _face(w)) for w in outline.walls]
    named += [(f'cell "{c.name}"', Polygon(c.ring)) for c in filled]
    pairs = []
    for i in range(len(named)):
        for j in range(i):
            found = contact(named[i][1], named[j][1], THINNEST)
            if found.kind == "edge":
                pairs.append((i, j))
            elif found.kind != "apart":
                raise _bad_contact(where, named[j][0], named[i][0], found)
    groups = joined(len(named), pairs)
    for (name, shape), group in zip(named, groups, strict=True):
        if group != 0:
            spot = shape.representative_point()
            raise OutlineError(
                f"{where}: {name} at {in_mm((spot.x, spot.y))} is joined to nothing",
                hint="walls and fills share an edge with the rest of the section",
                point=(spot.x, spot.y),
            )
    for cell in outline.cells:
        if cell.fill is None:
            _check_empty(where, cell, outline.walls)


def _check_empty(where: str, cell: Cell, walls: tuple[Wall, ...]) -> None:
    for wall in walls:
        if contact(Polygon(cell.ring), _face(wall), THINNEST).kind == "overlap":
            found = contact(Polygon(cell.ring), _face(wall), THINNEST)
            raise _bad_contact(where, f'cell "{cell.name}"', f'wall "{wall.name}"', found)


def _face(wall: Wall) -> Polygon:
    return Polygon(wall.ring, wall.holes)


def _bad_contact(where: str, one: str, other: str, found: Contact) -> OutlineError:
    what = {
        "overlap": f"{one} and {other} overlap",
        "point": f"{one} and {other} touch in a single point",
        "gap": f"{one} and {other} leave a gap of {found.width * 1e3:.2g} mm",
    }[found.kind]
    return OutlineError(
        f"{where}: {what} at {in_mm(found.point)}",
        hint="parts that are joined share an edge",
        point=found.point,
    )
