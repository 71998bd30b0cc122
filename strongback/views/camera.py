"""A parallel view of the machine on paper: points in space to points on the page, and what hides what."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from strongback.machine.room import Operator, right_of, towards

__all__ = ["Camera", "spread", "uncrossed"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """Where the machine is looked at from: the operator's side, from the right and from above.

    Parameters
    ----------
    turn : float
        About Z to the operator's right, from straight in front [rad].
    tilt : float
        Upwards [rad].
    operator : {"-y", "+y", "-x", "+x"}
        Side on which the operator stands.
    """

    turn: float = math.radians(35.0)
    tilt: float = math.radians(20.0)
    operator: Operator = "-y"

    def axes(self) -> Array:
        """Rows: right and up on the page, and towards the eye, (3, 3)."""
        c, s = math.cos(self.turn), math.sin(self.turn)
        ct, st = math.cos(self.tilt), math.sin(self.tilt)
        aside, front = np.array(right_of(self.operator)), np.array(towards(self.operator))
        eye = ct * (c * front + s * aside) + np.array([0.0, 0.0, st])
        right = c * aside - s * front
        return np.array([right, np.cross(eye, right), eye])

    def page(self, points: Array) -> Array:
        """Points on the page.

        Parameters
        ----------
        points : ndarray, shape (..., 3)

        Returns
        -------
        ndarray, shape (..., 2)

        Examples
        --------
        >>> Camera(turn=0.0, tilt=0.0).page(np.array([1.0, 5.0, 2.0])).tolist()
        [1.0, 2.0]
        """
        return np.asarray(points @ self.axes()[:2].T)

    def depth(self, points: Array) -> Array:
        """How near points are to the eye."""
        return np.asarray(points @ self.axes()[2])


def spread(wanted: Array, least: float, low: float, high: float) -> Array:
    """Places on a line that keep their order and a distance, each as near as may be to where it is wanted.

    Parameters
    ----------
    wanted : ndarray, shape (n,)
    least : float
        Distance between neighbours.
    low, high : float
        Ends of the line; if it is too short the distance shrinks evenly.

    Returns
    -------
    ndarray, shape (n,)

    Examples
    --------
    >>> spread(np.array([0.0, 0.1, 5.0]), 1.0, 0.0, 10.0).tolist()
    [0.0, 1.0, 5.0]
    """
    count = len(wanted)
    if count == 0:
        return np.asarray(wanted, dtype=float)
    step = min(least, (high - low) / max(1, count - 1))
    order = np.argsort(wanted, kind="stable")
    # With the steps taken off, keeping the distance means keeping the order: pool what runs backwards.
    level = np.clip(wanted[order], low, high) - step * np.arange(count)
    pools: list[list[float]] = []
    for value in level:
        pools.append([float(value), 1.0])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            mean, weight = pools.pop()
            before, others = pools.pop()
            pools.append([(before * others + mean * weight) / (others + weight), others + weight])
    flat = np.concatenate([np.full(int(weight), value) for value, weight in pools])
    flat = np.clip(flat, low, high - step * (count - 1))
    places = np.empty(count)
    places[order] = flat + step * np.arange(count)
    return places


def uncrossed(tips: Sequence[Array], x: float, heights: Array) -> list[float]:
    """Heights at one side for the leaders of some points so that no two leaders cross.

    Parameters
    ----------
    tips : sequence of ndarray, shape (2,)
        Where the leaders start.
    x : float
        Where they end.
    heights : ndarray, shape (n,)
        Places there, which are dealt anew.

    Returns
    -------
    list of float

    Examples
    --------
    >>> uncrossed([np.array([0.0, 0.0]), np.array([5.0, 1.0])], 10.0, np.array([2.0, 0.0]))
    [2.0, 0.0]
    >>> uncrossed([np.array([0.0, 0.0]), np.array([5.0, 1.0])], 10.0, np.array([3.0, 4.0]))
    [4.0, 3.0]
    """
    found = [float(h) for h in heights]
    for _ in range(len(found) ** 2):
        crossing = [
            (i, j)
            for i, j in itertools.combinations(range(len(found)), 2)
            if _cross(tips[i], (x, found[i]), tips[j], (x, found[j]))
        ]
        if not crossing:
            break
        i, j = crossing[0]
        found[i], found[j] = (
            found[j],
            found[i],
        )  # which makes both together shorter, so that this comes to an end
    return found


def _cross(a: Array, b: tuple[float, float], c: Array, d: tuple[float, float]) -> bool:
    """Whether two lines have an inner point in common."""

    def side(p: ArrayLike, q: ArrayLike, r: ArrayLike) -> float:
        (px, py), (qx, qy), (rx, ry) = np.asarray(p), np.asarray(q), np.asarray(r)
        return float((qx - px) * (ry - py) - (qy - py) * (rx - px))

    return side(a, b, c) * side(a, b, d) < 0.0 and side(c, d, a) * side(c, d, b) < 0.0
