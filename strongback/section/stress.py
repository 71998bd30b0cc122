"""Stress in a section under its eight unit loads, recovered at the nodes and refined until its maxima stand still.

Six-node triangles have stresses that jump from one to the next. Extrapolated to the nodes and averaged there, material by
material, they are nearer to the truth than anywhere inside (Zienkiewicz & Zhu, Int. J. Numer. Meth. Engng 24 (1987) 337).

At a sharp re-entrant corner the true stress has no bound, and a mesh shows whatever its size allows. A maximum is therefore
taken outside a quarter of wall and side around such corners. A round fillet has a maximum; draw it if it matters.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from strongback import checks
from strongback.errors import LimitError, OutlineError
from strongback.section import _triangle6 as t6
from strongback.section._problem import by_region
from strongback.section.check import check
from strongback.section.mesh import Mesher, mesh_regions
from strongback.section.outline import Region, regions
from strongback.section.refine import refined
from strongback.section.stiffness import SectionFields, fields
from strongback.section.values import Outline, Point2, SectionMesh, SectionStiffness

__all__ = ["LOADS", "FreeEdge", "Peak", "SectionStress", "free_edge", "section_stress", "stress", "stress_of"]

Array = NDArray[np.float64]

LOADS = ("N", "Vx", "Vy", "Mx", "My", "T", "T2", "B")
"""Axial force, shear forces through the shear centre, moments about the centroid, torque with free warping, secondary
torque (of warping held back), bimoment: as the forces of `strongback.section.values`."""
UNITS = {"N": "N", "Vx": "N", "Vy": "N", "Mx": "N m", "My": "N m", "T": "N m", "T2": "N m", "B": "N m²"}

MOVES = 0.02  # largest move of a maximum in the last refinement
ROUNDS = 8
MOST_TRIANGLES = 60_000
SHARE = 0.5  # of the estimated error that the triangles refined in one round hold
BESIDE_CORNER = 0.25  # of the wall and of the sides, around a re-entrant corner, where no maximum is taken
ROUGH = 3.0  # tolerances by which the stress of a triangle may be off the average at its nodes
SPOTS = 2e-3  # of the area that may be rough: the corners of chords drawn for an arc always are
DIES_OUT = 0.05  # of the section: a bimoment that dies out sooner along the member is not told
SHARP = np.radians(30.0)  # turn from which an outer corner is one: there is no shear stress in it
REENTRANT = np.radians(1.0)  # turn below which a corner is that of a polygon drawn for an arc

# Values at the six nodes of the quadratic that fits values at the integration points best, (6, 7).
_TO_NODES = np.linalg.lstsq(t6.SHAPES, np.eye(len(t6.POINTS)), rcond=None)[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Peak:
    """Largest stress of one unit load.

    Parameters
    ----------
    load : str
        One of `LOADS`.
    kind : str
        ``"shear"`` or ``"direct"``.
    value : float
        Size of the stress per unit load [Pa/N, Pa/(N m) or Pa/(N m²)].
    at : tuple of float
        Where, in the axes of the drawing [m].
    moved : float or None
        Larger of its relative moves in the last two refinements: how well the mesh holds it. None if there were fewer.
    """

    load: str
    kind: str
    value: float
    at: Point2
    moved: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionStress:
    """Stress of unit loads at the nodes of each triangle, bonded regions.

    Parameters
    ----------
    mesh : SectionMesh
    stiffness : SectionStiffness
        Of this mesh; its centroid and shear centre are the points that the loads act at.
    direct : ndarray, shape (8, triangles, 6)
        Stress along the member per unit of each of `LOADS` [Pa/N, Pa/(N m), Pa/(N m²)].
    shear : ndarray, shape (8, triangles, 6, 2)
        Shear stress along x and y.
    error : ndarray, shape (8, triangles)
        Largest difference in each triangle between the shear stress of its own and the average at its nodes.
    corners : ndarray, shape (corners, 3)
        Re-entrant corners x, y and the radius around each in which no maximum is taken [m].
    peaks : tuple of Peak
        Largest stresses outside these.
    converged : bool
        Whether every maximum moved by less than asked for in the last refinement.
    """

    mesh: SectionMesh
    stiffness: SectionStiffness
    direct: Array
    shear: Array
    error: Array
    corners: Array
    peaks: tuple[Peak, ...]
    converged: bool

    def __post_init__(self) -> None:
        for array in (self.direct, self.shear, self.error, self.corners):
            array.setflags(write=False)

    @property
    def points(self) -> Array:
        """Where the stresses are given, (triangles, 6, 2) [m]."""
        return np.asarray(self.mesh.nodes[self.mesh.triangles])

    def peak(self, load: str, kind: str = "shear") -> Peak:
        """The largest stress of a unit load.

        Raises
        ------
        OutlineError
            If the load causes no stress of that kind.
        """
        checks.one_of("stress", "load", load, LOADS, OutlineError)
        found = [p for p in self.peaks if (p.load, p.kind) == (load, kind)]
        if not found:
            raise OutlineError(f"{load} causes no {kind} stress in this section")
        return found[0]

    def __repr__(self) -> str:
        s = self.stiffness
        state = "maxima stand" if self.converged else "maxima still move"
        return f"SectionStress({s.name!r}: {len(self.mesh.triangles):,} triangles, {state})"


def section_stress(
    outline: Outline,
    *,
    tolerance: float = MOVES,
    mesher: Mesher = "auto",
    max_triangles: int = MOST_TRIANGLES,
) -> SectionStress:
    """Stress of unit loads on a mesh refined until the largest values stand still.

    Parameters
    ----------
    outline : Outline
        Fills and inserts are bonded.
    tolerance : float
        Largest relative move of a maximum in each of the last two refinements, 1e-3 to 0.5.
    mesher : {"auto", "built-in", "triangle"}
    max_triangles : int
        Refinement ends there; `SectionStress.converged` then says whether it was enough.

    Returns
    -------
    SectionStress

    Raises
    ------
    OutlineError, LimitError, MeshError
        See `mesh`.

    Examples
    --------
    A strip of 60 x 3 mm under 1 N m: 3 T / (b t²) on its faces, up to b/t (Timoshenko & Goodier, art. 109):

    >>> from strongback.materials import material
    >>> from strongback.section.shapes import rectangle
    >>> found = section_stress(rectangle(material("steel"), 0.06, 0.003))
    >>> theory = 3.0 / (0.06 * 0.003**2 * (1 - 0.630 * 0.003 / 0.06))
    >>> abs(found.peak("T").value / theory - 1.0) < 0.005
    True
    """
    if not 1e-3 <= tolerance <= 0.5:
        raise LimitError(f"tolerance {tolerance:g} must lie between 0.001 and 0.5")
    check(outline)
    if outline.seams:
        raise OutlineError(
            f'outline "{outline.name}": stress beside a seam that slips is not solved',
            hint="leave its seams out for the stress of the bonded section",
        )
    parts = regions(outline)
    made = mesh_regions(parts, mesher=mesher, max_triangles=max_triangles)
    sharp = reentrant(parts)
    found = _recovered(fields(made, outline.name), sharp, (), tolerance)
    history = [found.peaks]
    for _ in range(ROUNDS):
        finer = refined(made, _marked(found, tolerance))
        if found.converged or len(finer.triangles) > max_triangles:
            break
        made = finer
        found = _recovered(fields(made, outline.name), sharp, history[-2:], tolerance)
        history.append(found.peaks)
    return found


def stress(mesh: SectionMesh) -> SectionStress:
    """Stress of unit loads on a mesh as it is; nothing is refined, so nothing is known of the error.

    Parameters
    ----------
    mesh : SectionMesh

    Returns
    -------
    SectionStress

    Examples
    --------
    A bar of 20 x 10 mm pulled by 1 N has 1 N / 200 mm²:

    >>> from strongback.materials import material
    >>> from strongback.section.mesh import mesh
    >>> from strongback.section.shapes import rectangle
    >>> found = stress(mesh(rectangle(material("steel"), 0.02, 0.01)))
    >>> round(float(found.direct[0].max()), 6)
    5000.0
    """
    return stress_of(fields(mesh))


def stress_of(solved: SectionFields) -> SectionStress:
    """Stress of unit loads from fields already solved.

    Examples
    --------
    >>> from strongback.section.mesh import mesh
    >>> from strongback.section.shapes import rectangle
    >>> found = stress_of(fields(mesh(rectangle("steel", 0.02, 0.01))))
    >>> round(float(found.direct[0].max()), 6)  # 1 N over 200 mm² [Pa/N]
    5000.0
    """
    return _recovered(solved, np.zeros((0, 3)), (), MOVES)


def _recovered(
    solved: SectionFields, sharp: Array, history: Sequence[tuple[Peak, ...]], tolerance: float
) -> SectionStress:
    shear, error = _shear(solved)
    direct = _direct(solved)
    peaks = _peaks(solved.mesh, direct, shear, sharp, history)
    moves = [p.moved for p in peaks]
    rough = _rough(solved.mesh, error, sharp, peaks, tolerance)
    return SectionStress(
        mesh=solved.mesh,
        stiffness=solved.stiffness,
        direct=direct,
        shear=shear,
        error=error,
        corners=sharp,
        peaks=peaks,
        converged=all(m is not None and m <= tolerance for m in moves)
        and _share(solved.mesh, rough) <= SPOTS,
    )


def _share(mesh: SectionMesh, chosen: NDArray[np.bool_]) -> float:
    """Part of the area that some triangles have."""
    p = mesh.nodes[mesh.triangles[:, :3]]
    u, v = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    area = np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    return float(area[chosen].sum() / area.sum())


def _rough(
    mesh: SectionMesh, error: Array, sharp: Array, peaks: tuple[Peak, ...], tolerance: float
) -> NDArray[np.bool_]:
    """Triangles clear of corners whose own stress is off its average by more than a few tolerances of the largest."""
    largest = {p.load: p.value for p in peaks if p.kind == "shear"}
    found = np.zeros(len(mesh.triangles), dtype=bool)
    for k, load in enumerate(LOADS):
        if load in largest:
            found |= error[k] > ROUGH * tolerance * largest[load]
    inside = beside(mesh.nodes[mesh.triangles].reshape(-1, 2), sharp * [1.0, 1.0, 2.0]).reshape(-1, 6)
    return found & ~inside.any(axis=1)


def _direct(solved: SectionFields) -> Array:
    """Stress along the member, (8, m, 6): bending by the transformed section, warping as it was solved."""
    mesh, s = solved.mesh, solved.stiffness
    E = by_region(mesh, "E")[:, None]
    x, y = np.moveaxis(mesh.nodes[mesh.triangles] - np.asarray(s.centroid), 2, 0)
    curvature = np.linalg.inv(np.array([[s.EIx, -s.EIxy], [-s.EIxy, s.EIy]]))
    found = np.zeros((len(LOADS), *mesh.triangles.shape))
    found[0] = E / s.EA
    for k in range(2):  # unit Mx, unit My
        found[3 + k] = E * (curvature[0, k] * y - curvature[1, k] * x)
    if warps(solved):
        found[7] = E * solved.omega[mesh.triangles] / s.EGamma
    return found


def _shear(solved: SectionFields) -> tuple[Array, Array]:
    """Shear stress at the nodes, (8, m, 6, 2), and what the averaging moved, (8, m)."""
    mesh, s = solved.mesh, solved.stiffness
    G = by_region(mesh, "G")[:, None, None]
    states = {1: solved.shear_strain[0], 2: solved.shear_strain[1], 5: solved.torsion_strain / s.GJ}
    if solved.secondary_strain is not None and warps(solved):
        states[6] = solved.secondary_strain
    found = np.zeros((len(LOADS), *mesh.triangles.shape, 2))
    error = np.zeros((len(LOADS), len(mesh.triangles)))
    average, edge = _Average.on(mesh), free_edge(mesh)
    for k, strain in states.items():
        own = np.einsum("iq,mqc->mic", _TO_NODES, strain * G)
        found[k] = edge.held(average(own))
        error[k] = np.hypot(*np.moveaxis(found[k] - own, 2, 0)).max(axis=1)
    return found, error


def warps(solved: SectionFields) -> bool:
    """Whether restrained warping reaches further along the member than a twentieth of the section.

    The length in which a bimoment dies out is sqrt(EGamma/GJ). Below that it is no quantity of a beam, and of a round tube
    it would be that of the polygon drawn for it.
    """
    s = solved.stiffness
    reach = float(np.ptp(solved.mesh.nodes, axis=0).max())
    return bool(solved.secondary_strain is not None and s.EGamma > (DIES_OUT * reach) ** 2 * s.GJ)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Average:
    """Averages at the nodes, weighted by area; a node between two materials has one value for each."""

    index: NDArray[np.int64]  # (m, 6)
    weight: Array  # (m, 6), adding to one at each node

    @classmethod
    def on(cls, mesh: SectionMesh) -> _Average:
        p = mesh.nodes[mesh.triangles[:, :3]]
        u, v = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
        area = 0.5 * np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
        kind = np.unique([(m.E, m.nu) for m in mesh.materials], axis=0, return_inverse=True)[1].ravel()
        key = mesh.triangles + len(mesh.nodes) * kind[mesh.region][:, None]
        index = np.unique(key, return_inverse=True)[1].reshape(key.shape)
        weight = np.broadcast_to(area[:, None], key.shape)
        total = np.bincount(index.ravel(), weight.ravel())
        return cls(index=index, weight=weight / total[index])

    def __call__(self, own: Array) -> Array:
        """(m, 6, 2) to the same with one value at each node."""
        columns = [
            np.bincount(self.index.ravel(), (self.weight * own[..., c]).ravel())[self.index] for c in range(2)
        ]
        return np.stack(columns, axis=-1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FreeEdge:
    """Nodes on edges where nothing touches: the shear stress across them is zero there, and all of it in a sharp corner.

    Parameters
    ----------
    mesh : SectionMesh
    node : ndarray of int, shape (n,)
    normal : ndarray, shape (n, 2)
        Out of the material; zero in a re-entrant corner, where the stress has no bound.
    corner : ndarray of bool, shape (n,)
        Sharp and not re-entrant.
    """

    mesh: SectionMesh
    node: NDArray[np.int64]
    normal: Array
    corner: NDArray[np.bool_]

    def held(self, shear: Array) -> Array:
        """Shear stress at the nodes of each triangle, (m, 6, 2), without what a free edge cannot carry."""
        normal = np.zeros((len(self.mesh.nodes), 2))
        factor = np.ones(len(self.mesh.nodes))
        normal[self.node], factor[self.node] = self.normal, np.where(self.corner, 0.0, 1.0)
        n = normal[self.mesh.triangles]
        across = np.einsum("mic,mic->mi", shear, n)
        return np.asarray((shear - across[..., None] * n) * factor[self.mesh.triangles][..., None])


def free_edge(mesh: SectionMesh) -> FreeEdge:
    """The free edges of a mesh: sides that belong to one triangle alone.

    Parameters
    ----------
    mesh : SectionMesh

    Returns
    -------
    FreeEdge

    Examples
    --------
    >>> from strongback.section.mesh import mesh
    >>> from strongback.section.shapes import rectangle
    >>> edge = free_edge(mesh(rectangle("steel", 0.02, 0.01)))
    >>> int(edge.corner.sum())
    4
    """
    t = mesh.triangles
    sides = np.concatenate([t[:, [0, 3, 1]], t[:, [1, 4, 2]], t[:, [2, 5, 0]]])
    _, first, count = np.unique(sides[:, 1], return_index=True, return_counts=True)
    sides = sides[first[count == 1]]
    along = mesh.nodes[sides[:, 2]] - mesh.nodes[sides[:, 0]]
    along /= np.linalg.norm(along, axis=1)[:, None]
    out = np.column_stack([along[:, 1], -along[:, 0]])  # triangles run counter-clockwise
    before = np.zeros((len(mesh.nodes), 2))
    after = before.copy()
    before[sides[:, 2]], after[sides[:, 0]] = along, along
    nodes = sides[:, 0]
    turn = np.arctan2(
        before[nodes, 0] * after[nodes, 1] - before[nodes, 1] * after[nodes, 0],
        np.einsum("ij,ij->i", before[nodes], after[nodes]),
    )
    mean = np.column_stack([(before + after)[nodes, 1], -(before + after)[nodes, 0]])
    length = np.linalg.norm(mean, axis=1)
    mean[length > 0.0] /= length[length > 0.0, None]
    sharp = np.abs(turn) > SHARP
    mean[sharp] = 0.0
    return FreeEdge(
        mesh=mesh,
        node=np.concatenate([sides[:, 1], nodes]),
        normal=np.concatenate([out, mean]),
        corner=np.concatenate([np.zeros(len(sides), dtype=bool), turn > SHARP]),
    )


def _peaks(
    mesh: SectionMesh, direct: Array, shear: Array, sharp: Array, history: Sequence[tuple[Peak, ...]]
) -> tuple[Peak, ...]:
    points = mesh.nodes[mesh.triangles].reshape(-1, 2)
    clear = ~beside(points, sharp)
    old = [{(p.load, p.kind): p.value for p in peaks} for peaks in history]
    found = []
    for k, load in enumerate(LOADS):
        for kind, size in (("direct", np.abs(direct[k])), ("shear", np.hypot(*np.moveaxis(shear[k], 2, 0)))):
            # Direct stress has no peak at corners: it is linear, or as smooth as the warping.
            flat = np.where(clear, size.ravel(), -1.0) if kind == "shear" else size.ravel()
            at = int(np.argmax(flat))
            value = float(flat[at])
            if value > 0.0:
                values = [*(peaks.get((load, kind), np.inf) for peaks in old), value]
                moves = [abs(b / a - 1.0) for a, b in itertools.pairwise(values)]
                moved = float(max(moves)) if len(moves) > 1 else None
                x, y = points[at]
                found.append(Peak(load=load, kind=kind, value=value, at=(float(x), float(y)), moved=moved))
    return tuple(found)


def _marked(found: SectionStress, tolerance: float) -> NDArray[np.bool_]:
    """Triangles to refine: those with most of the estimated error of any load, rough ones, and those around maxima."""
    mesh = found.mesh
    p = mesh.nodes[mesh.triangles[:, :3]]
    u, v = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    area = 0.5 * np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    marked = np.zeros(len(area), dtype=bool)
    middle = p.mean(axis=1)
    clear = ~beside(middle, found.corners)
    marked |= _rough(mesh, found.error, found.corners, found.peaks, tolerance)
    for k in np.flatnonzero(found.error.max(axis=1) > 0.0):
        order = np.argsort(found.error[k] ** 2 * area * clear)[::-1]
        held = np.cumsum((found.error[k] ** 2 * area * clear)[order])
        if held[-1] > 0.0:
            marked[order[: int(np.searchsorted(held, SHARE * held[-1])) + 1]] = True
        peak = [q for q in found.peaks if q.load == LOADS[k] and q.kind == "shear"]
        near = np.linalg.norm(middle - np.asarray(peak[0].at), axis=1) if peak else np.full(len(area), np.inf)
        marked |= near < 2.0 * np.sqrt(area)
    return marked


def beside(points: Array, sharp: Array) -> NDArray[np.bool_]:
    """Points within the radius of a re-entrant corner."""
    found = np.zeros(len(points), dtype=bool)
    for x, y, radius in sharp:
        near = (np.abs(points[:, 0] - x) < radius) & (np.abs(points[:, 1] - y) < radius)
        found[near] |= np.hypot(points[near, 0] - x, points[near, 1] - y) < radius
    return found


def reentrant(parts: list[Region]) -> Array:
    """Re-entrant corners of the regions and the radius around each in which the mesh decides what is seen.

    Parameters
    ----------
    parts : list of Region

    Returns
    -------
    ndarray, shape (corners, 3)
        x, y, radius [m].
    """
    rows: list[tuple[float, float, float]] = []
    for part in parts:
        shape = shapely.geometry.polygon.orient(part.polygon)
        for ring in (shape.exterior, *shape.interiors):
            rows += _corners(np.asarray(ring.coords)[:-1, :2], shape)
    return np.array(rows).reshape(-1, 3)


def _corners(ring: Array, shape: shapely.Polygon) -> list[tuple[float, float, float]]:
    """Material lies to the left of the ring, so that a turn to the right is re-entrant."""
    back, on = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    before, after = np.linalg.norm(back, axis=1), np.linalg.norm(on, axis=1)
    turn = np.arctan2(back[:, 0] * on[:, 1] - back[:, 1] * on[:, 0], np.einsum("ij,ij->i", back, on))
    found = []
    for i in np.flatnonzero(turn < -REENTRANT):
        inward = back[i] / before[i] - on[i] / after[i]
        inward *= 1.0 / max(float(np.linalg.norm(inward)), 1e-300)
        reach = float(np.hypot(*(np.ptp(ring, axis=0)))) + 2.0 * float(before[i] + after[i])
        ray = shapely.LineString([ring[i] + 1e-7 * inward, ring[i] + reach * inward]).intersection(shape)
        first = next((g for g in getattr(ray, "geoms", [ray]) if g.length > 0.0), None)
        wall = first.length if first is not None else reach
        radius = BESIDE_CORNER * min(float(before[i]), float(after[i]), wall)
        found.append((float(ring[i, 0]), float(ring[i, 1]), radius))
    return found
