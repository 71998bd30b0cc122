"""Draws of what is not known: one generator for all, an additive recurrence that any language writes in three lines.

The i-th value of the j-th unknown is the fraction of 1/2 + i √p, p the j-th prime (R. D. Richtmyer, Los Alamos report
LA-1342, 1951); the inverse of the normal distribution makes it a standard normal value. No seed: the same question has the
same answer.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

__all__ = ["even_draws", "normal_draws"]

Array = NDArray[np.float64]


def even_draws(count: int, unknowns: int) -> Array:
    """Values spread evenly between 0 and 1, (count, unknowns).

    Parameters
    ----------
    count, unknowns : int

    Examples
    --------
    >>> even_draws(3, 2).round(4).tolist()
    [[0.9142, 0.2321], [0.3284, 0.9641], [0.7426, 0.6962]]
    """
    steps = np.sqrt(_primes(unknowns))
    return np.asarray((0.5 + np.arange(1, count + 1)[:, None] * steps) % 1.0)


def normal_draws(count: int, unknowns: int) -> Array:
    """Standard normal values, (count, unknowns).

    Parameters
    ----------
    count, unknowns : int

    Examples
    --------
    >>> normal_draws(3, 1).round(3).ravel().tolist()
    [1.367, -0.444, 0.652]
    """
    return np.asarray(ndtri(np.clip(even_draws(count, unknowns), 1e-12, 1.0 - 1e-12)))


def _primes(count: int) -> Array:
    found: list[int] = []
    number = 2
    while len(found) < count:
        if all(number % p for p in found if p * p <= number):
            found.append(number)
        number += 1
    return np.array(found, dtype=float)
