"""Kernel: forces in a determinate part of a loop. Arrays in, arrays out, no checks.

As many joint components as the parts have motions carry every load in one way. What comes out of balance alone is told
apart from what rounding leaves: a force that should be zero would move a soft spring by any amount.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from strongback.machine.statics.geometry import Geometry

__all__ = ["NOISE", "Carried", "Determinate", "determinate"]

Array = NDArray[np.float64]
ROUNDS = 2  # of refinement
NOISE = 4.0 * 2.0**-52  # of what a force is the difference of: smaller is nothing


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Carried:
    """Forces in balance with loads, a column a case, and the sizes of what they are sums of.

    Parameters
    ----------
    elements, joints : ndarray, shape (forces, cases)
    element_sizes, joint_sizes : ndarray, shape (forces, cases)
        Times the rounding unit: how far they may be off; 0 where balance says that there is no force.
    """

    elements: Array
    joints: Array
    element_sizes: Array
    joint_sizes: Array

    def columns(self, which: slice) -> Carried:
        """Some of the cases."""
        return Carried(
            elements=self.elements[:, which],
            joints=self.joints[:, which],
            element_sizes=self.element_sizes[:, which],
            joint_sizes=self.joint_sizes[:, which],
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Determinate:
    """Joint components that hold all parts, none too many.

    Solutions are refined in the same precision, which makes every component as exact as its own equations are (Skeel,
    Math. Comp. 35, 1980, 817), and not only as exact as the largest.

    Parameters
    ----------
    geometry : Geometry
    index : ndarray of int, shape (6 parts,)
        The components.
    """

    geometry: Geometry
    index: NDArray[np.int64]
    _matrix: Array
    _factor: tuple[Array, NDArray[np.int32]]
    _inverse: Array

    def forces(self, right: Array) -> Array:
        """Forces of the components from resultants on the parts."""
        return _refined(self._factor, self._matrix, right, transposed=True)

    def motions(self, openings: Array) -> Array:
        """Motions of the parts from openings of the components."""
        return _refined(self._factor, self._matrix, openings)

    def carry(self, loads: Array, *, doubt: bool = False) -> Carried:
        """Forces of these components and of all elements under loads on the motions.

        Parameters
        ----------
        loads : ndarray, shape (motions, cases)
        doubt : bool
            Whether what balance says to be nothing may yet be as much as rounding leaves.

        Returns
        -------
        Carried
        """
        g = self.geometry
        size = np.abs(loads)
        joints, joint_sizes = (np.zeros((len(g.openings), loads.shape[1])) for _ in range(2))
        of_rigid, of_deforming, of_openings = g.sizes
        inverse, resultants = np.abs(self._inverse).T, of_rigid.T @ size
        found = heard(self.forces(g.rigid.T @ loads), inverse @ resultants)
        sizes = inverse @ (resultants + np.abs(self._matrix).T @ np.abs(found))
        sizes = sizes if doubt else np.where(found == 0.0, 0.0, sizes)
        joints[self.index], joint_sizes[self.index] = found, sizes
        elements = g.deforming.T @ loads - g.opening_deforming.T @ joints
        element_sizes = of_deforming.T @ size + of_openings.T @ joint_sizes
        elements = heard(elements, element_sizes)
        if not doubt:
            element_sizes = np.where(elements == 0.0, 0.0, element_sizes)
        return Carried(
            elements=elements,
            joints=joints,
            element_sizes=element_sizes,
            joint_sizes=joint_sizes,
        )


def determinate(geometry: Geometry, index: NDArray[np.int64]) -> Determinate:
    """Factorise the balance of the parts by some joint components.

    Parameters
    ----------
    geometry : Geometry
    index : ndarray of int, shape (6 parts,)

    Returns
    -------
    Determinate
    """
    matrix = geometry.opening_rigid[index]
    factor = scipy.linalg.lu_factor(matrix, check_finite=False)
    return Determinate(
        geometry=geometry,
        index=index,
        _matrix=matrix,
        _factor=factor,
        _inverse=_refined(factor, matrix, np.eye(len(matrix))),
    )


def heard(values: Array, sizes: Array) -> Array:
    """Values that are more than the rounding of what they are sums of; else 0."""
    return np.where(np.abs(values) > NOISE * sizes, values, 0.0)


def _refined(
    factor: tuple[Array, NDArray[np.int32]], matrix: Array, right: Array, *, transposed: bool = False
) -> Array:
    if right.shape[1] == 0:
        return right.copy()
    A, trans = (matrix.T, 1) if transposed else (matrix, 0)
    solve: Callable[..., tuple[Array, int]] = scipy.linalg.lapack.dgetrs  # many small ones: no wrapper
    found = solve(*factor, right, trans)[0]
    for _ in range(ROUNDS):
        found += solve(*factor, right - A @ found, trans)[0]
    return np.asarray(found)
