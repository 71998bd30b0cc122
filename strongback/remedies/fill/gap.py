"""The gap at the wall, and the load staircase that gives it away.

Gap = half-width x (shrinkage after gel + (expansion of fill - expansion of wall) x cooling). Negative: the wall grips the
fill. With a gap the fill idles until the wall has come up to it: the deflection bends at a knee, soft below, stiff above.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc, fdtri

from strongback.answer import Telling
from strongback.errors import MixError
from strongback.materials import Material
from strongback.remedies.fill._checks import above_zero, not_negative

__all__ = ["Gap", "Knee", "find_knee", "gap_at_wall"]

Array = NDArray[np.float64]
SIGNIFICANT = 0.01
CANDIDATES = 2001


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """Gap between wall and fill.

    Parameters
    ----------
    wall : str
        Material of the wall.
    gap : float
        Negative: an interference that presses the two together [m].
    from_shrinkage, from_cooling : float
        Its parts [m].
    """

    ONLY: ClassVar[Telling] = (
        ("wall", "wall"),
        ("gap_m", "gap"),
        ("closed", "closed"),
    )

    wall: str
    gap: float
    from_shrinkage: float
    from_cooling: float

    @property
    def closed(self) -> bool:
        """Whether the wall grips the fill."""
        return self.gap <= 0.0


def gap_at_wall(half_width: float, shrinkage: float, expansion: float, wall: Material, cooling: float) -> Gap:
    """Gap after gel and cooling.

    Parameters
    ----------
    half_width : float
        From the middle of the cell to its wall [m].
    shrinkage : float
        Linear, after gel [-].
    expansion : float
        Of the fill [1/K].
    wall : Material
    cooling : float
        From the temperature at which the fill sets to the room [K].

    Returns
    -------
    Gap

    Examples
    --------
    >>> from strongback.materials import material
    >>> round(gap_at_wall(0.04, 3e-4, 14e-6, material("aluminium"), 40.0).gap * 1e6, 1)
    -2.4
    """
    above_zero("half-width of the cell", half_width, "m")
    not_negative("shrinkage", shrinkage, "", "give it as a positive fraction")
    if shrinkage > 0.05:
        raise MixError(
            f"linear shrinkage {shrinkage:.1%} is more than any resin shows", hint="0.0003 means 0.03 %"
        )
    cooled = half_width * (expansion - wall.expansion) * cooling
    return Gap(
        wall=wall.name,
        gap=half_width * shrinkage + cooled,
        from_shrinkage=half_width * shrinkage,
        from_cooling=cooled,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Knee:
    """A bend in a load staircase.

    Parameters
    ----------
    found : bool
        Whether two lines fit better than one beyond doubt.
    p : float
        Probability of so large an improvement by chance [-].
    force : float
        At the knee [N].
    motion : float
        Deflection at the knee: what the gauge moves before the fill is touched [m].
    interval : tuple of float
        95 % interval of that deflection [m].
    gap : float
        `motion` times the ratio of wall to gauge motion [m].
    gap_interval : tuple of float
        [m]
    soft, stiff : float
        Compliance below and above [m/N].
    """

    found: bool
    p: float
    force: float
    motion: float
    interval: tuple[float, float]
    gap: float
    gap_interval: tuple[float, float]
    soft: float
    stiff: float

    def __str__(self) -> str:
        if not self.found:
            return "no knee: one straight line fits the staircase"
        low, high = (value * 1e6 for value in self.gap_interval)
        return f"knee at {self.force:.0f} N: gap {self.gap * 1e6:.1f} µm ({low:.1f} to {high:.1f})"


def find_knee(forces: Sequence[float], deflections: Sequence[float], *, wall_to_gauge: float = 1.0) -> Knee:
    """Look for the knee of a gap in a load staircase.

    Parameters
    ----------
    forces, deflections : sequence of float
        Rising loads of one sense, repeats allowed [N, m].
    wall_to_gauge : float
        How far the wall moves towards the fill for each metre at the gauge; 1 for a gauge on the wall.

    Returns
    -------
    Knee
        Least squares with y = c1 F below the knee and y = c1 Fk + c2 (F - Fk) above, c2 < c1.

    Raises
    ------
    MixError
        If there are fewer than six readings.
    """
    F, y = np.asarray(forces, dtype=float), np.asarray(deflections, dtype=float)
    if len(F) != len(y) or len(F) < 6:
        raise MixError("a staircase needs at least six loads, each with its reading")
    if not np.all(np.isfinite(F)) or not np.all(np.isfinite(y)) or np.any(F < 0.0):
        raise MixError("loads of a staircase must not be negative", hint="fit each sense by itself")
    if len(np.unique(F[F > 0.0])) < 4 or float(F.max()) > 1e6 or float(np.abs(y).max()) > 0.1:
        raise MixError(
            "a staircase needs at least four different loads, of a size that a machine on a bench can see"
        )
    above_zero("ratio of wall to gauge motion", wall_to_gauge, "")
    one = float(np.sum((y - F * (F @ y) / (F @ F)) ** 2))
    knees = _candidates(F)
    fit = _two_lines(F, y, knees)
    best = int(np.argmin(fit.rest))
    dof = len(F) - 3
    two = max(float(fit.rest[best]), 1e-24 * float(y @ y))
    p = float(fdtrc(2, dof, ((one - two) / 2.0) / (two / dof))) if one > two else 1.0
    motion, stiff = float(fit.motion[best]), float(fit.stiff[best])
    soft = motion / float(knees[best])
    low, high = _interval(fit, two, dof)
    return Knee(
        found=p < SIGNIFICANT and stiff < soft,
        p=p,
        force=float(knees[best]),
        motion=motion,
        interval=(low, high),
        gap=motion * wall_to_gauge,
        gap_interval=(low * wall_to_gauge, high * wall_to_gauge),
        soft=soft,
        stiff=stiff,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fits:
    """Least squares for every candidate knee: motion at the knee, slope above, sum of squares, (X'X)^-1 of the motion."""

    motion: Array
    stiff: Array
    rest: Array
    spread: Array


def _candidates(F: Array) -> Array:
    """Knees between the lowest and the last but one load, even in force."""
    loads = np.unique(F[F > 0.0])
    high = loads[-2] if len(loads) > 2 else loads[-1]
    return np.linspace(loads[0], high, CANDIDATES)


def _two_lines(F: Array, y: Array, knees: Array) -> _Fits:
    """y = m min(F, k)/k + c max(F - k, 0) for every knee k at once."""
    below = np.minimum(F, knees[:, None]) / knees[:, None]  # (knees, loads)
    above = np.maximum(F - knees[:, None], 0.0)
    a, b, c = (below**2).sum(axis=1), (below * above).sum(axis=1), (above**2).sum(axis=1)
    p, q = below @ y, above @ y
    det = a * c - b * b
    motion, stiff = (c * p - b * q) / det, (a * q - b * p) / det
    rest = ((y - motion[:, None] * below - stiff[:, None] * above) ** 2).sum(axis=1)
    return _Fits(motion=motion, stiff=stiff, rest=rest, spread=c / det)


def _interval(fit: _Fits, least: float, dof: int) -> tuple[float, float]:
    """95 % interval of the motion at the knee by the profile of the sum of squares.

    The knee between two loads makes the fit kinked, so that an interval from its curvature is too narrow: in simulated
    staircases it held the truth 86 times in a hundred.
    """
    room = least * (1.0 + float(fdtri(1, dof, 0.95)) / dof) - fit.rest
    allowed = room >= 0.0
    half = np.sqrt(room[allowed] * fit.spread[allowed])
    return max(0.0, float((fit.motion[allowed] - half).min())), float((fit.motion[allowed] + half).max())
