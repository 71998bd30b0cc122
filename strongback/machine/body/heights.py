"""Height elements of a body: fine at its ends, at the edges of pads and where the fill changes."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

__all__ = ["Grading", "height_elements"]

Array = NDArray[np.float64]


class Grading:
    """How the height elements grow.

    Parameters
    ----------
    finest : float
        Element next to a feature [m].
    growth : float
        Growth of the element with the distance from it.
    coarsest : float
        [m]
    """

    __slots__ = ("coarsest", "finest", "growth")

    def __init__(self, finest: float, growth: float = 0.5, coarsest: float = np.inf) -> None:
        self.finest = finest
        self.growth = growth
        self.coarsest = coarsest


def height_elements(cuts: Array, features: Array, grading: Grading) -> Array:
    """Ends of the height elements.

    Parameters
    ----------
    cuts : ndarray
        Heights that must be ends of elements, with both ends of the body [m].
    features : ndarray
        Heights towards which the elements become fine [m].
    grading : Grading

    Returns
    -------
    ndarray, shape (elements + 1,)
        Increasing, with every cut among them [m].
    """
    ordered = np.unique(cuts)
    apart = np.diff(ordered) > 1e-9 * (ordered[-1] - ordered[0])
    ordered = ordered[np.concatenate([[True], apart])]
    runs = [ordered[:1]]
    for low, high in itertools.pairwise(ordered):
        runs.append(_run(float(low), float(high), features, grading)[1:])
    return np.concatenate(runs)


def _run(low: float, high: float, features: Array, grading: Grading) -> Array:
    """Ends of elements from low to high whose lengths follow the wanted size."""
    at = np.linspace(low, high, 401)
    distance = np.abs(at[:, None] - features[None, :]).min(axis=1)
    size = np.minimum(grading.finest + grading.growth * distance, grading.coarsest)
    density = 1.0 / size
    count = np.concatenate([[0.0], np.cumsum(0.5 * (density[1:] + density[:-1]) * np.diff(at))])
    elements = max(1, round(float(count[-1])))
    ends = np.interp(np.linspace(0.0, count[-1], elements + 1), count, at)
    ends[0], ends[-1] = low, high
    return ends
