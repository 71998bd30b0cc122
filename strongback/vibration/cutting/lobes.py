"""How deep a cutter may go before it feeds a vibration: zeroth order, from receptance.

Tlusty & Polacek (1963) for one direction; Altintas & Budak, CIRP Annals 44(1) (1995) 357 for milling. The turning of the
teeth is averaged: a cut of low immersion, in which it cannot be, is told wrongly (up and down milling come out alike), and
`periodic` answers it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback import checks
from strongback.errors import InputError

__all__ = ["Cutter", "Lobes", "cutter", "lobes", "turning_limit"]

Array = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]
TINY = 1e-30  # of a receptance times a coefficient: a direction that does not give


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutter:
    """A milling cut: the cutter feeds along x, the wall that is left lies along y.

    Parameters
    ----------
    teeth : int
    tangential : float
        Specific force against the motion of the tooth, K_t [Pa].
    radial : float
        Radial over tangential force, K_r [-].
    start, end : float
        Angles from y, with the turn, at which a tooth enters and leaves [rad].
    """

    teeth: int
    tangential: float
    radial: float
    start: float
    end: float

    def __post_init__(self) -> None:
        checks.number("cutter", "tangential", self.tangential, InputError, above=0.0)
        checks.number("cutter", "radial", self.radial, InputError)
        if self.teeth < 1 or not 0.0 <= self.start < self.end <= math.pi + 1e-12:
            raise InputError(
                f"cutter: {self.teeth} teeth that cut from {self.start:g} to {self.end:g} rad",
                hint="at least one tooth, from 0 to pi at most",
            )


def cutter(
    *, teeth: int, immersion: float, tangential: float, radial: float = 0.3, up: bool = True
) -> Cutter:
    """A cutter by its radial immersion.

    Parameters
    ----------
    teeth : int
    immersion : float
        Width of the cut over the diameter, 1 for a slot.
    tangential, radial : float
        As of `Cutter`.
    up : bool
        Whether teeth enter where the chip is thin.
    """
    share = checks.number("cutter", "immersion", immersion, InputError, above=0.0)
    if share > 1.0:
        raise InputError(
            f"cutter: immersion = {share:g} is above 1", hint="width of the cut over the diameter"
        )
    angle = math.acos(1.0 - 2.0 * share)
    start, end = (0.0, angle) if up else (math.pi - angle, math.pi)
    return Cutter(teeth=teeth, tangential=tangential, radial=radial, start=start, end=end)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lobes:
    """Points of the limit of stability.

    Parameters
    ----------
    frequency : ndarray, shape (points,)
        Of the chatter [Hz].
    depth : ndarray, shape (points,)
        [m]
    delay : ndarray, shape (points,)
        Phase of a tooth period beyond whole waves, between 0 and 2 pi [rad].
    run : ndarray of int, shape (points,)
        Points of one run follow each other without a gap.
    teeth : int
    """

    frequency: Array
    depth: Array
    delay: Array
    run: NDArray[np.int64]
    teeth: int

    @property
    def least(self) -> int:
        """Point of the least depth, which is stable at every speed."""
        return int(np.argmin(self.depth))

    def speeds(self, lobe: int) -> Array:
        """Turns a second at which each point stands on a lobe, counted from 0 [1/s]."""
        return np.asarray(2.0 * np.pi * self.frequency / (self.delay + 2.0 * np.pi * lobe) / self.teeth)

    def limit(self, speeds: Array, most: int = 200) -> Array:
        """Limit depth at each speed, the lowest of all lobes [m].

        Parameters
        ----------
        speeds : ndarray, shape (speeds,)
            Turns a second [1/s].
        most : int
            Lobes that are looked at.

        Returns
        -------
        ndarray, shape (speeds,)
            Infinite where no lobe reaches.
        """
        found = np.full(len(speeds), np.inf)
        together = self.run[:-1] == self.run[1:]
        for lobe in range(most):
            n = self.speeds(lobe)
            if n.max() < float(np.min(speeds)):
                break
            a, b = n[:-1][together], n[1:][together]  # a run may turn back in speed: every piece counts
            at_a, at_b = self.depth[:-1][together], self.depth[1:][together]
            low, high = np.minimum(a, b), np.maximum(a, b)
            for k, speed in enumerate(speeds):
                hit = (low <= speed) & (speed <= high) & (high > low)
                if np.any(hit):
                    share = (speed - a[hit]) / (b[hit] - a[hit])
                    found[k] = min(found[k], float(np.min(at_a[hit] * (1.0 - share) + at_b[hit] * share)))
        return found


def turning_limit(receptance: ComplexArray, stiffness: float) -> float:
    """Limit width of cut in one direction, b = -1 / (2 K min Re G) [m]; infinite where Re G is not negative.

    Parameters
    ----------
    receptance : ndarray of complex
        Oriented: motion across the cut surface over the force of the cut [m/N].
    stiffness : float
        Specific cutting force [Pa].

    Examples
    --------
    With k = 20 N/µm, damping 0.03 and 2000 N/mm², b = 2 k z (1 + z) / K = 0.618 mm:

    >>> r = np.linspace(1.0, 1.1, 100001)
    >>> print(f"{1e3 * turning_limit(1.0 / (20e6 * (1.0 - r**2 + 0.06j * r)), 2e9):.3f} mm")
    0.618 mm
    """
    least = float(np.min(np.real(receptance)))
    return -1.0 / (2.0 * stiffness * least) if least < 0.0 else math.inf


def directional(cut: Cutter) -> Array:
    """Mean directional coefficients of a cut, (2, 2): alpha of Altintas & Budak."""
    p, K = np.array([cut.start, cut.end]), cut.radial
    xx = 0.5 * (np.cos(2 * p) - 2 * K * p + K * np.sin(2 * p))
    xy = 0.5 * (-np.sin(2 * p) - 2 * p + K * np.cos(2 * p))
    yx = 0.5 * (-np.sin(2 * p) + 2 * p + K * np.cos(2 * p))
    yy = 0.5 * (-np.cos(2 * p) - 2 * K * p - K * np.sin(2 * p))
    return np.array([[xx[1] - xx[0], xy[1] - xy[0]], [yx[1] - yx[0], yy[1] - yy[0]]])


def lobes(receptance: ComplexArray, frequencies: Array, cut: Cutter) -> Lobes:
    """Limit of stability of milling, zeroth order.

    Parameters
    ----------
    receptance : ndarray of complex, shape (lines, 2, 2)
        Of the tool against the work along x and y [m/N].
    frequencies : ndarray, shape (lines,)
        [Hz]
    cut : Cutter

    Returns
    -------
    Lobes
    """
    roots = _tracked(np.linalg.eigvals(directional(cut) @ np.asarray(receptance)).astype(complex))
    lines = np.asarray(frequencies, dtype=float)
    parts: list[tuple[Array, Array, Array]] = []
    for branch in roots.T:
        with np.errstate(divide="ignore", invalid="ignore"):
            value = -1.0 / branch  # Lambda of det(I + Lambda alpha G) = 0
            ratio = value.imag / value.real
            depth = -2.0 * np.pi * value.real / (cut.teeth * cut.tangential) * (1.0 + ratio**2)
        good = np.isfinite(depth) & (depth > 0.0) & (np.abs(branch) > TINY)
        psi = np.arctan2(value.imag, value.real) % np.pi
        delay = (np.pi - 2.0 * psi) % (2.0 * np.pi)
        delay = np.where(delay <= 0.0, delay + 2.0 * np.pi, delay)
        kept = np.flatnonzero(good)
        breaks = (np.diff(kept) > 1) | (np.abs(np.diff(delay[kept])) > np.pi)
        parts += [
            (lines[run], depth[run], delay[run])
            for run in np.split(kept, np.flatnonzero(breaks) + 1)
            if len(run)
        ]
    if not parts:
        raise InputError(
            "no depth feeds a vibration at these frequencies", hint="give lines beyond the modes"
        )
    frequency, depth, delay = (np.concatenate([part[k] for part in parts]) for k in range(3))
    run = np.concatenate([np.full(len(part[0]), k) for k, part in enumerate(parts)])
    return Lobes(frequency=frequency, depth=depth, delay=delay, run=run, teeth=cut.teeth)


def _tracked(roots: ComplexArray) -> ComplexArray:
    """The two roots of every line in an order that goes on from line to line."""
    straight = np.abs(roots[1:] - roots[:-1]).sum(axis=1)
    crossed = np.abs(roots[1:, ::-1] - roots[:-1]).sum(axis=1)
    flips = np.concatenate([[0], np.cumsum(crossed < straight)]) % 2 == 1
    return np.where(flips[:, None], roots[:, ::-1], roots)
