"""A calibration that takes no model on trust: numbers from all that may be, withheld where none is right."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from strongback.evidence.calibrate import (
    CalibratedParameter,
    Calibration,
    calibrate,
    calibrated_machine,
    readings_degrees,
)
from strongback.evidence.model import default_parameters, in_words, match
from strongback.evidence.readings import Instrument, Measured
from strongback.evidence.robust import Robust, every_parameter, judged, prepared
from strongback.machine.parameters import Parameter
from strongback.machine.part.values import Parts
from strongback.machine.values import Machine

__all__ = ["weighed"]

Array = NDArray[np.float64]
SAID = 5  # suspects of a group that are written out among the findings


def weighed(
    machine: Machine,
    parts: Parts,
    measured: Iterable[Measured],
    *,
    parameters: Sequence[Parameter] | None = None,
    instrument: Instrument | None = None,
    advise: bool = True,
    walls: bool = True,
    progress: Callable[[float, str], None] | None = None,
) -> Calibration:
    """Stiffnesses that fit readings, whichever of many models is right.

    Every joint, support and member carries its range, whether or not it is asked about; walls that give, an unknown
    discrepancy and slips of many kinds are weighed against the machine as stated.

    Parameters
    ----------
    machine : Machine
        With the stiffnesses to start from; their ranges are priors, without one a factor of three.
    parts : Parts
        With the contact under the pads of bodies as a variable, where there are any.
    measured : iterable of Measured
    parameters : sequence of Parameter, optional
        Which are told; default as in `calibrate`.
    instrument : Instrument, optional
    advise : bool
        Whether to look for the reading that would separate what these cannot.
    walls : bool
        Whether members that are taken as beams are tried with walls that give.
    progress : callable, optional
        While walls are solved.

    Returns
    -------
    Calibration
        With `Calibration.robust`. Where numbers are withheld its machine is the one it was given.

    Raises
    ------
    ReadingsError
        If the machine knows none of the readings.
    NotConvergedError
    """
    instrument = instrument or Instrument()
    told = tuple(default_parameters(machine) if parameters is None else parameters)
    every = tuple(dict.fromkeys((*told, *every_parameter(machine))))
    values = tuple(measured)
    stated = calibrate(machine, parts, values, parameters=every, instrument=instrument, advise=advise)
    matched = match(machine, values)
    ready = prepared(machine, parts, matched, instrument, parameters=every, walls=walls, progress=progress)
    found = judged(ready, degrees=readings_degrees(matched.measured))
    return _calibration(machine, stated, found, len(told))


def _calibration(machine: Machine, stated: Calibration, found: Robust, told: int) -> Calibration:
    n, blend = len(found.parameters), found.examined.blend
    median, covariance = blend.median[:n], blend.covariance[:n, :n]
    ends = np.column_stack([blend.low[:n], blend.high[:n]])
    rows = tuple(_row(old, i, found) for i, old in enumerate(stated.parameters[:told]))
    moved = dataclasses.replace(
        stated.fit,
        x=np.append(median, np.log(found.examined.gain)),
        covariance=_with_load(covariance, stated.fit.covariance),
    )
    return dataclasses.replace(
        stated,
        machine=machine if found.withheld else calibrated_machine(machine, found.parameters, moved, ends),
        parameters=rows,
        logarithms=median[:told],
        covariance=covariance[:told, :told],
        load_gain=found.examined.gain,
        findings=(*_marks(found, machine), *_still(stated.findings)),
        robust=found,
    )


def _with_load(covariance: Array, before: Array) -> Array:
    whole = np.zeros((len(covariance) + 1,) * 2)
    whole[:-1, :-1] = covariance
    whole[-1, -1] = before[-1, -1]
    return whole


def _row(old: CalibratedParameter, i: int, found: Robust) -> CalibratedParameter:
    blend = found.examined.blend
    number = bool(found.determined[i]) and not found.withheld
    value, low, high = (float(old.start * np.exp(v[i])) for v in (blend.median, blend.low, blend.high))
    return dataclasses.replace(
        old,
        value=value if number else None,
        low=low if number else None,
        high=high if number else None,
        u_ln=float(np.sqrt(blend.covariance[i, i])),
        learned=float(blend.learned[i]),
        profiled=number,
        remark=_remark(old, i, found, number),
    )


def _remark(old: CalibratedParameter, i: int, found: Robust, number: bool) -> str:
    if found.withheld and found.determined[i]:
        return "withheld"
    if not number:
        return (
            old.remark
            or "not determined by these readings once other models are allowed for: as known before"
        )
    if found.outside[i]:
        return "interval wholly outside the stated range"
    return "rests on one reading" if found.rests[i] else ""


def _marks(found: Robust, machine: Machine) -> Iterator[str]:
    """What is wrong, and who may be at fault."""
    yield from found.marks
    group = found.group
    for each in group[:SAID]:
        yield each.sentence
    if len(group) > SAID:
        yield f"{len(group) - SAID} more cannot be told from these, see --suspects"
    if group:
        yield f"to tell: {tell(found)}"
    alone = [
        in_words(p, machine) for i, p in enumerate(found.parameters) if found.rests[i] and not found.withheld
    ]
    if alone:
        yield f"rests on one reading, so that one slip would move it unseen: {', '.join(alone)}"


def tell(found: Robust) -> str:
    """The reading that would tell the suspects of the group from each other."""
    kinds = {s.kind for s in found.group}
    gauges = [s.item for s in found.group if s.kind in READ_AGAIN]
    said = []
    if gauges:
        listed = ", ".join(f'"{name}"' for name in dict.fromkeys(gauges))
        said.append(f"read {listed} again, the stand set up anew and the axis and the sign noted")
    if kinds & {"load", "loads"}:
        said.append("weigh the load again and write its unit beside it")
    if kinds & {"pull direction", "pull point"}:
        said.append("measure where and along which way the pull acts, and pull once at another point")
    if kinds & {"opens", "play"}:
        said.append("repeat the pull with half and with twice the load, and once the other way round")
    if kinds & {"joint missing", "walls", "member", "material"}:
        said.append(
            "read across the joint or the wall in question: a gauge on one side, its stand on the other"
        )
    return "; ".join(said)


READ_AGAIN = ("sign", "axis", "stand", "stands", "decade", "unit", "gauge point", "outlier")


def _still(findings: Sequence[str]) -> Iterator[str]:
    """Findings of the fit as stated, but for what the marks say better."""
    for said in findings:
        if not said.startswith("the fitted machine explains the readings badly"):
            yield said
