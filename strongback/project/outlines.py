"""From the section tables of a project file to checked outlines; every fault at the point that causes it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon

from strongback.errors import InputError
from strongback.materials import Material
from strongback.project.csvfile import ring_rows
from strongback.project.document import Path
from strongback.project.draft import Draft, Given, Spot
from strongback.project.drawing import SUFFIXES
from strongback.project.drawn_section import drawn_section, is_drawing
from strongback.project.schema_sections import (
    CellTable,
    HoleTable,
    InsertTable,
    SectionTable,
    StiffnessTable,
    WallTable,
)
from strongback.project.source import nearest
from strongback.project.tables import Reader, Row
from strongback.section import shapes
from strongback.section.apart import separated
from strongback.section.cells import from_strips
from strongback.section.check import check
from strongback.section.outline import LARGEST, from_midline, moved, ring_of
from strongback.section.repair import mended
from strongback.section.seams import Seam
from strongback.section.values import (
    Cell,
    Fill,
    Insert,
    Outline,
    Point2,
    Ring,
    SectionStiffness,
    Wall,
    stiffness_from_constants,
)

__all__ = ["build_sections"]

WAYS = ("points", "midline", "shape", "like", "stiffness")


def build_sections(
    reader: Reader, rows: Sequence[Row[SectionTable]], materials: Mapping[str, Material]
) -> dict[str, Outline | SectionStiffness]:
    """Build the sections of a project; what is wrong is reported to the reader.

    Parameters
    ----------
    reader : Reader
    rows : sequence of Row
    materials : mapping
        The file's own.

    Returns
    -------
    dict of str to Outline or SectionStiffness
        Those without a fault, about the origin that each asks for.
    """
    drawn: dict[str, Outline | SectionStiffness] = {}
    placed: dict[str, Outline | SectionStiffness] = {}
    for row in rows:
        draft = Draft(reader=reader, row=row, materials=materials)
        try:
            section = _section(draft, drawn)
        except Given:
            continue
        if row.table.name not in drawn:
            drawn[row.table.name] = section
            placed[row.table.name] = _placed(draft, section)
    return placed


def _section(draft: Draft, drawn: Mapping[str, Outline | SectionStiffness]) -> Outline | SectionStiffness:
    table = draft.table
    ways = [way for way in WAYS if getattr(table, way) is not None]
    ways += ["wall" if table.wall else "file"] if table.wall or table.file else []
    ways += ["strip"] if table.strip else []
    if not ways:
        hint = "give one of file, points, midline, shape, wall, strip, like or stiffness"
        raise draft.stop((), "has no outline", hint)
    if len(ways) > 1:
        raise draft.stop((ways[1],), f"{ways[0]} gives the outline already", "keep one of them")
    if not is_drawing(table.file):
        for word in ("chord", "layers"):
            if word in table.model_fields_set:
                raise draft.stop((word,), "is for a drawing", f"a file that ends in {' or '.join(SUFFIXES)}")
    if table.stiffness is not None:
        return _known(table.name, table.stiffness)
    outline = _DRAWERS[ways[0]](draft, drawn)
    outline = _with_seams(draft, _with_cells(draft, outline))
    outline = dataclasses.replace(outline, max_points=max(outline.max_points, table.max_points))
    try:
        check(outline)
    except InputError as error:
        if _apart_for_itself(draft, outline):
            return outline
        error.hint = mended(outline) or error.hint
        draft.refused(error)
        raise Given from None
    return outline


def _apart_for_itself(draft: Draft, outline: Outline) -> bool:
    """Whether it is of separate parts, each sound, and no member is made of it: what exists for it can be told."""
    members = draft.reader.document.data.get("member", [])
    rows = [row for row in members if isinstance(row, dict)] if isinstance(members, list) else []
    spans = [span for row in rows for span in row.get("span", []) if isinstance(span, dict)]
    if any(row.get("section") == draft.table.name for row in [*rows, *spans]):
        return False
    try:
        parts = separated(outline)
        for part in parts:
            check(part)
    except (InputError, ValueError, shapely.errors.ShapelyError):
        return False
    return len(parts) > 1


def _with_seams(draft: Draft, outline: Outline) -> Outline:
    """The outline with the seams of its table in place of any that it had."""
    table = draft.table
    if not table.seam:
        return outline
    known = [wall.name for wall in outline.walls]
    seams = []
    for i, seam in enumerate(table.seam):
        for k, wall in enumerate(seam.walls):
            if wall not in known:
                path = ("seam", i, "walls", k)
                raise draft.stop(path, "must be a wall of the section", nearest(wall, known, "walls"))
        seams.append(
            Seam(
                name=seam.name,
                walls=tuple(seam.walls),
                stiffness=seam.stiffness,
                held=(seam.held[0], seam.held[1]),
                source=seam.source,
            )
        )
    return dataclasses.replace(outline, seams=tuple(seams))


def _known(name: str, table: StiffnessTable) -> SectionStiffness:
    a, b, c = table.inertia_per_length
    found = stiffness_from_constants(
        name=name,
        EA=table.EA,
        EIx=table.EIx,
        EIy=table.EIy,
        EIxy=table.EIxy,
        GJ=table.GJ,
        EGamma=table.EGamma,
        kGAx=table.kGAx,
        kGAy=table.kGAy,
        centroid=table.centroid,
        shear_centre=table.shear_centre,
        mass_per_length=table.mass_per_length,
        mass_centroid=table.mass_centroid,
        inertia_per_length=(a, b, c),
    )
    if table.matrix is None:
        return found
    return dataclasses.replace(found, matrix=tuple(map(tuple, table.matrix)))


def _from_points(draft: Draft, _: Mapping[str, Outline | SectionStiffness]) -> Outline:
    table = draft.table
    assert table.points is not None
    ring = draft.ring(table.points, ("points",), table.radius)
    return _single(table.name, draft.material(table.material, ("material",)), ring)


def _single(name: str, of: Material, ring: Ring) -> Outline:
    return Outline(name=name, walls=(Wall(name="wall", material=of, ring=ring),))


def _from_file(draft: Draft, _: Mapping[str, Outline | SectionStiffness]) -> Outline:
    table = draft.table
    if is_drawing(table.file):
        return drawn_section(draft)
    rings = _file_rings(draft)
    if table.outer not in rings:
        key: Path = ("outer",) if "outer" in table.model_fields_set else ("file",)
        raise draft.stop(key, f'must be a ring of "{table.file}"', nearest(table.outer, rings, "rings"))
    wall = Wall(
        name="wall",
        material=draft.material(table.material, ("material",)),
        ring=rings[table.outer],
        holes=tuple(ring for name, ring in rings.items() if name != table.outer),
    )
    cells = tuple(Cell(name=name, ring=ring) for name, ring in rings.items() if name != table.outer)
    return Outline(name=table.name, walls=(wall,), cells=cells)


def _file_rings(draft: Draft) -> dict[str, Ring]:
    """Rings of the section's file by name."""
    table, reader = draft.table, draft.reader
    assert table.file is not None
    source = reader.open((*draft.row.path, "file"), table.file)
    if source is None:
        raise Given
    before = len(reader.faults)
    rows = ring_rows(source, table.unit, reader.faults)
    groups: dict[str, list[int]] = {}
    for i, row in enumerate(rows):
        group = groups.setdefault(row.ring, [])
        if group and group[-1] != i - 1:
            reader.faults.add(
                source,
                row.offset,
                f'ring "{row.ring}" goes on after another ring',
                "keep its points together",
                width=row.width,
            )
        group.append(i)
    if len(reader.faults) > before:
        raise Given
    found = {}
    for name, group in groups.items():
        points = [(rows[i].x, rows[i].y) for i in group]
        spots = [Spot((rows[i].x, rows[i].y), source, rows[i].offset, rows[i].width) for i in group]
        found[name] = draft.drawn(points, [rows[i].radius or table.radius for i in group], spots)
    return found


def _from_midline(draft: Draft, _: Mapping[str, Outline | SectionStiffness]) -> Outline:
    table = draft.table
    assert table.midline is not None
    if table.thickness is None:
        raise draft.stop((), "thickness is missing", 'give the thickness of the wall, such as "4 mm"')
    thickness, points = table.thickness, table.midline
    of = draft.material(table.material, ("material",))
    spots = draft.spots_at(points, ("midline",))
    ring = ring_of(points)
    draft.apart(ring, spots)
    if table.closed and (len(ring) < 3 or not Polygon(ring).is_valid):
        draft.at(
            spots[0],
            "the closed midline crosses itself or bounds no area",
            "list its corners in order, each once",
        )
        raise Given
    outline: Outline = draft.guarded(
        lambda: from_midline(table.name, of, ring, thickness, closed=table.closed, radius=table.radius), spots
    )
    return outline


def _from_strips(draft: Draft, _: Mapping[str, Outline | SectionStiffness]) -> Outline:
    table = draft.table
    of = draft.material(table.material, ("material",))
    spots = [
        spot
        for i, strip in enumerate(table.strip)
        for spot in draft.spots_at(strip.points, ("strip", i, "points"))
    ]
    draft.spots += spots
    strips = [(strip.points, strip.thickness) for strip in table.strip]
    outline: Outline = draft.guarded(lambda: from_strips(table.name, of, strips), spots)
    return outline


_SIZES = {
    "rectangle": ("width", "depth"),
    "circle": ("diameter",),
    "rectangular tube": ("width", "depth", "thickness"),
    "round tube": ("diameter", "thickness"),
    "hollow section": ("width", "depth", "thickness", "finish"),
    "I": ("width", "depth", "flange", "web"),
    "channel": ("width", "depth", "flange", "web"),
    "tapered channel": ("width", "depth", "flange", "web"),
    "angle": ("width", "depth", "thickness"),
    "Z": ("width", "depth", "thickness"),
    "slit tube": ("diameter", "thickness", "slit"),
}
_TUBES = ("rectangular tube", "round tube", "hollow section", "slit tube")


def _from_shape(draft: Draft, _: Mapping[str, Outline | SectionStiffness]) -> Outline:
    table = draft.table
    assert table.shape is not None
    sizes = {key: getattr(table, key) for key in _SIZES[table.shape]}
    for key, value in sizes.items():
        if value is None:
            raise draft.stop((), f"{key} is missing", f"a {table.shape} has {', '.join(sizes)}")
        if not isinstance(value, str) and value > LARGEST:
            raise draft.stop((key,), f"must be at most {LARGEST:g} m", "check the unit")
    of = draft.material(table.material, ("material",))
    _refuse_walls(draft, sizes)
    outline: Outline = draft.guarded(lambda: _shaped(table, of, sizes), ())
    return dataclasses.replace(outline, name=table.name)


def _shaped(table: SectionTable, of: Material, sizes: Mapping[str, float]) -> Outline:
    if table.shape == "rectangle":
        return shapes.rectangle(of, sizes["width"], sizes["depth"])
    if table.shape == "circle":
        return shapes.circle(of, sizes["diameter"])
    if table.shape == "round tube":
        return shapes.round_tube(of, sizes["diameter"], sizes["thickness"])
    if table.shape == "slit tube":
        return shapes.slit_tube(of, sizes["diameter"], sizes["thickness"], sizes["slit"])
    if table.shape in ("I", "channel", "tapered channel", "angle", "Z"):
        return _rolled(table, of, sizes)
    if table.shape == "hollow section":
        hot = table.finish == "hot"
        return shapes.hollow_section(of, sizes["width"], sizes["depth"], sizes["thickness"], hot_finished=hot)
    return shapes.rectangular_tube(
        of,
        sizes["width"],
        sizes["depth"],
        sizes["thickness"],
        outer_radius=table.outer_radius,
        inner_radius=table.inner_radius,
    )


def _rolled(table: SectionTable, of: Material, sizes: Mapping[str, float]) -> Outline:
    width, depth = sizes["width"], sizes["depth"]
    if table.shape == "angle":
        return shapes.angle(of, depth, width, sizes["thickness"])
    if table.shape == "Z":
        t = sizes["thickness"]
        return shapes.z_section(of, depth - t, width - 0.5 * t, t)
    flange, web = sizes["flange"], sizes["web"]
    if table.shape == "I":
        return shapes.i_section(of, depth, width, flange, web, table.root_radius)
    if table.shape == "channel":
        return shapes.channel(of, depth, width, flange, web)
    return shapes.tapered_channel(of, depth, width, web, flange, table.root_radius, table.toe_radius)


def _refuse_walls(draft: Draft, sizes: Mapping[str, Any]) -> None:
    """Walls must leave the room that makes the shape."""
    table = draft.table
    wall = sizes.get("thickness")
    if table.shape in _TUBES and wall is not None:
        if not 2.0 * wall < min(v for k, v in sizes.items() if k in ("width", "depth", "diameter")):
            raise draft.stop(("thickness",), "must leave a hollow", "a wall is thinner than half the width")
        if table.shape == "slit tube" and not sizes["slit"] < sizes["diameter"] - 2.0 * wall:
            raise draft.stop(("slit",), "must be smaller than the hollow")
    elif table.shape in ("angle", "Z") and wall is not None:
        least = min(sizes["width"], sizes["depth"] / (2.0 if table.shape == "Z" else 1.0))
        if not wall < least:
            raise draft.stop(("thickness",), "must be smaller than the legs")
    elif "flange" in sizes:
        if not 2.0 * sizes["flange"] < sizes["depth"]:
            raise draft.stop(("flange",), "must leave a web", "two flanges are thinner than the depth")
        if not sizes["web"] < sizes["width"]:
            raise draft.stop(("web",), "must be thinner than the width")


def _from_walls(draft: Draft, _: Mapping[str, Outline | SectionStiffness]) -> Outline:
    table = draft.table
    if is_drawing(table.file):
        return drawn_section(draft)
    rings = _file_rings(draft) if table.file is not None else {}
    used, walls, names = set(), [], set()
    for i, wall in enumerate(table.wall):
        path: Path = ("wall", i)
        if wall.name in names:
            raise draft.stop((*path, "name"), "is there twice", "give each wall a name of its own")
        names.add(wall.name)
        of = draft.material(wall.material or table.material, (*path, "material"))
        ring = _wall_ring(draft, wall, path, rings)
        used.add(wall.ring)
        holes = tuple(draft.ring(hole, (*path, "holes", k)) for k, hole in enumerate(wall.holes))
        walls.append(Wall(name=wall.name, material=of, ring=ring, holes=holes))
    outline = Outline(name=table.name, walls=tuple(walls))
    for name, ring in rings.items():
        if name not in used:
            outline = _hollowed(outline, name, ring)
    return outline


def _wall_ring(draft: Draft, wall: WallTable, path: Path, rings: Mapping[str, Ring]) -> Ring:
    if (wall.ring is None) == (wall.points is None):
        raise draft.stop(path, "give its outline by one of ring or points")
    if wall.points is not None:
        return draft.ring(wall.points, (*path, "points"), wall.radius)
    assert wall.ring is not None
    if wall.ring not in rings:
        raise draft.stop(
            (*path, "ring"), "must be a ring of the section's file", nearest(wall.ring, rings, "rings")
        )
    return rings[wall.ring]


def _like(draft: Draft, drawn: Mapping[str, Outline | SectionStiffness]) -> Outline:
    table = draft.table
    assert table.like is not None
    base = drawn.get(table.like)
    if base is None:
        others = [
            data.get("name") for data in draft.reader.document.data["section"] if isinstance(data, dict)
        ]
        if table.like in others[: others.index(table.name)]:
            raise Given  # that section has faults of its own
        hint = nearest(table.like, drawn, "earlier sections")
        raise draft.stop(("like",), "must be a section that stands earlier in the file", hint)
    if isinstance(base, SectionStiffness):
        raise draft.stop(("like",), "must be a section with an outline", "this one gives its stiffness")
    return dataclasses.replace(base, name=table.name)


_DRAWERS: dict[str, Callable[[Draft, Mapping[str, Outline | SectionStiffness]], Outline]] = {
    "points": _from_points,
    "file": _from_file,
    "midline": _from_midline,
    "shape": _from_shape,
    "wall": _from_walls,
    "strip": _from_strips,
    "like": _like,
}


def _hollowed(outline: Outline, name: str, ring: Ring) -> Outline:
    """The outline with one more cell, a hole of the wall around it if there is one."""
    walls = list(outline.walls)
    for i, wall in enumerate(walls):
        x, y = np.transpose(ring)
        if len(walls) == 1 or bool(np.all(shapely.contains_xy(Polygon(wall.ring), x, y))):
            walls[i] = dataclasses.replace(wall, holes=(*wall.holes, ring))
            break
    return dataclasses.replace(
        outline, walls=tuple(walls), cells=(*outline.cells, Cell(name=name, ring=ring))
    )


def _with_cells(draft: Draft, outline: Outline) -> Outline:
    seen: set[str] = set()
    for i, table in enumerate(draft.table.cell):
        path: Path = ("cell", i)
        if table.name in seen:
            raise draft.stop((*path, "name"), "is there twice", "give each cell a name of its own")
        seen.add(table.name)
        known = [cell.name for cell in outline.cells]
        if table.points is not None:
            if table.name in known:
                raise draft.stop((*path, "points"), f'the section has a cell "{table.name}" already')
            ring = draft.ring(table.points, (*path, "points"), table.radius)
            outline = _hollowed(outline, table.name, ring)
        elif table.name not in known:
            raise draft.stop(
                (*path, "name"), "must be a cell of the section", nearest(table.name, known, "cells")
            )
        fill = _fill(draft, table, path)
        cells = tuple(
            dataclasses.replace(cell, fill=fill) if cell.name == table.name else cell
            for cell in outline.cells
        )
        outline = dataclasses.replace(outline, cells=cells)
    return outline


def _fill(draft: Draft, table: CellTable, path: Path) -> Fill | None:
    if table.fill is None:
        for key in ("bond", "bore", "insert"):
            if key in table.model_fields_set:
                raise draft.stop(
                    (*path, key),
                    "is given for a cell without fill",
                    "give fill, the name of a material",
                )
        return None
    bores = tuple(_hole(draft, hole, (*path, "bore", k)) for k, hole in enumerate(table.bore))
    inserts = tuple(_insert(draft, row, (*path, "insert", k)) for k, row in enumerate(table.insert))
    return Fill(
        material=draft.material(table.fill, (*path, "fill")), bond=table.bond, bores=bores, inserts=inserts
    )


def _hole(draft: Draft, table: HoleTable | InsertTable, path: Path) -> Ring:
    """A round hole or bar, or one of any shape."""
    if table.points is not None:
        if table.at is not None or table.diameter is not None:
            raise draft.stop((*path, "points"), "points give its shape; drop at and diameter")
        return draft.ring(table.points, (*path, "points"))
    if table.at is None or table.diameter is None:
        raise draft.stop(path, "give at and diameter, or points")
    return _circle(draft, table.at, table.diameter, (*path, "diameter"))


def _circle(draft: Draft, at: Point2, diameter: float, path: Path) -> Ring:
    if diameter > LARGEST:
        raise draft.stop(path, f"must be at most {LARGEST:g} m", "check the unit")
    place = draft.reader.document.place((*draft.row.path, *path))
    if place is not None:
        draft.spots.append(Spot(at, draft.reader.document.source, place.start, place.end - place.start))
    return tuple((x + at[0], y + at[1]) for x, y in shapes.circle_ring(diameter))


def _insert(draft: Draft, table: InsertTable, path: Path) -> Insert:
    ring = _hole(draft, table, path)
    bore: Ring = ()
    if table.bore is not None:
        if table.at is None or table.diameter is None or not table.bore < table.diameter:
            raise draft.stop((*path, "bore"), "must be smaller than the diameter of a round bar")
        bore = _circle(draft, table.at, table.bore, (*path, "bore"))
    return Insert(
        name=table.name, ring=ring, material=draft.material(table.material, (*path, "material")), bore=bore
    )


def _placed(draft: Draft, section: Outline | SectionStiffness) -> Outline | SectionStiffness:
    """The section about the origin that its table asks for."""
    origin = draft.table.origin
    if origin == "drawing":
        return section
    if isinstance(section, SectionStiffness):
        draft.reader.fault(
            (*draft.row.path, "origin"),
            "a section with known stiffness has no drawing",
            "give its centroid there",
        )
        return section
    x, y = _centroid(section) if origin == "centroid" else origin
    return moved(section, (-x, -y))


def _centroid(outline: Outline) -> Point2:
    """Centroid of the walls weighted by Young's modulus; fills do not move it."""
    total = moment_x = moment_y = 0.0
    for wall in outline.walls:
        face = Polygon(wall.ring, wall.holes)
        weight = face.area * wall.material.E
        total += weight
        moment_x += weight * face.centroid.x
        moment_y += weight * face.centroid.y
    return moment_x / total, moment_y / total
