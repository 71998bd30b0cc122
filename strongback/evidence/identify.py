"""What readings can tell, and what they cannot: learned fractions, parallel sensitivities, weak directions.

Two sensitivities with a cosine above 0.99 make an error of the model itself (a wall, an arm, a direction) seven times
larger or worse in the stiffnesses told apart by them, whatever the scatter of the readings says. So they get no number.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["LEARNED", "Identifiability", "Pair", "WeakDirection", "identify"]

Array = NDArray[np.float64]
PARALLEL = 0.99
NEARLY = 0.95
LEARNED = 0.75  # the standard uncertainty at least halved
TIGHT = 0.25  # a prior of ± 25 % may be trusted to separate what readings cannot


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two parameters that act alike on the readings.

    Parameters
    ----------
    first, second : int
        Columns.
    cosine : float
        Between their weighted sensitivities.
    verdict : {"cannot be separated", "separated by the prior", "weakly separated"}
    """

    first: int
    second: int
    cosine: float
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WeakDirection:
    """A combination of parameters about which the readings say less than was known before.

    Parameters
    ----------
    singular : float
        What the readings tell over what was known before; below 1.
    weights : tuple of (int, float)
        Columns with their share in the combination, largest first.
    """

    singular: float
    weights: tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Identifiability:
    """What a set of readings can tell.

    Parameters
    ----------
    singular : ndarray, shape (n,)
        Singular values of the sensitivities over the uncertainties, per prior standard uncertainty.
    learned : ndarray, shape (n,)
        1 less the variance with the readings over the variance without.
    determined : ndarray of bool, shape (n,)
        Whether a number may be given.
    pairs : tuple of Pair
    weak : tuple of WeakDirection
    """

    singular: Array
    learned: Array
    determined: NDArray[np.bool_]
    pairs: tuple[Pair, ...]
    weak: tuple[WeakDirection, ...]

    def groups(self, verdict: str) -> tuple[tuple[tuple[int, ...], float], ...]:
        """Parameters that hang together by pairs of a verdict, each group with its lowest cosine."""
        found: list[tuple[set[int], float]] = []
        for pair in (p for p in self.pairs if p.verdict == verdict):
            members, cosine = {pair.first, pair.second}, abs(pair.cosine)
            touched = [g for g in found if g[0] & members]
            for group in touched:
                members |= group[0]
                cosine = min(cosine, group[1])
            found = [g for g in found if g not in touched] + [(members, cosine)]
        return tuple((tuple(sorted(members)), cosine) for members, cosine in found)


def identify(sensitivity: Array, prior_u: Array, *, own: Array | None = None) -> Identifiability:
    """Judge a plan or a set of readings.

    Parameters
    ----------
    sensitivity : ndarray, shape (readings, n)
        Derivatives of the readings over their standard uncertainties, or of readings made independent.
    prior_u : ndarray, shape (n,)
        Standard uncertainty of each parameter beforehand; finite.
    own : ndarray, shape (readings, n), optional
        Derivatives over the standard uncertainty that each reading has by itself, by which likeness is judged: an error
        that readings share makes them no better against errors of the model. Default: `sensitivity`.

    Returns
    -------
    Identifiability

    Examples
    --------
    Two springs in series, read together: their sum alone is known.

    >>> both = identify(np.array([[50.0, 50.0]]), np.array([1.0, 1.0]))
    >>> both.pairs[0].verdict, both.determined.tolist()
    ('cannot be separated', [False, False])

    One of them is known to 5 %: the other follows.

    >>> one = identify(np.array([[50.0, 50.0]]), np.array([1.0, 0.05]))
    >>> one.pairs[0].verdict, one.determined.tolist()
    ('separated by the prior', [True, False])
    """
    scaled = sensitivity * prior_u
    _, values, directions = np.linalg.svd(scaled, full_matrices=True)
    singular = np.zeros(len(prior_u))
    singular[: len(values)] = values
    posterior = (directions.T / (1.0 + singular**2)) @ directions  # in units of the prior
    learned = 1.0 - np.diag(posterior)
    pairs = _pairs(sensitivity if own is None else own, prior_u)
    # A number needs its readings: of a pair that they cannot separate neither has one.
    lost = {i for p in pairs if p.verdict == "cannot be separated" for i in (p.first, p.second)}
    determined = np.array([bool(v >= LEARNED) and i not in lost for i, v in enumerate(learned)])
    return Identifiability(
        singular=singular,
        learned=learned,
        determined=determined,
        pairs=pairs,
        weak=tuple(_weak(singular, directions)),
    )


def _pairs(sensitivity: Array, prior_u: Array) -> tuple[Pair, ...]:
    norms = np.linalg.norm(sensitivity, axis=0)
    felt = norms * prior_u > 1.0  # what the readings do not feel at all is no matter of pairs
    unit = sensitivity / np.where(norms > 0.0, norms, 1.0)
    cosines = unit.T @ unit
    found = []
    for i in range(len(norms)):
        for j in range(i + 1, len(norms)):
            if felt[i] and felt[j] and abs(cosines[i, j]) >= NEARLY:
                verdict = _verdict(abs(cosines[i, j]), prior_u[[i, j]])
                found.append(Pair(first=i, second=j, cosine=float(cosines[i, j]), verdict=verdict))
    return tuple(sorted(found, key=lambda p: -abs(p.cosine)))


def _verdict(cosine: float, prior_u: Array) -> str:
    if cosine < PARALLEL:
        return "weakly separated"
    return "separated by the prior" if prior_u.min() <= TIGHT else "cannot be separated"


def _weak(singular: Array, directions: Array) -> list[WeakDirection]:
    found = []
    for value, direction in zip(singular, directions, strict=True):
        if value >= 1.0:
            continue
        order = np.argsort(-np.abs(direction))
        lead = np.sign(direction[order[0]])
        weights = tuple((int(k), float(lead * direction[k])) for k in order if abs(direction[k]) > 0.3)
        found.append(WeakDirection(singular=float(value), weights=weights))
    return found
