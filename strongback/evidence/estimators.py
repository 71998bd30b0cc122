"""What follows from readings without any model of the machine."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from strongback.errors import ReadingsError
from strongback.evidence.readings import Measured
from strongback.evidence.uncertainty import effective_degrees, student

__all__ = ["Estimate", "chord", "foot_ratio", "ratio", "twist_pair"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A value with its interval.

    Parameters
    ----------
    name : str
    value : float
    low, high : float
        Interval of 95 %; infinite where the readings leave it open.
    u : float
        Standard uncertainty.
    unit : str
    """

    name: str
    value: float
    low: float
    high: float
    u: float
    unit: str

    @property
    def bounded(self) -> bool:
        """Whether the readings bound the value at all."""
        return math.isfinite(self.low) and math.isfinite(self.high)


def _combination(name: str, terms: Sequence[tuple[float, Measured]], unit: str) -> Estimate:
    """Sum of factors times readings; what the readings share moves the sum as a whole."""
    value = math.fsum(f * m.value for f, m in terms)
    own = math.sqrt(math.fsum((f * m.own_u) ** 2 for f, m in terms))
    rows = [(abs(f) * m.own_u, m.uncertainty.degrees) for f, m in terms]
    common = abs(value) * max(_common(m) for _, m in terms)
    u = math.hypot(own, common)
    half = student(effective_degrees([*rows, (common, math.inf)])) * u
    return Estimate(name=name, value=value, low=value - half, high=value + half, u=u, unit=unit)


def _common(measured: Measured) -> float:
    """Relative standard uncertainty that all readings of the data set share."""
    squares = math.fsum(c.u**2 for c in measured.uncertainty.contributions if c.common)
    return math.sqrt(squares) / abs(measured.value) if measured.value else 0.0


def _same_pull(measured: Sequence[Measured]) -> None:
    loads = {m.load for m in measured}
    pulls = {m.pull for m in measured}
    if len(pulls) > 1 or max(loads) - min(loads) > 1e-6 * max(loads):
        raise ReadingsError(
            f"readings under different loads cannot be taken together: {', '.join(sorted(pulls))}, "
            f"{', '.join(f'{v:.4g} N' for v in sorted(loads))}",
            hint="use readings of one pull at one load",
        )


def chord(foot: Measured, middle: Measured, top: Measured, heights: tuple[float, float, float]) -> Estimate:
    """Middle reading less the straight line through foot and top: bending of the column alone.

    A rotation or a shift of the base moves the three on a straight line, so that the chord does not see it.

    Parameters
    ----------
    foot, middle, top : Measured
        Along the same direction, under one pull.
    heights : tuple of float
        Of the three gauges [m].

    Returns
    -------
    Estimate
        [m]
    """
    _same_pull([foot, middle, top])
    low, mid, high = heights
    if not low < mid < high:
        raise ReadingsError("the heights of a chord must rise from foot to top")
    share = (mid - low) / (high - low)
    return _combination("chord", [(1.0, middle), (share - 1.0, foot), (-share, top)], "m")


def twist_pair(
    head: tuple[Measured, Measured], foot: tuple[Measured, Measured], gaps: tuple[float, float]
) -> Estimate:
    """Twist between two heights from two pairs of gauges: blind to a yaw of the base and of the bench.

    Parameters
    ----------
    head, foot : tuple of Measured
        Right and left gauge of each pair, along the same direction.
    gaps : tuple of float
        Distance of the two gauges of each pair [m].

    Returns
    -------
    Estimate
        [rad]
    """
    _same_pull([*head, *foot])
    if min(gaps) <= 0.0:
        raise ReadingsError("the gauges of a twist pair need a distance above 0")
    a, b = 1.0 / gaps[0], 1.0 / gaps[1]
    return _combination("twist", [(a, head[0]), (-a, head[1]), (-b, foot[0]), (b, foot[1])], "rad")


def ratio(after: Measured, before: Measured, *, same_load: bool = True, name: str = "") -> Estimate:
    """Compliance after a change over that before, with the interval of Fieller.

    Parameters
    ----------
    after, before : Measured
    same_load : bool
        Whether both used the same weight, whose error then cancels.
    name : str

    Returns
    -------
    Estimate
        Open where `before` does not stand out from zero.

    Notes
    -----
    E. C. Fieller, "Some problems in interval estimation", Journal of the Royal Statistical Society B 16 (1954) 175.
    """
    a, b = after.compliance, before.compliance
    u_a, u_b = after.own_u / abs(after.load), before.own_u / abs(before.load)
    if not same_load:
        u_a, u_b = after.uncertainty.u / abs(after.load), before.uncertainty.u / abs(before.load)
    return _fieller(
        name or f'"{after.gauge}" under "{after.pull}"',
        (a, u_a, after.uncertainty.degrees),
        (b, u_b, before.uncertainty.degrees),
    )


def _fieller(name: str, after: tuple[float, float, float], before: tuple[float, float, float]) -> Estimate:
    a, u_a, nu_a = after
    b, u_b, nu_b = before
    if b == 0.0:
        return Estimate(name=name, value=math.nan, low=-math.inf, high=math.inf, u=math.inf, unit="1")
    R = a / b
    u = math.hypot(u_a, R * u_b) / abs(b)
    t = student(effective_degrees([(u_a, nu_a), (abs(R) * u_b, nu_b)]))
    g = (t * u_b / b) ** 2
    if g >= 1.0:
        return Estimate(name=name, value=R, low=-math.inf, high=math.inf, u=u, unit="1")
    # Roots of (a - R b)² = t² (u_a² + R² u_b²).
    root = math.sqrt(max(a * a * t * t * u_b**2 + b * b * t * t * u_a**2 - t**4 * u_a**2 * u_b**2, 0.0))
    ends = np.sort([(a * b - root) / (b * b * (1.0 - g)), (a * b + root) / (b * b * (1.0 - g))])
    return Estimate(name=name, value=R, low=float(ends[0]), high=float(ends[1]), u=u, unit="1")


def foot_ratio(after: Measured, before: Measured, *, same_load: bool = True) -> Estimate:
    """Ratio after over before at the foot of the column: above 1 when the base was put back softer."""
    return ratio(after, before, same_load=same_load, name="foot")
