"""Kernel: the model as stated, walls that give, an unknown discrepancy and suspects, weighed against each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import f as fisher

from strongback.evidence.mixture.blend import Blend, blended, weights
from strongback.evidence.mixture.discrepancy import unknown_discrepancy
from strongback.evidence.mixture.laplace import Fits, Prior, fitted, foretold

__all__ = ["Alternative", "Examined", "examine"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
# Prior weights. Between 0.01 and 0.2 for faults the share of intervals that hold changes by 2 %.
STATED, WALLS, FAULTS = 0.65, 0.30, 0.025
UNKNOWN = FAULTS * float(np.exp(-2.0))
REFITTED = 40
CHUNK = 256  # models foretold side by side


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Alternative:
    """A model that differs from the one as stated.

    Parameters
    ----------
    kind : int
        Its class; the alternatives of a class share its prior evenly.
    rows : ndarray of int, shape (r,)
    table : ndarray, shape (r, s, 1 + n)
    """

    kind: int
    rows: Index
    table: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Examined:
    """Models weighed.

    Parameters
    ----------
    probability : float
        Of readings that fit as badly as these or worse if all is as stated.
    stated, walls, unknown, faults : float
        Posterior weights.
    constant, share : float
        Size of the unknown discrepancy, if that is what it is [m], [-].
    best_probability : float
        The same of the model with the largest weight.
    order : ndarray of int, shape (c,)
        Alternatives that were fitted, best first.
    score : ndarray, shape (c,)
        Their evidence less that of the model as stated, less the logarithm of the number of alternatives of the class.
    then : ndarray, shape (c,)
        Fit probability of each.
    walls_score, walls_then : float
        The same of walls that give; minus infinity and 0 where there are none.
    blend : Blend
    best : ndarray, shape (n,)
        Logarithms of the model with the largest weight.
    alone : ndarray, shape (n,)
        Learned fraction of each at least, whichever single reading is left out.
    gain : float
        Factor on the load, of the mixture.
    """

    probability: float
    stated: float
    walls: float
    unknown: float
    faults: float
    constant: float
    share: float
    best_probability: float
    order: Index
    score: Array
    then: Array
    walls_score: float
    walls_then: float
    blend: Blend
    best: Array
    alone: Array
    gain: float


def examine(
    base: Array,
    walls: Sequence[tuple[Array, Array]],
    alternatives: Sequence[Alternative],
    shares: Array,
    prior: Prior,
    data: Array,
    variance: Array,
    *,
    width: float,
    degrees: float,
    least: float,
    refitted: int = REFITTED,
) -> Examined:
    """Weigh models of the same readings.

    Parameters
    ----------
    base : ndarray, shape (m, s, 1 + n)
        Table of the model as stated, see `laplace`.
    walls : sequence of (ndarray of shape (m, s, 1 + n), ndarray of shape (m,))
        Tables of the machine with walls that give, and the variance of what they add [m²].
    alternatives : sequence of Alternative
    shares : ndarray, shape (classes,)
        Prior weight of each class.
    prior : Prior
    data, variance : ndarray, shape (m,)
    width : float
        Student's factor of the intervals.
    degrees : float
        Of freedom behind `variance`: with priors on all unknowns S over the number of readings follows Fisher's law.
    least : float
        Learned fraction above which an interval is profiled.
    refitted : int
        How many alternatives are fitted, the likeliest of those foretold.

    Returns
    -------
    Examined
    """
    kinds = np.array([a.kind for a in alternatives], dtype=np.int64)
    sizes = np.bincount(kinds, minlength=1)
    crowd = np.log(sizes[kinds]) if len(kinds) else np.zeros(0)
    promising = _likeliest(base, alternatives, prior, data, variance, crowd, refitted)
    tables = np.stack([base, *(t for t, _ in walls), *(_table(base, alternatives[i]) for i in promising)])
    own = np.stack([variance, *(variance + more for _, more in walls), *[variance] * len(promising)])
    found = fitted(tables, prior, data, own)
    unknown = unknown_discrepancy(base[None], prior, data, variance, found.z[:1])
    w = len(walls)
    share = np.array(
        [
            STATED if w else STATED + WALLS,
            *[WALLS / max(w, 1)] * w,
            *(shares[kinds[promising]] / sizes[kinds[promising]]),
            UNKNOWN,
        ]
    )
    every = _joined(found, unknown.fits)
    evidence = np.append(found.evidence, unknown.evidence)
    weight = weights(evidence, share)
    spread = np.vstack([own, unknown.variance])
    then = np.asarray(fisher.sf(every.total / len(data), len(data), min(degrees, 1e6)))
    blend = blended(np.concatenate([tables, base[None]]), prior, data, spread, every, weight, width, least)
    score = found.evidence[1 + w :] - found.evidence[0] - crowd[promising]
    order = np.argsort(-score)
    best = int(np.argmax(weight))
    lift = found.evidence[1 : 1 + w] - found.evidence[0]
    return Examined(
        probability=float(then[0]),
        stated=float(weight[0]),
        walls=float(weight[1 : 1 + w].sum()),
        unknown=float(weight[-1]),
        faults=float(weight[1 + w : -1].sum()),
        constant=unknown.constant,
        share=unknown.share,
        best_probability=float(then[best]),
        order=promising[order],
        score=score[order],
        then=then[1 + w : -1][order],
        walls_score=float(lift.max()) if w else -np.inf,
        walls_then=float(then[1 + int(np.argmax(lift))]) if w else 0.0,
        blend=blend,
        best=every.x[best],
        alone=_alone(every.jacobian[best], spread[best], prior),
        gain=float(weight @ every.gain),
    )


def _table(base: Array, alternative: Alternative) -> Array:
    table = base.copy()
    table[alternative.rows] = alternative.table
    return table


def _likeliest(
    base: Array,
    alternatives: Sequence[Alternative],
    prior: Prior,
    data: Array,
    variance: Array,
    crowd: Array,
    count: int,
) -> Index:
    """Alternatives worth a fit."""
    if len(alternatives) <= count:
        return np.arange(len(alternatives), dtype=np.int64)
    evidence = np.concatenate(
        [
            foretold(
                np.stack([_table(base, a) for a in alternatives[first : first + CHUNK]]),
                prior,
                data,
                variance,
            )
            for first in range(0, len(alternatives), CHUNK)
        ]
    )
    return np.asarray(np.argsort(crowd - evidence, kind="stable")[:count])


def _joined(first: Fits, second: Fits) -> Fits:
    return Fits(
        z=np.concatenate([first.z, second.z]),
        x=np.concatenate([first.x, second.x]),
        gain=np.concatenate([first.gain, second.gain]),
        predicted=np.concatenate([first.predicted, second.predicted]),
        jacobian=np.concatenate([first.jacobian, second.jacobian]),
        total=np.concatenate([first.total, second.total]),
        evidence=np.concatenate([first.evidence, second.evidence]),
    )


def _alone(J: Array, variance: Array, prior: Prior) -> Array:
    """Learned fraction of the logarithms (n,), least over leaving out single readings."""
    m, n = len(J), len(prior.factor)
    if m < 2:
        return np.zeros(n)
    kept = np.array([np.delete(np.arange(m), i) for i in range(m)])
    A = J[kept]
    K = A @ A.transpose(0, 2, 1)
    K[:, np.arange(m - 1), np.arange(m - 1)] += variance[kept]
    inner = A[:, :, :n] @ prior.factor.T
    gone = (inner * np.linalg.solve(K, inner)).sum(axis=1)
    return np.asarray((gone / (prior.factor**2).sum(axis=1)).min(axis=0))
