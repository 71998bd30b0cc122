"""Columns as bodies: the section mesh extruded as 3D elasticity and condensed once to its interfaces."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from strongback.errors import LimitError, MachineError, NotConvergedError
from strongback.machine.body import _galerkin, _shapes
from strongback.machine.body.carry import carried_shapes
from strongback.machine.body.cuts import facing_motions, mean_motion, spread_forces
from strongback.machine.body.extrude import Extrusion, Pattern, extrusion, pattern, rigid_fields
from strongback.machine.body.heights import Grading
from strongback.machine.body.inertia import interface_mass
from strongback.machine.body.pads import outer_edges
from strongback.machine.body.plates import Plate, diaphragm_heights, membrane, plate_operator
from strongback.machine.body.probe import interpolation
from strongback.machine.body.rigid import carried_points, relative_motions
from strongback.machine.body.values import (
    BodyStiffness,
    DiaphragmSpec,
    EndKind,
    PadSpec,
    PlateSpec,
    Point3,
    SlipSpec,
    cut_name,
)
from strongback.section.values import SectionMesh

__all__ = ["body_stiffness", "predicted_bytes", "wall_thickness"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Progress = Callable[[float, str], None]

MEMORY_CAP = 2 * 2**30
RUNGS = 5  # wave numbers of the first shapes
RANDOM = 10  # random forces a wave number and span
FIRST = 1e-3  # singular values of the first shapes kept
ROUNDS = 8  # of enrichment at most
ADDED = 60  # shapes a round at most, for each six cases up to double
KEPT = 1e-7  # of the solved motion, for pictures and gauges
LOOSE = 1e5  # hold of a fill that nothing keeps in the member: a millionth of its own stiffness over its size [N/m³]
ON_CUTS = 4.0  # times the tolerance for what a cut gives: only gauges beside it read that
LEFT_OUT = 0.01  # share of the squared correction left out in a round


def body_stiffness(
    sections: Sequence[tuple[SectionMesh, float]],
    *,
    base: EndKind = "rigid",
    end: EndKind = "free",
    base_plate: PlateSpec | None = None,
    end_plate: PlateSpec | None = None,
    diaphragms: Sequence[DiaphragmSpec] = (),
    whole: SectionMesh | None = None,
    length: float | None = None,
    pads: Sequence[PadSpec] = (),
    cuts: Sequence[float] = (),
    points: Sequence[Point3] = (),
    bars: Sequence[float] = (),
    slips: Sequence[SlipSpec] = (),
    akin: BodyStiffness | None = None,
    finest: float | None = None,
    coarser: float = 1.0,
    growth: float = 0.6,
    tolerance: float = 5e-4,
    memory_cap: int = MEMORY_CAP,
    progress: Progress | None = None,
) -> BodyStiffness:
    """Condense a column to the six motions of its rigid ends, pads and loaded cuts.

    The column is three-dimensional elasticity, quadratic in the section and in the height. It is solved in a growing set of
    section shapes (see `_shapes`), until the energy still missing is estimated below `tolerance`.

    Parameters
    ----------
    sections : sequence of (SectionMesh, float)
        Mesh and length [m] of each span from the base up. Spans that differ in fill have the same nodes and leave out
        the triangles of what is empty.
    base, end : {"rigid", "free"}
        A rigid face holds the section plane and in shape and is an interface; a free one is neither.
    base_plate, end_plate : PlateSpec, optional
        On a free end. With bolts the base is an interface: the ground under the plate.
    diaphragms : sequence of DiaphragmSpec
    whole : SectionMesh, optional
        The mesh of the spans and of what plates and diaphragms cover, see `spans.body_mesh`; needed with them.
    length : float, optional
        Of the member, where the last span is a plate on its end [m].
    pads : sequence of PadSpec
    cuts : sequence of float
        Heights at which the bare wall takes forces, spread over the cut by area; `cut_name` names them [m].
    points : sequence of (x, y, s)
        Gauge points on the walls [m].
    bars : sequence of float
        Heights of bars clamped around the member, which move as the cut there does in the mean [m].
    slips : sequence of SlipSpec
        Fills that are not bonded to the walls.
    akin : BodyStiffness, optional
        The same column with its pads elsewhere, or on another mesh: its section shapes are a start that saves half of the
        work. The tolerance is met as without.
    finest : float, optional
        Height elements next to ends, pads and changes of fill [m]; default from the section.
    coarser : float
        Factor on the default.
    growth : float
        Growth of the height elements with the distance from there.
    tolerance : float
        Relative energy that the section shapes may miss, four times that for forces on cuts; not the error of the mesh.
    memory_cap : int
        Refuse to start above this prediction [bytes].
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    BodyStiffness

    Raises
    ------
    MachineError
        If spans, pads or points do not fit the column, or it has no interface.
    LimitError
        If it would need more memory than the cap.
    NotConvergedError
        If the shapes do not reach the tolerance.
    """
    tell = progress or (lambda _fraction, _what: None)
    slips = _checked_slips(slips, base, end)
    spans = pattern(sections, slips)
    _check_plates(base, end, base_plate, end_plate)
    grounded = base == "rigid" or (base_plate is not None and base_plate.bolts is not None)
    names, positions = _interfaces(spans, grounded, end, pads, cuts)
    features = [
        height
        for height, kind, plate in ((0.0, base, base_plate), (float(np.sum(spans.lengths)), end, end_plate))
        if kind == "rigid" or plate is not None or not pads
    ]
    membranes = [s for d in diaphragms for s in diaphragm_heights(d)]
    grading = Grading(coarser * _finest(spans) if finest is None else finest, growth)
    body = extrusion(spans, pads, features, grading, [*cuts, *membranes])
    _check_memory(body, len(names), memory_cap, akin is not None)
    probe = sparse.vstack(
        [interpolation(spans, body.planes, points), *(mean_motion(spans, body.planes, s) for s in bars)],
        format="csr",
    )
    tell(0.05, "section shapes")
    problem = _problem(body, base, end, pads, cuts, positions, grounded)
    if whole is not None:
        problem = dataclasses.replace(problem, plates=_plates(body, base_plate, end_plate, diaphragms, whole))
    reduced, motion, (energy, beds), missing = _solve(
        problem, tolerance, tell, _shapes_of(akin, spans, slips)
    )
    stiffness, states = facing_motions(energy, problem.forced)
    motion, beds = motion @ states, states.T @ beds @ states
    follow = relative_motions(positions)
    read = np.asarray(points, dtype=np.float64).reshape(-1, 3)
    rank = reduced.shapes.shape[1]
    shapes, motion = _shapes.condensed(spans.slip.spread @ reduced.shapes, motion, KEPT)
    moved = np.einsum("nr,prj->pnj", shapes, motion, optimize=True)
    fields = probe @ moved.reshape(-1, problem.count)
    return BodyStiffness(
        names=names,
        points=positions,
        stiffness=follow.T @ stiffness @ follow,
        contact=follow.T @ beds @ follow,
        mass=interface_mass(body, shapes, motion, positions[0], follow),
        gauges=carried_points(read, positions[0], bars, len(names)) + fields @ follow,
        gauge_points=read,
        gauge_bars=np.array(bars, dtype=np.float64),
        nodes=spans.nodes,
        planes=body.planes,
        triangles=spans.triangles,
        region=spans.region,
        elastic=spans.elastic,
        span_elements=np.bincount(body.span, minlength=len(spans.lengths)),
        shapes=shapes,
        amplitudes=motion,
        cuts=np.array(cuts, dtype=np.float64),
        contact_areas=np.array([c.width * (c.high - c.low) for c in body.contacts]),
        rank=rank,
        missing=missing,
        length=float(np.sum(spans.lengths)) if length is None else length,
        coarse=np.zeros((0, 0)),
    )


def _shapes_of(akin: BodyStiffness | None, spans: Pattern, slips: Sequence[SlipSpec]) -> Array | None:
    """Section shapes of a body as fields over the unknowns."""
    if akin is None:
        return None
    same = np.array_equal(akin.nodes, spans.nodes)
    fields = akin.shapes if same else carried_shapes(akin, spans)
    return spans.slip.unknowns_of(fields) if slips else fields


def _interfaces(
    spans: Pattern, grounded: bool, end: EndKind, pads: Sequence[PadSpec], cuts: Sequence[float]
) -> tuple[tuple[str, ...], Array]:
    """Names and points of the interfaces; ends and cuts are taken at the origin of the section."""
    length = float(np.sum(spans.lengths))
    found: list[tuple[str, Point3]] = []
    if grounded:
        found.append(("base", (0.0, 0.0, 0.0)))
    if end == "rigid":
        found.append(("end", (0.0, 0.0, length)))
    found += [(pad.name, pad.centre) for pad in pads]
    if not found:
        raise MachineError(
            "a body with two free ends and no pad meets nothing", hint="give a rigid end or a pad"
        )
    found += [(cut_name(s), (0.0, 0.0, s)) for s in cuts]
    names = tuple(name for name, _ in found)
    if len(set(names)) < len(names):
        raise MachineError(f"two interfaces of the body have the same name: {', '.join(names)}")
    return names, np.array([point for _, point in found])


def _checked_slips(slips: Sequence[SlipSpec], base: EndKind, end: EndKind) -> tuple[SlipSpec, ...]:
    """Slips as they are solved: a fill that no end face keeps from sliding out is kept by next to nothing.

    Nothing pulls at such a fill along the member, so that it slides under no load and the value does not matter.
    """
    for slip in slips:
        if slip.stiffness < 0.0 or not np.isfinite(slip.stiffness):
            raise MachineError(
                f'slip stiffness {slip.stiffness:g} N/m³ of "{slip.parts[0]}" must not be negative'
            )
    if base == "rigid" or end == "rigid":
        return tuple(slips)
    return tuple(dataclasses.replace(s, stiffness=max(s.stiffness, LOOSE)) for s in slips)


def _check_plates(
    base: EndKind, end: EndKind, base_plate: PlateSpec | None, end_plate: PlateSpec | None
) -> None:
    for kind, plate, where in ((base, base_plate, "base"), (end, end_plate, "end")):
        if plate is None:
            continue
        if kind == "rigid":
            raise MachineError(
                f"the {where} of the body is held and has a plate as well",
                hint="a plate lies on an end that nothing else holds",
            )
        if not (plate.thickness > 0.0 and plate.E > 0.0):
            raise MachineError(f"the plate on the {where} needs a thickness and a modulus above 0")
    if end_plate is not None and end_plate.bolts is not None:
        raise MachineError("only a plate at the start of a member can stand on bolts")


def _plates(
    body: Extrusion,
    base_plate: PlateSpec | None,
    end_plate: PlateSpec | None,
    diaphragms: Sequence[DiaphragmSpec],
    whole: SectionMesh,
) -> tuple[Plate, ...]:
    spans, last = body.pattern, 2 * (len(body.ends) - 1)
    found = []
    if base_plate is not None:
        found.append(plate_operator(base_plate, whole, spans, at_end=False, plane=0))
    if end_plate is not None:
        found.append(plate_operator(end_plate, whole, spans, at_end=True, plane=last))
    bounds = np.cumsum(spans.lengths)[:-1]
    for diaphragm in diaphragms:
        for s in diaphragm_heights(diaphragm):
            plane = 2 * int(np.argmin(np.abs(body.ends - s)))
            found.append(membrane(diaphragm, whole, spans, int(np.searchsorted(bounds, s)), plane=plane))
    return tuple(found)


def _finest(spans: Pattern) -> float:
    """Height of the smallest elements: 1.4 wall thicknesses, at most a tenth of the width."""
    wall = spans.triangles[spans.wall]
    return min(
        1.4 * wall_thickness(spans.nodes, wall), 0.1 * float(np.ptp(spans.nodes[wall], axis=(0, 1)).max())
    )


def wall_thickness(nodes: Array, triangles: Index) -> float:
    """Mean thickness of walls: twice their area over their edge [m].

    Parameters
    ----------
    nodes : ndarray, shape (nodes, 2)
    triangles : ndarray of int, shape (triangles, 6)
    """
    a, b, c = (nodes[triangles[:, k]] for k in range(3))
    u, v = b - a, c - a
    area = 0.5 * float(np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).sum())
    edges = outer_edges(triangles)
    perimeter = float(np.linalg.norm(nodes[edges[:, 1]] - nodes[edges[:, 0]], axis=1).sum())
    return 2.0 * area / perimeter


def predicted_bytes(body: Extrusion, interfaces: int, *, started: bool = False) -> int:
    """Peak memory that the solution is expected to take, above that of the running program [bytes].

    Parameters
    ----------
    body : Extrusion
    interfaces : int
    started : bool
        Whether section shapes are there to start from: answers to single forces are then not needed.
    """
    size, spans = body.pattern.slip.spread.shape[1], len(body.sections)
    cases = 6 * max(interfaces - 1, 1)
    loaded = sum((c.section.diagonal() for c in body.contacts), start=np.zeros(size))
    forces = 0 if started else 2 * RUNGS * spans * (int(np.count_nonzero(loaded)) + RANDOM)
    rank = min(size, 250 + 15 * cases)
    chain = 5 * rank**2 * (len(body.ends) - 1)
    fields = size * (6 * len(body.planes) * cases + forces + 3 * rank)
    factors = 10 * size * np.log2(size) * RUNGS * (2 * spans - 1)
    return int(8 * (chain + fields + factors))


def _check_memory(body: Extrusion, interfaces: int, cap: int, started: bool) -> None:
    need = predicted_bytes(body, interfaces, started=started)
    if need > cap:
        raise LimitError(
            f"the body would need about {need / 2**30:.2g} GiB, at most {cap / 2**30:.2g} GiB are allowed",
            hint='take it as a beam (model = "beam"), or leave small details out of its outline',
        )


def _problem(
    body: Extrusion,
    base: EndKind,
    end: EndKind,
    pads: Sequence[PadSpec],
    cuts: Sequence[float],
    positions: Array,
    grounded: bool,
) -> _galerkin.Body:
    """What is asked of the body: unit motions of all interfaces but the first, unit forces on cuts."""
    nodes, planes, slip = body.pattern.nodes, body.planes, body.pattern.slip
    ends = grounded + (end == "rigid")
    count = 6 * (len(positions) - 1)
    size = slip.spread.shape[1]
    still = np.zeros((size, count))
    last = None
    if end == "rigid":
        last = still.copy()
        if grounded:
            last[:, :6] = slip.unknowns_of(rigid_fields(nodes, positions[1])[0])
    bedded = np.zeros((len(pads), len(body.span)), dtype=bool)
    rigid = np.zeros((len(pads), len(planes), size, 6))
    for i in range(len(pads)):
        bedded[i, body.under(i)] = True
        at, rise = map(slip.unknowns_of, rigid_fields(nodes, positions[ends + i]))
        rigid[i] = at + (planes - positions[ends + i, 2])[:, None, None] * rise
    cut_planes = 2 * np.array([np.argmin(np.abs(body.ends - s)) for s in cuts], dtype=np.int64)
    spread = slip.spread.T
    spreads = [spread @ spread_forces(body.pattern, at) for at in positions[ends + len(pads) :]]
    return _galerkin.Body(
        lengths=np.diff(body.ends),
        span=body.span,
        sections=body.sections,
        springs=tuple(c.section for c in body.contacts),
        bedded=bedded,
        rigid=rigid,
        cases=6 * (ends + np.arange(len(pads)) - 1),
        along=slip.along,
        spreads=np.array(spreads).reshape(-1, size, 6),
        cut_planes=cut_planes,
        cut_cases=6 * (ends + len(pads) + np.arange(len(cuts)) - 1),
        plates=(),
        plane_motions=slip.unknowns_of(rigid_fields(nodes, np.zeros(3))[0]),
        first=still if base == "rigid" else None,
        last=last,
        count=count,
    )


def _ladder(body: _galerkin.Body) -> Array:
    """Wave numbers from the length of the body to its finest elements [1/m]."""
    return np.geomspace(1.0 / body.lengths.sum(), 2.5 / body.lengths.min(), RUNGS)


def _solve(
    body: _galerkin.Body, tolerance: float, tell: Progress, start: Array | None = None
) -> tuple[_galerkin.Reduced, Array, tuple[Array, Array], float]:
    """Shapes, amplitudes, energy of the cases with its part in the pads, and the relative energy still missing."""
    waves = _ladder(body)
    solvers = [
        [_shapes.factorised(_shapes.wave_matrix(s, body.along, k)) for k in waves]
        for s in (*body.sections, *_at_changes(body))
    ]
    if start is None:
        shapes = _first(body, solvers)
    else:
        shapes = _shapes.first_shapes(body.plane_motions, start, body.along, KEPT)
    loads = _galerkin.loads(body)
    most = ADDED + (min(body.count, 12) - 6) * ADDED // 6
    allowed = np.where(body.forced, ON_CUTS, 1.0)
    reduced = None
    for number in range(ROUNDS):
        tell(0.3 + 0.6 * number / ROUNDS, f"round {number + 1}: {shapes.shape[1]} shapes")
        reduced = _galerkin.projected(body, shapes, reduced)
        motion = _galerkin.amplitudes(reduced, loads)
        stiffness, beds = _galerkin.interface_energy(reduced, loads, motion)
        size = np.abs(np.diag(stiffness))
        corrections, energy = _corrections(body, waves, solvers, _galerkin.residual(reduced, loads, motion))
        missing = float(np.max(energy / size / allowed, initial=0.0))
        if missing <= tolerance:
            return reduced, motion, (stiffness, beds), missing
        weighted = (corrections / np.sqrt(size)).reshape(len(shapes), -1)
        shapes = _shapes.more_shapes(shapes, weighted, body.along, most, LEFT_OUT)
    raise NotConvergedError(
        f"the body is still missing {missing:.1e} of its energy with {shapes.shape[1]} section shapes",
        hint="look for slivers in the section mesh, or allow a larger tolerance",
    )


def _changes(body: _galerkin.Body) -> Index:
    """Elements above which the span changes."""
    found: Index = np.flatnonzero(np.diff(body.span))
    return found


def _at_changes(body: _galerkin.Body) -> list[tuple[sparse.csr_array, ...]]:
    """What a plane between two spans is made of: half of each."""
    pairs = [(body.span[e], body.span[e + 1]) for e in _changes(body)]
    return [
        tuple(
            (0.5 * (below + above)).tocsr()
            for below, above in zip(body.sections[a], body.sections[b], strict=True)
        )
        for a, b in pairs
    ]


def _first(body: _galerkin.Body, solvers: list[list[_shapes.Solver]]) -> Array:
    """Rigid motions, and answers to forces at pads and all over each section."""
    fields = []
    for s, section in enumerate(body.sections):
        pads = [
            springs
            for springs, under in zip(body.springs, body.bedded, strict=True)
            if np.any(body.span[under] == s)
        ]
        pulled = [
            spread
            for spread, plane in zip(body.spreads, body.cut_planes, strict=True)
            if body.span[min(plane // 2, len(body.span) - 1)] == s
        ]
        load = np.hstack([_shapes.forces(section, pads, RANDOM), *pulled])
        fields += [_shapes.answers(solve, load) for solve in solvers[s]]
    return _shapes.first_shapes(body.plane_motions, np.hstack(fields), body.along, FIRST)


def _corrections(
    body: _galerkin.Body, waves: Array, solvers: list[list[_shapes.Solver]], left: Array
) -> tuple[Array, Array]:
    """Fields that would balance each plane by itself, (unknowns, planes, cases), and their energy, (cases,)."""
    h = np.empty(body.planes)
    h[1::2] = body.lengths
    h[[0, -1]] = body.lengths[[0, -1]]
    h[2:-1:2] = 0.5 * (body.lengths[1:] + body.lengths[:-1])
    # K(k) h is the block of a plane when k² = (16/3 / h) / (16/30 h)
    rung = np.abs(np.log(waves)[:, None] - np.log(np.sqrt(10.0) / h)).argmin(axis=0)
    span = np.minimum(np.arange(body.planes) // 2, len(body.lengths) - 1)
    section = body.span[span]
    section[2 * _changes(body) + 2] = len(body.sections) + np.arange(len(_changes(body)))
    balanced = np.empty((left.shape[1], body.planes, left.shape[2]))
    energy = np.zeros(left.shape[2])
    for s, r in {(int(s), int(r)) for s, r in zip(section, rung, strict=True)}:
        here = np.flatnonzero((section == s) & (rung == r))
        scaled = left[here].transpose(1, 0, 2) / np.sqrt(h[here])[:, None]
        balanced[:, here] = solvers[s][r](scaled.reshape(len(scaled), -1)).reshape(scaled.shape)
        energy += np.einsum("npj,npj->j", scaled, balanced[:, here])
    return balanced, energy
