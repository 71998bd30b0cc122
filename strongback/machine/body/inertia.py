"""Mass of a body on the motions of its interfaces."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from strongback.machine.body import _kron
from strongback.machine.body.extrude import Extrusion, rigid_fields

__all__ = ["interface_mass"]

Array = NDArray[np.float64]


def interface_mass(body: Extrusion, shapes: Array, motion: Array, anchor: Array, follow: Array) -> Array:
    """Mass on the motions of all interfaces, (6 interfaces, 6 interfaces).

    M = Psi' m Psi with Psi the fields for unit motions of the interfaces at rest (Guyan, AIAA J. 3 (1965) 380): what is
    added is exact for motions as a whole, and too large by what the body swings in between.

    Parameters
    ----------
    body : Extrusion
    shapes : ndarray, shape (3 nodes, shapes)
    motion : ndarray, shape (planes, shapes, cases)
        For unit motions of the interfaces but the first, which stands still.
    anchor : ndarray, shape (3,)
        The first interface.
    follow : ndarray, shape (cases, 6 interfaces)
        Cases from the motions of all interfaces.
    """
    spans, planes = body.pattern, body.planes
    at, rise = rigid_fields(spans.nodes, anchor)
    basis = np.hstack([at, rise, shapes])
    whole = np.zeros((len(planes), basis.shape[1], follow.shape[1]))
    whole[:, :6, :6] = np.eye(6)
    whole[:, 6:12, :6] = (planes - anchor[2])[:, None, None] * np.eye(6)
    whole[:, 12:] = motion @ follow
    total = np.zeros((follow.shape[1], follow.shape[1]))
    lengths = np.diff(body.ends)
    for s in range(len(spans.lengths)):
        there = spans.region[s] >= 0
        density = spans.density[spans.region[s][there]]
        # lame + 2 shear = shear = density: the last of the section matrices is the mass matrix.
        _, _, mass = _kron.section_matrices(spans.nodes, spans.triangles[there], -density, density)
        own = basis.T @ (mass @ basis)
        for e in np.flatnonzero(body.span == s):
            part = whole[2 * e : 2 * e + 3]
            total += lengths[e] * np.einsum("pq,pai,ab,qbj->ij", _kron.H00, part, own, part, optimize=True)
    return np.asarray(0.5 * (total + total.T))
