"""Slips of a log that can be seen without solving anything, and those that a prediction shows."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np

from strongback.evidence.readings import Instrument, Measured, Reading

__all__ = ["log_slips", "sign_slips"]

NEAR = 0.06  # of a factor between units: how near a ratio must be to it
FAR = 3.0  # a load that is so many times another is no other weight of the same rig
LARGE, SMALL = (
    5e-3,
    2e-7,
)  # of a deflection of a machine tool under a hand-made pull [m]; common practice, no source
COARSE = 20.0  # steps of the scale by which repeats of one set-up may scatter
OFF_STEP = 0.2  # of a step: how far from whole steps readings lie if they were read to another one
CLEAR = 4.0  # of its own uncertainty: a reading whose sign is beyond doubt
LEAST = 3  # rows from which anything is said of scatter
UNITS = (
    (9.80665, "kg noted as newton, or newton as kg"),
    (4.448222, "pounds-force noted as newton, or newton as pounds-force"),
    (2.204623, "pounds noted as kg, or kg as pounds"),
    (10.0, "a digit"),
)


def log_slips(
    readings: Iterable[Reading], forces: Mapping[str, float], instrument: Instrument
) -> tuple[str, ...]:
    """What in a log looks like a slip.

    Parameters
    ----------
    readings : iterable of Reading
    forces : mapping of str to float
        Size of each pull in the machine, by name [N or N m].
    instrument : Instrument

    Returns
    -------
    tuple of str
        One sentence a slip.

    Examples
    --------
    >>> rows = [Reading(pull="side", gauge="top", load=20.4, loaded=42e-6)]
    >>> log_slips(rows, {"side": 200.0}, Instrument())
    ('the log pulls "side" with 20.4, the machine with 200: kg noted as newton, or newton as kg?',)
    """
    rows = list(readings)
    return (*_loads(rows, forces), *_sizes(rows), *_scatter(rows, instrument))


def _loads(rows: Sequence[Reading], forces: Mapping[str, float]) -> Iterator[str]:
    for name in dict.fromkeys(r.pull for r in rows):
        size = forces.get(name, 0.0)
        largest = max(abs(r.load) for r in rows if r.pull == name)
        if size <= 0.0 or largest <= 0.0:
            continue
        ratio = max(size / largest, largest / size)
        factor, word = min(UNITS, key=lambda unit: abs(ratio / unit[0] - 1.0))
        word = word if abs(ratio / factor - 1.0) < NEAR else ""
        if word or ratio > FAR:
            said = f": {word}?" if word else ""
            yield f'the log pulls "{name}" with {largest:.3g}, the machine with {size:.3g}{said}'


def _sizes(rows: Sequence[Reading]) -> Iterator[str]:
    values = [abs(r.value) for r in rows]
    if values and max(values) > LARGE:
        yield f"readings of up to {max(values) * 1e3:.3g} mm: µm noted as mm, or as inches?"
    if len(values) >= LEAST and max(values) < SMALL:
        yield f"no reading above {max(values) * 1e6:.2g} µm: mm noted as µm?"


def _scatter(rows: Sequence[Reading], instrument: Instrument) -> Iterator[str]:
    """Repeats that scatter by more than a hand does, or stand between the marks of the scale."""
    for name in dict.fromkeys(r.gauge for r in rows):
        step = instrument.step(name)
        mine = [r for r in rows if r.gauge == name]
        groups: dict[tuple[object, ...], list[float]] = {}
        for r in mine:
            groups.setdefault((r.pull, r.load, r.branch, r.set_up), []).append(r.value)
        repeated = [g for g in groups.values() if len(g) > 1]
        if repeated:
            spread = math.sqrt(float(np.mean([np.var(g, ddof=1) for g in repeated])))
            if spread > COARSE * step:
                yield (
                    f'repeats of "{name}" in one set-up scatter by {spread * 1e6:.3g} µm, {spread / step:.0f} steps of '
                    "its scale: is the step stated too fine, or the stand loose?"
                )
        seen = np.array([r.loaded / step for r in mine])
        if len(seen) >= LEAST and float(np.abs(seen - np.round(seen)).mean()) > OFF_STEP:
            yield f'"{name}" is read between the steps of {step * 1e6:.3g} µm that are stated: is its step finer?'


def sign_slips(measured: Sequence[Measured], predicted: Sequence[float]) -> tuple[str, ...]:
    """What predictions show: gauges that move against them throughout, and gauges that no pull should move.

    Parameters
    ----------
    measured : sequence of Measured
    predicted : sequence of float
        Of the machine as stated [m].

    Returns
    -------
    tuple of str
    """
    said = []
    for name in dict.fromkeys(m.gauge for m in measured):
        mine = [(m, p) for m, p in zip(measured, predicted, strict=True) if m.gauge == name]
        clear = [(m, p) for m, p in mine if min(abs(m.value), abs(p)) > CLEAR * m.own_u]
        against = [m for m, p in clear if m.value * p < 0.0]
        if clear and len(against) == len(clear):
            under = " and ".join(f'"{m.pull}"' for m in against)
            said.append(
                f'"{name}" moves against what is predicted under {under}: is its sign noted the other way?'
            )
        if mine and max(abs(p) for _, p in mine) < min(m.own_u for m, _ in mine):
            if max(abs(m.value) / m.own_u for m, _ in mine) > CLEAR:
                said.append(
                    f'"{name}" should not move under any of its pulls, and does by '
                    f"{max(abs(m.value) for m, _ in mine) * 1e6:.3g} µm: its axis, or where its stand stood?"
                )
            else:
                said.append(f'"{name}" moves under none of its pulls: it tells nothing here')
    return tuple(said)
