"""A ring-down as an answer: modes pooled over the hits, damping against amplitude, and what was left out."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from strongback.answer import HIDDEN, Answer, told
from strongback.errors import ReadingsError
from strongback.vibration.ringdown.hits import Hit, fit_hit, hit_starts, refuse_useless

__all__ = ["Halving", "HitModes", "RingDown", "RungMode", "ring_down"]

Array = NDArray[np.float64]
SAME = 0.02  # of a frequency: modes of different hits nearer than this are one
MODE = ("frequency_Hz", "u_frequency_Hz", "damping_ratio", "u_damping_ratio", "amplitude")


@dataclass(frozen=True, slots=True, kw_only=True)
class RungMode:
    """A mode over all hits that have it: weighted means, wider where the hits differ by more than their intervals.

    Parameters
    ----------
    frequency, damping_ratio : float
        [Hz], [-]; no damping where one number will not do: see `RingDown.halvings`.
    u_frequency, u_damping_ratio : float
        Half widths of intervals of 95 %.
    hits : int
    """

    frequency: float = field(metadata=told("frequency_Hz"))
    u_frequency: float = field(metadata=told("u_frequency_Hz"))
    damping_ratio: float | None
    u_damping_ratio: float | None
    hits: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Halving:
    """Mean damping ratio while the amplitude halves.

    Parameters
    ----------
    hit : int
        Counted from 1.
    amplitude : float
        At its start, in units of the recording.
    damping_ratio, u_damping_ratio : float
        With the half width of an interval of 95 %.
    """

    hit: int
    amplitude: float
    damping_ratio: float
    u_damping_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HitModes:
    """One hit.

    Parameters
    ----------
    at : float
        [s]
    modes : tuple of tuple
        Frequency, its half width, ratio, its half width, amplitude; strongest first.
    one_damping : bool
        Whether one damping ratio describes it.
    """

    at: float = field(metadata=told("at_s"))
    modes: tuple[tuple[float, ...], ...] = field(metadata=told(each=MODE))
    one_damping: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class RingDown(Answer):
    """What a recording of taps tells.

    Parameters
    ----------
    file : str
    rate : float
        [Hz]
    signal : ndarray, shape (samples,)
    modes : tuple of RungMode
        Lowest first.
    halvings : tuple of Halving
        Of hits with one mode.
    hits : tuple of HitModes
    left_out : int
        Hits from which nothing dies out in a way that could be fitted.

    Examples
    --------
    >>> t = np.arange(-500, 1500) / 1000.0
    >>> noise = 0.01 * np.random.default_rng(0).normal(size=2000)
    >>> ring = np.where(t < 0.0, 0.0, np.exp(-0.02 * 2.0 * np.pi * 60.0 * t) * np.sin(2.0 * np.pi * 60.0 * t))
    >>> found = ring_down(ring + noise, 1000.0, file="tap.csv")
    >>> len(found.hits), round(found.modes[0].frequency, 1)  # [Hz]
    (1, 60.0)
    """

    file: str
    rate: float = field(metadata=told("sample_rate_Hz"))
    signal: Array = field(metadata=HIDDEN)
    modes: tuple[RungMode, ...]
    halvings: tuple[Halving, ...] = field(metadata=told("damping_by_amplitude"))
    hits: tuple[HitModes, ...]
    left_out: int

    def __repr__(self) -> str:
        first = ", ".join(f"{mode.frequency:.4g} Hz" for mode in self.modes)
        return f"RingDown({self.file!r}: {len(self.hits)} hits; {first})"


def ring_down(
    signal: Array, rate: float, *, file: str = "recording", lowest: float | None = None
) -> RingDown:
    """Pitch and damping from a recording of taps.

    Parameters
    ----------
    signal : ndarray, shape (samples,)
        Sound pressure, acceleration, velocity or displacement: decaying sines alike.
    rate : float
        Samples a second [Hz].
    file : str
        What it is called.
    lowest : float, optional
        Lowest frequency looked for [Hz].

    Returns
    -------
    RingDown

    Raises
    ------
    ReadingsError
        If it clips, is silent or sampled too slowly, holds no hit, or nothing dies out after any.

    Examples
    --------
    >>> t = np.arange(-500, 1500) / 1000.0
    >>> noise = 0.01 * np.random.default_rng(0).normal(size=2000)
    >>> ring = np.where(t < 0.0, 0.0, np.exp(-0.02 * 2.0 * np.pi * 60.0 * t) * np.sin(2.0 * np.pi * 60.0 * t))
    >>> (mode,) = ring_down(ring + noise, 1000.0).modes
    >>> print(f"{mode.frequency:.1f} Hz, {mode.damping_ratio:.3f}")
    60.0 Hz, 0.020
    """
    what = f'the recording "{file}"'
    signal = np.asarray(signal, dtype=float)
    if not (math.isfinite(rate) and rate > 0.0):
        raise ReadingsError(f"{what} has {rate:g} samples a second", hint="give its sample rate")
    refuse_useless(signal, rate, lowest, what)
    starts = hit_starts(signal, rate)
    if not starts:
        raise ReadingsError(
            f"{what} holds no hit: nothing in it rises by 10 dB and dies out",
            hint="record a second of quiet, a tap, and two seconds more",
        )
    ends = (*starts[1:], len(signal))
    margin = round(0.01 * rate)
    quiet = signal[: max(0, starts[0] - margin)]
    fitted = [
        fit_hit(signal, rate, start, end - (margin if end < len(signal) else 0), quiet, lowest)
        for start, end in zip(starts, ends, strict=True)
    ]
    hits = [hit for hit in fitted if hit is not None]
    if not hits:
        raise ReadingsError(
            f"{what} has {len(starts)} hits, but nothing dies out after any of them",
            hint="tap harder or put the sensor nearer; hum and steady noise have no damping",
        )
    return RingDown(
        file=file,
        rate=rate,
        signal=signal,
        modes=_pooled(hits),
        halvings=tuple(
            Halving(hit=k, amplitude=a, damping_ratio=z, u_damping_ratio=u)
            for k, hit in enumerate(hits, 1)
            for a, z, u in hit.halvings
        ),
        hits=tuple(_told(hit) for hit in hits),
        left_out=len(fitted) - len(hits),
    )


def _told(hit: Hit) -> HitModes:
    rows = zip(hit.frequency, hit.u_frequency, hit.ratio, hit.u_ratio, hit.amplitude, strict=True)
    return HitModes(at=hit.at, modes=tuple(rows), one_damping=hit.steady)


def _pooled(hits: list[Hit]) -> tuple[RungMode, ...]:
    every = sorted((f, k, i) for k, hit in enumerate(hits) for i, f in enumerate(hit.frequency))
    groups: list[list[tuple[float, int, int]]] = []
    for row in every:
        if groups and row[0] < groups[-1][-1][0] * (1.0 + SAME):
            groups[-1].append(row)
        else:
            groups.append([row])
    found = []
    for group in groups:
        own = [(hits[k], i) for _, k, i in group]
        f, u = _mean([(hit.frequency[i], hit.u_frequency[i]) for hit, i in own])
        steady = all(hit.steady for hit, _ in own)
        z, v = _mean([(hit.ratio[i], hit.u_ratio[i]) for hit, i in own]) if steady else (None, None)
        found.append(
            RungMode(
                frequency=f,
                u_frequency=u,
                damping_ratio=z,
                u_damping_ratio=v,
                hits=len({k for _, k, _ in group}),
            )
        )
    return tuple(found)


def _mean(rows: list[tuple[float, float]]) -> tuple[float, float]:
    """Weighted mean and half width, times the root of chi² a degree of freedom where that is above 1."""
    values, wide = np.array(rows).T
    weight = 1.0 / np.maximum(wide, 1e-12 * np.abs(values) + 1e-300) ** 2
    mean = float(weight @ values / weight.sum())
    spread = 1.0 / math.sqrt(float(weight.sum()))
    if len(values) > 1:
        chi = float(weight @ (values - mean) ** 2) * 1.959964**2 / (len(values) - 1)
        spread *= math.sqrt(max(chi, 1.0))
    return mean, spread
