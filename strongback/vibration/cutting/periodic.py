"""Kernel: stability of milling with the teeth as they turn, by collocation of the chip in the cut only.

Each mode is one complex first-order equation p' = lambda p + g . F, its motion 2 Re(p e); F = -a sum_j d_j h_j over the
teeth in the cut, h = b . (u(t) - u(t - T)), T the tooth period. Unknown are the chips at Chebyshev points of the stretches
in which teeth cut, and the modal states when a tooth period begins; between the stretches motion is free and exact. The
vibration dies out where the largest multiplier of the map from one tooth period to the next is below 1 (Floquet). As
Insperger & Stepan (2004) do by steps, here with exponential convergence.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import LimitError
from strongback.vibration.cutting.lobes import Cutter

__all__ = ["multipliers", "points_needed"]

Array = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]
MOST = 20.0  # oscillations in a cut: above, zeroth order answers


def points_needed(duration: float, frequency: float) -> int:
    """Chebyshev points of a stretch of a cut: 12, and three for every half oscillation."""
    return 12 + math.ceil(3.0 * 2.0 * duration * frequency)


def multipliers(
    frequency: Array,
    ratio: Array,
    shapes: Array,
    cut: Cutter,
    speed: float,
    depths: Array,
    *,
    points: int | None = None,
) -> Array:
    """Largest multiplier of a tooth period at each depth; a vibration grows above 1.

    Parameters
    ----------
    frequency, ratio : ndarray, shape (modes,)
        [Hz], [-]
    shapes : ndarray, shape (modes, 2)
        Motion of the tool against the work along x and y at unit modal mass [1/sqrt(kg)].
    cut : Cutter
    speed : float
        Turns a second [1/s].
    depths : ndarray, shape (depths,)
        [m]
    points : int, optional
        Of a stretch; default by its duration and the highest mode.

    Returns
    -------
    ndarray, shape (depths,)

    Raises
    ------
    LimitError
        If a cut holds more than 20 oscillations: use `lobes.lobes`, which is good there.
    """
    top = float(np.max(frequency))
    longest = (cut.end - cut.start) / (2.0 * np.pi * speed)
    if longest * top > MOST:
        raise LimitError(
            f"a cut of {1e3 * longest:.3g} ms holds {longest * top:.0f} oscillations of {top:.0f} Hz",
            hint="take the zeroth order, which is good where a cut is so long",
        )
    made = _operators(frequency, ratio, shapes, cut, speed, points)
    a = np.asarray(depths, dtype=float)[:, None, None]
    n, states = made.chip.shape[0], made.state.shape[0]
    left = np.eye(n) - a * made.chip
    right = np.concatenate(
        [
            np.broadcast_to(made.free @ (made.state - np.eye(states)), (len(depths), n, states)),
            a * (made.free @ made.push - made.chip),
        ],
        axis=2,
    )
    lower = np.linalg.solve(left, right)
    upper = np.concatenate(
        [np.broadcast_to(made.state, (len(depths), states, states)), a * made.push], axis=2
    )
    return np.asarray(np.abs(np.linalg.eigvals(np.concatenate([upper, lower], axis=1))).max(axis=1))


@dataclass(frozen=True, slots=True, eq=False)
class _Operators:
    """Of one tooth period: chips from states and from chips for each metre of depth, states from both."""

    free: Array
    chip: Array
    state: Array
    push: Array


def _operators(
    frequency: Array, ratio: Array, shapes: Array, cut: Cutter, speed: float, points: int | None
) -> _Operators:
    modes, turn = len(frequency), 2.0 * np.pi * speed
    period = 1.0 / (cut.teeth * speed)
    w = 2.0 * np.pi * frequency
    roots = -ratio * w + 1j * w * np.sqrt(1.0 - ratio**2)
    gains = 1.0 / (2j * w * np.sqrt(1.0 - ratio**2))
    used = np.flatnonzero(np.any(shapes != 0.0, axis=0))
    shapes = shapes[:, used]
    stretches = _stretches(cut, turn, period)
    counts = []
    for low, high, angles in stretches:
        n = points or points_needed(high - low, float(np.max(frequency)))
        counts.append(n * min(len(angles), len(used)))
    total = sum(counts)
    now = np.zeros(
        (modes, 2 * modes + total), dtype=complex
    )  # modal states from (Re, Im) at the start and from chips
    now[np.arange(modes), np.arange(modes)] = 1.0
    now[np.arange(modes), modes + np.arange(modes)] = 1j
    chips = np.zeros((total, 2 * modes + total))
    at, first = 0.0, 2 * modes
    for (low, high, angles), count in zip(stretches, counts, strict=True):
        now = np.exp(roots * (low - at))[:, None] * now
        rows = min(len(angles), len(used))
        n = count // rows
        t, slope = _chebyshev(n, high - low)
        force, read = _directions(cut, turn, low + t[1:], angles, used)  # (n, used, rows), (n, rows, used)
        for i in range(modes):
            inner = np.linalg.inv(slope[1:, 1:] - roots[i] * np.eye(n))
            driven = -gains[i] * cut.tangential * np.einsum("d,ndr->nr", shapes[i], force)
            own = np.exp(roots[i] * t[1:])[:, None] * now[i][None, :]
            for r in range(rows):
                own[:, first + r * n : first + (r + 1) * n] += inner * driven[:, r][None, :]
            moved = 2.0 * np.real(own)
            seen = np.einsum("nrd,d->nr", read, shapes[i])
            for r in range(rows):
                start = first - 2 * modes + r * n
                chips[start : start + n] += seen[:, r][:, None] * moved
            now[i] = own[-1]
        at = high
        first += count
    now = np.exp(roots * (period - at))[:, None] * now
    end = np.vstack([now.real, now.imag])
    states = 2 * modes
    return _Operators(
        free=chips[:, :states], chip=chips[:, states:], state=end[:, :states], push=end[:, states:]
    )


def _stretches(cut: Cutter, turn: float, period: float) -> list[tuple[float, float, list[float]]]:
    """Stretches of a tooth period with the same teeth in the cut: start, end, angle of each tooth at time 0."""
    pitch = 2.0 * np.pi / cut.teeth
    angles = [cut.start + k * pitch for k in range(-cut.teeth, cut.teeth)]
    marks = {0.0, period}
    for angle in angles:
        for edge in (cut.start, cut.end):
            t = (edge - angle) / turn
            if 1e-9 * period < t < (1.0 - 1e-9) * period:
                marks.add(t)
    ordered = sorted(marks)
    found = []
    for low, high in itertools.pairwise(ordered):
        middle = 0.5 * (low + high) * turn
        inside = [angle for angle in angles if cut.start < angle + middle < cut.end]
        if inside and high - low > 1e-9 * period:
            found.append((low, high, inside))
    return found


def _directions(
    cut: Cutter, turn: float, t: Array, angles: list[float], used: NDArray[np.int64]
) -> tuple[Array, Array]:
    """Force for each chip over K_t, and chip for each motion, along the directions that give."""
    p = np.array(angles)[None, :] + turn * t[:, None]
    force = np.stack([np.cos(p) + cut.radial * np.sin(p), -np.sin(p) + cut.radial * np.cos(p)], axis=1)[
        :, used
    ]
    read = np.stack([np.sin(p), np.cos(p)], axis=2)[:, :, used]
    if len(angles) <= len(used):
        return force, read
    return np.einsum("ndj,nje->nde", force, read), np.broadcast_to(
        np.eye(len(used)), (len(t), len(used), len(used))
    )


def _chebyshev(n: int, length: float) -> tuple[Array, Array]:
    """n + 1 points from 0 to a length, and the matrix of slopes there (Trefethen, Spectral Methods in MATLAB, 2000)."""
    k = np.arange(n + 1)
    x = -np.cos(np.pi * k / n)
    c = np.where((k == 0) | (k == n), 2.0, 1.0) * (-1.0) ** k
    gap = x[:, None] - x[None, :] + np.eye(n + 1)
    D = np.outer(c, 1.0 / c) / gap
    D -= np.diag(D.sum(axis=1))
    return 0.5 * length * (x + 1.0), D * 2.0 / length
