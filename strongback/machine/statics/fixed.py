"""Kernel: numbers with a fixed point, of any length. Arrays in, arrays out, no checks.

A number x is the whole number nearest below x 2^`POINT`, in an array of Python integers: sums are exact and products lose
2^-`POINT`, some 1e-77. What cancels in double precision is told here; it takes about a thousand times as long.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Fixed = NDArray[np.object_]

POINT = 256
ONE = 1 << POINT
NOTHING = 1 << 64  # what is left of numbers that cancel: below 2^(64 - POINT) there is nothing


def fixed(values: Array) -> Fixed:
    """Whole numbers of doubles: exact above 2^(52 - POINT)."""
    flat = [(n << POINT) // d for n, d in (float(v).as_integer_ratio() for v in np.ravel(values))]
    found = np.empty(len(flat), dtype=object)
    found[:] = flat
    return found.reshape(np.shape(values))


def nothing(shape: tuple[int, ...]) -> Fixed:
    """Zeros."""
    found = np.empty(shape, dtype=object)
    found.fill(0)
    return found


def doubles(values: Fixed) -> Array:
    """Nearest doubles; 0 for what is left of numbers that cancel."""
    flat = [float(v / ONE) if abs(v) > NOTHING else 0.0 for v in values.ravel()]
    return np.array(flat, dtype=float).reshape(values.shape)


def product(a: Fixed, b: Fixed) -> Fixed:
    """Matrix product."""
    return np.asarray((a @ b) >> POINT)


def cross(a: Fixed, b: Fixed) -> Fixed:
    """Vector products along the first axis, (3, ...)."""
    return np.stack(
        [
            (a[1] * b[2] - a[2] * b[1]) >> POINT,
            (a[2] * b[0] - a[0] * b[2]) >> POINT,
            (a[0] * b[1] - a[1] * b[0]) >> POINT,
        ]
    )


def unit(v: Fixed) -> Fixed:
    """A vector over its length."""
    length = math.isqrt(sum(int(x) ** 2 for x in v))
    return np.array([(int(x) << POINT) // length for x in v], dtype=object)


def solve(A: Fixed, right: Fixed) -> Fixed:
    """Solutions of A x = right, (n, k), by elimination with the largest pivots.

    Raises
    ------
    ZeroDivisionError
        If there is no pivot.
    """
    n = len(A)
    both = np.hstack([A, right])
    for k in range(n):
        best = k + max(range(n - k), key=lambda i: abs(both[k + i, k]))
        if best != k:
            both[[k, best]] = both[[best, k]]
        row = np.array([(int(v) << POINT) // int(both[k, k]) for v in both[k, k:]], dtype=object)
        both[k, k:] = row
        others = np.flatnonzero([i != k and both[i, k] != 0 for i in range(n)])
        if len(others):
            both[others, k:] -= np.outer(both[others, k], row) >> POINT
    return np.asarray(both[:, n:])
