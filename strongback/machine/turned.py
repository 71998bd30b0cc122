"""The same machine turned in space: nothing of it changes but what rounding makes of its numbers."""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy.typing import NDArray

from strongback.machine.values import Axes, Machine, Member, Pull, Vector

__all__ = ["turned", "turned_pull", "turns"]

Array = NDArray[np.float64]


def turns(count: int) -> list[Array]:
    """Rotations without preference for any direction, the same ones every time, (3, 3) each."""
    found = []
    for k in range(count):
        q, r = np.linalg.qr(np.random.default_rng(k).normal(size=(3, 3)))
        q = q * np.sign(np.diag(r))
        found.append(np.asarray(q * np.sign(np.linalg.det(q)), dtype=np.float64))
    return found


def turned(machine: Machine, R: Array) -> Machine:
    """A machine turned about the origin.

    Parameters
    ----------
    machine : Machine
    R : ndarray, shape (3, 3)
        Rotation.

    Returns
    -------
    Machine
        Places and directions of all that bears on its statics; travels stay as they are.
    """

    def at(point: Vector) -> Vector:
        return _turned(point, R)

    def axes(rows: Axes) -> Axes:
        return at(rows[0]), at(rows[1]), at(rows[2])

    def member(m: Member) -> Member:
        return dataclasses.replace(m, start=at(m.start), end=at(m.end), x_axis=at(m.x_axis))

    return dataclasses.replace(
        machine,
        members=tuple(member(m) for m in machine.members),
        blocks=tuple(dataclasses.replace(b, at=at(b.at)) for b in machine.blocks),
        joints=tuple(dataclasses.replace(j, at=at(j.at), axes=axes(j.axes)) for j in machine.joints),
        supports=tuple(dataclasses.replace(s, at=at(s.at), axes=axes(s.axes)) for s in machine.supports),
        masses=tuple(dataclasses.replace(m, at=at(m.at)) for m in machine.masses),
        pads=tuple(dataclasses.replace(p, at=at(p.at), normal=at(p.normal)) for p in machine.pads),
        pulls=tuple(turned_pull(p, R) for p in machine.pulls),
        gauges=tuple(
            dataclasses.replace(
                g, at=at(g.at), direction=at(g.direction), stand=None if g.stand is None else at(g.stand)
            )
            for g in machine.gauges
        ),
        tool=dataclasses.replace(machine.tool, at=at(machine.tool.at)),
        work=dataclasses.replace(machine.work, at=at(machine.work.at)),
    )


def turned_pull(pull: Pull, R: Array) -> Pull:
    """A pull that turns with its machine."""
    return dataclasses.replace(
        pull, at=_turned(pull.at, R), force=_turned(pull.force, R), couple=_turned(pull.couple, R)
    )


def _turned(vector: Vector, R: Array) -> Vector:
    x, y, z = (float(v) for v in R @ np.asarray(vector))
    return x, y, z
