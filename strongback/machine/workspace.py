"""Where in the work space: the machine with its head, quill or table elsewhere, and the compliance there."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from strongback.answer import Answer, told
from strongback.errors import MachineError
from strongback.machine.columns import Progress
from strongback.machine.compliance import tool_compliance
from strongback.machine.loop import Loop
from strongback.machine.map_bodies import map_builder
from strongback.machine.part.values import Parts
from strongback.machine.values import Joint, Machine, Place, Travel, Vector

__all__ = [
    "ComplianceMap",
    "WorkPoint",
    "compliance_map",
    "machines_at",
    "moved",
    "positions",
    "travel_named",
]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WorkPoint:
    """Compliance of the tool with the machine in one position.

    Parameters
    ----------
    position : tuple of (str, float)
        Distance of each travel from the place as drawn [m].
    tool : Vector
        Tool point [m].
    compliance : ndarray, shape (3, 3)
        [m/N]
    principal : ndarray, shape (3,)
        Softest, middle and stiffest compliance [m/N].
    directions : ndarray, shape (3, 3)
        Unit vectors of these, one a row.
    """

    position: tuple[tuple[str, float], ...] = field(metadata=told("position_m", mapping=True))
    tool: Vector = field(metadata=told("tool_m"))
    compliance: Array = field(metadata=told("compliance_m_per_N"))
    principal: Array = field(metadata=told("principal_m_per_N"))
    directions: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class ComplianceMap(Answer):
    """Where in the work space the tool is soft.

    Parameters
    ----------
    machine : Machine
    points : tuple of WorkPoint
    """

    machine: Machine = field(metadata=told(of="name"))
    points: tuple[WorkPoint, ...]

    def __repr__(self) -> str:
        softest = max(float(point.principal[0]) for point in self.points)
        return f"ComplianceMap({self.machine.name!r}: {len(self.points)} places, softest {1e6 * softest:.3g} µm/N)"


def travel_named(machine: Machine, name: str) -> Travel:
    """A travel of the machine.

    Raises
    ------
    MachineError
        If there is none of that name.
    """
    for travel in machine.travels:
        if travel.name == name:
            return travel
    known = ", ".join(t.name for t in machine.travels) or "none"
    raise MachineError(f'no travel is called "{name}"', hint=f"travels: {known}")


def moved(machine: Machine, travel: Travel, distance: float) -> Machine:
    """The machine with some of its parts moved along a way.

    Joints between a part that moves and one that rests move along, as a saddle does on its way, and so do their pads;
    those that the travel names in `stays` do not, as the bore in which a quill slides. A member with a joint that stays
    sticks out more.

    Parameters
    ----------
    machine : Machine
    travel : Travel
    distance : float
        From the place as drawn [m].

    Returns
    -------
    Machine

    Raises
    ------
    MachineError
        If the distance lies outside of the travel.
    """
    slack = 1e-9 + 1e-9 * (travel.high - travel.low)
    if not travel.low - slack <= distance <= travel.high + slack:
        low, high = travel.low * 1e3, travel.high * 1e3
        raise MachineError(
            f'travel "{travel.name}": {distance * 1e3:.6g} mm lies outside of {low:.6g} to {high:.6g} mm',
        )
    step = distance * np.asarray(travel.direction)
    going = set(travel.parts)

    def shift(at: Vector) -> Vector:
        x, y, z = (float(v) for v in np.add(at, step))
        return x, y, z

    def place(p: Place) -> Place:
        return dataclasses.replace(p, at=shift(p.at)) if p.part in going else p

    along = {j.name for j in machine.joints if j.name not in travel.stays and _rides(j, going)}
    riding = {j.pad for j in machine.joints if j.pad and j.name in along}
    same = machine.work.at == machine.tool.at
    tool = place(machine.tool)
    return dataclasses.replace(
        machine,
        members=tuple(
            dataclasses.replace(m, start=shift(m.start), end=shift(m.end)) if m.name in going else m
            for m in machine.members
        ),
        blocks=tuple(
            dataclasses.replace(b, at=shift(b.at)) if b.name in going else b for b in machine.blocks
        ),
        joints=tuple(
            dataclasses.replace(j, at=shift(j.at)) if j.name in along else j for j in machine.joints
        ),
        supports=tuple(
            dataclasses.replace(s, at=shift(s.at)) if s.part in going else s for s in machine.supports
        ),
        masses=tuple(
            dataclasses.replace(m, at=shift(m.at)) if m.part in going else m for m in machine.masses
        ),
        pads=tuple(dataclasses.replace(p, at=shift(p.at)) if p.name in riding else p for p in machine.pads),
        pulls=tuple(dataclasses.replace(p, at=shift(p.at)) if p.part in going else p for p in machine.pulls),
        gauges=tuple(
            dataclasses.replace(
                g,
                at=shift(g.at) if g.part in going else g.at,
                stand=shift(g.stand) if g.stand is not None and g.reference in going else g.stand,
            )
            for g in machine.gauges
        ),
        tool=tool,
        # The work is where the tool is, wherever that comes to be.
        work=dataclasses.replace(machine.work, at=tool.at) if same else place(machine.work),
    )


def _rides(joint: Joint, going: set[str]) -> bool:
    return any(part in going for part in joint.parts)


def positions(travels: Sequence[Travel], counts: Sequence[int]) -> list[tuple[float, ...]]:
    """A grid over some travels.

    Parameters
    ----------
    travels : sequence of Travel
    counts : sequence of int
        Positions on each, at least 1; 1 is the middle.

    Returns
    -------
    list of tuple of float
        [m]

    Examples
    --------
    >>> way = Travel(name="head", parts=("head",), direction=(0, 0, 1), low=0.0, high=0.2)
    >>> positions([way], [3])
    [(0.0,), (0.1,), (0.2,)]
    """
    rows = [
        [0.5 * (t.low + t.high)] if n == 1 else [float(v) for v in np.linspace(t.low, t.high, n)]
        for t, n in zip(travels, counts, strict=True)
    ]
    return list(itertools.product(*rows))


def compliance_map(
    machine: Machine,
    parts: Parts,
    travels: Sequence[Travel],
    counts: Sequence[int],
    *,
    progress: Progress | None = None,
) -> tuple[WorkPoint, ...]:
    """Compliance of the tool over the work space.

    Parameters
    ----------
    machine : Machine
    parts : Parts
        Its sections serve all positions; bodies are condensed anew where their pads move.
    travels : sequence of Travel
    counts : sequence of int
        Positions on each travel.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    tuple of WorkPoint
    """
    found = []
    places = positions(travels, counts)
    machines = machines_at(machine, travels, places)
    make = map_builder(machines, parts, progress=progress)
    for distances, there in zip(places, machines, strict=True):
        names = tuple((t.name, d) for t, d in zip(travels, distances, strict=True))
        found.append(_work_point(make(there), names))
    return tuple(found)


def machines_at(
    machine: Machine, travels: Sequence[Travel], places: Sequence[tuple[float, ...]]
) -> list[Machine]:
    """The machine at every one of some positions, as given by `positions`."""
    found = []
    for distances in places:
        there = machine
        for travel, distance in zip(travels, distances, strict=True):
            there = moved(there, travel, distance)
        found.append(there)
    return found


def _facing_ahead(directions: Array) -> Array:
    """Directions with their largest component positive: a line has no sign of its own."""
    largest = np.take_along_axis(directions, np.abs(directions).argmax(axis=1)[:, None], axis=1)
    return np.asarray(directions * np.where(largest < 0.0, -1.0, 1.0))


def _work_point(loop: Loop, position: tuple[tuple[str, float], ...]) -> WorkPoint:
    compliance = tool_compliance(loop)[:3, :3]
    compliance = 0.5 * (compliance + compliance.T)
    values, vectors = np.linalg.eigh(compliance)
    return WorkPoint(
        position=position,
        tool=loop.machine.tool.at,
        compliance=compliance,
        principal=values[::-1],
        directions=_facing_ahead(vectors[:, ::-1].T),
    )
