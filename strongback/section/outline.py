"""Outlines: from rings, from mid-lines, with rounded corners; filled, moved, turned; and as regions of material."""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from strongback.errors import LimitError, OutlineError
from strongback.materials import Material
from strongback.materials import material as named_material
from strongback.section.values import Cell, Fill, Outline, Point2, Ring, Wall

__all__ = [
    "Region",
    "area_of",
    "connected",
    "emptied",
    "filled",
    "from_midline",
    "from_rings",
    "mass_per_length",
    "moved",
    "regions",
    "rounded",
    "turned",
]

MAX_POINTS = 100_000  # drawn; `check` allows fewer to be meshed
LARGEST = 20.0  # a coordinate beyond it is a slip of the unit [m]
CLOSE = 1e-10  # drawn points nearer than this are one [m]
FOLD = 1e-4  # sides at a smaller angle lie on each other [rad]
FINEST = 1e-9  # chords closer to their arc than this make more points than anyone can use [m]
CHORD = 20e-6  # largest distance between an arc and its chords [m]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Region:
    """One material of a section.

    Parameters
    ----------
    polygon : shapely.Polygon
        [m]
    material : Material
    part : str
        ``"wall <name>"``, ``"fill <cell>"`` or ``"insert <name>"``.
    cell : str
        Cell that holds it; empty for a wall.

    Examples
    --------
    >>> from strongback.section.shapes import rectangle
    >>> (part,) = regions(rectangle("steel", 0.04, 0.02))
    >>> part.material.name
    'steel'
    """

    polygon: Polygon
    material: Material
    part: str
    cell: str = ""


def from_rings(
    name: str,
    material: Material | str,
    outer: Sequence[Point2],
    cells: Mapping[str, Sequence[Point2]] | None = None,
) -> Outline:
    """An outline of one material from its outer ring and the rings of its hollows.

    Parameters
    ----------
    name : str
    material : Material or str
        A name is one of the package's table.
    outer : sequence of (x, y)
        Closed or open list of points [m].
    cells : mapping of str to sequence of (x, y), optional
        Hollows by name [m].

    Returns
    -------
    Outline

    Examples
    --------
    >>> from strongback.materials import material
    >>> bar = from_rings("bar", material("steel"), [(0, 0), (0.04, 0), (0.04, 0.02), (0, 0.02)])
    >>> round(area_of(bar) * 1e6, 6)
    800.0
    """
    rings = {key: ring_of(points) for key, points in (cells or {}).items()}
    of = named_material(material) if isinstance(material, str) else material
    wall = Wall(name="wall", material=of, ring=ring_of(outer), holes=tuple(rings.values()))
    return Outline(
        name=name, walls=(wall,), cells=tuple(Cell(name=key, ring=ring) for key, ring in rings.items())
    )


def ring_of(points: Sequence[Point2]) -> Ring:
    """Points as an open ring: a last point equal to the first is dropped."""
    ring = tuple((float(x), float(y)) for x, y in points)
    return ring[:-1] if len(ring) > 1 and ring[0] == ring[-1] else ring


def rounded(points: Sequence[Point2], radius: float | Sequence[float], *, chord: float = CHORD) -> Ring:
    """A ring with its corners rounded by arcs.

    Parameters
    ----------
    points : sequence of (x, y)
        [m]
    radius : float or sequence of float
        One for all corners or one a corner [m]; 0 leaves a corner sharp.
    chord : float
        Largest distance between arc and chord [m]. The chords lie half outside and half inside of the arc, and the
        area is that of the arc.

    Returns
    -------
    Ring

    Raises
    ------
    OutlineError
        If an arc does not fit between its neighbours, or a radius or `chord` is no length.

    Examples
    --------
    >>> len(rounded([(0, 0), (1, 0), (1, 1), (0, 1)], [0, 0, 0.2, 0], chord=1e-3)) > 6
    True
    """
    ring = np.asarray(drawable("ring", points, 3))
    radii = np.asarray(radius, dtype=float)
    if radii.shape not in ((), (len(ring),)):
        raise OutlineError(
            f"{radii.size} corner radii for {len(ring)} corners", hint="give one for each corner"
        )
    if not (np.isfinite(radii).all() and (radii >= 0.0).all()):
        raise OutlineError(f"corner radius {radius} is not a length", hint="0 leaves a corner sharp")
    if not FINEST <= chord <= LARGEST:
        raise OutlineError(f"chord {chord * 1e3:g} mm must lie between {FINEST * 1e3:g} mm and {LARGEST:g} m")
    radii = np.broadcast_to(radii, len(ring))
    _check_folds(ring, radii)
    cuts = np.array([_tangent(ring, i) * radii[i] if radii[i] > 0.0 else 0.0 for i in range(len(ring))])
    sides = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)
    for i in range(len(ring)):
        if cuts[i] + cuts[(i + 1) % len(ring)] > sides[i] * (1 + 1e-9):
            x, y = ring[i] * 1e3
            raise OutlineError(
                f"corner radius {radii[i] * 1e3:g} mm at ({x:g}, {y:g}) mm does not fit the side of {sides[i] * 1e3:g} mm",
                hint="give a smaller radius",
                point=(float(ring[i, 0]), float(ring[i, 1])),
            )
    made: list[Point2] = []
    for i in range(len(ring)):
        made += _arc(ring, i, float(radii[i]), float(cuts[i]), chord)
    return _without_repeats(made)


def _check_folds(ring: np.ndarray, radii: np.ndarray) -> None:
    """Refuse an arc in a corner whose sides lie on each other: no radius fits it."""
    for i in np.flatnonzero(radii > 0.0):
        before, after = _directions(ring, int(i))
        if before @ after > math.cos(FOLD):
            x, y = ring[i]
            raise OutlineError(
                f"the line turns back on itself at ({x * 1e3:g}, {y * 1e3:g}) mm, which no radius can round",
                hint="list the points in order along it",
                point=(float(x), float(y)),
            )


def _without_repeats(points: Sequence[Point2]) -> Ring:
    kept = [p for p, q in zip(points, [*points[1:], points[0]], strict=True) if math.dist(p, q) > CLOSE]
    return tuple(kept)


def _directions(ring: np.ndarray, i: int) -> tuple[np.ndarray, np.ndarray]:
    before = ring[i - 1] - ring[i]
    after = ring[(i + 1) % len(ring)] - ring[i]
    return before / np.linalg.norm(before), after / np.linalg.norm(after)


def _tangent(ring: np.ndarray, i: int) -> float:
    """Distance from a corner to where an arc of radius one leaves the side."""
    before, after = _directions(ring, i)
    angle = math.acos(float(np.clip(before @ after, -1.0, 1.0)))
    return 0.0 if angle > math.pi - 1e-9 else 1.0 / math.tan(angle / 2.0)


def _arc(ring: np.ndarray, i: int, radius: float, cut: float, chord: float) -> list[Point2]:
    corner = ring[i]
    if radius <= 0.0 or cut <= 0.0:
        return [(float(corner[0]), float(corner[1]))]
    before, after = _directions(ring, i)
    middle = (before + after) / np.linalg.norm(before + after)
    centre = corner + middle * math.hypot(radius, cut)
    start = corner + before * cut - centre
    stop = corner + after * cut - centre
    sweep = math.atan2(start[0] * stop[1] - start[1] * stop[0], float(start @ stop))
    count = max(2, math.ceil(abs(sweep) / math.sqrt(12.0 * chord / radius)))
    while radius * (_growth(count, abs(sweep)) - 1.0) > chord:
        count += 1
    step, grown = sweep / count, _growth(count, abs(sweep))
    angles = step * np.arange(count + 1)
    cos, sin = np.cos(angles), np.sin(angles)
    points = np.column_stack([cos * start[0] - sin * start[1], sin * start[0] + cos * start[1]])
    points[1:-1] *= grown
    return [(float(x), float(y)) for x, y in points + centre]


def _growth(count: int, sweep: float) -> float:
    """By what the inner points of an arc of `count` chords move out so that the polygon has the area of the sector.

    The tangent points stay: (n - 2) g² + 2 g = n step / sin(step).
    """
    step = sweep / count
    if step >= math.pi / 2.0:
        return math.inf
    ratio = count * step / math.sin(step)
    return ratio / 2.0 if count == 2 else (math.sqrt(1.0 + (count - 2) * ratio) - 1.0) / (count - 2)


def from_midline(
    name: str,
    material: Material | str,
    points: Sequence[Point2],
    thickness: float,
    *,
    closed: bool,
    radius: float = 0.0,
    outer_radius: float | None = None,
    inner_radius: float | None = None,
    chord: float = CHORD,
) -> Outline:
    """An outline of uniform wall thickness from its mid-line.

    Parameters
    ----------
    name : str
    material : Material or str
        A name is one of the package's table.
    points : sequence of (x, y)
        Corners of the mid-line [m].
    thickness : float
        [m]
    closed : bool
        Whether the last point is joined to the first; the hollow inside is then the cell ``"inside"``.
    radius : float
        Of the mid-line at its corners [m]; inner and outer radii are concentric.
    outer_radius, inner_radius : float, optional
        On the outside and the inside of the bends of a closed mid-line, where they are not concentric [m].
    chord : float
        Largest distance between arc and chord [m].

    Returns
    -------
    Outline

    Raises
    ------
    OutlineError
        If thickness or a radius is no length, the mid-line turns back on itself, or the wall overlaps itself.

    Examples
    --------
    >>> from strongback.materials import material
    >>> corners = [(0.002, 0.002), (0.078, 0.002), (0.078, 0.118), (0.002, 0.118)]
    >>> tube = from_midline("tube", material("aluminium"), corners, 0.004, closed=True)
    >>> round(area_of(tube) * 1e6, 6)
    1536.0
    """
    if not 0.0 < thickness <= LARGEST:  # also refuses what is not a number
        raise OutlineError(
            f'outline "{name}": wall thickness {thickness * 1e3:g} mm must be above 0 and at most {LARGEST:g} m'
        )
    for size in (radius, outer_radius, inner_radius):
        if size is not None and not 0.0 <= size <= LARGEST:
            raise OutlineError(
                f'outline "{name}": corner radius {size * 1e3:g} mm must be at least 0 and at most {LARGEST:g} m'
            )
    ring = drawable(f'outline "{name}"', points, 3 if closed else 2)
    if not closed:
        path = LineString(_rounded_path(ring, radius, chord))
        wall = path.buffer(thickness / 2.0, cap_style="flat", join_style="mitre", mitre_limit=20.0)
        if wall.geom_type != "Polygon" or len(wall.interiors):
            raise OutlineError(
                f'outline "{name}": the wall of {thickness * 1e3:g} mm overlaps itself',
                hint="set closed = true",
            )
        return from_rings(name, material, ring_from(wall))
    separate = outer_radius is not None or inner_radius is not None
    mid = ring if separate or radius <= 0.0 else rounded(ring, radius, chord=chord)
    outer, inner = (_offset(name, mid, side * thickness / 2.0) for side in (1.0, -1.0))
    if separate:
        outside, inside = outer_radius or 0.0, inner_radius or 0.0
        outer = rounded(outer, _by_bend(outer, outside, inside), chord=chord)
        inner = rounded(inner, _by_bend(inner, inside, outside), chord=chord)
    return from_rings(name, material, outer, {"inside": inner})


def drawable(where: str, points: Sequence[Point2], least: int) -> Ring:
    """Points that a line can be drawn through: finite, near, enough, not too many, none twice in a row."""
    ring = ring_of(points)
    if len(ring) > MAX_POINTS:
        raise LimitError(f"{where} has {len(ring):,} points, at most {MAX_POINTS:,} are read")
    for point in ring:
        if not (math.isfinite(point[0]) and math.isfinite(point[1])):
            raise OutlineError(f"{where}: a point is not a number: {point}", point=point)
        if max(abs(point[0]), abs(point[1])) > LARGEST:
            raise OutlineError(
                f"{where}: ({point[0] * 1e3:.6g}, {point[1] * 1e3:.6g}) mm is further out than {LARGEST:g} m",
                hint="check the unit",
                point=point,
            )
    if len(ring) < least:
        raise OutlineError(f"{where}: {len(ring)} points, at least {least} are due")
    for a, b in itertools.pairwise([*ring, ring[0]] if least > 2 else ring):
        if math.dist(a, b) < CLOSE:
            at = f"({b[0] * 1e3:.6g}, {b[1] * 1e3:.6g}) mm"
            raise OutlineError(f"{where}: the point {at} is there twice in a row", hint="drop one", point=b)
    return ring


def _offset(name: str, mid: Ring, by: float) -> Ring:
    """A closed mid-line shifted to the outside (+) or the inside (-)."""
    face = Polygon(mid)
    if not face.is_valid:
        raise OutlineError(f'outline "{name}": the mid-line crosses itself')
    shifted = face.buffer(by, join_style="mitre", mitre_limit=20.0)
    if shifted.is_empty or shifted.geom_type != "Polygon" or len(shifted.interiors):
        raise OutlineError(
            f'outline "{name}": a wall of {abs(by) * 2e3:g} mm does not fit the mid-line',
            hint="it leaves no hollow, or more than one",
        )
    return ring_from(shifted)


def _by_bend(ring: Ring, convex: float, reflex: float) -> list[float]:
    """A radius for each corner of a counter-clockwise ring, by whether it bends in or out."""
    points = np.asarray(ring)
    back, on = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    left = back[:, 0] * on[:, 1] - back[:, 1] * on[:, 0] > 0.0
    return [convex if turn else reflex for turn in left]


def _rounded_path(ring: Ring, radius: float, chord: float) -> Sequence[Point2]:
    if radius <= 0.0 or len(ring) < 3:
        return ring
    corners = [0.0, *([radius] * (len(ring) - 2)), 0.0]
    return rounded(ring, corners, chord=chord)


def ring_from(polygon: BaseGeometry) -> Ring:
    coords = np.asarray(shapely.geometry.polygon.orient(polygon).exterior.coords)[:-1, :2]
    return tuple((float(x), float(y)) for x, y in coords)


def regions(outline: Outline) -> list[Region]:
    """The materials of an outline as polygons that share their edges.

    Parameters
    ----------
    outline : Outline
        Checked.

    Returns
    -------
    list of Region
        Walls first, then fills and inserts.

    Examples
    --------
    >>> from strongback.section.shapes import rectangular_tube
    >>> full = rectangular_tube("steel", 0.06, 0.08, 0.004).with_fill("inside", "epoxy mineral")
    >>> [(part.part, round(part.polygon.area * 1e6)) for part in regions(full)]  # [mm²]
    [('wall wall', 1056), ('fill inside', 3744)]
    """
    found = [
        Region(polygon=Polygon(w.ring, w.holes), material=w.material, part=f"wall {w.name}")
        for w in outline.walls
    ]
    for cell in outline.cells:
        if cell.fill is not None:
            found += _fill_regions(cell, cell.fill)
    return found


def _fill_regions(cell: Cell, fill: Fill) -> list[Region]:
    inserts = [Polygon(i.ring, [i.bore] if i.bore else []) for i in fill.inserts]
    holes = [Polygon(bore) for bore in fill.bores] + [Polygon(i.ring) for i in fill.inserts]
    body = Polygon(cell.ring).difference(unary_union(holes)) if holes else Polygon(cell.ring)
    pieces = list(body.geoms) if hasattr(body, "geoms") else [body]
    made = [
        Region(polygon=p, material=fill.material, part=f"fill {cell.name}", cell=cell.name)
        for p in pieces
        if p.area > 0.0
    ]
    for insert, shape in zip(fill.inserts, inserts, strict=True):
        made.append(
            Region(polygon=shape, material=insert.material, part=f"insert {insert.name}", cell=cell.name)
        )
    return made


def connected(parts: list[Region]) -> list[list[Region]]:
    """Regions in groups that touch along an edge.

    Examples
    --------
    >>> from strongback.section.shapes import rectangle
    >>> len(connected(regions(rectangle("steel", 0.04, 0.02))))
    1
    """
    groups: list[list[Region]] = []
    for part in parts:
        near = [
            g for g in groups if any(part.polygon.intersection(other.polygon).length > 1e-9 for other in g)
        ]
        merged = [part, *(r for g in near for r in g)]
        groups = [g for g in groups if g not in near] + [merged]
    return groups


def area_of(outline: Outline) -> float:
    """Area of all material of an outline [m²].

    Examples
    --------
    >>> from strongback.section.shapes import rectangular_tube
    >>> round(area_of(rectangular_tube("steel", 0.06, 0.08, 0.004)) * 1e6, 6)  # [mm²]
    1056.0
    """
    return float(sum(region.polygon.area for region in regions(outline)))


def mass_per_length(outline: Outline) -> float:
    """Mass per length of an outline [kg/m].

    Examples
    --------
    >>> from strongback.section.shapes import rectangle
    >>> round(mass_per_length(rectangle("steel", 0.04, 0.02)), 6)  # 7850 kg/m³ times 800 mm² [kg/m]
    6.28
    """
    return float(sum(region.polygon.area * region.material.density for region in regions(outline)))


def filled(outline: Outline, fills: Mapping[str, Fill | None]) -> Outline:
    """The outline with some cells filled or emptied.

    Parameters
    ----------
    outline : Outline
    fills : mapping of str to Fill or None
        By the name of the cell.

    Returns
    -------
    Outline

    Raises
    ------
    OutlineError
        If there is no cell of a name.

    Examples
    --------
    >>> from strongback.materials import material
    >>> from strongback.section.shapes import rectangular_tube
    >>> tube = rectangular_tube(material("steel"), 0.06, 0.08, 0.004)
    >>> full = filled(tube, {"inside": Fill(material=material("mineral casting"))})
    >>> round(mass_per_length(full) - mass_per_length(tube), 4)  # 52 x 72 mm of 2300 kg/m³ [kg/m]
    8.6112
    """
    for name, fill in fills.items():
        outline = outline.with_fill(name, fill)
    return outline


def emptied(outline: Outline) -> Outline:
    """The outline with every cell empty.

    Examples
    --------
    >>> from strongback.section.shapes import rectangular_tube
    >>> tube = rectangular_tube("steel", 0.06, 0.08, 0.004)
    >>> emptied(tube.with_fill("inside", "epoxy mineral")) == tube
    True
    """
    return filled(outline, {cell.name: None for cell in outline.cells})


def moved(outline: Outline, by: Point2) -> Outline:
    """The outline shifted in its plane [m].

    Examples
    --------
    >>> from strongback.section.shapes import rectangle
    >>> moved(rectangle("steel", 0.04, 0.02), (0.02, 0.01)).walls[0].ring[0]
    (0.0, 0.0)
    """
    return _mapped(outline, lambda p: (p[0] + by[0], p[1] + by[1]))


def turned(outline: Outline, angle: float) -> Outline:
    """The outline turned about the origin [rad].

    Examples
    --------
    >>> from strongback.section.shapes import rectangle
    >>> x, y = turned(rectangle("steel", 0.04, 0.02), math.pi / 2).walls[0].ring[0]
    >>> round(x, 6), round(y, 6)
    (0.01, -0.02)
    """
    c, s = math.cos(angle), math.sin(angle)
    return _mapped(outline, lambda p: (c * p[0] - s * p[1], s * p[0] + c * p[1]))


def _mapped(outline: Outline, point: Callable[[Point2], Point2]) -> Outline:
    def ring(r: Ring) -> Ring:
        return tuple(point(p) for p in r)

    def fill(f: Fill | None) -> Fill | None:
        if f is None:
            return None
        inserts = tuple(dataclasses.replace(i, ring=ring(i.ring), bore=ring(i.bore)) for i in f.inserts)
        return dataclasses.replace(f, bores=tuple(ring(b) for b in f.bores), inserts=inserts)

    walls = tuple(
        dataclasses.replace(w, ring=ring(w.ring), holes=tuple(ring(h) for h in w.holes))
        for w in outline.walls
    )
    cells = tuple(dataclasses.replace(c, ring=ring(c.ring), fill=fill(c.fill)) for c in outline.cells)
    return dataclasses.replace(outline, walls=walls, cells=cells)
