"""Fills that slide along the member: nodes of their own at the face of the fill, tied to the wall in the plane."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from strongback.machine.body.values import SlipSpec

__all__ = ["Interface", "separated", "slip_springs"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]

# Three-node side (start, end, middle): integral of N_i N_j over its length.
_MASS = np.array([[4.0, -1.0, 2.0], [-1.0, 4.0, 2.0], [2.0, 2.0, 16.0]]) / 30.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Interface:
    """Sides between fill and wall along which there may be slip.

    Parameters
    ----------
    wall, fill : ndarray of int, shape (sides, 3)
        Nodes at the start, end and middle of each side, on the wall and their doubles on the fill.
    owner : ndarray of int, shape (sides,)
        Triangle of the fill.
    stiffness : ndarray, shape (sides,)
        [N/m³]
    spread : sparse array, shape (3 nodes, unknowns)
        Displacements from unknowns: doubles share the motion of the wall in the plane.
    """

    wall: Index
    fill: Index
    owner: Index
    stiffness: Array
    spread: sparse.csr_array

    @property
    def along(self) -> NDArray[np.bool_]:
        """Which unknowns are motions along the member, (unknowns,)."""
        component = np.arange(self.spread.shape[0]) % 3 == 2
        return np.asarray(self.spread.T @ component.astype(float) > 0.0)

    def unknowns_of(self, fields: Array) -> Array:
        """Unknowns (unknowns, n) of fields (3 nodes, n) in which doubles move like the wall."""
        count = np.asarray(self.spread.sum(axis=0)).ravel()
        return np.asarray((self.spread.T @ fields) / count[:, None])


def separated(
    nodes: Array, triangles: Index, core: Index, slips: Sequence[SlipSpec]
) -> tuple[Array, Index, Interface]:
    """Give every sliding fill its own nodes where it touches others.

    Parameters
    ----------
    nodes : ndarray, shape (nodes, 2)
    triangles : ndarray of int, shape (triangles, 6)
    core : ndarray of int, shape (triangles,)
        Number of the sliding fill a triangle belongs to; -1 for none.
    slips : sequence of SlipSpec
    """
    split, origin = triangles.copy(), [np.arange(len(nodes))]
    sides = np.stack([triangles[:, [0, 1, 3]], triangles[:, [1, 2, 4]], triangles[:, [2, 0, 5]]], axis=1)
    wall, fill, owner = [np.zeros((0, 3), np.int64)], [np.zeros((0, 3), np.int64)], [np.zeros(0, np.int64)]
    for i in range(len(slips)):
        chosen = np.flatnonzero(core == i)
        outside = np.zeros(len(nodes), dtype=bool)
        outside[triangles[core != i]] = True
        shared = np.unique(triangles[chosen][outside[triangles[chosen]]])
        double = np.arange(len(nodes))
        double[shared] = sum(map(len, origin)) + np.arange(len(shared))
        origin.append(shared)
        split[chosen] = double[triangles[chosen]]
        at = outside[sides[chosen][:, :, 2]]
        wall.append(sides[chosen][at])
        fill.append(double[sides[chosen][at]])
        owner.append(np.repeat(chosen[:, None], 3, axis=1)[at])
    of = np.concatenate(origin)
    value = np.array([slip.stiffness for slip in slips])
    owners = np.concatenate(owner)
    return (
        nodes[of].copy(),
        split,
        Interface(
            wall=np.vstack(wall),
            fill=np.vstack(fill),
            owner=owners,
            stiffness=value[core[owners]] if len(owners) else np.zeros(0),
            spread=_spread(of, len(nodes)),
        ),
    )


def _spread(of: Index, count: int) -> sparse.csr_array:
    """Displacements of all nodes, doubles last, from unknowns: three a node, then the slide of each double."""
    doubles = len(of) - count
    column = 3 * of[:, None] + np.arange(3)
    column[count:, 2] = 3 * count + np.arange(doubles)
    rows = np.arange(3 * len(of))
    shape = (3 * len(of), 3 * count + doubles)
    return sparse.coo_array((np.ones(len(rows)), (rows, column.ravel())), shape=shape).tocsr()


def slip_springs(slip: Interface, held: NDArray[np.bool_], nodes: Array) -> sparse.csr_array:
    """Springs along the member between fill and wall per length, (3 nodes, 3 nodes) [N/m²].

    Parameters
    ----------
    slip : Interface
    held : ndarray of bool, shape (sides,)
        Where there is fill.
    nodes : ndarray, shape (nodes, 2)
    """
    wall, fill = slip.wall[held], slip.fill[held]
    length = np.linalg.norm(nodes[wall[:, 1]] - nodes[wall[:, 0]], axis=1)
    jump = np.kron(np.array([[1.0, -1.0], [-1.0, 1.0]]), _MASS)
    springs = (length * slip.stiffness[held])[:, None, None] * jump
    unknowns = 3 * np.hstack([wall, fill]) + 2
    rows, columns = np.repeat(unknowns, 6, axis=1).ravel(), np.tile(unknowns, (1, 6)).ravel()
    size = 3 * len(nodes)
    return sparse.coo_array((springs.ravel(), (rows, columns)), shape=(size, size)).tocsr()
