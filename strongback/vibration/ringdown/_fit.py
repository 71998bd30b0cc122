"""Kernels: decaying sines fitted to samples in time, with the noise whitened. Arrays in and out, no checks.

    y(t) = c + sum_k exp(-z_k w_k t) (C_k cos w'_k t + S_k sin w'_k t),   w' = w sqrt(1 - z²)

by variable projection (Golub & Pereyra, SIAM J. Numer. Anal. 10 (1973) 413). Data and model pass through the prediction
filter of an autoregression of the noise before the hit, so that what is left is white and its interval holds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.interpolate
import scipy.linalg
import scipy.optimize
import scipy.signal
import scipy.stats
from numpy.typing import NDArray

__all__ = ["Amplitude", "Decay", "autoregression", "fit_amplitude", "fit_decays", "noise_size"]

Array = NDArray[np.float64]
ORDER = 12  # of the autoregression
KNOTS, STEPS = 5, 160  # of the damping over the logarithm of amplitude
LEAST = 1e-6  # damping ratio
FLOOR = 0.6  # times the noise: below, a sine is not followed


@dataclass(frozen=True, slots=True, eq=False)
class Decay:
    """Decaying sines found in samples.

    Parameters
    ----------
    frequency, ratio : ndarray, shape (modes,)
        [Hz], [-]
    u_frequency, u_ratio : ndarray, shape (modes,)
        Half widths of intervals of 95 %.
    cosine, sine : ndarray, shape (modes,)
        Amplitudes at the first sample.
    offset : float
    rest : ndarray
        Whitened residual.
    unknowns : int
    """

    frequency: Array
    ratio: Array
    u_frequency: Array
    u_ratio: Array
    cosine: Array
    sine: Array
    offset: float
    rest: Array
    unknowns: int

    @property
    def amplitude(self) -> Array:
        """At the first sample, (modes,)."""
        return np.hypot(self.cosine, self.sine)

    @property
    def square(self) -> float:
        """Sum of squares of the residual."""
        return float(self.rest @ self.rest)


@dataclass(frozen=True, slots=True, eq=False)
class Amplitude:
    """Damping while the amplitude halves, again and again.

    Parameters
    ----------
    start : ndarray, shape (halvings,)
        Amplitude at which each halving begins, that of the signal.
    ratio, u_ratio : ndarray, shape (halvings,)
        Mean damping ratio over it and the half width of its interval of 95 %.
    square : float
        Sum of squares of the whitened residual.
    unknowns : int
    """

    start: Array
    ratio: Array
    u_ratio: Array
    square: float
    unknowns: int


def autoregression(noise: Array, order: int = ORDER) -> Array:
    """Prediction filter (1, -a_1, ..) of noise, by the Yule-Walker equations, (order + 1,)."""
    x = noise - noise.mean()
    lags = np.array([x[: len(x) - k] @ x[k:] for k in range(order + 1)]) / len(x)
    if lags[0] <= 0.0:
        return np.ones(1)
    lags[0] *= 1.0 + 1e-9
    return np.concatenate([[1.0], -scipy.linalg.solve_toeplitz(lags[:-1], lags[1:])])


def noise_size(noise: Array) -> float:
    """Standard deviation."""
    return float(np.std(noise))


def _white(values: Array, filtered: Array) -> Array:
    """Through the prediction filter; its first samples, which lack a past, left out."""
    return np.asarray(scipy.signal.lfilter(filtered, [1.0], values, axis=0)[len(filtered) - 1 :])


def _columns(unknown: Array, t: Array) -> tuple[Array, Array]:
    """Columns of the model (cosines, sines, one), and their derivatives by frequency and ratio, (2, n, columns)."""
    f, z = unknown.reshape(2, -1)
    w = 2.0 * np.pi * f
    root = np.sqrt(np.maximum(1.0 - z * z, 1e-12))
    fade = np.exp(-np.clip(np.outer(t, z * w), -50.0, None))
    c, s = fade * np.cos(np.outer(t, w * root)), fade * np.sin(np.outer(t, w * root))
    one = np.ones((len(t), 1))
    zero = np.zeros_like(one)
    time = t[:, None]
    by_w = np.hstack([-time * (z * c + root * s), -time * (z * s - root * c), zero]) * 2.0 * np.pi
    turn = z / root
    by_z = np.hstack([-time * w * (c - turn * s), -time * w * (s + turn * c), zero])
    return np.hstack([c, s, one]), np.stack([by_w, by_z])


def fit_decays(y: Array, rate: float, filtered: Array, start: Array) -> Decay:
    """Decaying sines from first guesses of their frequencies [Hz] and ratios, (2, modes)."""
    t = np.arange(len(y)) / rate
    data = _white(y, filtered)
    modes = start.shape[1]
    size = np.concatenate([start[0], np.full(modes, 0.01)])

    def solved(unknown: Array) -> tuple[Array, Array, Array]:
        columns, slopes = _columns(unknown * size, t)
        white = _white(columns, filtered)
        amounts = np.linalg.lstsq(white, data, rcond=None)[0]
        by = [
            _white(slope[:, [k, modes + k]] @ amounts[[k, modes + k]], filtered)
            for slope in slopes
            for k in range(modes)
        ]
        return white, np.asarray(amounts), np.asarray(np.stack(by, axis=1) * size)

    def rest(unknown: Array) -> Array:
        white, amounts, _ = solved(unknown)
        return np.asarray(data - white @ amounts)

    def slope(unknown: Array) -> Array:
        white, _, by = solved(unknown)
        basis = np.linalg.qr(white)[0]
        return np.asarray(-(by - basis @ (basis.T @ by)))  # Kaufman's part of the derivative

    found = scipy.optimize.least_squares(
        rest, start.ravel() / size, jac=slope, method="lm", x_scale=1e-3, max_nfev=200
    )
    white, amounts, by = solved(found.x)
    unknowns = 5 * modes - modes + 1
    left = data - white @ amounts
    free = max(len(left) - unknowns, 1)
    J = np.hstack([by, white])
    scale = np.linalg.norm(J, axis=0)
    spread = np.linalg.pinv((J / scale).T @ (J / scale)) / np.outer(scale, scale)
    wide = (
        scipy.stats.t.ppf(0.975, free)
        * np.sqrt(float(left @ left) / free * np.diag(spread)[: 2 * modes])
        * size
    )
    f, z = (found.x * size).reshape(2, -1)
    return Decay(
        frequency=np.abs(f),
        ratio=z,
        u_frequency=wide[:modes],
        u_ratio=wide[modes:],
        cosine=amounts[:modes],
        sine=amounts[modes : 2 * modes],
        offset=float(amounts[-1]),
        rest=left,
        unknowns=unknowns,
    )


def fit_amplitude(y: Array, rate: float, filtered: Array, sigma: float, first: Decay) -> Amplitude | None:
    """Damping of one mode as a spline over the logarithm of its amplitude; None where too little is above the noise.

    d ln a / dt = -w z(ln a), phase rate w (1 + k a).
    """
    top, w = float(first.amplitude[0]), 2.0 * np.pi * float(first.frequency[0])
    last = y[-max(round(3.0 * rate / float(first.frequency[0])), 1) :]
    low = max(FLOOR * sigma, 0.9 * np.sqrt(2.0) * float(np.std(last)))  # not below where the recording ends
    if top < 2.5 * low:
        return None
    t, data = np.arange(len(y)) / rate, _white(y, filtered)
    reach = np.log(top / low)
    at = np.linspace(-reach, 0.0, KNOTS)  # ln (a / top)
    grid = np.linspace(0.0, -reach, STEPS + 1)
    basis = _spline(at, grid)

    def amplitude(unknown: Array) -> tuple[Array, Array]:
        z = np.maximum(basis @ (0.01 * unknown[:KNOTS]), LEAST)
        slow = 1.0 / (w * z)
        time = np.concatenate([[0.0], np.cumsum(0.5 * (slow[1:] + slow[:-1]) * -np.diff(grid))])
        beyond = grid[-1] - (t - time[-1]) * w * z[-1]
        return time, np.where(t < time[-1], np.interp(t, time, grid), beyond)

    def model(unknown: Array) -> Array:
        log = amplitude(unknown)[1] + unknown[KNOTS]
        a = np.exp(log)
        rate_of = w * unknown[KNOTS + 2] * (1.0 + 0.01 * unknown[KNOTS + 3] * a)
        phase = (
            unknown[KNOTS + 1] + np.concatenate([[0.0], np.cumsum(0.5 * (rate_of[1:] + rate_of[:-1]))]) / rate
        )
        return np.asarray(top * a * np.cos(phase) + sigma * unknown[KNOTS + 4])

    start = np.concatenate(
        [
            np.full(KNOTS, float(first.ratio[0]) / 0.01),
            [0.0, np.arctan2(-first.sine[0], first.cosine[0]), 1.0, 0.0, first.offset / max(sigma, 1e-300)],
        ]
    )
    found = scipy.optimize.least_squares(
        lambda unknown: data - _white(model(unknown), filtered), start, method="lm", max_nfev=2000
    )
    free = max(len(data) - len(start), 1)
    square = float(2.0 * found.cost)
    spread = np.linalg.pinv(found.jac.T @ found.jac) * square / free
    log_top = float(found.x[KNOTS])
    halvings = int((reach + min(log_top, 0.0)) / np.log(2.0))
    if (
        halvings < 1 or np.min(basis @ (0.01 * found.x[:KNOTS])) <= LEAST
    ):  # no damping: the fit has gone astray
        return None

    def means(unknown: Array) -> Array:
        time = amplitude(unknown)[0]
        ends = np.interp(np.log(2.0) * np.arange(halvings + 1), -grid, time)
        return np.asarray(np.log(2.0) / (w * np.diff(ends)))

    mean = means(found.x)
    by = np.stack([(means(found.x + step) - mean) / 1e-4 for step in 1e-4 * np.eye(len(start))], axis=1)
    wide = scipy.stats.t.ppf(0.975, free) * np.sqrt(np.einsum("ia,ab,ib->i", by, spread, by))
    return Amplitude(
        start=top * np.exp(log_top) * 0.5 ** np.arange(halvings),
        ratio=mean,
        u_ratio=wide,
        square=square,
        unknowns=len(start),
    )


def _spline(knots: Array, at: Array) -> Array:
    """Values at places from values at knots of a natural cubic spline, (places, knots)."""
    from_knots = scipy.interpolate.CubicSpline(knots, np.eye(len(knots)), bc_type="natural")
    return np.asarray(from_knots(at))
