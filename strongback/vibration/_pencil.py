"""Kernel: lowest modes of stiffness and mass on ends and held modes. Arrays in and out, no checks but for definiteness.

The pencil is solved turned round, (K + s M)^-1 M, since the mass may be singular; a shift s > 0 only where motions are
free. Of the held modes only those below some limit take part; each mode is then corrected by what the others take,

    w² <- w² - w^4 sum_j (X_j' u)² / (w_j² - w²)         (u of unit modal mass),

within the space of the modes found, so that modes close to each other do not spoil it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

__all__ = ["Found", "lowest"]

Array = NDArray[np.float64]
KEPT = 6.0  # times the highest frequency wanted: held modes below take part
MORE = 4  # modes beyond those wanted, for the correction


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """Modes of a pencil.

    Parameters
    ----------
    squares : ndarray, shape (count,)
        Squared circular frequencies, corrected [rad²/s²].
    left : ndarray, shape (count,)
        Bound of what the correction leaves of them, in the second order [rad²/s²].
    ends : ndarray, shape (n, count)
        Shapes of unit modal mass.
    held : ndarray, shape (b, count)
        Amplitudes of all held modes, those that took no part as they follow.
    """

    squares: Array
    left: Array
    ends: Array
    held: Array


def lowest(K: Array, M: Array, squares: Array, X: Array, count: int, rigid: int) -> Found:
    """Lowest modes.

    Parameters
    ----------
    K, M : ndarray, shape (n, n)
    squares : ndarray, shape (b,)
        Of the held modes.
    X : ndarray, shape (n, b)
        Mass between both.
    count : int
        Wanted, rigid motions among them.
    rigid : int
        Motions that cost nothing.

    Raises
    ------
    numpy.linalg.LinAlgError
        If something is free to move that has no mass.
    """
    shift = _shift(K, M) if rigid else 0.0
    order = np.argsort(squares, kind="stable")
    take = min(len(order), max(0, count + MORE - len(K)))
    while True:  # the highest wanted falls as held modes take part: the first round keeps enough of them
        kept = order[:take]
        values = _solve(K, M, squares[kept], X[:, kept], count + MORE, shift, only_values=True).squares
        top = KEPT**2 * (values[min(count, len(values)) - 1] if len(values) else 0.0)
        enough = int(np.searchsorted(squares[order], top))
        if enough <= take or take == len(order):
            break
        take = enough
        if len(K) >= count + MORE:
            break
    kept = order[:take]
    if rigid and rigid < len(values):  # a shift of the right size
        shift = float(values[rigid])
    solved = _solve(K, M, squares[kept], X[:, kept], count + MORE, shift)
    solved.squares[:rigid] = 0.0
    return _corrected(solved, squares, X, kept, count)


@dataclass(frozen=True, slots=True, eq=False)
class _Solved:
    """Modes of a pencil: their squares, their shapes (each a column), and the scaled factor of K + shift M."""

    squares: Array
    shapes: Array
    scale: Array
    factor: Array
    shift: float


def _shift(K: Array, M: Array) -> float:
    moved = np.diag(M) > 0.0
    return 1e-4 * float(np.min(np.diag(K)[moved] / np.diag(M)[moved]))


def _solve(
    K: Array, M: Array, squares: Array, X: Array, count: int, shift: float, *, only_values: bool = False
) -> _Solved:
    n, b = len(K), len(squares)
    mass = np.block([[M, X], [X.T, np.eye(b)]])
    stiff = scipy.linalg.block_diag(K, np.diag(squares)) + shift * mass
    if not np.all(np.diag(stiff) > 0.0):
        raise np.linalg.LinAlgError("a motion has neither stiffness nor mass")
    scale = 1.0 / np.sqrt(np.diag(stiff))
    factor = scipy.linalg.cholesky(stiff * np.outer(scale, scale), lower=True, check_finite=False)
    half = scipy.linalg.solve_triangular(
        factor, mass * np.outer(scale, scale), lower=True, check_finite=False
    )
    turned = scipy.linalg.solve_triangular(factor, half.T, lower=True, check_finite=False)
    size = n + b
    turned, among = 0.5 * (turned + turned.T), [max(0, size - count), size - 1]
    if only_values:
        inverse = scipy.linalg.eigvalsh(turned, subset_by_index=among, check_finite=False)
        return _Solved(
            1.0 / inverse[inverse > 1e-14 * inverse[-1]][::-1] - shift, factor[:, :0], scale, factor, shift
        )
    inverse, vectors = scipy.linalg.eigh(turned, subset_by_index=among, check_finite=False)
    good = np.flatnonzero(inverse > 1e-14 * inverse[-1])[::-1]
    shapes = scipy.linalg.solve_triangular(factor, vectors[:, good], lower=True, trans=1, check_finite=False)
    return _Solved(
        1.0 / inverse[good] - shift, scale[:, None] * shapes / np.sqrt(inverse[good]), scale, factor, shift
    )


def _corrected(solved: _Solved, squares: Array, X: Array, kept: NDArray[np.int64], count: int) -> Found:
    values, vectors = solved.squares, solved.shapes
    n = len(vectors) - len(kept)
    away = np.ones(len(squares), dtype=bool)
    away[kept] = False
    high, reach = squares[away], X[:, away]
    touched = reach.T @ vectors[:n]  # (dropped, modes)
    count = min(count, len(values))
    found, left = values[:count].copy(), np.zeros(count)
    shapes = vectors[:, :count].copy()
    held = np.zeros((len(squares), count))
    if len(high):
        mix = np.zeros((len(values), count))
        for k in range(count):
            found[k], mix[:, k] = _ritz(values, touched, high, k)
        shapes = vectors @ mix
        follow = found / (high[:, None] - found)
        forces = np.zeros((len(vectors), count))
        forces[:n] = reach @ (found * follow * (touched @ mix))
        left = _second_order(solved, forces, found)
        held[away] = (reach.T @ shapes[:n]) * follow
    held[kept] = shapes[n:]
    return Found(found, left, shapes[:n], held)


def _ritz(values: Array, touched: Array, squares: Array, k: int) -> tuple[float, Array]:
    """Mode k with what dropped modes take at its frequency: its square, its part of all modes."""
    at = float(values[k])
    at -= float(np.sum(at**2 / (squares - at) * touched[:, k] ** 2))
    taken = touched.T @ ((at**2 / (squares - at))[:, None] * touched)
    own, turned = np.linalg.eigh(np.diag(values) - taken)
    place = k if abs(turned[k, k]) > 0.5 else int(np.argmax(np.abs(turned[k])))
    return float(own[place]), turned[:, place] * np.sign(turned[k, place] or 1.0)


def _second_order(solved: _Solved, forces: Array, found: Array) -> Array:
    """What modes that were not found take of the squares, when forces of dropped modes act on the found ones.

    sum_i f_i² / (w_i² - w²) over those modes is at most w_m² / (w_m² - w²) times the same sum with w_i² below, w_m the last
    that was found; and that sum is the work of the forces without the part of the modes found.
    """
    work = scipy.linalg.solve_triangular(solved.factor, solved.scale[:, None] * forces, lower=True)
    known = (solved.shapes.T @ forces) ** 2 / (solved.squares + solved.shift)[:, None]
    rest = np.maximum(np.sum(work**2, axis=0) - np.sum(known, axis=0), 0.0)
    last = max(float(solved.squares[-1]), 1e-300)
    return np.asarray(rest * (last + solved.shift) / np.maximum(last - found, 1e-3 * last))
