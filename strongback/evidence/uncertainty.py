"""Standard uncertainty by its named contributions, after JCGM 100:2008 (the GUM)."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Contribution",
    "Uncertainty",
    "combine",
    "effective_degrees",
    "propagate",
    "rectangular",
    "resolution",
    "student",
    "triangular",
    "type_a",
]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Contribution:
    """One cause of uncertainty.

    Parameters
    ----------
    name : str
        What it comes from, in words.
    u : float
        Standard uncertainty that it brings, in the unit of the result.
    degrees : float
        Degrees of freedom behind `u`; ``inf`` for a figure that is taken as known.
    common : bool
        Whether it moves all readings of a data set together, so that more readings do not average it out.
    """

    name: str
    u: float
    degrees: float = math.inf
    common: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertainty:
    """Combined standard uncertainty with its parts.

    Parameters
    ----------
    u : float
        Root of the sum of the squares of the contributions.
    degrees : float
        Effective degrees of freedom.
    contributions : tuple of Contribution
    """

    u: float
    degrees: float
    contributions: tuple[Contribution, ...]

    def half_width(self, level: float = 0.95) -> float:
        """Half of the interval that covers the value at a level of confidence (JCGM 100, G.3)."""
        return student(self.degrees, level) * self.u

    def interval(self, value: float, level: float = 0.95) -> tuple[float, float]:
        """The interval about a value."""
        half = self.half_width(level)
        return value - half, value + half

    def __repr__(self) -> str:
        parts = ", ".join(f"{c.name} {c.u:.3g}" for c in self.contributions)
        return f"Uncertainty(u = {self.u:.3g}, {self.degrees:.3g} degrees of freedom; {parts})"


def type_a(values: Sequence[float], name: str = "repeats") -> tuple[float, Contribution]:
    """Mean of repeats and its standard uncertainty (JCGM 100, 4.2.3).

    Parameters
    ----------
    values : sequence of float
        Two or more.
    name : str

    Returns
    -------
    float, Contribution
        ``u`` is the standard deviation of the mean.

    Examples
    --------
    >>> mean, c = type_a([10.0, 12.0, 11.0])
    >>> mean, round(c.u, 4), c.degrees
    (11.0, 0.5774, 2)
    """
    n = len(values)
    if n < 2:
        raise ValueError("the scatter of repeats needs two or more of them")
    mean = math.fsum(values) / n
    square = math.fsum((v - mean) ** 2 for v in values) / (n - 1)
    return mean, Contribution(name=name, u=math.sqrt(square / n), degrees=n - 1)


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a value anywhere within ± `half_width` alike (JCGM 100, 4.3.7).

    Examples
    --------
    >>> round(rectangular(1.0), 6)
    0.57735
    """
    return half_width / math.sqrt(3.0)


def triangular(half_width: float) -> float:
    """Standard uncertainty of a value within ± `half_width`, most likely in the middle (JCGM 100, 4.3.9)."""
    return half_width / math.sqrt(6.0)


def resolution(step: float) -> float:
    """Standard uncertainty of an indication rounded to `step` (JCGM 100, F.2.2.1).

    Examples
    --------
    >>> round(resolution(0.01), 8)
    0.00288675
    """
    return rectangular(0.5 * step)


def effective_degrees(parts: Iterable[tuple[float, float]]) -> float:
    """Welch-Satterthwaite: effective degrees of freedom of a sum (JCGM 100, G.4.1).

    Parameters
    ----------
    parts : iterable of (float, float)
        Standard uncertainty and degrees of freedom of each part.

    Returns
    -------
    float

    Examples
    --------
    >>> round(effective_degrees([(0.25, 9), (0.57, 4), (0.82, 14)]), 1)
    19.0
    """
    rows = list(parts)
    square = math.fsum(u * u for u, _ in rows)
    lost = math.fsum(u**4 / degrees for u, degrees in rows if u > 0.0)
    return square * square / lost if lost > 0.0 else math.inf


def student(degrees: float, level: float = 0.95) -> float:
    """Student's factor for a two-sided interval (JCGM 100, G.3.2).

    Parameters
    ----------
    degrees : float
        Above 0, need not be whole; ``inf`` gives the normal factor.
    level : float

    Returns
    -------
    float

    Examples
    --------
    >>> round(student(2), 2), round(student(float("inf")), 2)
    (4.3, 1.96)
    """
    # As dear to import as all else that reads a project, which asks for no interval.
    from scipy.special import stdtrit

    return float(stdtrit(min(degrees, 1e9), 0.5 + 0.5 * level))


def combine(contributions: Iterable[Contribution]) -> Uncertainty:
    """Combine contributions that do not depend on each other (JCGM 100, 5.1.2 and G.4).

    Parameters
    ----------
    contributions : iterable of Contribution

    Returns
    -------
    Uncertainty
    """
    rows = tuple(contributions)
    return Uncertainty(
        u=math.sqrt(math.fsum(c.u * c.u for c in rows)),
        degrees=effective_degrees((c.u, c.degrees) for c in rows),
        contributions=rows,
    )


def propagate(function: Callable[[Array], Array], values: Array, covariance: Array) -> tuple[Array, Array]:
    """Results and their covariance from inputs that may depend on each other (JCGM 100, 5.2 and H.2).

    Parameters
    ----------
    function : callable
        Results (m,) from inputs (n,); smooth.
    values : ndarray, shape (n,)
    covariance : ndarray, shape (n, n)
        Of the inputs.

    Returns
    -------
    results : ndarray, shape (m,)
    covariance : ndarray, shape (m, m)
    """
    values = np.asarray(values, dtype=float)
    spread = np.sqrt(np.diag(covariance))
    columns = []
    for i, u in enumerate(spread):
        step = np.zeros_like(values)
        step[i] = u if u > 0.0 else 1e-6 * max(abs(values[i]), 1.0)
        columns.append((function(values + 1e-2 * step) - function(values - 1e-2 * step)) / (2e-2 * step[i]))
    J = np.column_stack(columns)
    return np.asarray(function(values)), J @ covariance @ J.T
