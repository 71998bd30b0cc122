"""Sections with something put in or on: what several options share."""

from __future__ import annotations

import dataclasses

import numpy as np
from shapely.geometry import LineString, Polygon
from shapely.ops import unary_union

from strongback.change.values import Change
from strongback.errors import MachineError
from strongback.machine.values import Machine, Member
from strongback.materials import Material
from strongback.section.outline import filled
from strongback.section.seams import Seam
from strongback.section.values import Cell, Fill, Outline, Ring, Wall

__all__ = ["fills", "on_face", "outer_cells", "outline_of", "resectioned", "with_cells"]

SIDES = ("-x", "+x", "-y", "+y")


def outline_of(machine: Machine, member: str) -> Outline:
    """The outline of a member of one section, as it is now.

    Raises
    ------
    MachineError
        If there is none.
    """
    own = next(m for m in machine.members if m.name == member)
    found = [dict(machine.sections)[span.section] for span in own.spans]
    if not isinstance(found[0], Outline) or any(s != found[0] for s in found):
        raise MachineError(f'"{member}" has no outline that is one all along')
    return found[0]


def resectioned(machine: Machine, member: str, outline: Outline, tag: str) -> Change:
    """The change that gives a member another outline all along, under a name of its own."""
    own = next(m for m in machine.members if m.name == member)
    name = f"{own.spans[0].section} + {tag}"
    spans = tuple(dataclasses.replace(span, section=name) for span in own.spans)
    return Change(new_sections=((name, dataclasses.replace(outline, name=name)),), spans=((member, spans),))


def with_cells(outline: Outline) -> Outline:
    """The outline with every hollow of its walls a cell."""
    known = {cell.ring for cell in outline.cells}
    walls = unary_union([Polygon(w.ring, w.holes) for w in outline.walls])
    cells = list(outline.cells)
    for wall in outline.walls:
        for hole in wall.holes:
            if hole not in known and Polygon(hole).intersection(walls).area < 1e-9 * Polygon(hole).area:
                cells.append(Cell(name=f"hollow {len(cells) + 1}", ring=hole))
    return dataclasses.replace(outline, cells=tuple(cells))


def fills(outline: Outline, fill: Fill, cells: tuple[str, ...] = ()) -> Outline:
    """The outline with its empty cells filled, or those named.

    Raises
    ------
    MachineError
        If no cell is empty.
    """
    there = with_cells(outline)
    empty = {c.name: fill for c in there.cells if c.fill is None and (not cells or c.name in cells)}
    if not empty:
        raise MachineError(f'"{outline.name}" has no empty hollow to fill')
    return filled(there, empty)


def outer_cells(outline: Outline) -> tuple[str, ...]:
    """Cells that lie furthest from the middle: the corner cells of a profile of many; empty for fewer than four."""
    cells = with_cells(outline).cells
    if len(cells) < 4:
        return ()
    middle = np.mean([w for wall in outline.walls for w in wall.ring], axis=0)
    far = {
        c.name: float(np.linalg.norm(np.asarray(Polygon(c.ring).centroid.coords[0]) - middle)) for c in cells
    }
    return tuple(sorted(far, key=lambda name: -far[name])[:4])


def on_face(
    outline: Outline,
    side: str,
    thickness: float,
    material: Material,
    name: str,
    per_width: float,
    least: float,
) -> Outline:
    """The outline with a plate on one of its outer faces, along a seam.

    Parameters
    ----------
    outline : Outline
    side : {"-x", "+x", "-y", "+y"}
    thickness : float
        [m]
    material : Material
    name : str
        Of the plate and its seam.
    per_width : float
        Seam stiffness over the width of contact [N/m³]; infinite for bonded.
    least : float
        Share of the width that must touch [-].

    Returns
    -------
    Outline

    Raises
    ------
    MachineError
        If the face is not flat or touches too little.
    """
    walls = unary_union([Polygon(w.ring, w.holes) for w in outline.walls])
    low, high = np.array(walls.bounds[:2]), np.array(walls.bounds[2:])
    axis, up = (0 if side[1] == "x" else 1), side[0] == "+"
    at = float((high if up else low)[axis])
    across = (float(low[1 - axis]), float(high[1 - axis]))

    def point(along: float, out: float) -> tuple[float, float]:
        return (out, along) if axis == 0 else (along, out)

    face = LineString([point(across[0], at), point(across[1], at)])
    touch = walls.intersection(face)
    pieces = [g for g in getattr(touch, "geoms", [touch]) if g.geom_type == "LineString" and g.length > 1e-4]
    width = sum(p.length for p in pieces)
    if width < least * (across[1] - across[0]):
        raise MachineError(f'"{outline.name}" has no flat face at {side} for a plate')
    ends = sorted({float(c[1 - axis]) for p in pieces for c in p.coords})
    out = at + thickness if up else at - thickness
    ring: Ring = (*(point(a, at) for a in ends), point(ends[-1], out), point(ends[0], out))
    plate = Wall(name=name, material=material, ring=ring)
    seams = outline.seams
    if np.isfinite(per_width):
        seams = (*seams, Seam(name=name, walls=(name,), stiffness=per_width * width, source="guess"))
    return dataclasses.replace(outline, walls=(*outline.walls, plate), seams=seams)


def length_of(member: Member) -> float:
    """Length of a member along its spans [m]."""
    return float(sum(span.length for span in member.spans))
