"""Hits in a recording, and how each dies out: which modes, how fast, and whether one damping will do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.signal
import scipy.stats
from numpy.typing import NDArray

from strongback.errors import ReadingsError
from strongback.vibration.ringdown import _fit

__all__ = ["Hit", "fit_hit", "hit_starts"]

Array = NDArray[np.float64]
BAND = (80.0, 800.0)  # in which a hit is looked for [Hz]
STEP = 4e-3  # over which energy is taken [s]
BEFORE = 0.1  # whose median is the quiet before a hit [s]
APART = 0.25  # between hits at least [s]
RISE, OVER = 10.0, 8.0  # above the quiet before, above the floor of the recording [dB]
SPREADS = 5.0  # and robust standard deviations above it
FALLS, AFTER = 6, 25  # steps over which energy is taken at a hit, and how much later it has fallen
SETTLE, PERIODS = 5e-3, 3.0  # after a hit [s, periods of the lowest mode]
MOST = 4  # modes in a hit
LESS = 0.01  # chance that an F test takes for none
QUIET = 240  # samples before a hit from which the noise is known
LONGEST = 20_000  # samples of a fit
APART_BY = 0.005  # of a frequency: modes nearer than this are one
SEEN = 6.0  # decay times over which damping is followed against amplitude


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hit:
    """How the ringing after one hit dies out.

    Parameters
    ----------
    at : float
        Time of the hit [s].
    frequency, ratio : tuple of float
        Of each mode, strongest first [Hz, -].
    u_frequency, u_ratio : tuple of float
        Half widths of intervals of 95 %.
    amplitude : tuple of float
        Where the fit begins, in units of the recording.
    noise : float
        Standard deviation of what was there before the hit.
    halvings : tuple of (float, float, float)
        Amplitude at which a halving begins, mean damping ratio over it, half width of its interval of 95 %; of a hit with
        one mode.
    steady : bool
        Whether one damping will do: the F test does not tell it from one that changes with amplitude.
    """

    at: float
    frequency: tuple[float, ...]
    ratio: tuple[float, ...]
    u_frequency: tuple[float, ...]
    u_ratio: tuple[float, ...]
    amplitude: tuple[float, ...]
    noise: float
    halvings: tuple[tuple[float, float, float], ...] = ()
    steady: bool = True


def hit_starts(signal: Array, rate: float) -> tuple[int, ...]:
    """First samples of the hits in a recording.

    Parameters
    ----------
    signal : ndarray, shape (samples,)
    rate : float
        Samples a second [Hz].
    """
    low, high = BAND
    top = min(high, 0.45 * rate)
    band = [min(low, 0.25 * top), top]
    sos = scipy.signal.butter(2, band, btype="bandpass", fs=rate, output="sos")
    swing = scipy.signal.sosfilt(sos, signal - np.median(signal))
    step = max(1, round(STEP * rate))
    count = len(swing) // step
    energy = np.mean(swing[: count * step].reshape(count, step) ** 2, axis=1)
    level = 10.0 * np.log10(energy + 1e-300)
    quiet, back = float(np.percentile(level, 20.0)), max(3, round(BEFORE * rate / step))
    calm = level[level < quiet + OVER]
    spread = 1.4826 * float(np.median(np.abs(calm - np.median(calm)))) if len(calm) else 0.0
    least = quiet + max(OVER, SPREADS * spread)
    found: list[int] = []
    last = -APART
    for k in range(1, count - 2):
        near = level[max(0, k - back) : k]
        if level[k] < least or level[k] < float(np.median(near)) + RISE or k * step / rate - last < APART:
            continue
        # A ringing dies out; a word or a motor that starts does not. Slow ringing makes single steps go up and down.
        early, late = energy[k : k + FALLS], energy[k + AFTER : k + AFTER + FALLS]
        if len(late) < FALLS or np.mean(late) < np.mean(early):
            found.append(k * step)
            last = k * step / rate
    return tuple(found)


def fit_hit(
    signal: Array, rate: float, start: int, end: int, quiet: Array, lowest: float | None = None
) -> Hit | None:
    """How the ringing after a hit dies out; None where nothing dies out.

    Parameters
    ----------
    signal : ndarray, shape (samples,)
    rate : float
        [Hz]
    start, end : int
        First sample of the hit, and of the next one or the end of the recording.
    quiet : ndarray
        What was recorded before the first hit; where that is short, the end of the ringing stands for it.
    lowest : float, optional
        Lowest frequency looked for [Hz]; default: that of which the recording holds eight periods.
    """
    known = len(quiet) >= QUIET
    noise = quiet if known else signal[max(start, end - 2 * QUIET) : end]
    filtered = _fit.autoregression(noise - np.mean(noise), _fit.ORDER if known else 8)
    begin = start + round(SETTLE * rate)
    least = lowest or 8.0 * rate / max(end - begin, 1)
    y = signal[begin : min(end, begin + LONGEST)]
    if len(y) < 8 * _fit.ORDER:
        return None
    guess = _strongest(y - y.mean(), rate, least)
    begin += max(0, round(PERIODS * rate / guess[0]) - round(SETTLE * rate))
    y = signal[begin : min(end, begin + LONGEST)]
    if len(y) < 8 * _fit.ORDER:
        return None
    found = _modes(y, rate, filtered, least)
    if found is None:
        return None
    order = np.argsort(-found.amplitude)
    size = _fit.noise_size(noise)
    halvings, steady = _by_amplitude(y, rate, filtered, size, found)

    def told(values: Array) -> tuple[float, ...]:
        return tuple(float(values[k]) for k in order)

    return Hit(
        at=start / rate,
        frequency=told(found.frequency),
        ratio=told(found.ratio),
        u_frequency=told(found.u_frequency),
        u_ratio=told(found.u_ratio),
        amplitude=told(found.amplitude),
        noise=size,
        halvings=halvings,
        steady=steady,
    )


def _strongest(rest: Array, rate: float, least: float) -> tuple[float, float]:
    """Frequency and rough damping ratio of the largest peak of a spectrum."""
    size = 4 * len(rest)
    lines = np.fft.rfftfreq(size, 1.0 / rate)
    power = np.abs(np.fft.rfft(rest * np.hanning(2 * len(rest))[len(rest) :], size)) ** 2
    power[(lines < least) | (lines > 0.45 * rate)] = 0.0
    peak = int(np.argmax(power))
    above = power > 0.5 * power[peak]
    left, right = peak, peak
    while left > 0 and above[left - 1]:
        left -= 1
    while right < len(power) - 1 and above[right + 1]:
        right += 1
    f = float(max(lines[peak], lines[1]))
    return f, float(np.clip(0.5 * (lines[right] - lines[left]) / f, 1e-3, 0.2))


def _modes(y: Array, rate: float, filtered: Array, least: float) -> _fit.Decay | None:
    """One mode after the other, as long as the F test takes the next for more than noise."""
    best: _fit.Decay | None = None
    rest = y - y.mean()
    start = np.zeros((2, 0))
    for _ in range(MOST):
        start = np.column_stack([start, _strongest(rest, rate, least)])
        try:
            found = _fit.fit_decays(y, rate, filtered, start)
        except (np.linalg.LinAlgError, ValueError):
            break
        # The first samples say where the model was wrong; a mode that grows or is not told from none is no mode.
        if not np.all(
            (found.ratio - found.u_ratio > 0.0) & (found.ratio < 0.5) & (found.frequency > 0.5 * least)
        ):
            break
        if _same(found):
            break
        if best is not None:
            more = found.unknowns - best.unknowns
            free = len(found.rest) - found.unknowns
            gain = (best.square - found.square) / more / max(found.square / free, 1e-300)
            # The largest of all peaks was taken: noise alone offers as many as there are pairs of samples.
            if gain < scipy.stats.f.ppf(1.0 - 2.0 * LESS / len(y), more, free):
                break
        best = found
        start = np.array([found.frequency, found.ratio])
        rest = y - _model(found, len(y), rate)
    return best


def _same(found: _fit.Decay) -> bool:
    """Whether two modes stand at one frequency: that is one whose damping changes, not two."""
    order = np.argsort(found.frequency)
    f, z = found.frequency[order], found.ratio[order]
    return bool(np.any(np.diff(f) < np.maximum(APART_BY, 0.5 * z[:-1]) * f[:-1]))


def _model(found: _fit.Decay, count: int, rate: float) -> Array:
    t = np.arange(count)[:, None] / rate
    w = 2.0 * np.pi * found.frequency
    turn = t * w * np.sqrt(1.0 - found.ratio**2)
    fade = np.exp(-t * w * found.ratio)
    return np.asarray(
        found.offset + (fade * (np.cos(turn) * found.cosine + np.sin(turn) * found.sine)).sum(axis=1)
    )


def _by_amplitude(
    y: Array, rate: float, filtered: Array, noise: float, found: _fit.Decay
) -> tuple[tuple[tuple[float, float, float], ...], bool]:
    """Damping of each halving of a single mode, and whether one number for all will do."""
    if len(found.frequency) > 1:
        return (), True
    seen = SEEN / (2.0 * np.pi * float(found.frequency[0]) * float(found.ratio[0]))
    y = y[: max(round(seen * rate), 8 * _fit.ORDER)]
    try:
        found = _fit.fit_decays(y, rate, filtered, np.array([found.frequency, found.ratio]))
        fitted = _fit.fit_amplitude(y, rate, filtered, noise, found)
    except (np.linalg.LinAlgError, ValueError):
        return (), True
    if fitted is None:
        return (), True
    more, free = fitted.unknowns - found.unknowns, len(found.rest) - fitted.unknowns
    gain = (found.square - fitted.square) / more / max(fitted.square / max(free, 1), 1e-300)
    steady = bool(gain < scipy.stats.f.ppf(1.0 - LESS, more, max(free, 1)))
    rows = zip(fitted.start.tolist(), fitted.ratio.tolist(), fitted.u_ratio.tolist(), strict=True)
    return tuple(rows), steady


def refuse_useless(signal: Array, rate: float, lowest: float | None, what: str) -> None:
    """Refuse a recording from which nothing can be told.

    Raises
    ------
    ReadingsError
        If it clips, is silent, is too short, or is sampled too slowly for what is asked.
    """
    if lowest is not None and rate < 5.0 * lowest:
        raise ReadingsError(
            f"{what} has {rate:g} samples a second, too few for a mode at {lowest:g} Hz",
            hint=f"record with {5.0 * lowest:.0f} a second or more: as sound, or with a faster sensor",
        )
    if len(signal) < 200:
        raise ReadingsError(
            f"{what} has {len(signal)} samples, too few", hint="record some seconds around a tap"
        )
    if not np.all(np.isfinite(signal)):
        raise ReadingsError(f"{what} has samples that are no numbers", hint="leave out those lines")
    top, low = float(signal.max()), float(signal.min())
    if top == low:
        raise ReadingsError(
            f"{what} is silent: every sample is {top:g}", hint="check the microphone or the sensor"
        )
    for limit in (top, low):
        flat = np.flatnonzero(np.diff(np.concatenate([[0], (signal == limit).astype(int), [0]])))
        runs = flat[1::2] - flat[::2]
        if np.sum(runs >= 3) >= 2 or runs.max(initial=0) >= 6:
            raise ReadingsError(
                f"{what} clips: {int(runs[runs >= 3].sum())} samples stand at {limit:g}",
                hint="tap more softly, move the microphone away, or turn the gain down, and record again",
            )
