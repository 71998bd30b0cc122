"""Outlines whose walls do not all hang together: taken apart, so that each part can be solved by itself."""

from __future__ import annotations

import dataclasses

from shapely.geometry import Polygon

from strongback.section._contact import contact, joined
from strongback.section.analyse import DEFAULT_GAP
from strongback.section.catalogue import Catalogue, catalogue_of_parts
from strongback.section.check import THINNEST, check
from strongback.section.mesh import Mesher
from strongback.section.store import solved_section
from strongback.section.values import Cell, Outline

__all__ = ["catalogue_apart", "separated"]


def separated(outline: Outline) -> tuple[Outline, ...]:
    """The parts of an outline that touch nowhere, each as an outline in the same axes.

    Parameters
    ----------
    outline : Outline
        Its rings are sound; overlaps and single points of contact are for `check` to refuse.

    Returns
    -------
    tuple of Outline
        The outline alone if it hangs together. Parts are named after their first wall.

    Examples
    --------
    >>> from strongback.materials import material
    >>> from strongback.section.shapes import rectangle
    >>> from strongback.section.outline import moved
    >>> bar = rectangle(material("steel"), 0.02, 0.01)
    >>> pair = Outline(name="pair", walls=(*bar.walls, *moved(bar, (0.03, 0.0)).walls))
    >>> [len(part.walls) for part in separated(pair)]
    [1, 1]
    """
    walls = [Polygon(w.ring, w.holes) for w in outline.walls]
    fills = [c for c in outline.cells if c.fill is not None]
    shapes = [*walls, *(Polygon(c.ring) for c in fills)]
    touching = [
        (i, j)
        for i in range(len(shapes))
        for j in range(i)
        if contact(shapes[i], shapes[j], THINNEST).kind != "apart"
    ]
    groups = joined(len(shapes), touching)
    if len(set(groups)) < 2:
        return (outline,)
    place = {c.name: groups[len(walls) + i] for i, c in enumerate(fills)}
    found = []
    for group in dict.fromkeys(groups):
        own = tuple(w for w, g in zip(outline.walls, groups, strict=False) if g == group)
        cells = tuple(c for c in outline.cells if place.get(c.name, _around(c, outline, groups)) == group)
        if own:
            names = {wall.name for wall in own}
            seams = tuple(s for s in outline.seams if names.issuperset(s.walls))
            found.append(dataclasses.replace(outline, name=own[0].name, walls=own, cells=cells, seams=seams))
    return tuple(found)


def catalogue_apart(
    outline: Outline, *, tolerance: float = DEFAULT_GAP, mesher: Mesher = "auto"
) -> Catalogue:
    """Catalogue numbers of an outline of separate parts: what exists for them together.

    Parameters
    ----------
    outline : Outline
    tolerance, mesher
        Of each part, as in `strongback.section.analyse.analyse`.

    Returns
    -------
    Catalogue

    Examples
    --------
    >>> from strongback.section.outline import moved
    >>> from strongback.section.shapes import rectangle
    >>> bar = rectangle("steel", 0.02, 0.01)
    >>> pair = Outline(name="pair", walls=(*bar.walls, *moved(bar, (0.06, 0.0)).walls))
    >>> round(catalogue_apart(pair).Iy * 1e12, 6)  # 2 (10 x 20³/12 + 200 x 30²) [mm⁴]
    373333.333333
    """
    parts = separated(outline)
    for part in parts:
        check(part)
    return catalogue_of_parts(outline, [solved_section(p, tolerance=tolerance, mesher=mesher) for p in parts])


def _around(cell: Cell, outline: Outline, groups: list[int]) -> int:
    """Group of the wall around an empty cell; the first where there is none."""
    inside = Polygon(cell.ring).representative_point()
    for wall, group in zip(outline.walls, groups, strict=False):
        if Polygon(wall.ring).contains(inside):
            return group
    return groups[0]
