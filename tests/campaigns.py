"""Simulated campaigns of readings on the small mill: everything here is invented, the truth included."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from machines import small_mill

from strongback.evidence.model import LoopModel, at_load
from strongback.evidence.readings import Reading
from strongback.machine.parameters import Parameter
from strongback.machine.values import Gauge, Pull

UM = 1e-6
X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
TOOL = (0.0, 0.25, 0.3)
NAMES = [
    Parameter(kind="joint", part="base joint", mechanism="about x"),
    Parameter(kind="joint", part="base joint", mechanism="about y"),
    Parameter(kind="joint", part="base joint", mechanism="about z"),
    Parameter(kind="joint", part="head joint", mechanism="about x"),
    Parameter(kind="joint", part="head joint", mechanism="about y"),
    Parameter(kind="joint", part="head joint", mechanism="about z"),
    Parameter(kind="member", part="column", mechanism="bending"),
    Parameter(kind="member", part="column", mechanism="torsion"),
]


def gauge(name, part, at, direction, reference="bed"):
    return Gauge(name=name, part=part, at=at, direction=direction, reference=reference)


def mill():
    """The small mill with the gauges and pulls of a full afternoon."""
    column = [
        gauge(f"{where} {axis}", "column", (0.0, 0.0, z), direction)
        for where, z in (("foot", 0.03), ("middle", 0.21), ("top", 0.46))
        for axis, direction in (("x", X), ("y", Y))
    ]
    bars = [
        gauge(f"bar {where} {side}", "column", (sign * 0.15, 0.0, z), Y)
        for where, z in (("head", 0.4), ("foot", 0.03))
        for side, sign in (("right", 1.0), ("left", -1.0))
    ]
    tool = [gauge(f"tool {n}", "arm", TOOL, d) for n, d in (("x", X), ("y", Y), ("z", Z))]
    arm = [
        gauge("arm end y", "arm", (0.0, 0.25, 0.4), Y),
        gauge("arm end z", "arm", (0.0, 0.25, 0.4), Z),
        gauge("arm root z", "arm", (0.0, 0.05, 0.4), Z),
        gauge("arm root x", "arm", (0.0, 0.05, 0.4), X),
    ]
    pulls = (
        Pull(name="sideways", part="arm", at=TOOL, force=(300.0, 0.0, 0.0)),
        Pull(name="fore-aft", part="arm", at=TOOL, force=(0.0, 300.0, 0.0)),
        Pull(name="jack", part="arm", at=TOOL, force=(0.0, 0.0, 300.0), against="bed"),
        Pull(name="top x", part="column", at=(0.0, 0.0, 0.46), force=(300.0, 0.0, 0.0)),
        Pull(name="top y", part="column", at=(0.0, 0.0, 0.46), force=(0.0, 300.0, 0.0)),
    )
    machine = small_mill()
    joints = tuple(
        replace(j, low=tuple(k / 8.6 for k in j.stiffness), high=tuple(k * 8.6 for k in j.stiffness))
        for j in machine.joints
    )
    return replace(machine, joints=joints, gauges=(*column, *bars, *tool, *arm), pulls=pulls)


FULL = [
    ("sideways", "tool x"),
    ("fore-aft", "tool y"),
    ("jack", "tool z"),
    ("sideways", "bar head right"),
    ("sideways", "bar head left"),
    ("sideways", "bar foot right"),
    ("sideways", "bar foot left"),
    ("sideways", "arm root x"),
    ("sideways", "foot x"),
    ("sideways", "middle x"),
    ("sideways", "top x"),
    ("jack", "arm end z"),
    ("jack", "arm root z"),
    ("jack", "arm end y"),
    ("jack", "foot y"),
    ("jack", "middle y"),
    ("jack", "top y"),
    ("top x", "foot x"),
    ("top x", "middle x"),
    ("top x", "top x"),
    ("top y", "foot y"),
    ("top y", "middle y"),
    ("top y", "top y"),
]


def pairs_of(machine, names):
    pulls = {p.name: p for p in machine.pulls}
    gauges = {g.name: g for g in machine.gauges}
    return [(pulls[p], gauges[g]) for p, g in names]


def truth_of(machine, parts, names, parameters, logarithms):
    """Readings without any error [m]."""
    model = LoopModel.of(machine, parts, pairs_of(machine, names), parameters)
    return model(np.asarray(logarithms))[0]


def log(
    names,
    values,
    rng=None,
    *,
    set_ups=3,
    repeats=1,
    between=1.2 * UM,
    within=0.7 * UM,
    step=1 * UM,
    gain=1.0,
    load=300.0,
):
    """Rows of a log; without `rng` exact and unrounded."""
    rows = []
    for (pull, name), value in zip(names, values, strict=True):
        for s in range(set_ups):
            shift = rng.normal(0.0, between) if rng is not None else 0.0
            for r in range(repeats):
                seen = gain * value + shift + (rng.normal(0.0, within) if rng is not None else 0.0)
                if rng is not None:
                    seen = round(seen / step) * step
                rows.append(
                    Reading(
                        pull=pull,
                        gauge=name,
                        load=load,
                        loaded=float(seen),
                        reference="bed",
                        set_up=str(s + 1),
                        repeat=r + 1,
                        row=len(rows) + 2,
                    )
                )
    return rows


__all__ = ["FULL", "NAMES", "UM", "at_load", "log", "mill", "pairs_of", "truth_of"]
