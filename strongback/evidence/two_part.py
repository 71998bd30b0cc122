"""Scatter in two parts: some micrometres that every reading has, and a share of the reading, from the spread of repeats.

A slipping stand or a soft clamp scatters by a share of what it carries; a needle scatters by micrometres. Few repeats tell
both at once, so that all series of a data set are asked together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["TwoParts", "two_parts"]

Array = NDArray[np.float64]
SHARES = np.linspace(0.0, 0.10, 41)
USUAL = 0.03  # share by which the prior falls to 1/e; common practice, no source
NONE = 0.9  # prior that none of the scatter grows with the reading; common practice, no source
CONSTANTS = np.geomspace(0.05, 2.0, 40)  # of the pooled scatter


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TwoParts:
    """Scatter of series.

    Parameters
    ----------
    constant : float
        Standard deviation that all have, root of the posterior mean of its square [m].
    share : float
        Standard deviation over the reading, likewise [-].
    ratio : ndarray, shape (s,)
        Variance of each series over the pooled one; 1 in the mean, weighted by degrees of freedom.
    """

    constant: float
    share: float
    ratio: Array


def two_parts(values: Array, squares: Array, degrees: Array) -> TwoParts:
    """Share out pooled scatter between readings that are small and large.

    Parameters
    ----------
    values : ndarray, shape (s,)
        Mean of each series [m].
    squares : ndarray, shape (s,)
        Sum of squares about it [m²].
    degrees : ndarray, shape (s,)
        Degrees of freedom of `squares`; 0 where a series was read once.

    Returns
    -------
    TwoParts

    Examples
    --------
    Eight readings of 10 µm that scatter by 1 µm, eight of 100 µm that scatter by 4 µm:

    >>> import numpy as np
    >>> y = 1e-6 * np.repeat([10.0, 100.0], 8)
    >>> found = two_parts(y, 2.0 * 1e-12 * np.repeat([1.0, 16.0], 8), np.full(16, 2.0))
    >>> round(found.share, 2), [round(float(v), 1) for v in found.ratio[[0, -1]]]
    (0.04, [0.1, 1.9])
    """
    whole = float(degrees.sum())
    pooled = float(squares.sum()) / whole if whole else 0.0
    if pooled == 0.0:
        return TwoParts(constant=0.0, share=0.0, ratio=np.ones(len(values)))
    a2, b2 = (g.ravel() for g in np.meshgrid(CONSTANTS**2 * pooled, SHARES**2, indexing="ij"))
    variance = a2[:, None] + b2[:, None] * values**2
    law = np.exp(-SHARES / USUAL)
    law[1:] *= (1.0 - NONE) / law[1:].sum()
    law[0] = NONE
    ln = -0.5 * (degrees * np.log(variance) + squares / variance).sum(axis=1) + np.log(
        np.tile(law, len(CONSTANTS))
    )
    weight = np.exp(ln - ln.max())
    weight /= weight.sum()
    mean = weight @ variance
    return TwoParts(
        constant=float(np.sqrt(weight @ a2)),
        share=float(np.sqrt(weight @ b2)),
        ratio=mean / (float(degrees @ mean) / whole),
    )
