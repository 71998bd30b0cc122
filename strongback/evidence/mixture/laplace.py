"""Kernel: many models of one set of readings fitted side by side, each with its evidence. Arrays in, arrays out, no checks.

A model is a table R of compliances. With x the logarithms of stiffness factors, g that of the load, b what a pull does that
is not as drawn (its direction, its point) and a one more unknown of the model, all in standard deviations z ~ N(0, 1):

    y = exp(u_load g) sum_s w_s (R_s0 + sum_k R_sk exp(-x_k)) + e,    x = L z,    w = (1, b of the pull, a)

Slot 0 of R is the reading itself, the slots between are readings under the same pull a standard deviation off, the last is
the model's own. Least is S = sum (r / u)² + z'z; the evidence is Laplace's, ln Z = -S/2 - ln det(J J' + diag u²) / 2, which
counts every unknown with its prior (D. J. C. MacKay, "Bayesian interpolation", Neural Computation 4 (1992) 415). Steps are
Gauss-Newton's in as many unknowns as there are readings; a step that leads uphill is shortened.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Fits", "Prior", "fitted", "foretold", "predicted"]

Array = NDArray[np.float64]
ROUNDS = 40
HALVINGS = 6
SHORTER = 0.35
FALL = 1e-4  # of S in one round: a fit that falls by less has settled
LONGEST = 1.5  # of a logarithm, in one round
PINNED = 1e-4  # how near a logarithm is held to where it is pinned


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prior:
    """What is known of the unknowns that all models share.

    Parameters
    ----------
    factor : ndarray, shape (n, n)
        L, with the covariance of the logarithms L L'.
    u_load : float
        Standard deviation of the logarithm of the load.
    pull : ndarray of int, shape (m,)
        Pull of every reading, from 0.
    """

    factor: Array
    u_load: float
    pull: NDArray[np.int64]

    @property
    def pulls(self) -> int:
        """How many pulls."""
        return int(self.pull.max(initial=-1)) + 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fits:
    """Models fitted.

    Parameters
    ----------
    z : ndarray, shape (k, d)
    x : ndarray, shape (k, n)
    gain : ndarray, shape (k,)
        Factor on the load.
    predicted : ndarray, shape (k, m)
    jacobian : ndarray, shape (k, m, d)
        Derivatives by z.
    total : ndarray, shape (k,)
        S.
    evidence : ndarray, shape (k,)
        ln Z without the constant of the readings.
    """

    z: Array
    x: Array
    gain: Array
    predicted: Array
    jacobian: Array
    total: Array
    evidence: Array

    def covariance(self, prior: Prior, variance: Array, k: int) -> Array:
        """Covariance of the logarithms of one of the models, (n, n), `variance` (m,) that of its readings."""
        J, n = self.jacobian[k], len(prior.factor)
        inner = np.linalg.solve(J @ J.T + np.diag(variance), J[:, :n])
        return np.asarray(prior.factor @ (np.eye(n) - J[:, :n].T @ inner) @ prior.factor.T)


def predicted(R: Array, prior: Prior, z: Array) -> tuple[Array, Array]:
    """Readings (k, m) and their derivatives by z (k, m, d) of models R (k, m, s, 1 + n)."""
    k, m, slots, n = R.shape[0], R.shape[1], R.shape[2], R.shape[3] - 1
    q, pulls = slots - 2, prior.pulls
    decay = np.exp(-(z[:, :n] @ prior.factor.T))
    h = (R[..., 1:] @ decay[:, None, :, None])[..., 0] + R[..., 0]
    own = z[:, n + 1 : n + 1 + pulls * q].reshape(k, pulls, q)[:, prior.pull]
    w = np.concatenate([np.ones((k, m, 1)), own, np.broadcast_to(z[:, -1, None, None], (k, m, 1))], axis=2)
    gain = np.exp(prior.u_load * z[:, n])[:, None]
    y = gain * (w * h).sum(axis=2)
    J = np.empty((k, m, z.shape[1]))
    slope = (w[:, :, None, :] @ R[..., 1:])[:, :, 0] * decay[:, None, :]
    J[..., :n] = -gain[..., None] * (slope @ prior.factor)
    J[..., n] = prior.u_load * y
    spread = np.zeros((k, m, pulls, q))
    spread[:, np.arange(m), prior.pull] = gain[..., None] * h[:, :, 1:-1]
    J[..., n + 1 : -1] = spread.reshape(k, m, pulls * q)
    J[..., -1] = gain * h[:, :, -1]
    return y, J


def fitted(
    R: Array,
    prior: Prior,
    data: Array,
    variance: Array,
    start: Array | None = None,
    *,
    pin: tuple[NDArray[np.int64], Array] | None = None,
) -> Fits:
    """Fit models side by side.

    Parameters
    ----------
    R : ndarray, shape (k, m, s, 1 + n)
        [m]
    prior : Prior
    data : ndarray, shape (m,)
        [m]
    variance : ndarray, shape (k, m) or (m,)
        [m²]
    start : ndarray, shape (k, d), optional
        Default: 0.
    pin : tuple of ndarray of int, shape (k,) and ndarray, shape (k,), optional
        A logarithm of each model and where it is held.

    Returns
    -------
    Fits
    """
    k, m, slots, n = R.shape[0], R.shape[1], R.shape[2], R.shape[3] - 1
    z = np.zeros((k, n + 2 + prior.pulls * (slots - 2))) if start is None else start.copy()
    y = np.broadcast_to(data, (k, m))
    v = np.broadcast_to(variance, (k, m))
    if pin is not None:
        y = np.column_stack([y, pin[1]])
        v = np.column_stack([v, np.full(k, PINNED**2)])

    def at(z: Array, rows: NDArray[np.int64]) -> tuple[Array, Array, Array]:
        f, J = predicted(R[rows], prior, z)
        if pin is not None:
            held = prior.factor[pin[0][rows]]
            f = np.column_stack([f, (z[:, :n] * held).sum(axis=1)])
            J = np.concatenate(
                [J, np.concatenate([held, np.zeros((len(rows), J.shape[2] - n))], axis=1)[:, None]], axis=1
            )
        r = y[rows] - f
        return f, J, (r * r / v[rows]).sum(axis=1) + (z * z).sum(axis=1)

    f, J, S = at(z, np.arange(k))
    going = np.arange(k)
    for _ in range(ROUNDS):
        A = J[going]
        K = A @ A.transpose(0, 2, 1)
        K[:, np.arange(K.shape[1]), np.arange(K.shape[1])] += v[going]
        rest = y[going] - f[going] + (A @ z[going][..., None])[..., 0]
        step = (A.transpose(0, 2, 1) @ np.linalg.solve(K, rest[..., None]))[..., 0] - z[going]
        far = np.abs(step[:, :n] @ prior.factor.T).max(axis=1, initial=0.0)
        step *= np.minimum(1.0, LONGEST / np.maximum(far, 1e-300))[:, None]
        before = S[going].copy()
        left = np.arange(len(going))
        for _ in range(HALVINGS):
            rows = going[left]
            f_new, J_new, S_new = at(z[rows] + step[left], rows)
            good = S_new <= S[rows] * (1.0 + 1e-12)
            done = rows[good]
            z[done] += step[left[good]]
            f[done], J[done], S[done] = f_new[good], J_new[good], S_new[good]
            left = left[~good]
            if not len(left):
                break
            step[left] *= SHORTER
        going = going[before - S[going] > FALL]
        if not len(going):
            break
    return _fits(R, prior, z, f[:, :m], J[:, :m], S, v[:, :m])


def _fits(R: Array, prior: Prior, z: Array, f: Array, J: Array, S: Array, v: Array) -> Fits:
    n = R.shape[3] - 1
    K = J @ J.transpose(0, 2, 1)
    K[:, np.arange(K.shape[1]), np.arange(K.shape[1])] += v
    return Fits(
        z=z,
        x=z[:, :n] @ prior.factor.T,
        gain=np.exp(prior.u_load * z[:, n]),
        predicted=f,
        jacobian=J,
        total=S,
        evidence=-0.5 * S - 0.5 * np.linalg.slogdet(K)[1],
    )


def foretold(R: Array, prior: Prior, data: Array, variance: Array) -> Array:
    """Evidence ln Z (k,) of models before any is fitted, compliances taken as normal with the moments of their law.

    Of a log-normal compliance these are exp(p²/2) and exp(p²) (exp(p²) - 1), p the standard deviation of its logarithm:
    far from the law where p is ln 3, near enough to say which of hundreds of models deserve a fit.
    """
    m = R.shape[1]
    C = prior.factor @ prior.factor.T
    mean = np.exp(0.5 * np.diag(C))
    root = np.linalg.cholesky(np.outer(mean, mean) * np.expm1(C) + 1e-12 * np.diag(mean**2))
    h = R[..., 1:] @ mean + R[..., 0]
    spread = R[:, :, 0, 1:] @ root
    K = spread @ spread.transpose(0, 2, 1)
    same = prior.pull[:, None] == prior.pull[None, :]
    K += (h[:, :, 1:-1] @ h[:, :, 1:-1].transpose(0, 2, 1)) * same
    K += h[:, :, -1, None] * h[:, None, :, -1] + prior.u_load**2 * h[:, :, 0, None] * h[:, None, :, 0]
    K[:, np.arange(m), np.arange(m)] += variance
    factor = np.linalg.cholesky(K)
    white = np.linalg.solve(factor, (data - h[:, :, 0])[..., None])[..., 0]
    logs = np.log(factor[:, np.arange(m), np.arange(m)])
    return np.asarray(-0.5 * (white * white).sum(axis=1) - logs.sum(axis=1))
