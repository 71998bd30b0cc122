"""Intervals of estimates."""

from __future__ import annotations

import math

from scipy.special import stdtrit

from strongback.remedies.fill.voids import Estimate

__all__ = ["coverage_factor", "interval_of"]


def coverage_factor(dof: float) -> float:
    """Factor k of a 95 % interval, from Student's t; 1.96 for endless degrees of freedom.

    Examples
    --------
    >>> round(coverage_factor(2.0), 3)
    4.303
    """
    return float(stdtrit(dof, 0.975)) if math.isfinite(dof) else 1.959963984540054


def interval_of(estimate: Estimate) -> tuple[float, float]:
    """Interval that should hold the truth in 95 of 100 cases."""
    half = coverage_factor(estimate.dof) * estimate.u
    return estimate.value - half, estimate.value + half
