"""Cuts of a body that carry a force: all six forces and couples spread over the wall that is cut, by area.

A force on one point of a solid makes it give without bound (as one over the distance), whatever the mesh; a strap, a bar
clamped around a column or a bracket takes it to a good part of the wall. What a cut does under it is the mean over its
area, so that work is done by force times motion.
"""

from __future__ import annotations

import numpy as np
import scipy.linalg
import scipy.sparse as sparse
from numpy.typing import NDArray

from strongback.machine.body import _kron
from strongback.machine.body.extrude import Pattern, rigid_fields
from strongback.machine.body.probe import in_height

__all__ = ["facing_motions", "mean_motion", "spread_forces"]

Array = NDArray[np.float64]


def spread_forces(spans: Pattern, point: Array) -> Array:
    """Forces on the nodes of a plane that add up to a unit force or couple each at a point, (3 nodes, 6).

    L = M R (R' M R)⁻¹ with R the rigid motions of the cut and M its mass matrix: L' R = 1, and L' u is the rigid motion
    nearest to u.

    Parameters
    ----------
    spans : Pattern
    point : ndarray, shape (3,)
        In the plane of the cut; the walls of the span that ends or lies there take the force [m].
    """
    span = int(np.searchsorted(np.cumsum(spans.lengths)[:-1], point[2]))
    walls = spans.triangles[spans.wall & (spans.region[span] >= 0)]
    one = np.ones(len(walls))
    # lame + 2 shear = shear = 1: the last of the section matrices is the mass matrix of unit density.
    _, _, mass = _kron.section_matrices(spans.nodes, walls, -one, one)
    rigid, _ = rigid_fields(spans.nodes, point)
    carried = mass @ rigid
    return np.asarray(np.linalg.solve(rigid.T @ carried, carried.T).T)


def mean_motion(spans: Pattern, planes: Array, s: float) -> sparse.csr_array:
    """Mean motion of the cut at a height from the motions of all nodes, sparse (6, 3 planes nodes).

    Parameters
    ----------
    spans : Pattern
    planes : ndarray, shape (planes,)
        [m]
    s : float
        [m]

    Raises
    ------
    MachineError
        If the height is not on the body.
    """
    first, heights = in_height(planes, "a bar", s)
    rows = spread_forces(spans, np.array([0.0, 0.0, s])).T
    before, after = (
        sparse.csr_array((6, rows.shape[1] * count)) for count in (first, len(planes) - first - 3)
    )
    return sparse.hstack([before, *(h * sparse.csr_array(rows) for h in heights), after], format="csr")


def facing_motions(energy: Array, forced: NDArray[np.bool_]) -> tuple[Array, Array]:
    """From forces on cuts to their motions as what is given.

    Parameters
    ----------
    energy : ndarray, shape (cases, cases)
        [[K, -G'], [-G, -C]], see `_galerkin.interface_energy`.
    forced : ndarray of bool, shape (cases,)
        Cases that are forces on a cut.

    Returns
    -------
    stiffness : ndarray, shape (cases, cases)
        On the motions of interfaces and cuts.
    states : ndarray, shape (cases, cases)
        Cases of before in a column for each unit motion.
    """
    states = np.eye(len(energy))
    cut, rest = np.flatnonzero(forced), np.flatnonzero(~forced)
    if len(cut) == 0:
        return energy, states
    give = scipy.linalg.cho_factor(-energy[np.ix_(cut, cut)])
    states[np.ix_(cut, cut)] = scipy.linalg.cho_solve(give, np.eye(len(cut)))
    states[np.ix_(cut, rest)] = scipy.linalg.cho_solve(give, energy[np.ix_(cut, rest)])  # - C⁻¹ G
    stiffness = np.zeros_like(energy)
    stiffness[rest] = energy[np.ix_(rest, rest)] @ states[rest] + energy[np.ix_(rest, cut)] @ states[cut]
    stiffness[np.ix_(cut, rest)] = states[np.ix_(cut, rest)]
    stiffness[np.ix_(cut, cut)] = states[np.ix_(cut, cut)]
    return 0.5 * (stiffness + stiffness.T), states
