"""From the outlines along a member to one mesh: every cell that is filled anywhere meshed, taken out where it is empty."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely import Polygon

from strongback.errors import MachineError
from strongback.machine.body.values import SlipSpec
from strongback.section.check import check
from strongback.section.mesh import Mesher, mesh_regions
from strongback.section.outline import Region, regions
from strongback.section.refine import refined
from strongback.section.values import Bond, Cell, Outline, Point2, Ring, SectionMesh

__all__ = ["COVER", "BodyMesh", "body_mesh", "finer_at_corners", "slips_of", "span_meshes"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]

REENTRANT = np.radians(
    215.0
)  # solid angle of the wall from which stress has a singularity that costs accuracy
SAME = 1e-9  # nodes this near are one [m]
REACHED = 1e-5  # a triangle this near to the edge of a pad touches it [m]
CHORD = 5e-4  # distance that a simplified arc may leave its outline [m]
ROUNDS = 1  # of refinement at such corners
SLIVER = 2e-5  # mean width of a piece, area over edge; thinner ones are slips of a drawing [m]
COVER = "plate"  # part of what plates cover beside the walls


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BodyMesh:
    """The sections along a member on one mesh, with the plates that cover it.

    Parameters
    ----------
    spans : tuple of SectionMesh
        Of each span, on the nodes of `whole`.
    whole : SectionMesh
        Every triangle: of all spans and of all plates.
    """

    spans: tuple[SectionMesh, ...]
    whole: SectionMesh


def span_meshes(
    outlines: Sequence[Outline],
    *,
    size: float | None = None,
    mesher: Mesher = "auto",
    rounds: int = ROUNDS,
    chord: float = CHORD,
) -> tuple[SectionMesh, ...]:
    """Meshes of the sections along a member with the same nodes, finer at re-entrant corners.

    Parameters
    ----------
    outlines : sequence of Outline
        Of the spans from the start; cells may be filled or empty, walls may differ.
    size : float, optional
        Largest side of a triangle [m].
    mesher : {"auto", "built-in", "triangle"}
    rounds : int
        Rounds of refinement at corners.
    chord : float
        Arcs are drawn by fewer chords as far as that leaves the outline by less than this; 0 keeps every point [m].

    Returns
    -------
    tuple of SectionMesh

    Raises
    ------
    MachineError
        If a cell is filled in one span otherwise than in another.
    """
    return body_mesh(outlines, size=size, mesher=mesher, rounds=rounds, chord=chord).spans


def body_mesh(
    outlines: Sequence[Outline],
    covers: Sequence[Polygon | None] = (),
    *,
    patches: Sequence[Polygon] = (),
    edges: Sequence[Point2] = (),
    edge_rounds: int = 0,
    size: float | None = None,
    mesher: Mesher = "auto",
    rounds: int = ROUNDS,
    chord: float = CHORD,
) -> BodyMesh:
    """As `span_meshes`, with what plates cover beside the walls meshed as well.

    Parameters
    ----------
    outlines : sequence of Outline
    covers : sequence of shapely.Polygon or None
        Plates [m]; None covers all within the outer edge of the walls.
    patches : sequence of shapely.Polygon
        Parts of them that get an edge of triangles all around, where they are free of walls [m].
    edges : sequence of (x, y)
        Edges of stiff pads, where the stress has no bound [m].
    edge_rounds : int
        Rounds of refinement there.
    size, mesher, rounds, chord
        As in `span_meshes`.

    Returns
    -------
    BodyMesh
    """
    for outline in outlines:
        check(outline)
    faces = _faces(outlines, covers, patches, chord)
    solid = np.array([[face.of[i] is not None for face in faces] for i in range(len(outlines))])
    whole = finer_at_corners(
        mesh_regions([face.region for face in faces], size=size, mesher=mesher), solid, rounds
    )
    whole = finer_at(whole, edges, edge_rounds)
    spans = tuple(_of_span(whole, faces, i) for i in range(len(outlines)))
    return BodyMesh(spans=spans, whole=whole)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Face:
    """A piece of the section that is of one kind in every span.

    Parameters
    ----------
    region : Region
        To be meshed; its material is that of any span.
    of : tuple of Region or None
        What it is in each span.
    """

    region: Region
    of: tuple[Region | None, ...]


def _faces(
    outlines: Sequence[Outline], covers: Sequence[Polygon | None], patches: Sequence[Polygon], chord: float
) -> list[_Face]:
    first = outlines[0]
    alike = all(o.walls == first.walls and _rings(o) == _rings(first) for o in outlines)
    if alike and not covers:
        parts = regions(_union(outlines))
        here = [{(p.part, p.cell): p for p in regions(outline)} for outline in outlines]
        return [
            _Face(region=plain, of=tuple(known.get((part.part, part.cell)) for known in here))
            for part, plain in zip(parts, _plainer(parts, chord), strict=True)
        ]
    return _overlaid(outlines, covers, patches, chord)


def _rings(outline: Outline) -> list[tuple[str, Ring]]:
    return [(c.name, c.ring) for c in outline.cells]


def _plainer(parts: list[Region], chord: float) -> list[Region]:
    """Regions with arcs drawn by fewer chords: a body need not follow every fillet, and its size grows with each."""
    if chord == 0.0:
        return parts
    shapes = shapely.coverage_simplify([p.polygon for p in parts], chord)
    return [dataclasses.replace(p, polygon=shape) for p, shape in zip(parts, shapes, strict=True)]


def _overlaid(
    outlines: Sequence[Outline], covers: Sequence[Polygon | None], patches: Sequence[Polygon], chord: float
) -> list[_Face]:
    """Every piece that the edges of all spans, plates and patches cut out."""
    distinct = list(dict.fromkeys(outlines))
    drawn = {outline: _plainer(regions(outline), chord) for outline in distinct}
    solid = shapely.union_all([part.polygon for parts in drawn.values() for part in parts])
    lines = [part.polygon.boundary for parts in drawn.values() for part in parts]
    areas: list[Polygon] = []
    for cover in covers:
        if cover is None:
            areas += [Polygon(part.exterior) for part in shapely.get_parts(solid)]
        else:
            areas.append(shapely.snap(cover, solid, 2.0 * chord + SAME))
    lines += [area.boundary for area in areas]
    lines += [patch.boundary.difference(solid) for patch in patches]
    pieces = shapely.get_parts(shapely.polygonize(shapely.get_parts(shapely.union_all(lines))))
    found = []
    for piece in pieces:
        inside = piece.representative_point()
        of = tuple(
            next((p for p in drawn[outline] if p.polygon.contains(inside)), None) for outline in outlines
        )
        known = next((p for p in of if p is not None), None)
        if known is None and not any(area.contains(inside) for area in areas):
            continue
        if 2.0 * piece.area < SLIVER * piece.length:
            raise MachineError(
                f"the sections of one body, or its plate, miss each other by a sliver at x = {inside.x * 1e3:.4g} mm, "
                f"y = {inside.y * 1e3:.4g} mm",
                hint="draw the edges that they share from the same points",
            )
        material = known.material if known is not None else drawn[outlines[0]][0].material
        found.append(
            _Face(region=Region(polygon=piece, material=material, part=known.part if known else COVER), of=of)
        )
    return found


def slips_of(outlines: Sequence[Outline]) -> tuple[SlipSpec, ...]:
    """Fills of the spans that are not bonded.

    Parameters
    ----------
    outlines : sequence of Outline
        As given to `span_meshes`.

    Returns
    -------
    tuple of SlipSpec

    Raises
    ------
    MachineError
        If the bond of a cell changes from span to span.
    """
    found: dict[str, tuple[Bond, SlipSpec]] = {}
    for outline in outlines:
        for cell in outline.cells:
            if cell.fill is None:
                continue
            parts = (f"fill {cell.name}", *(f"insert {insert.name}" for insert in cell.fill.inserts))
            bond = cell.fill.bond
            stiffness = 0.0 if isinstance(bond, str) else float(bond)
            known, _ = found.setdefault(cell.name, (bond, SlipSpec(parts=parts, stiffness=stiffness)))
            if known != bond:
                raise MachineError(
                    f'the fill of cell "{cell.name}" is {known} in one span of the body and {bond} in another',
                    hint="give one bond to a cell all along a body",
                )
    return tuple(slip for bond, slip in found.values() if bond != "bonded")


def _union(outlines: Sequence[Outline]) -> Outline:
    """The first outline with every cell filled that is filled anywhere."""
    first = outlines[0]
    return dataclasses.replace(first, cells=tuple(_filled_anywhere(c.name, outlines) for c in first.cells))


def _filled_anywhere(name: str, outlines: Sequence[Outline]) -> Cell:
    found = [cell for outline in outlines for cell in outline.cells if cell.name == name]
    filled = [cell for cell in found if cell.fill is not None]
    if not filled:
        return found[0]
    shapes = {
        (c.fill.bores, tuple((i.name, i.ring, i.bore) for i in c.fill.inserts))
        for c in filled
        if c.fill is not None
    }
    if len(shapes) > 1:
        raise MachineError(
            f'cell "{name}" has other bores or inserts in one span of the body than in another',
            hint="give them the same outlines along the member",
        )
    return filled[0]


def _of_span(whole: SectionMesh, faces: Sequence[_Face], span: int) -> SectionMesh:
    """The mesh with the materials of a span, without the triangles of what is not there."""
    own = [face.of[span] for face in faces]
    chosen = np.array([part is not None for part in own])[whole.region]
    return SectionMesh(
        nodes=whole.nodes,
        triangles=whole.triangles[chosen],
        region=whole.region[chosen],
        materials=tuple((part or face.region).material for part, face in zip(own, faces, strict=True)),
        parts=tuple((part or face.region).part for part, face in zip(own, faces, strict=True)),
        mesher=whole.mesher,
    )


def finer_at_corners(mesh: SectionMesh, solid: NDArray[np.bool_], rounds: int) -> SectionMesh:
    """Refine the triangles that touch re-entrant corners of what is solid in a span, again and again.

    There the stress of the exact solution has no bound, and a mesh that is even converges slowly.

    Parameters
    ----------
    mesh : SectionMesh
    solid : ndarray of bool, shape (spans, regions)
    rounds : int

    Returns
    -------
    SectionMesh
    """
    points = mesh.nodes[np.unique(np.concatenate([_reentrant(mesh, there[mesh.region]) for there in solid]))]
    for _ in range(rounds if len(points) else 0):
        distance, _ = cKDTree(points).query(mesh.nodes)
        mesh = refined(mesh, (distance < SAME)[mesh.triangles[:, :3]].any(axis=1))
    return mesh


def finer_at(mesh: SectionMesh, points: Sequence[Point2], rounds: int) -> SectionMesh:
    """Refine the triangles that touch some points, again and again.

    Parameters
    ----------
    mesh : SectionMesh
    points : sequence of (x, y)
        [m]
    rounds : int
    """
    for _ in range(rounds if points else 0):
        tree = shapely.STRtree(shapely.polygons(mesh.nodes[mesh.triangles[:, :3]]))
        near = tree.query(shapely.points(np.asarray(points)), predicate="dwithin", distance=REACHED)[1]
        marked = np.zeros(len(mesh.triangles), dtype=bool)
        marked[near] = True
        mesh = refined(mesh, marked)
    return mesh


def _reentrant(mesh: SectionMesh, there: NDArray[np.bool_]) -> Index:
    """Nodes around which more than half a turn is solid but not all of it."""
    corners = mesh.triangles[there][:, :3]
    p = mesh.nodes[corners]
    to_next, to_last = np.roll(p, -1, axis=1) - p, np.roll(p, 1, axis=1) - p
    cross = to_next[..., 0] * to_last[..., 1] - to_next[..., 1] * to_last[..., 0]
    angle = np.arctan2(cross, (to_next * to_last).sum(axis=-1))
    total = np.bincount(corners.ravel(), weights=angle.ravel(), minlength=len(mesh.nodes))
    found: Index = np.flatnonzero((total > REENTRANT) & (total < 2.0 * np.pi - 1e-6))
    return found
