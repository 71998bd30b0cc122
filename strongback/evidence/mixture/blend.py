"""Kernel: intervals from several fits, each with its weight."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from strongback.evidence.mixture.laplace import Fits, Prior, fitted

__all__ = ["Blend", "blended", "quantiles", "sides", "weights"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
LEAST = 0.01  # weight below which a model is left out
PROFILES = 2  # rounds in which the ends of a profile are sought
BISECTIONS = 40


def weights(evidence: Array, prior: Array) -> Array:
    """Posterior weights from ln Z and prior weights, both (k,)."""
    with np.errstate(divide="ignore"):
        ln = evidence + np.log(prior)
    raw = np.exp(ln - ln.max())
    return np.asarray(raw / raw.sum())


def sides(
    R: Array, prior: Prior, data: Array, variance: Array, found: Fits, u: Array, asked: Index, width: float
) -> Array:
    """Standard deviations to the left and right of fits, from how S rises when one logarithm is moved.

    Parameters
    ----------
    R : ndarray, shape (k, m, s, 1 + n)
    prior : Prior
    data : ndarray, shape (m,)
    variance : ndarray, shape (k, m)
    found : Fits
    u : ndarray, shape (k, n)
        Standard deviations from the curvature.
    asked : ndarray of int, shape (a,)
        Logarithms.
    width : float
        How many standard deviations away the rise is judged.

    Returns
    -------
    ndarray, shape (k, n, 2)
        Those that are not asked as `u` says.
    """
    k, count = len(R), len(asked)
    result = np.repeat(u[..., None], 2, axis=2)
    if not count:
        return result
    model, index, sign = (
        a.ravel() for a in np.meshgrid(np.arange(k), asked, np.array([-1.0, 1.0]), indexing="ij")
    )
    centre = found.x[model, index]
    sd = u[model, index].copy()
    start = found.z[model]
    for _ in range(PROFILES):
        there = centre + sign * width * sd
        pinned = fitted(R[model], prior, data, variance[model], start, pin=(index, there))
        rise = np.maximum(pinned.total - found.total[model], 1e-3)
        sd = np.clip(width * sd / np.sqrt(rise), 0.3 * sd, 3.0 * sd)
        start = pinned.z
    result[:, asked] = sd.reshape(k, count, 2)
    return result


def quantiles(weight: Array, centre: Array, left: Array, right: Array, levels: Array) -> Array:
    """Quantiles (n, levels) of n mixtures of k normals with two halves each; weights (k,), the others (k, n).

    Examples
    --------
    >>> import numpy as np
    >>> one = np.ones((1, 1))
    >>> quantiles(one[0], 0.0 * one, one, one, np.array([0.025, 0.5, 0.975])).round(3).tolist()[0][::2]
    [-1.96, 1.96]
    """
    shape = (centre.shape[1], len(levels))
    low = np.broadcast_to((centre - 12.0 * left).min(axis=0)[:, None], shape)
    high = np.broadcast_to((centre + 12.0 * right).max(axis=0)[:, None], shape)
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        below = _below(middle, weight, centre, left, right) < levels
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray(0.5 * (low + high))


def _below(x: Array, weight: Array, centre: Array, left: Array, right: Array) -> Array:
    """Share of each mixture below x (n, l)."""
    t = x[None] - centre[..., None]
    a, b = left[..., None], right[..., None]
    share = 2.0 / (a + b)
    lower = share * a * ndtr(np.minimum(t, 0.0) / a)
    upper = 1.0 - share * b * ndtr(-np.maximum(t, 0.0) / b)
    return np.asarray(np.tensordot(weight, np.where(t < 0.0, lower, upper), axes=1))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Blend:
    """What several fits say together.

    Parameters
    ----------
    median, low, high : ndarray, shape (n,)
        Of the logarithms; those without a number by their normal law.
    covariance : ndarray, shape (n, n)
    learned : ndarray, shape (n,)
        1 less the variance over that beforehand.
    """

    median: Array
    low: Array
    high: Array
    covariance: Array
    learned: Array


def blended(
    R: Array,
    prior: Prior,
    data: Array,
    variance: Array,
    found: Fits,
    weight: Array,
    width: float,
    least: float,
) -> Blend:
    """Medians and intervals of a mixture of fits.

    Parameters
    ----------
    R : ndarray, shape (k, m, s, 1 + n)
    prior : Prior
    data : ndarray, shape (m,)
    variance : ndarray, shape (k, m)
    found : Fits
    weight : ndarray, shape (k,)
    width : float
        Student's factor: the interval is that of the mixture at the level of ± `width` of a normal law.
    least : float
        Learned fraction from which a profile is worth its time.

    Returns
    -------
    Blend
    """
    kept = [k for k, one in enumerate(weight.tolist()) if one > LEAST]
    w = weight[kept] / weight[kept].sum()
    covariances = np.array([found.covariance(prior, variance[k], k) for k in kept])
    x = found.x[kept]
    mean = w @ x
    away = x - mean
    whole = np.tensordot(w, covariances, axes=1) + (away * w[:, None]).T @ away
    learned = 1.0 - np.diag(whole) / (prior.factor**2).sum(axis=1)
    u = np.sqrt(np.maximum(np.diagonal(covariances, axis1=1, axis2=2), 1e-30))
    asked = np.flatnonzero(learned >= least)
    part = Fits(
        z=found.z[kept],
        x=x,
        gain=found.gain[kept],
        predicted=found.predicted[kept],
        jacobian=found.jacobian[kept],
        total=found.total[kept],
        evidence=found.evidence[kept],
    )
    sd = sides(R[kept], prior, data, variance[kept], part, u, asked, width)
    levels = np.array([float(ndtr(-width)), 0.5, float(ndtr(width))])
    ends = quantiles(w, x, sd[..., 0], sd[..., 1], levels)
    return Blend(median=ends[:, 1], low=ends[:, 0], high=ends[:, 2], covariance=whole, learned=learned)
