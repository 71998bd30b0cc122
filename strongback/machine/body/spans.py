"""From the outlines along a member to one mesh: every cell that is filled anywhere meshed, taken out where it is empty."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from strongback.errors import MachineError
from strongback.machine.body.values import SlipSpec
from strongback.section.check import check
from strongback.section.mesh import Mesher, mesh_regions
from strongback.section.outline import Region, regions
from strongback.section.refine import refined
from strongback.section.values import Bond, Cell, Outline, SectionMesh

__all__ = ["finer_at_corners", "slips_of", "span_meshes"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]

REENTRANT = np.radians(
    215.0
)  # solid angle of the wall from which stress has a singularity that costs accuracy
SAME = 1e-9  # nodes this near are one [m]
CHORD = 5e-4  # distance that a simplified arc may leave its outline [m]
ROUNDS = 1  # of refinement at such corners


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
        Of the spans from the start; the walls are the same, cells may be filled or empty.
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
        If the outlines differ in more than the material of their fills.
    """
    for outline in outlines:
        check(outline)
    union = _union(outlines)
    parts = regions(union)
    solid = np.array([_there(parts, outline) for outline in outlines])
    whole = finer_at_corners(mesh_regions(_plainer(parts, chord), size=size, mesher=mesher), solid, rounds)
    return tuple(_of_span(whole, parts, outline) for outline in outlines)


def _plainer(parts: list[Region], chord: float) -> list[Region]:
    """Regions with arcs drawn by fewer chords: a body need not follow every fillet, and its size grows with each."""
    if chord == 0.0:
        return parts
    shapes = shapely.coverage_simplify([p.polygon for p in parts], chord)
    return [dataclasses.replace(p, polygon=shape) for p, shape in zip(parts, shapes, strict=True)]


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
    for outline in outlines[1:]:
        same_rings = [(c.name, c.ring) for c in outline.cells] == [(c.name, c.ring) for c in first.cells]
        if outline.walls != first.walls or not same_rings:
            raise MachineError(
                f'sections "{first.name}" and "{outline.name}" of one body have different walls',
                hint='a body takes one profile whose cells are filled or empty; use model = "beam" here',
            )
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


def _there(parts: list[Region], outline: Outline) -> NDArray[np.bool_]:
    """Which regions of the whole an outline has."""
    here = {(p.part, p.cell) for p in regions(outline)}
    return np.array([(p.part, p.cell) in here for p in parts])


def _of_span(whole: SectionMesh, parts: list[Region], outline: Outline) -> SectionMesh:
    """The mesh with the materials of a span, without the triangles of its empty cells."""
    here = {(p.part, p.cell): p.material for p in regions(outline)}
    chosen = _there(parts, outline)[whole.region]
    return SectionMesh(
        nodes=whole.nodes,
        triangles=whole.triangles[chosen],
        region=whole.region[chosen],
        materials=tuple(here.get((p.part, p.cell), p.material) for p in parts),
        parts=whole.parts,
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
