"""Kernel: the body in amplitudes of section shapes. Arrays in and out, no checks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from strongback.machine.body import _kron
from strongback.machine.body._chain import solve_chain

Array = NDArray[np.float64]
Index = NDArray[np.int64]


class OnPlane(Protocol):
    """Stiffness on the unknowns of one plane."""

    @property
    def plane(self) -> int:
        """The plane."""
        ...

    def forces(self, shapes: Array) -> Array:
        """Forces for unit amplitudes of shapes, (unknowns, n)."""
        ...


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """Height elements with their sections and pad springs, and what is asked of them.

    lengths : (elements,) [m]
    span : (elements,) which of `sections` each has
    sections : E0, E1, E2 of every span
    springs : pad springs per length, (unknowns, unknowns) each
    bedded : (pads, elements) whether the element lies under the pad
    rigid : (pads, planes, unknowns, 6) motion of the nodes with each pad, of any size when not under it
    cases : (pads,) first column of the unit motions of each pad; -1 for one that stands still
    along : (unknowns,) which unknowns of a section are motions along s
    spreads : (cuts, unknowns, 6) unit forces and couples spread over each cut
    cut_planes : (cuts,) planes of the cuts
    cut_cases : (cuts,) first column of the unit forces on each cut
    plates : on planes that are ends of elements
    plane_motions : (unknowns, 6) rigid motions of a plane
    first, last : (unknowns, cases) motion of the end planes where it is given, or None
    """

    lengths: Array
    span: Index
    sections: tuple[tuple[sparse.csr_array, ...], ...]
    springs: tuple[sparse.csr_array, ...]
    bedded: NDArray[np.bool_]
    rigid: Array
    cases: Index
    along: NDArray[np.bool_]
    spreads: Array
    cut_planes: Index
    cut_cases: Index
    plates: tuple[OnPlane, ...]
    plane_motions: Array
    first: Array | None
    last: Array | None
    count: int  # of cases

    @property
    def planes(self) -> int:
        return 2 * len(self.lengths) + 1

    @property
    def forced(self) -> NDArray[np.bool_]:
        """Cases that are forces on a cut and not motions of an interface, (cases,)."""
        found = np.zeros(self.count, dtype=bool)
        for start in self.cut_cases:
            found[start : start + 6] = True
        return found


def loads(body: Body) -> Array:
    """Forces on the nodes, (planes, unknowns, cases).

    Those of the pad springs for unit motions of the pads, and unit forces on the cuts.
    """
    found = np.zeros((body.planes, body.sections[0][0].shape[0], body.count))
    for spread, plane, start in zip(body.spreads, body.cut_planes, body.cut_cases, strict=True):
        found[plane, :, start : start + 6] = spread
    for i, springs in enumerate(body.springs):
        if body.cases[i] < 0:
            continue
        column = slice(body.cases[i], body.cases[i] + 6)
        for e in np.flatnonzero(body.bedded[i]):
            at = slice(2 * e, 2 * e + 3)
            pressed = np.stack([springs @ field for field in body.rigid[i, at]])
            found[at, :, column] += body.lengths[e] * np.einsum("pq,qnj->pnj", _kron.H00, pressed)
    return found


@dataclass(frozen=True, slots=True, eq=False)
class Reduced:
    """The body projected on shapes.

    plates : forces of the plates on the shapes, (unknowns, rank) each
    sections : E0, E1, E2 of every span projected, (rank, rank) each
    springs, stiff : pad springs and plates projected, (rank, rank) each
    """

    body: Body
    shapes: Array
    plates: tuple[Array, ...]
    sections: tuple[tuple[Array, Array, Array], ...]
    springs: tuple[Array, ...]
    stiff: tuple[Array, ...]

    def element(self, e: int) -> Array:
        """Stiffness of a height element, pad springs included, (3 rank, 3 rank)."""
        body, h = self.body, self.body.lengths[e]
        E0, E1, E2 = self.sections[body.span[e]]
        bed = sum((C for C, under in zip(self.springs, body.bedded[:, e], strict=True) if under), start=E0)
        cross = np.kron(_kron.H01, E1)
        total = np.asarray(np.kron(h * _kron.H00, bed) + cross + cross.T + np.kron(_kron.H11 / h, E2))
        rank, last = len(E0), len(body.lengths) - 1
        for plate, own in zip(body.plates, self.stiff, strict=True):
            if e == min(plate.plane // 2, last):
                at = (plate.plane - 2 * e) * rank
                total[at : at + rank, at : at + rank] += own
        return total


def projected(body: Body, shapes: Array, before: Reduced | None = None) -> Reduced:
    """Project sections, pad springs and plates on orthonormal shapes, the first of which may be those of before."""
    known = 0 if before is None else before.shapes.shape[1]
    plates = tuple(
        np.hstack([*([before.plates[i]] if before is not None else []), plate.forces(shapes[:, known:])])
        for i, plate in enumerate(body.plates)
    )
    sections, springs = [], []
    for i, section in enumerate(body.sections):
        old = (None,) * 3 if before is None else before.sections[i]
        E0, E1, E2 = (
            _bordered(E, shapes, known, own, symmetric)
            for E, own, symmetric in zip(section, old, (True, False, True), strict=True)
        )
        sections.append((E0, E1, E2))
    for i, bed in enumerate(body.springs):
        springs.append(_bordered(bed, shapes, known, None if before is None else before.springs[i], True))
    return Reduced(
        body,
        shapes,
        plates,
        tuple(sections),
        tuple(springs),
        tuple(_symmetric(shapes.T @ forces) for forces in plates),
    )


def _bordered(
    matrix: sparse.csr_array, shapes: Array, known: int, own: Array | None, symmetric: bool
) -> Array:
    """A matrix on the shapes, (rank, rank), where it is known on the first ones."""
    new = shapes[:, known:]
    columns = shapes.T @ (matrix @ new)
    if own is None:
        return np.asarray(columns)
    rows = columns[:known].T if symmetric else (matrix.T @ new).T @ shapes[:, :known]
    return np.block([[own, columns[:known]], [rows, columns[known:]]])


def _symmetric(matrix: Array) -> Array:
    return np.asarray(0.5 * (matrix + matrix.T))


def amplitudes(reduced: Reduced, loads: Array) -> Array:
    """Solve for the amplitudes of the shapes, (planes, rank, cases)."""
    shapes, body = reduced.shapes, reduced.body
    projected_loads = np.einsum("nr,pnj->prj", shapes, loads, optimize=True)
    first = None if body.first is None else shapes.T @ body.first
    last = None if body.last is None else shapes.T @ body.last
    return solve_chain(reduced.element, projected_loads, first, last)


def interface_energy(reduced: Reduced, loads: Array, motion: Array) -> tuple[Array, Array]:
    """Twice the potential energy of the cases, (cases, cases), and the part of it in the pad springs.

    With K the stiffness on the motions of interfaces, G the motion of the cuts with them and C what the cuts give under
    forces of their own while the interfaces stand still, the whole is [[K, -G'], [-G, -C]]. Its error is the square of
    that of the motion, the error of a part is of its first order.
    """
    body = reduced.body
    total, beds = np.zeros((body.count, body.count)), np.zeros((body.count, body.count))
    for e in range(len(body.lengths)):
        part = motion[2 * e : 2 * e + 3].reshape(-1, body.count)
        total += part.T @ (reduced.element(e) @ part)
        for C, under in zip(reduced.springs, body.bedded[:, e], strict=True):
            if under:
                beds += part.T @ (np.kron(body.lengths[e] * _kron.H00, C) @ part)
    shared = np.einsum("nr,pnj,pri->ji", reduced.shapes, loads, motion, optimize=True)
    pressed = np.where(body.forced[:, None], 0.0, shared)
    whole, moved = -shared - shared.T, -pressed - pressed.T
    for i, start in enumerate(body.cases):
        if start >= 0:
            column = slice(start, start + 6)
            own = np.einsum("pni,pnj->ij", body.rigid[i], loads[:, :, column], optimize=True)
            whole[column, column] += own
            moved[column, column] += own
    total, beds = total + whole, beds + moved
    return 0.5 * (total + total.T), 0.5 * (beds + beds.T)


def residual(reduced: Reduced, loads: Array, motion: Array) -> Array:
    """Forces at the nodes that the amplitudes leave unbalanced, (planes, unknowns, cases)."""
    body = reduced.body
    left = loads.transpose(1, 0, 2).reshape(loads.shape[1], -1).copy()
    moved = (reduced.shapes @ motion.transpose(1, 0, 2).reshape(motion.shape[1], -1)).reshape(
        -1, body.planes, body.count
    )
    for s, (E0, E1, E2) in enumerate(body.sections):
        h00, h01, h11 = _heights(body, body.span == s)
        for H, E in ((h00, E0), (h01, E1), (h01.T, E1.T), (h11, E2)):
            left -= E @ _along(H, moved)
    for springs, under in zip(body.springs, body.bedded, strict=True):
        left -= springs @ _along(_heights(body, under)[0], moved)
    unbalanced = left.reshape(loads.shape[1], body.planes, body.count).transpose(1, 0, 2)
    for plate, forces in zip(body.plates, reduced.plates, strict=True):
        unbalanced[plate.plane] -= forces @ motion[plate.plane]
    if body.first is not None:
        unbalanced[0] = 0.0
    if body.last is not None:
        unbalanced[-1] = 0.0
    return unbalanced


def _along(H: Array, moved: Array) -> Array:
    """Motions (unknowns, planes, cases) combined over the planes, (unknowns, planes cases)."""
    return np.asarray(np.matmul(H, moved)).reshape(len(moved), -1)


def _heights(body: Body, chosen: NDArray[np.bool_]) -> tuple[Array, Array, Array]:
    """H00, H01, H11 of the chosen elements, (planes, planes) each."""
    found = tuple(np.zeros((body.planes, body.planes)) for _ in range(3))
    for e in np.flatnonzero(chosen):
        h, at = body.lengths[e], slice(2 * e, 2 * e + 3)
        for total, unit in zip(found, (h * _kron.H00, _kron.H01, _kron.H11 / h), strict=True):
            total[at, at] += unit
    return found[0], found[1], found[2]
