"""Kernel: which forces to take as unknown. Arrays in, arrays out, no checks."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

GAP = 1e-9  # of the unit of the geometry: what is smaller is nothing


def independent(rows: Array, weight: Array, count: int) -> tuple[NDArray[np.int64], Array]:
    """Up to `count` linearly independent rows, the heaviest first.

    Whether a row still counts is decided by the geometry alone; the weight only says which of those that count is taken.
    So weights may lie twenty decades apart.

    Parameters
    ----------
    rows : ndarray, shape (n, r)
        In units in which what is not zero is of order one.
    weight : ndarray, shape (n,)
        Rows of weight zero are never taken.
    count : int

    Returns
    -------
    index : ndarray of int
        As many as there are, in the order in which they were taken.
    span : ndarray, shape (r, len(index))
        Orthonormal directions of these rows.
    """
    left = rows.copy()
    taken: list[int] = []
    span = np.zeros((rows.shape[1], count))
    while len(taken) < count:
        size = np.sqrt(np.einsum("ij,ij->i", left, left))
        score = np.where(size > GAP, size, 0.0) * weight
        best = int(np.argmax(score))
        if not score[best] > 0.0:
            break
        direction = left[best] / size[best]
        direction -= span @ (span.T @ direction)  # twice is enough (Kahan)
        direction /= np.linalg.norm(direction)
        span[:, len(taken)] = direction
        left -= np.outer(left @ direction, direction)
        taken.append(best)
    return np.array(taken, dtype=np.int64), span[:, : len(taken)]
