"""Plates on the ends of a body and inside of it, as operators on one plane or two.

The plate shares u, v, w with the nodes of the wall's end face where it is welded, or hangs on them by a bed of glue or
under screws; everything else of it is condensed, on the section shapes alone and never as a dense matrix:

    S V = K_kk V - K_kr K_rr⁻¹ (K_rk V).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
import shapely
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.machine.body import _plate
from strongback.machine.body._shapes import Solver, factorised
from strongback.machine.body.extrude import Pattern
from strongback.machine.body.spans import COVER
from strongback.machine.body.values import Bed, DiaphragmSpec, PlateSpec
from strongback.materials import Material
from strongback.section.values import Ring, SectionMesh

__all__ = ["Plate", "covers_of", "diaphragm_heights", "membrane", "patches_of", "plate_operator"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Mask = NDArray[np.bool_]
EDGE = 1e-4  # a wall that stands out from under a plate by less was drawn by other chords [m]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plate:
    """A plate as stiffness on the unknowns of a plane.

    Parameters
    ----------
    plane : int
        Of the planes of the body.
    own : sparse array, shape (unknowns, unknowns)
        K_kk
    rest : sparse array, shape (unknowns, others)
        K_kr
    solve : callable
        K_rr⁻¹
    """

    plane: int
    own: sparse.csr_array
    rest: sparse.csr_array
    solve: Solver

    def forces(self, shapes: Array) -> Array:
        """S V, (unknowns, n)."""
        return np.asarray(self.own @ shapes - self.rest @ self.solve(np.asarray(self.rest.T @ shapes)))


def plate_operator(
    plate: PlateSpec, whole: SectionMesh, spans: Pattern, *, at_end: bool, plane: int
) -> Plate:
    """A plate on an end of the member.

    Parameters
    ----------
    plate : PlateSpec
    whole : SectionMesh
        Walls and what the plate covers beside them.
    spans : Pattern
        Made of the same mesh.
    at_end : bool
        On the last end and not on the first.
    plane : int

    Raises
    ------
    MachineError
        If the plate leaves a part of the end face free, or a bed lies nowhere on it.
    """
    walls = _walls(spans, -1 if at_end else 0)
    covered = _covered(plate, whole, walls)
    joined = _is_wall(whole.triangles[covered], walls)
    triangles = whole.triangles[covered]
    used, packed = np.unique(triangles, return_inverse=True)
    triangles = packed.reshape(triangles.shape).astype(np.int64)
    nodes = whole.nodes[used]
    own = _own_nodes(spans, used)
    K = _plate.plate_stiffness(nodes, triangles, plate.thickness, plate.E, plate.nu, 1.0 if at_end else -1.0)
    if plate.bolts is not None:
        reach = _reach(plate.thickness, len(nodes))
        K = K + reach.T @ _bed(plate.bolts, nodes, triangles, np.ones(len(triangles), bool)) @ reach
    size = 3 * len(spans.nodes)
    of_wall = np.unique(triangles[joined])
    face = 3 * own[of_wall][:, None] + np.arange(3)
    mine = _plate.MOTIONS * of_wall[:, None] + np.arange(3)
    if plate.bed is None:
        shared = sparse.csr_array(
            (np.ones(face.size), (mine.ravel(), face.ravel())), shape=(K.shape[0], size)
        )
        free = np.setdiff1d(np.arange(K.shape[0]), mine.ravel())
        own_part, rest, other = shared.T @ K @ shared, (shared.T @ K)[:, free], K[free][:, free]
    else:
        bed = _bed(plate.bed, nodes, triangles, joined)
        up = _reach(0.0, len(nodes))
        down = sparse.csr_array(
            (np.ones(face.size), ((3 * of_wall[:, None] + np.arange(3)).ravel(), face.ravel())),
            shape=(3 * len(nodes), size),
        )
        own_part, rest, other = down.T @ bed @ down, -(down.T @ bed @ up), K + up.T @ bed @ up
    spread = spans.slip.spread
    return Plate(
        plane=plane,
        own=(spread.T @ own_part @ spread).tocsr(),
        rest=(spread.T @ rest).tocsr(),
        solve=factorised(sparse.csc_array(other)),
    )


def diaphragm_heights(diaphragm: DiaphragmSpec) -> tuple[float, float]:
    """Heights of two membranes of half its thickness that stretch and bend as it does [m].

    t/2 each at ± t / (2 √3) of its middle: t/2 (t²/12) twice is t³/12.
    """
    away = diaphragm.thickness / (2.0 * np.sqrt(3.0))
    return float(diaphragm.s - away), float(diaphragm.s + away)


def membrane(diaphragm: DiaphragmSpec, whole: SectionMesh, spans: Pattern, span: int, *, plane: int) -> Plate:
    """One of the two membranes of a diaphragm, joined to all that is solid around the hollows.

    Parameters
    ----------
    diaphragm : DiaphragmSpec
    whole : SectionMesh
    spans : Pattern
    span : int
        In which it lies.
    plane : int

    Raises
    ------
    MachineError
        If there is no hollow.
    """
    here = spans.original[spans.triangles[spans.region[span] >= 0]]
    solid = np.isin(whole.triangles[:, 3], np.unique(here[:, 3])) & _is_wall(whole.triangles, here)
    outer = shapely.unary_union([shapely.Polygon(whole.nodes[t]) for t in whole.triangles[solid][:, :3]])
    inside = shapely.union_all([shapely.Polygon(g.exterior) for g in shapely.get_parts(outer)])
    middles = shapely.points(whole.nodes[whole.triangles[:, :3]].mean(axis=1))
    hollow = np.flatnonzero(~solid & shapely.contains(inside, middles))
    if len(hollow) == 0:
        raise MachineError(
            f"the diaphragm at {diaphragm.s * 1e3:.4g} mm has no hollow to close",
            hint="the section is open or filled there",
        )
    triangles = whole.triangles[hollow]
    used, packed = np.unique(triangles, return_inverse=True)
    triangles = packed.reshape(triangles.shape).astype(np.int64)
    nodes = whole.nodes[used]
    K = _plate.membrane_stiffness(nodes, triangles, 0.5 * diaphragm.thickness, diaphragm.E, diaphragm.nu)
    held = np.isin(used, whole.triangles[solid])
    own = _own_nodes(spans, used)
    mine = (3 * np.flatnonzero(held)[:, None] + np.arange(2)).ravel()
    face = (3 * own[held][:, None] + np.arange(2)).ravel()
    shared = sparse.csr_array((np.ones(len(mine)), (mine, face)), shape=(K.shape[0], 3 * len(spans.nodes)))
    free = (3 * np.flatnonzero(~held)[:, None] + np.arange(2)).ravel()
    spread = spans.slip.spread
    return Plate(
        plane=plane,
        own=(spread.T @ shared.T @ K @ shared @ spread).tocsr(),
        rest=(spread.T @ (shared.T @ K)[:, free]).tocsr(),
        solve=factorised(sparse.csc_array(K[free][:, free])) if len(free) else (lambda load: load),
    )


def _walls(spans: Pattern, span: int) -> Index:
    """Triangles of the walls of a span, nodes as in the mesh of the whole."""
    chosen = spans.triangles[spans.wall & (spans.region[span] >= 0)]
    return np.asarray(spans.original[chosen])


def _own_nodes(spans: Pattern, nodes: Index) -> Index:
    """Nodes of the body for nodes of the whole mesh; -1 where there are none."""
    own = np.full(int(max(nodes.max(), spans.original.max())) + 1, -1, dtype=np.int64)
    own[spans.original] = np.arange(len(spans.original))
    return own[nodes]


def _is_wall(triangles: Index, walls: Index) -> Mask:
    """Which triangles are among others; three middles of sides make one."""
    known = {tuple(sorted(t)) for t in walls[:, 3:].tolist()}
    return np.array([tuple(sorted(t)) in known for t in triangles[:, 3:].tolist()], dtype=bool)


def _covered(plate: PlateSpec, whole: SectionMesh, walls: Index) -> Index:
    """Triangles under a plate."""
    middles = shapely.points(whole.nodes[whole.triangles[:, :3]].mean(axis=1))
    if plate.ring:
        inside = shapely.contains(shapely.Polygon(plate.ring).buffer(EDGE), middles)
    else:
        pieces = shapely.union_all(shapely.polygons(whole.nodes[walls[:, :3]]).tolist())
        whole_face = shapely.union_all([shapely.Polygon(g.exterior) for g in shapely.get_parts(pieces)])
        inside = shapely.contains(whole_face, middles)
    face = _is_wall(whole.triangles, walls)
    if np.any(face & ~inside):
        raise MachineError(
            "the plate leaves a part of the end face of the walls free",
            hint="draw it at least as large as the outer edge of the walls",
        )
    return np.flatnonzero(inside)


def _reach(z: float, count: int) -> sparse.csr_array:
    """Motions u + z b, v + z b, w of a face from the five motions of every node, (3 nodes, 5 nodes)."""
    unit = np.zeros((3, _plate.MOTIONS))
    unit[:, :3] = np.eye(3)
    unit[0, 3] = unit[1, 4] = z
    return sparse.csr_array(sparse.kron(sparse.eye_array(count), sparse.csr_array(unit), format="csr"))


def _bed(bed: Bed, nodes: Array, triangles: Index, allowed: Mask) -> sparse.csr_array:
    """Springs of a bed on three motions a node, (3 nodes, 3 nodes)."""
    chosen = allowed.copy()
    if bed.patches:
        middles = shapely.points(nodes[triangles[:, :3]].mean(axis=1))
        under = shapely.union_all([shapely.Polygon(ring) for ring in bed.patches])
        chosen &= shapely.contains(under, middles)
    if not np.any(chosen):
        raise MachineError(
            "the screws or the glue of a plate lie on no wall", hint="give patches that lie on the end face"
        )
    area = _plate.area_matrix(nodes, triangles[chosen])
    size = sparse.diags_array([bed.tangential, bed.tangential, bed.normal])
    return sparse.csr_array(sparse.kron(area, size, format="csr"))


def solid_plate(plate: PlateSpec, whole: SectionMesh, section: SectionMesh) -> SectionMesh:
    """A thick plate as a section of its own: all that it covers is solid.

    Parameters
    ----------
    plate : PlateSpec
    whole : SectionMesh
    section : SectionMesh
        The span under it.

    Returns
    -------
    SectionMesh
    """
    walls = section.triangles[np.array([p.startswith("wall") for p in section.parts])[section.region]]
    covered = _covered(plate, whole, walls)
    solid = Material(name="plate", E=plate.E, nu=plate.nu, density=plate.density, source="as the plate says")
    return SectionMesh(
        nodes=whole.nodes,
        triangles=whole.triangles[covered],
        region=np.zeros(len(covered), dtype=np.int64),
        materials=(solid,),
        parts=(COVER,),
        mesher=whole.mesher,
    )


def covers_of(
    plates: Sequence[PlateSpec], diaphragms: Sequence[DiaphragmSpec]
) -> list[shapely.Polygon | None]:
    """What plates cover, as polygons; None for all within the outer edge of the walls.

    Parameters
    ----------
    plates : sequence of PlateSpec
    diaphragms : sequence of DiaphragmSpec
    """
    found: list[shapely.Polygon | None] = [shapely.Polygon(plate.ring) for plate in plates if plate.ring]
    if any(not plate.ring for plate in plates) or diaphragms:
        found.append(None)
    return found


def patches_of(plates: Sequence[PlateSpec]) -> list[shapely.Polygon]:
    """Patches of the beds of plates."""
    beds = [bed for plate in plates for bed in (plate.bed, plate.bolts) if bed is not None]
    rings: list[Ring] = [ring for bed in beds for ring in bed.patches]
    return [shapely.Polygon(ring) for ring in rings]
