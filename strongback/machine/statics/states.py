"""Kernel: a loop condensed to a few vectors, whose parts are in one of several states. Arrays in, arrays out, no checks.

As in `condensed` forces follow from balance up to r self-stresses, and A(c) = M + sum_i c_i b_i b_i'. M is a sum over
parts, so that a part in another state is another term, and what parts do to each other is exact. Vectors are loads and
readings; a value is asked for a pair of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.machine.statics.condensed import CHUNK, forward, weigh

__all__ = ["CondensedStates"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CondensedStates:
    """Values of pairs of vectors, as functions of states of parts and of joint compliances.

    Parameters
    ----------
    grams : tuple of ndarray, shape (states, n + r, n + r)
        Of every part and every state of it, the virtual work between vectors and self-stresses. Parts that have one state
        are one.
    forces : ndarray, shape (components, n + r)
        Forces of the joint components that vary, in vectors and self-stresses.
    removable : ndarray of int, shape (b,)
        Self-stresses that belong to a component that may be absent.
    pairs : ndarray of int, shape (m, 2)
        Which vectors are asked about.
    """

    grams: tuple[Array, ...]
    forces: Array
    removable: Index
    pairs: Index

    @property
    def vectors(self) -> int:
        """Number of vectors, n."""
        return int(self.pairs.max()) + 1

    def __call__(self, states: Index, compliance: Array, roots: Array) -> Array:
        """Values of many variants.

        Parameters
        ----------
        states : ndarray of int, shape (variants, parts)
        compliance : ndarray, shape (variants, components)
        roots : ndarray, shape (variants, b)
            Roots of the stiffnesses of removable components; 0 for an absent one.

        Returns
        -------
        ndarray, shape (variants, m)
        """
        n = self.vectors
        r = self.forces.shape[1] - n
        low = np.triu_indices(r)
        pick = (
            np.concatenate([n + low[0], np.repeat(np.arange(n), r), self.pairs[:, 0]]),
            np.concatenate([n + low[1], np.tile(n + np.arange(r), n), self.pairs[:, 1]]),
        )
        weights = np.ascontiguousarray((self.forces[:, pick[0]] * self.forces[:, pick[1]]).T)
        tables = [gram[:, pick[0], pick[1]].T.copy() for gram in self.grams]
        ends = np.cumsum(np.arange(r, 0, -1))
        found = np.empty((len(states), len(self.pairs)))
        rigid = bool(np.any(compliance <= 0.0))
        for first in range(0, len(states), CHUNK):
            part = slice(first, first + CHUNK)
            entries = weights @ compliance[part].T
            for k, table in enumerate(tables):
                entries += table[:, states[part, k]] if table.shape[1] > 1 else table
            values = entries[len(entries) - len(self.pairs) :]
            if r:
                columns = np.split(entries[: ends[-1]], ends[:-1])
                vectors = entries[ends[-1] : ends[-1] + n * r].reshape(n, r, -1)
                if len(self.removable):
                    weigh(columns, vectors, roots[part].T, self.removable)
                forward(columns, vectors, rigid)
                one, two = vectors[self.pairs[:, 0]], vectors[self.pairs[:, 1]]
                values = values - np.einsum("mrn,mrn->mn", one, two)
            found[part] = values.T
        return found
