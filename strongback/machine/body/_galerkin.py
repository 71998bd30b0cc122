"""Kernel: the body in amplitudes of section shapes. Arrays in and out, no checks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from strongback.machine.body import _kron
from strongback.machine.body._chain import solve_chain

Array = NDArray[np.float64]
Index = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """Height elements with their sections and pad springs, and what is asked of them.

    lengths : (elements,) [m]
    span : (elements,) which of `sections` each has
    sections : E0, E1, E2 of every span
    springs : pad springs per length, (3 nodes, 3 nodes) each
    bedded : (pads, elements) whether the element lies under the pad
    rigid : (pads, planes, 3 nodes, 6) motion of the nodes with each pad, of any size when not under it
    cases : (pads,) first column of the unit motions of each pad; -1 for one that stands still
    plane_motions : (3 nodes, 6) rigid motions of a plane
    first, last : (3 nodes, cases) motion of the end planes where it is given, or None
    """

    lengths: Array
    span: Index
    sections: tuple[tuple[sparse.csr_array, ...], ...]
    springs: tuple[sparse.csr_array, ...]
    bedded: NDArray[np.bool_]
    rigid: Array
    cases: Index
    plane_motions: Array
    first: Array | None
    last: Array | None
    count: int  # of cases

    @property
    def planes(self) -> int:
        return 2 * len(self.lengths) + 1


def pad_loads(body: Body) -> Array:
    """Forces of the pad springs on the nodes for unit motions of the pads, (planes, 3 nodes, cases)."""
    loads = np.zeros((body.planes, body.sections[0][0].shape[0], body.count))
    for i, springs in enumerate(body.springs):
        if body.cases[i] < 0:
            continue
        column = slice(body.cases[i], body.cases[i] + 6)
        for e in np.flatnonzero(body.bedded[i]):
            at = slice(2 * e, 2 * e + 3)
            pressed = np.stack([springs @ field for field in body.rigid[i, at]])
            loads[at, :, column] += body.lengths[e] * np.einsum("pq,qnj->pnj", _kron.H00, pressed)
    return loads


@dataclass(frozen=True, slots=True, eq=False)
class Reduced:
    """The body projected on shapes."""

    body: Body
    shapes: Array  # (3 nodes, rank)
    sections: tuple[tuple[Array, Array, Array], ...]
    springs: tuple[Array, ...]

    def element(self, e: int) -> Array:
        """Stiffness of a height element, pad springs included, (3 rank, 3 rank)."""
        body, h = self.body, self.body.lengths[e]
        E0, E1, E2 = self.sections[body.span[e]]
        bed = sum((C for C, under in zip(self.springs, body.bedded[:, e], strict=True) if under), start=E0)
        cross = np.kron(_kron.H01, E1)
        total = np.kron(h * _kron.H00, bed) + cross + cross.T + np.kron(_kron.H11 / h, E2)
        return np.asarray(total)


def projected(body: Body, shapes: Array) -> Reduced:
    """Project sections and pad springs on orthonormal shapes."""

    def onto(matrix: sparse.csr_array) -> Array:
        return np.asarray(shapes.T @ (matrix @ shapes))

    return Reduced(
        body,
        shapes,
        tuple((onto(E0), onto(E1), onto(E2)) for E0, E1, E2 in body.sections),
        tuple(onto(springs) for springs in body.springs),
    )


def amplitudes(reduced: Reduced, loads: Array) -> Array:
    """Solve for the amplitudes of the shapes, (planes, rank, cases)."""
    shapes, body = reduced.shapes, reduced.body
    projected_loads = np.einsum("nr,pnj->prj", shapes, loads, optimize=True)
    first = None if body.first is None else shapes.T @ body.first
    last = None if body.last is None else shapes.T @ body.last
    return solve_chain(reduced.element, projected_loads, first, last)


def interface_stiffness(reduced: Reduced, loads: Array, motion: Array) -> Array:
    """Stiffness on the cases as twice their energy, (cases, cases): its error is the square of that of the motion."""
    body = reduced.body
    total = np.zeros((body.count, body.count))
    for e in range(len(body.lengths)):
        part = motion[2 * e : 2 * e + 3].reshape(-1, body.count)
        total += part.T @ (reduced.element(e) @ part)
    shared = np.einsum("nr,pnj,pri->ji", reduced.shapes, loads, motion, optimize=True)
    total -= shared + shared.T
    for i, start in enumerate(body.cases):
        if start >= 0:
            column = slice(start, start + 6)
            total[column, column] += np.einsum(
                "pni,pnj->ij", body.rigid[i], loads[:, :, column], optimize=True
            )
    return 0.5 * (total + total.T)


def residual(reduced: Reduced, loads: Array, motion: Array) -> Array:
    """Forces at the nodes that the amplitudes leave unbalanced, (planes, 3 nodes, cases)."""
    body, shapes = reduced.body, reduced.shapes
    left = loads.copy()
    forces = [_forces(section, shapes) for section in body.sections]
    beds = [springs @ shapes for springs in body.springs]
    for e, h in enumerate(body.lengths):
        at = slice(2 * e, 2 * e + 3)
        F0, F1, F1T, F2 = forces[body.span[e]]
        bed = sum((B for B, under in zip(beds, body.bedded[:, e], strict=True) if under), start=F0)
        for H, F in ((h * _kron.H00, bed), (_kron.H01, F1), (_kron.H01.T, F1T), (_kron.H11 / h, F2)):
            left[at] -= F @ np.einsum("pq,qrj->prj", H, motion[at])
    if body.first is not None:
        left[0] = 0.0
    if body.last is not None:
        left[-1] = 0.0
    return left


def _forces(section: tuple[sparse.csr_array, ...], shapes: Array) -> tuple[Array, Array, Array, Array]:
    E0, E1, E2 = section
    return E0 @ shapes, E1 @ shapes, E1.T @ shapes, E2 @ shapes
