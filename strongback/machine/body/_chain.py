"""Kernel: a chain of height elements solved by block elimination. Arrays in and out, no checks.

Every plane of the body has r amplitudes. An element joins three planes (start, middle, end). Its middle plane is
eliminated at once, the others from the bottom to the top; dense Cholesky factors throughout.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class _Eliminated:
    """A plane u eliminated: L' u = right - links @ (planes that it hangs on)."""

    factor: Array
    links: Array
    right: Array

    def back(self, others: Array) -> Array:
        load = self.right - self.links @ others
        return np.asarray(
            scipy.linalg.solve_triangular(self.factor, load, lower=True, trans=1, check_finite=False)
        )


def _eliminate(own: Array, links: Array, load: Array) -> tuple[_Eliminated, Array, Array]:
    """Eliminate a plane; what it takes from the stiffness and the load of the planes that it hangs on."""
    factor = scipy.linalg.cholesky(own, lower=True, check_finite=False)
    both = scipy.linalg.solve_triangular(factor, np.hstack([links, load]), lower=True, check_finite=False)
    width = links.shape[1]
    taken = both[:, :width].T @ both
    return _Eliminated(factor, both[:, :width], both[:, width:]), taken[:, :width], taken[:, width:]


def solve_chain(
    element: Callable[[int], Array], loads: Array, first: Array | None, last: Array | None
) -> Array:
    """Amplitudes of all planes.

    Parameters
    ----------
    element : callable
        Stiffness (3r, 3r) of an element by its number.
    loads : ndarray, shape (planes, r, cases)
    first, last : ndarray, shape (r, cases), optional
        Amplitudes at the two end planes where they are given; None where the plane is free.

    Returns
    -------
    ndarray, shape (planes, r, cases)
    """
    planes, r, _ = loads.shape
    count = (planes - 1) // 2
    middles: list[_Eliminated] = []
    corners: list[_Eliminated | None] = []
    own, load = np.zeros((r, r)), loads[0]
    for e in range(count):
        K = element(e)
        outer = np.r_[:r, 2 * r : 3 * r]
        middle, taken, moved = _eliminate(K[r : 2 * r, r : 2 * r], K[r : 2 * r, outer], loads[2 * e + 1])
        middles.append(middle)
        K = K[np.ix_(outer, outer)] - taken
        own, load = own + K[:r, :r], load - moved[:r]
        own_next, load_next = K[r:, r:], loads[2 * e + 2] - moved[r:]
        if e == 0 and first is not None:
            corners.append(None)
            own, load = own_next, load_next - K[r:, :r] @ first
            continue
        corner, taken, moved = _eliminate(own, K[:r, r:], load)
        corners.append(corner)
        own, load = own_next - taken, load_next - moved
    if last is None:
        last = scipy.linalg.solve(own, load, assume_a="pos", check_finite=False)
    return _back(loads.shape, middles, corners, first, last)


def _back(
    shape: tuple[int, ...],
    middles: list[_Eliminated],
    corners: list[_Eliminated | None],
    first: Array | None,
    last: Array,
) -> Array:
    solution = np.zeros(shape)
    solution[-1] = last
    for e in range(len(middles) - 1, -1, -1):
        corner = corners[e]
        following = solution[2 * e + 2]
        solution[2 * e] = first if corner is None else corner.back(following)
        solution[2 * e + 1] = middles[e].back(np.vstack([solution[2 * e], following]))
    return solution
