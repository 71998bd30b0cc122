"""Profiles drawn as strips, and the hollows that walls enclose, found and named."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon

from strongback.errors import OutlineError
from strongback.materials import Material
from strongback.section.check import THINNEST, in_mm
from strongback.section.outline import drawable, ring_from
from strongback.section.values import Cell, Outline, Point2, Ring, Wall

__all__ = ["Strip", "from_strips", "hollows", "with_cells"]

Strip = tuple[Sequence[Point2], float]
"""Points of a mid-line [m] and the wall thickness there [m]."""


def from_strips(
    name: str, material: Material, strips: Sequence[Strip], names: Mapping[str, Point2] | None = None
) -> Outline:
    """An outline from mid-lines that each have a wall thickness: skins, webs and ribs, as calipers give them.

    Parameters
    ----------
    name : str
    material : Material
    strips : sequence of (points, thickness)
        A strip whose last point is its first is closed. Strips that run into each other become one wall [m].
    names : mapping of str to (x, y), optional
        Names of cells by a point inside each [m]; other hollows are called ``"cell 1"``, ``"cell 2"``...

    Returns
    -------
    Outline

    Raises
    ------
    OutlineError
        If the strips do not hang together, or a named point lies in no hollow.

    Examples
    --------
    >>> from strongback.materials import material
    >>> skin = [(0.0015, 0.0015), (0.0785, 0.0015), (0.0785, 0.0585), (0.0015, 0.0585), (0.0015, 0.0015)]
    >>> web = [(0.04, 0.0015), (0.04, 0.0585)]
    >>> two = from_strips("two cells", material("aluminium"), [(skin, 0.003), (web, 0.0025)])
    >>> [cell.name for cell in two.cells]
    ['cell 1', 'cell 2']
    """
    face = shapely.union_all([_strip(f'outline "{name}", strip {i + 1}', *s) for i, s in enumerate(strips)])
    if face.geom_type != "Polygon":
        loose = min(getattr(face, "geoms", [Point(0, 0)]), key=lambda g: g.area).representative_point()
        raise OutlineError(
            f'outline "{name}": the strips do not hang together: one stands alone at {in_mm((loose.x, loose.y))}',
            hint="let each strip end on the mid-line of another",
            point=(float(loose.x), float(loose.y)),
        )
    holes = _in_order([ring_from(Polygon(ring)) for ring in face.interiors if _open(Polygon(ring))])
    wall = Wall(name="wall", material=material, ring=ring_from(Polygon(face.exterior)), holes=tuple(holes))
    return with_cells(Outline(name=name, walls=(wall,)), names)


def _strip(where: str, points: Sequence[Point2], thickness: float) -> shapely.Geometry:
    if not (np.isfinite(thickness) and thickness > 0.0):
        raise OutlineError(f"{where}: wall thickness {thickness * 1e3:g} mm must be above 0")
    closed = len(points) > 2 and tuple(points[0]) == tuple(points[-1])
    ring = drawable(where, points, 3 if closed else 2)
    if closed:
        face = Polygon(ring)
        options = {"join_style": "mitre", "mitre_limit": 20.0}
        return face.buffer(thickness / 2.0, **options).difference(face.buffer(-thickness / 2.0, **options))
    return LineString(ring).buffer(thickness / 2.0, cap_style="flat", join_style="mitre", mitre_limit=20.0)


def _open(hole: Polygon) -> bool:
    """Whether a hole is more than a crack between two walls that were drawn edge to edge."""
    return bool(hole.area > THINNEST * hole.length)


def hollows(walls: Sequence[Wall]) -> list[Ring]:
    """Every hollow that walls enclose together, from left to right, then upwards.

    Parameters
    ----------
    walls : sequence of Wall

    Returns
    -------
    list of Ring
    """
    own = [h for wall in walls for h in wall.holes]
    if len(walls) == 1:
        return _in_order(own)
    face = shapely.union_all([Polygon(w.ring, w.holes) for w in walls], grid_size=1e-9)
    faces = getattr(face, "geoms", [face])
    found = [Polygon(ring) for f in faces for ring in f.interiors]
    return _in_order([ring_from(hole) for hole in found if _open(hole)])


def _in_order(rings: list[Ring]) -> list[Ring]:
    def place(ring: Ring) -> tuple[float, float]:
        centre = Polygon(ring).centroid
        return round(centre.x, 4), round(centre.y, 4)

    return sorted(rings, key=place)


def with_cells(outline: Outline, names: Mapping[str, Point2] | None = None) -> Outline:
    """The outline with every hollow of its walls as a cell.

    Parameters
    ----------
    outline : Outline
        Its own cells stay.
    names : mapping of str to (x, y), optional
        Names by a point inside each hollow [m]; others are called ``"cell 1"``, ``"cell 2"``...

    Returns
    -------
    Outline

    Raises
    ------
    OutlineError
        If a named point lies in no hollow.
    """
    cells = list(outline.cells)
    free = [r for r in hollows(outline.walls) if not any(_same(r, c.ring) for c in cells)]
    for name, point in (names or {}).items():
        inside = [ring for ring in free if Polygon(ring).contains(Point(point))]
        if not inside:
            raise OutlineError(
                f'outline "{outline.name}": cell "{name}" at {in_mm(point)} lies in no hollow', point=point
            )
        free.remove(inside[0])
        cells.append(Cell(name=name, ring=inside[0]))
    taken = {cell.name for cell in cells}
    numbers = (f"cell {i}" for i in range(1, 10_000) if f"cell {i}" not in taken)
    cells += [Cell(name=next(numbers), ring=ring) for ring in free]
    return dataclasses.replace(outline, cells=tuple(cells))


def _same(one: Ring, other: Ring) -> bool:
    return set(one) == set(other) or bool(
        Polygon(one).symmetric_difference(Polygon(other)).area < THINNEST * Polygon(one).length
    )
