"""Straight lines through data with weights, and with errors in both variables."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from strongback.errors import NotConvergedError

__all__ = ["Line", "line", "line_errors_in_both"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """y = intercept + slope x.

    Parameters
    ----------
    intercept, slope : float
    u_intercept, u_slope : float
        Standard uncertainties.
    correlation : float
        Between intercept and slope.
    chi_squared : float
        Weighted sum of squared residuals.
    degrees : int
        Points less two.
    """

    intercept: float
    slope: float
    u_intercept: float
    u_slope: float
    correlation: float
    chi_squared: float
    degrees: int

    @property
    def residual(self) -> float:
        """Standard deviation of the residuals; of unit weight where weights were given."""
        return math.sqrt(self.chi_squared / self.degrees) if self.degrees else math.nan


def line(x: ArrayLike, y: ArrayLike, weights: ArrayLike | None = None) -> Line:
    """Weighted least squares.

    Parameters
    ----------
    x, y : array_like, shape (n,)
    weights : array_like, shape (n,), optional
        One over the variance of y: uncertainties then follow from the weights. Without weights they follow from the
        scatter about the line (JCGM 100, H.3).

    Returns
    -------
    Line

    Examples
    --------
    >>> fit = line([0.0, 1.0, 2.0], [1.0, 3.0, 5.0])
    >>> round(fit.intercept, 12), round(fit.slope, 12)
    (1.0, 2.0)
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    w = np.ones_like(x) if weights is None else np.asarray(weights, dtype=float)
    fit = _weighted(x, y, w)
    if weights is not None or not fit.degrees:
        return fit
    return Line(
        intercept=fit.intercept,
        slope=fit.slope,
        u_intercept=fit.u_intercept * fit.residual,
        u_slope=fit.u_slope * fit.residual,
        correlation=fit.correlation,
        chi_squared=fit.chi_squared,
        degrees=fit.degrees,
    )


def _weighted(x: Array, y: Array, w: Array) -> Line:
    """Normal equations about the weighted middle, where they are well conditioned."""
    total = math.fsum(w)
    mx, my = math.fsum(w * x) / total, math.fsum(w * y) / total
    dx, dy = x - mx, y - my
    sxx = math.fsum(w * dx * dx)
    if sxx == 0.0:
        raise ValueError("a line needs two different values of x")
    slope = math.fsum(w * dx * dy) / sxx
    variance = 1.0 / total + mx * mx / sxx
    return Line(
        intercept=my - slope * mx,
        slope=slope,
        u_intercept=math.sqrt(variance),
        u_slope=math.sqrt(1.0 / sxx),
        correlation=-mx / sxx / math.sqrt(variance / sxx),
        chi_squared=math.fsum(w * (dy - slope * dx) ** 2),
        degrees=len(x) - 2,
    )


def line_errors_in_both(
    x: ArrayLike, y: ArrayLike, weights_x: ArrayLike, weights_y: ArrayLike, *, iterations: int = 200
) -> Line:
    """Least squares with independent errors in both variables.

    Parameters
    ----------
    x, y : array_like, shape (n,)
    weights_x, weights_y : array_like, shape (n,)
        One over the variance.
    iterations : int

    Returns
    -------
    Line

    Raises
    ------
    NotConvergedError

    Notes
    -----
    D. York, N. M. Evensen, M. López Martínez, J. De Basabe Delgado, "Unified equations for the slope, intercept, and
    standard errors of the best straight line", American Journal of Physics 72 (2004) 367.
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    wx, wy = np.asarray(weights_x, dtype=float), np.asarray(weights_y, dtype=float)
    slope = line(x, y, wy).slope
    for _ in range(iterations):
        new, W, beta = _york_step(x, y, wx, wy, slope)
        if abs(new - slope) <= 1e-14 * abs(new):
            return _york_line(x, y, W, beta, new)
        slope = new
    raise NotConvergedError(
        f"a line with errors in both variables did not settle in {iterations} steps",
        hint="check the uncertainties of the points: some may be smaller than their distance from any line",
    )


def _york_step(x: Array, y: Array, wx: Array, wy: Array, b: float) -> tuple[float, Array, Array]:
    W = wx * wy / (wx + b * b * wy)
    U, V = x - np.average(x, weights=W), y - np.average(y, weights=W)
    beta = W * (U / wy + b * V / wx)
    return float(np.sum(W * beta * V) / np.sum(W * beta * U)), W, beta


def _york_line(x: Array, y: Array, W: Array, beta: Array, b: float) -> Line:
    mx, my = np.average(x, weights=W), np.average(y, weights=W)
    a = my - b * mx
    adjusted = mx + beta
    middle = np.average(adjusted, weights=W)
    u_slope = math.sqrt(1.0 / np.sum(W * (adjusted - middle) ** 2))
    variance = 1.0 / np.sum(W) + middle**2 * u_slope**2
    return Line(
        intercept=float(a),
        slope=b,
        u_intercept=math.sqrt(variance),
        u_slope=u_slope,
        correlation=float(-middle * u_slope / math.sqrt(variance)),
        chi_squared=float(np.sum(W * (y - a - b * x) ** 2)),
        degrees=len(x) - 2,
    )
