"""The corner by which an outline crosses itself, and the swapped digits that may have put it there."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from shapely.geometry import Polygon

__all__ = ["corner_across", "meant"]

Point2 = tuple[float, float]
CLEAR = 2.0
MOST = 2000  # corners; of a longer outline none is named


def corner_across(points: Sequence[Point2]) -> int | None:
    """The corner without which a ring would bound an area; None if there is none, or the choice is open.

    Where several would do, one of them, if it lies twice as far from the line between its neighbours as any other.

    Parameters
    ----------
    points : sequence of (float, float)
        [m]

    Examples
    --------
    >>> corner_across([(0, 0), (80, 0), (80, 12), (80, 100), (0, 100), (90, 50)])
    5
    """
    if not 4 <= len(points) <= MOST or Polygon(points).is_valid:
        return None
    fits = [i for i in range(len(points)) if Polygon([*points[:i], *points[i + 1 :]]).is_valid]
    ranked = sorted(fits, key=lambda i: -_off(points, i))
    if len(ranked) > 1 and _off(points, ranked[0]) < CLEAR * _off(points, ranked[1]):
        return None
    return ranked[0] if ranked else None


def _off(points: Sequence[Point2], i: int) -> float:
    """From a corner to the line between its neighbours."""
    (x0, y0), (x, y), (x1, y1) = points[i - 1], points[i], points[(i + 1) % len(points)]
    length = math.hypot(x1 - x0, y1 - y0)
    if length == 0.0:
        return math.hypot(x - x0, y - y0)
    return abs((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) / length


def meant(points: Sequence[Point2], corner: int) -> Point2 | None:
    """A corner with two digits of one coordinate put the other way round, if that makes the ring sound [m].

    Parameters
    ----------
    points : sequence of (float, float)
        [m]
    corner : int

    Examples
    --------
    >>> meant([(0.0, 0.0), (0.08, 0.0), (0.08, 0.1), (0.0, 0.1), (0.090, 0.05)], 4)
    (0.009000000000000001, 0.05)
    """
    x, y = points[corner]
    found = []
    for there in (*((v, y) for v in _swapped(x)), *((x, v) for v in _swapped(y))):
        ring = [*points[:corner], there, *points[corner + 1 :]]
        if Polygon(ring).is_valid:
            found.append((math.dist(there, points[corner]), there))
    return min(found)[1] if found else None


def _swapped(value: float) -> Iterator[float]:
    """A length with two neighbouring digits of its millimetres swapped [m]."""
    digits = list(f"{abs(value) * 1e3:.6g}".zfill(3))
    for i in range(len(digits) - 1):
        if digits[i] != digits[i + 1] and "." not in (digits[i], digits[i + 1]):
            other = digits.copy()
            other[i], other[i + 1] = other[i + 1], other[i]
            yield math.copysign(float("".join(other)) * 1e-3, value)
