"""Kernel: a loop condensed to a few states, with joint compliances as plain numbers. Arrays in, arrays out, no checks.

Joint and member forces follow from balance up to r self-stresses. With the states of the loads L, of the readings O and of
the self-stresses x every stiffness enters once, linearly, and all terms are positive:

    A(c) = M + sum_i c_i b_i b_i',      readings = A_OL - A_Ox (A_xx)⁻¹ A_xL

M is the virtual work in members and in joints that stay as they are, b_i the force of joint component i in every state.
There is no base to subtract from, so that nothing cancels. A component that may be absent (stiffness 0) must be one of the
cuts: its row and column of A_xx, A_xL and A_Ox are multiplied by the root of its stiffness.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["CHUNK", "Condensed", "forward", "weigh"]

Array = NDArray[np.float64]
SINGULAR = 1e-13  # of the diagonal of a matrix: a pivot that small is none
CHUNK = 2048  # variants worked on side by side: their small matrices stay in the processor's cache


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Condensed:
    """Readings under loads, pair by pair, as functions of joint compliances.

    Parameters
    ----------
    pairs : ndarray, shape (responses,)
        Virtual work of reading and load in all that does not vary.
    real, virtual : ndarray, shape (responses, r)
        The same of loads and readings with the self-stresses.
    stress : ndarray, shape (r, r)
        Of the self-stresses with each other.
    real_forces, virtual_forces : ndarray, shape (responses, components)
        Forces of the varying joint components in the loads and readings.
    states : ndarray, shape (components, r)
        Their forces in the self-stresses.
    removable : ndarray of int, shape (b,)
        Self-stresses that belong to a component that may be absent.
    """

    pairs: Array
    real: Array
    virtual: Array
    stress: Array
    real_forces: Array
    virtual_forces: Array
    states: Array
    removable: NDArray[np.int64]

    def __call__(self, compliance: Array, roots: Array | None = None) -> Array:
        """Readings of many variants.

        Parameters
        ----------
        compliance : ndarray, shape (variants, components)
        roots : ndarray, shape (variants, b), optional
            Roots of the stiffnesses of the removable components; 0 for an absent one.

        Returns
        -------
        ndarray, shape (variants, responses)
        """
        found = self.pairs + compliance @ (self.virtual_forces * self.real_forces).T
        r = len(self.stress)
        if r == 0:
            return np.asarray(found)
        same = np.array_equal(self.virtual, self.real)
        same = same and np.array_equal(self.virtual_forces, self.real_forces)
        sides = [(self.real, self.real_forces)] + [(self.virtual, self.virtual_forces)] * (not same)
        low = np.triu_indices(r)  # column by column of the lower half
        rows = [
            self.states[:, low[0]] * self.states[:, low[1]],
            *(_products(f, self.states) for _, f in sides),
        ]
        weights = np.hstack(rows).T.copy()
        constant = np.concatenate([self.stress[low], *(fixed.ravel() for fixed, _ in sides)])[:, None]
        ends = np.cumsum(np.arange(r, 0, -1))
        rigid = not np.all(compliance > 0.0)
        for first in range(0, len(compliance), CHUNK):
            part = slice(first, first + CHUNK)
            entries = weights @ compliance[part].T  # a row an entry of all matrices side by side
            entries += constant
            columns = np.split(entries[: ends[-1]], ends[:-1])
            vectors = entries[ends[-1] :].reshape(-1, r, entries.shape[1])
            if roots is not None and len(self.removable):
                weigh(columns, vectors, roots[part].T, self.removable)
            forward(columns, vectors, rigid)
            one, two = vectors[: len(self.real)], vectors[-len(self.real) :]
            found[part] -= np.einsum("mrn,mrn->nm", one, two)
        return np.asarray(found)


def _products(forces: Array, states: Array) -> Array:
    """Columns force * state for every response, (components, responses * r)."""
    return np.asarray(
        (forces.T[:, :, None] * states[:, None, :]).reshape(len(states), len(forces) * states.shape[1])
    )


def weigh(columns: list[Array], vectors: Array, roots: Array, removable: NDArray[np.int64]) -> None:
    """Unknown forces of components that may be absent, over the root of their stiffness, in place."""
    weight = np.ones((len(columns), roots.shape[1]))
    weight[removable] = roots
    for j, column in enumerate(columns):
        column *= weight[j:] * weight[j]
        if j in removable:
            column[0] += 1.0
    vectors *= weight


def forward(columns: list[Array], vectors: Array, rigid: bool) -> None:
    """Cholesky L L' of many matrices side by side and L⁻¹ of vectors (k, r, n), in place.

    The lower halves stand column by column, (r - j, n) each. With rigid joints a pivot may be nothing: they hold each
    other, and what they share is taken as nothing, which changes no motion.
    """
    least = [SINGULAR * column[0] for column in columns] if rigid else []
    for j, own in enumerate(columns):
        pivot = np.where(own[0] > least[j], own[0], np.inf) if rigid else own[0]
        inverse = 1.0 / np.sqrt(pivot)
        column = own[1:] * inverse
        vectors[:, j] *= inverse
        for i, other in enumerate(columns[j + 1 :]):
            other -= column[i:] * column[i]
        if len(column):
            vectors[:, j + 1 :] -= column * vectors[:, j : j + 1]
