"""Small faults of a drawn outline that have only one remedy, put right and reported."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
from shapely.geometry import Polygon

from strongback.errors import InputError
from strongback.section.check import CLOSEST, SHARPEST, THINNEST, check, in_mm
from strongback.section.values import Cell, Outline, Ring, Wall

__all__ = ["mended", "repaired"]


def repaired(outline: Outline) -> tuple[Outline, tuple[str, ...]]:
    """The outline without repeated points, spikes of no width and hollows of no area, and what was put right.

    Parameters
    ----------
    outline : Outline

    Returns
    -------
    outline : Outline
        Checked.
    notes : tuple of str
        One for each repair, with the ring and the point [mm]; empty if there was none.

    Raises
    ------
    OutlineError, LimitError
        If what is left bounds no section; see `check`.

    Examples
    --------
    >>> from strongback.materials import material
    >>> from strongback.section.outline import from_rings
    >>> typed = [(0, 0), (0.04, 0), (0.04, 0), (0.04, 0.02), (0, 0.02)]
    >>> bar, notes = repaired(from_rings("bar", material("steel"), typed))
    >>> notes
    ('outer edge of wall: dropped the point (40, 0) mm, the same as its neighbour',)
    """
    notes: list[str] = []
    walls = tuple(_wall(wall, notes) for wall in outline.walls)
    cells = tuple(cell for cell in (_cell(c, notes) for c in outline.cells) if cell is not None)
    made = dataclasses.replace(outline, walls=walls, cells=cells)
    check(made)
    return made, tuple(notes)


def mended(outline: Outline) -> str:
    """A hint that says what would make a refused outline sound; empty where there is no one remedy.

    Parameters
    ----------
    outline : Outline
        That `check` refuses.

    Returns
    -------
    str
    """
    try:
        _, notes = repaired(outline)
    except InputError:
        return ""
    told = [note.split(": ", 1)[-1].replace("dropped", "drop", 1) for note in notes]
    more = f"; and {len(told) - 3} more" if len(told) > 3 else ""
    return f"it is sound if you {'; '.join(told[:3])}{more}" if told else ""


def _wall(wall: Wall, notes: list[str]) -> Wall:
    ring = _ring(f"outer edge of {wall.name}", wall.ring, notes)
    holes = [_ring(f"hollow {i + 1} of {wall.name}", h, notes) for i, h in enumerate(wall.holes)]
    kept = []
    for i, hole in enumerate(holes):
        if _empty(hole):
            at = f" at {in_mm(hole[0])}" if hole else ""
            notes.append(f"hollow {i + 1} of {wall.name}{at}: dropped, it bounds no area")
        else:
            kept.append(hole)
    return dataclasses.replace(wall, ring=ring, holes=tuple(kept))


def _cell(cell: Cell, notes: list[str]) -> Cell | None:
    ring = _ring(f'cell "{cell.name}"', cell.ring, [])  # the same ring is reported as a hollow of its wall
    if cell.fill is None and _empty(ring):
        notes.append(f'cell "{cell.name}": dropped, it bounds no area')
        return None
    return dataclasses.replace(cell, ring=ring)


def _empty(ring: Ring) -> bool:
    if not all(math.isfinite(v) for point in ring for v in point):
        return False  # refused by `check`, with the point
    return len(ring) < 3 or Polygon(ring).area < CLOSEST**2


def _ring(where: str, ring: Ring, notes: list[str]) -> Ring:
    points = list(ring)
    at = 0
    while len(points) > 1 and at < len(points):
        here, before, after = points[at], points[at - 1], points[(at + 1) % len(points)]
        if math.dist(here, before) < CLOSEST:
            gone = at if at > 0 else len(points) - 1  # of last and first the last goes
            notes.append(f"{where}: dropped the point {in_mm(points[gone])}, the same as its neighbour")
            del points[gone]
            continue
        if len(points) > 3 and _spike(before, here, after):
            notes.append(f"{where}: dropped the point {in_mm(here)}, a spike of no width")
            del points[at]
            at = max(at - 2, 0)
            continue
        at += 1
    return tuple(points)


def _spike(before: tuple[float, float], here: tuple[float, float], after: tuple[float, float]) -> bool:
    """Whether the ring runs out to a point and straight back."""
    back, on = np.subtract(before, here), np.subtract(after, here)
    cross = abs(back[0] * on[1] - back[1] * on[0])
    width = cross / max(float(np.linalg.norm(back)), float(np.linalg.norm(on)), CLOSEST)
    return bool(back @ on > 0.0 and math.atan2(cross, back @ on) < SHARPEST and width < THINNEST)
