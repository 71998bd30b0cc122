"""Kernel: a model that is wrong in a way nobody knows, some micrometres and some per cent of each reading.

The variance of every reading grows by d0² + d1² y². How likely each pair (d0, d1) is follows from the evidence of the
linearised model on a grid, with a prior that halves at 1 µm and at 2 %.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.evidence.mixture.laplace import Fits, Prior, fitted

__all__ = ["Discrepancy", "unknown_discrepancy"]

Array = NDArray[np.float64]
CONSTANT = 1e-6 * np.array([0.0, 0.4, 0.8, 1.6, 3.2, 6.4, 12.5, 25.0, 50.0])  # [m]
SHARE = np.array([0.0, 0.01, 0.02, 0.04, 0.08, 0.16, 0.32])
HALF = (1e-6, 0.02)
ROUNDS = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Discrepancy:
    """A model with an unknown discrepancy.

    Parameters
    ----------
    fits : Fits
        Of the one model, with the discrepancy as it was found.
    evidence : float
        ln Z, the size of the discrepancy taken out by its prior.
    constant, share : float
        Roots of the posterior means of d0² [m²] and d1².
    variance : ndarray, shape (m,)
        Of the readings, discrepancy and all [m²].
    """

    fits: Fits
    evidence: float
    constant: float
    share: float
    variance: Array


def unknown_discrepancy(R: Array, prior: Prior, data: Array, variance: Array, start: Array) -> Discrepancy:
    """One model R (1, m, s, 1 + n) with an unknown discrepancy, from where the model without it was fitted, (1, d)."""
    d0, d1 = (a.ravel() for a in np.meshgrid(CONSTANT, SHARE, indexing="ij"))
    law = 1.0 / (1.0 + (d0 / HALF[0]) ** 2) / (1.0 + (d1 / HALF[1]) ** 2)
    logs = np.log(law / law.sum())
    sizes = d0[:, None] ** 2 + d1[:, None] ** 2 * data**2
    found = fitted(R, prior, data, variance, start)
    for _ in range(ROUNDS):
        J = found.jacobian[0]
        r = data - found.predicted[0] + J @ found.z[0]
        K = np.broadcast_to(J @ J.T, (len(sizes), len(data), len(data))).copy()
        K[:, np.arange(len(data)), np.arange(len(data))] += variance + sizes
        factor = np.linalg.cholesky(K)
        white = np.linalg.solve(factor, np.broadcast_to(r, (len(sizes), len(r)))[..., None])[..., 0]
        ln = logs - 0.5 * (white**2).sum(axis=1)
        ln -= np.log(factor[:, np.arange(len(data)), np.arange(len(data))]).sum(axis=1)
        top = float(ln.max())
        weight = np.exp(ln - top)
        whole = float(weight.sum())
        weight /= whole
        now = variance + weight @ sizes
        found = fitted(R, prior, data, now, found.z)
    return Discrepancy(
        fits=found,
        evidence=top + float(np.log(whole)),
        constant=float(np.sqrt(weight @ d0**2)),
        share=float(np.sqrt(weight @ d1**2)),
        variance=now,
    )
