"""Kernel: balance of the parts, from the geometry alone.

Motions u of a loop are motions of its parts as rigid bodies, a, and what their elements deform, v:

    u = T a + W v,        openings of the joints:  J u.

Turned round (virtual work) the same matrices are balance: forces z in the elements and q in the joints carry loads f if

    T'(f - J'q) = 0,      z = W'(f - J'q) + Y b

where b are bimoments that hold each other at a station. Everything that says which forces can choose, and how many, is
here; no stiffness is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.machine.statics.choose import GAP

__all__ = ["Geometry", "geometry"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Geometry:
    """Statics of a loop without its stiffnesses.

    Parameters
    ----------
    rigid : ndarray, shape (motions, 6 parts)
        T.
    deforming : ndarray, shape (motions, element forces)
        W.
    bimoments : ndarray, shape (element forces, b)
        Y.
    openings : ndarray, shape (joint components, motions)
        J.
    element_unit, joint_unit : ndarray
        1 for a force, the size of the machine for a couple, its square for a bimoment: a force over its unit is of one
        kind with all others, and so is an opening or a deformation times it.
    opening_rigid, opening_deforming : ndarray
        J T and J W.
    states : ndarray, shape (joint components, r)
        Orthonormal self-stresses of the joints, in these units.
    sizes : tuple of ndarray
        Absolute values of `rigid`, `deforming` and `opening_deforming`, which every estimate of rounding asks for.
    margin : float
        Smallest singular value of the balance of the parts; what is near 0 is nearly free to move.
    """

    rigid: Array
    deforming: Array
    bimoments: Array
    openings: Array
    element_unit: Array
    joint_unit: Array
    opening_rigid: Array
    opening_deforming: Array
    states: Array
    sizes: tuple[Array, Array, Array]
    margin: float

    @property
    def indeterminacy(self) -> int:
        """Number of self-stresses of the joints, r."""
        return int(self.states.shape[1])


def geometry(
    rigid: Array,
    deforming: Array,
    bimoments: Array,
    openings: Array,
    element_unit: Array,
    joint_unit: Array,
    length: float,
) -> Geometry:
    """Count and span the self-stresses of a loop.

    Parameters
    ----------
    rigid, deforming, bimoments, openings, element_unit, joint_unit
        As in `Geometry`.
    length : float
        Size of the machine [m].

    Returns
    -------
    Geometry
    """
    opening_rigid = openings @ rigid
    part_unit = np.tile([1.0, 1.0, 1.0, length, length, length], rigid.shape[1] // 6)
    scaled = joint_unit[:, None] * opening_rigid / part_unit[None, :]
    left, values, _ = np.linalg.svd(scaled, full_matrices=True)
    rank = int(np.sum(values > GAP * max(float(values[0]) if len(values) else 0.0, 1e-300)))
    complete = rank == rigid.shape[1]
    opening_deforming = openings @ deforming
    return Geometry(
        rigid=rigid,
        deforming=deforming,
        bimoments=bimoments,
        openings=openings,
        element_unit=element_unit,
        joint_unit=joint_unit,
        opening_rigid=opening_rigid,
        opening_deforming=opening_deforming,
        states=left[:, rank:],
        sizes=(np.abs(rigid), np.abs(deforming), np.abs(opening_deforming)),
        margin=float(values[-1]) if complete and len(values) else 0.0,
    )
