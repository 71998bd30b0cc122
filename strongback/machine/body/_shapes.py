"""Kernel: displacement fields of a section that carry what a column does between its ends and pads.

A field that varies like exp(i k s) along an infinite column solves a plane problem of the section; with in-plane parts
that go like cos(ks) and parts along s that go like sin(ks) its matrix is real and symmetric,

    K(k) = E0 + k² E2 + k (C + C'),   C = the part of E1 - E1' that takes the motion along s to forces in the plane.

Answers to forces at the pads and to random forces, for a ladder of k, in-plane part and part along s taken apart, span
nearly all that the column does (a rational Krylov space). What they miss shows in the residual of the solution; solving
K(k) for the residual with k of the local height element and adding the leading fields makes the error fall about
sevenfold a round, down to the exact solution of the mesh.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import scipy.linalg
import scipy.sparse as sparse
import scipy.sparse.linalg
from numpy.typing import NDArray

from strongback import memory
from strongback.section._factor import factor_memory

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Mask = NDArray[np.bool_]
Solver = Callable[[Array], Array]

FLOOR = 1e-5  # singular values of a correction below this fraction of the largest are noise
FIRST_MOST = 400  # fields from which the first shapes are taken
SEED = 20_260_101  # of the random forces: results are the same in every run


def wave_matrix(section: tuple[sparse.csr_array, ...], along: Mask, k: float) -> sparse.csc_array:
    """K(k) of a section; `along` marks the unknowns along s."""
    E0, E1, E2 = section
    plane, axial = sparse.diags_array((~along).astype(float)), sparse.diags_array(along.astype(float))
    coupling = plane @ (E1 - E1.T) @ axial
    return sparse.csc_array(E0 + k * k * E2 + k * (coupling + coupling.T))


def factorised(matrix: sparse.csc_array) -> Solver:
    """Solver of a symmetric positive definite sparse matrix."""
    memory.require(factor_memory(matrix.nnz), "a body as fine as this")
    solve: Solver = scipy.sparse.linalg.splu(
        matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
    ).solve
    return solve


def taken_apart(fields: Array, along: Mask) -> Array:
    """In-plane parts and parts along s of fields, side by side, (unknowns, 2 fields)."""
    return np.hstack([np.where(along[:, None], 0.0, fields), np.where(along[:, None], fields, 0.0)])


def forces(section: tuple[sparse.csr_array, ...], contacts: Sequence[sparse.csr_array], count: int) -> Array:
    """Unit forces at the nodes under pads, and random ones spread over the section, (unknowns, n)."""
    size = section[0].shape[0]
    spread = section[2] / section[2].diagonal().max()
    random = spread @ np.random.default_rng(SEED).standard_normal((size, count))
    loaded = np.flatnonzero(sum((springs.diagonal() for springs in contacts), start=np.zeros(size)))
    unit = np.zeros((size, len(loaded)))
    unit[loaded, np.arange(len(loaded))] = 1.0
    return np.hstack([random, unit])


def answers(solve: Solver, load: Array) -> Array:
    """Fields under forces, each scaled to unit energy."""
    fields = solve(load)
    return np.asarray(fields / np.sqrt(np.einsum("ij,ij->j", fields, load)))


def _mixed(fields: Array, count: int) -> Array:
    """Fields mixed at random into fewer, which keeps the range of the leading ones.

    Halko, Martinsson & Tropp, SIAM Review 53 (2011) 217.
    """
    if fields.shape[1] <= count:
        return fields
    mixing = np.random.default_rng(SEED).standard_normal((fields.shape[1], count))
    return np.asarray(fields @ (mixing / np.sqrt(fields.shape[1])))


def without(shapes: Array, fields: Array) -> Array:
    """Fields less their part in the span of orthonormal shapes."""
    rest = fields - shapes @ (shapes.T @ fields)
    return np.asarray(rest - shapes @ (shapes.T @ rest))


def _principal(fields: Array, most: int, tolerance: float) -> tuple[Array, Array]:
    """Leading left singular vectors, at most so many and down to a fraction of the largest; their squared values and sum.

    From the Gram matrix, which holds singular values down to 1e-8 of the largest; far below what is kept here.
    """
    squares, right = scipy.linalg.eigh(fields.T @ fields, check_finite=False)
    squares, right = squares[::-1], right[:, ::-1]
    count = min(most, int(np.count_nonzero(squares > tolerance**2 * squares[0])))
    leading = np.linalg.qr(fields @ (right[:, :count] / np.sqrt(squares[:count])))[0]
    return leading, np.clip(squares, 0.0, None)


def first_shapes(rigid: Array, fields: Array, along: Mask, tolerance: float) -> Array:
    """Orthonormal shapes that span the rigid motions and the leading part of the fields.

    Parameters
    ----------
    rigid : ndarray, shape (unknowns, 6)
    fields : ndarray, shape (unknowns, n)
    along : ndarray of bool, shape (unknowns,)
    tolerance : float
        Singular values below this fraction of the largest are left out.
    """
    start = np.linalg.qr(rigid)[0]
    leading, _ = _principal(
        without(start, taken_apart(_mixed(fields, FIRST_MOST), along)), 2 * FIRST_MOST, tolerance
    )
    return np.hstack([start, leading])


def more_shapes(shapes: Array, corrections: Array, along: Mask, most: int, share: float) -> Array:
    """Shapes with the leading part of corrections added, in the plane and along s apart.

    Parameters
    ----------
    shapes : ndarray, shape (unknowns, rank)
    corrections : ndarray, shape (unknowns, n)
    along : ndarray of bool, shape (unknowns,)
    most : int
        At most so many are added.
    share : float
        Enough that the squares left out are at most this share of all.
    """
    mixed = taken_apart(_mixed(corrections, 2 * most), along)
    leading, squares = _principal(without(shapes, mixed), most, FLOOR)
    left_out = 1.0 - np.cumsum(squares) / np.sum(squares)
    enough = int(np.searchsorted(-left_out, -share)) + 1
    return np.hstack([shapes, leading[:, :enough]])


def condensed(shapes: Array, motion: Array, tolerance: float) -> tuple[Array, Array]:
    """Fewer shapes that hold a solved motion, and its amplitudes in them.

    Parameters
    ----------
    shapes : ndarray, shape (n, rank)
    motion : ndarray, shape (planes, rank, cases)
    tolerance : float
        Singular values below this fraction of the largest are left out.

    Returns
    -------
    shapes : ndarray, shape (n, fewer)
    motion : ndarray, shape (planes, fewer, cases)
    """
    planes, rank, cases = motion.shape
    if cases == 0:
        return shapes[:, :0], motion[:, :0]
    left, size, right = scipy.linalg.svd(
        motion.transpose(1, 0, 2).reshape(rank, -1), full_matrices=False, check_finite=False
    )
    kept = size > tolerance * size[0]
    fewer = (size[kept, None] * right[kept]).reshape(-1, planes, cases).transpose(1, 0, 2)
    return shapes @ left[:, kept], np.ascontiguousarray(fewer)
