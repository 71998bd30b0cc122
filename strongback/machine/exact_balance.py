"""Balance of a machine from its places alone, with as many digits as it takes.

Every load and every joint component is a wrench at a point of a part. In whole numbers (`statics.fixed`) about the origin
of the machine, arms that cancel do so exactly: what a part carries is then known to the last bit of a double, however
nearly its supports stand in line. It takes tens of milliseconds, and is for machines that double precision leaves in
doubt.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.machine.layout import BodyPlace
from strongback.machine.loop import Loop
from strongback.machine.statics import fixed
from strongback.machine.statics.determinate import Carried
from strongback.machine.statics.elastic import Elastic
from strongback.machine.statics.fixed import Fixed
from strongback.machine.values import COMPONENTS, GROUND, Gauge, Joint, Machine, Place, Pull, Vector

__all__ = [
    "Load",
    "exactly",
    "gauge_wrench",
    "pull_wrench",
    "reading_wrenches",
    "tool_wrenches",
    "unit_wrench",
]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Load:
    """A wrench on some parts.

    Parameters
    ----------
    part : str
    foot : Vector
        Where the part takes it [m].
    pad : str
    at : Vector
        Where it acts, carried to the foot by a rigid arm [m].
    force, couple : ndarray of int, shape (3,)
        Fixed numbers.
    pulled : bool
        As in `Layout.motion_of`.
    """

    part: str
    foot: Vector
    at: Vector
    force: Fixed
    couple: Fixed
    pad: str = ""
    pulled: bool = False


def pull_wrench(pull: Pull) -> list[Load]:
    """The loads of a pull."""
    force, couple = fixed.fixed(np.array(pull.force)), fixed.fixed(np.array(pull.couple))
    return [
        Load(part=part, foot=pull.at, at=pull.at, force=sign * force, couple=sign * couple, pulled=True)
        for part, sign in ((pull.part, 1), (pull.against, -1))
    ]


def gauge_wrench(gauge: Gauge) -> list[Load]:
    """What carries the reading of a gauge as a load: a unit force at its point, and its opposite through the stand."""
    along, none = fixed.unit(fixed.fixed(np.array(gauge.direction))), fixed.nothing((3,))
    foot = gauge.at if gauge.stand is None else gauge.stand
    return [
        Load(part=gauge.part, foot=gauge.at, at=gauge.at, force=along, couple=none),
        Load(part=gauge.reference, foot=foot, at=gauge.at, force=-along, couple=none),
    ]


def tool_wrenches(machine: Machine, axes: Array | None = None) -> list[list[Load]]:
    """Unit forces and couples between tool and work along the axes of the machine, or along others (rows)."""
    rows = fixed.fixed(np.eye(3) if axes is None else axes)
    none = fixed.nothing((3,))
    pairs = [(row, none) for row in rows] + [(none, row) for row in rows]
    return [unit_wrench(machine.tool, machine.work, force, couple) for force, couple in pairs]


def reading_wrenches(machine: Machine, axes: Array | None = None) -> list[list[Load]]:
    """Those of the tool, and of all gauges."""
    return tool_wrenches(machine, axes) + [gauge_wrench(gauge) for gauge in machine.gauges]


def unit_wrench(tool: Place, work: Place, force: Fixed, couple: Fixed) -> list[Load]:
    """A force and a couple at the tool, and their opposite at the work."""
    return [
        Load(part=place.part, foot=place.at, at=place.at, force=sign * force, couple=sign * couple)
        for place, sign in ((tool, 1), (work, -1))
    ]


def exactly(loop: Loop, statics: Elastic, loads: Sequence[Sequence[Load]]) -> tuple[Elastic, Carried]:
    """The statics of a loop with forces that are exact to the last bit.

    Parameters
    ----------
    loop : Loop
    statics : Elastic
        `loop.statics`, or the same with other compliances.
    loads : sequence of loads
        A sequence of `Load` a case.

    Returns
    -------
    statics : Elastic
        With self-stresses as exact as doubles can be.
    carried : Carried
        The loads, none in the cuts.
    """
    places = _Places(loop)
    m = len(loop.components)
    every = [_spring(loop, k) for k in range(m)] + [list(case) for case in loads]
    slots = fixed.nothing((places.slots, 6, len(every)))
    for column, case in enumerate(every):
        for load in case:
            for slot, wrench in places.wrenches(load):
                slots[slot, :, column] += wrench
    on_parts, in_elements = places.resultants(slots), places.forces(slots)
    index, cut_joints = statics.primary
    right = np.hstack([on_parts[:, m:], -on_parts[:, cut_joints]])
    held = fixed.solve(on_parts[:, index], right)
    cases = len(loads)
    joints = fixed.nothing((m, right.shape[1]))
    joints[index] = held
    joints[cut_joints, range(cases, right.shape[1])] = fixed.ONE
    elements = -fixed.product(in_elements[:, :m], joints)
    elements[:, :cases] += in_elements[:, m:]
    whole = np.vstack([elements, joints])
    states, carried = whole[:, cases:], whole[:, :cases]
    if len(statics.cut):
        at_cut = states[statics.cut]
        states = fixed.product(states, fixed.solve(at_cut, _identity(len(at_cut))))
        carried = carried - fixed.product(states, carried[statics.cut])
    n = len(elements)
    return statics.with_states(_rounded(states, n)), _rounded(carried, n)


def _rounded(values: Fixed, elements: int) -> Carried:
    found = fixed.doubles(values)
    size = np.abs(found)
    return Carried(
        elements=found[:elements],
        joints=found[elements:],
        element_sizes=size[:elements],
        joint_sizes=size[elements:],
    )


def _identity(n: int) -> Fixed:
    found = fixed.nothing((n, n))
    found[range(n), range(n)] = fixed.ONE
    return found


def _spring(loop: Loop, k: int) -> list[Load]:
    """The force of a joint component on its parts: what closes an opening, taken away."""
    component = loop.components[k]
    holder = next(h for _, h in loop.machine.holders() if h.name == component.owner)
    i = COMPONENTS.index(component.name)
    axis, none = fixed.fixed(np.array(holder.axes[i % 3])), fixed.nothing((3,))
    pad = holder.pad if isinstance(holder, Joint) else ""
    ends = ((holder.parts[0], -1), (holder.parts[1], 1)) if isinstance(holder, Joint) else ((holder.part, 1),)
    return [
        Load(
            part=part,
            foot=holder.at,
            at=holder.at,
            force=sign * axis if i < 3 else none,
            couple=none if i < 3 else sign * axis,
            pad=pad,
        )
        for part, sign in ends
    ]


class _Places:
    """Where parts take loads: a slot a station, interface or block."""

    def __init__(self, loop: Loop) -> None:
        self.loop = loop
        machine = loop.machine
        self.firsts: dict[str, int] = {}
        self.counts: dict[str, int] = {}
        self.points: dict[str, Fixed] = {}
        self.axes: dict[str, Fixed] = {}
        self.slots = 0
        for member in machine.members:
            start = fixed.fixed(np.array(member.start))
            s = fixed.unit(fixed.fixed(np.array(member.end)) - start)
            x = fixed.fixed(np.array(member.x_axis))
            x = fixed.unit(x - ((s * (x @ s >> fixed.POINT)) >> fixed.POINT))
            axes = np.stack([x, fixed.cross(s, x), s])
            if member.name in loop.bodies:
                along = fixed.fixed(loop.bodies[member.name].body.points)
            else:
                line = fixed.fixed(loop.stations[member.name].s)
                along = np.stack([0 * line, 0 * line, line], axis=1)
            self._add(member.name, start + fixed.product(along, axes))
            self.axes[member.name] = axes
        for block in machine.blocks:
            self._add(block.name, fixed.fixed(np.array([block.at])))

    def _add(self, name: str, points: Fixed) -> None:
        self.firsts[name], self.counts[name], self.points[name] = self.slots, len(points), points
        self.slots += len(points)

    def wrenches(self, load: Load) -> list[tuple[int, Fixed]]:
        """Slots of a load and what it is there, about the origin."""
        if load.part == GROUND:
            return []
        first = self.firsts[load.part]
        if load.part in self.loop.bodies:
            return [(first + i, w) for i, w in self._on_body(load, self.loop.bodies[load.part])]
        at = fixed.fixed(np.array(load.at))
        wrench = np.concatenate([load.force, load.couple + fixed.cross(at, load.force)])
        if load.part in self.loop.blocks:
            return [(first, wrench)]
        return [(first + self.loop.layout.station(load.part, load.foot), wrench)]

    def _on_body(self, load: Load, place: BodyPlace) -> list[tuple[int, Fixed]]:
        """Shares of the interfaces of a body, as the layout tells them in double precision."""
        rows = self.loop.motion_of(load.part, load.foot, load.pad, pulled=load.pulled)
        arm = fixed.fixed(np.subtract(load.at, load.foot))
        six = np.concatenate([load.force, load.couple + fixed.cross(arm, load.force)])
        found = []
        for i, columns in enumerate(place.columns):
            own = fixed.product(fixed.fixed(rows[:, columns]).T, six)
            own[3:] += fixed.cross(self.points[load.part][i], own[:3])
            found.append((i, own))
        return found

    def resultants(self, slots: Fixed) -> Fixed:
        """On every part, (6 parts, columns)."""
        sums = [slots[self.firsts[n] : self.firsts[n] + self.counts[n]].sum(axis=0) for n in self.firsts]
        return np.vstack(sums)

    def forces(self, slots: Fixed) -> Fixed:
        """Of all elements, each taking what is beyond it, (element forces, columns)."""
        columns = slots.shape[2]
        found = []
        sizes = {m.name: [] for m in self.loop.machine.members}  # type: dict[str, list[int]]
        for element in self.loop.elements:
            sizes[element.member].append(len(element.shape))
        for name, own in sizes.items():
            first, points = self.firsts[name], self.points[name]
            here = slots[first : first + self.counts[name]]
            if name in self.loop.bodies:
                found += [_about(points[i], here[i]) for i in range(1, len(points))]
                continue
            beyond = np.cumsum(here[::-1], axis=0)[::-1]
            for i, size in enumerate(own):
                at = _about(points[i + 1], beyond[i + 1])
                found += [
                    fixed.product(self.axes[name], at[:3]),
                    fixed.product(self.axes[name], at[3:]),
                    fixed.nothing((size - 6, columns)),
                ]
        return np.vstack(found) if found else fixed.nothing((0, columns))


def _about(point: Fixed, wrench: Fixed) -> Fixed:
    """A wrench about the origin (6, columns) about a point."""
    moved = wrench.copy()
    moved[3:] -= fixed.cross(np.broadcast_to(point[:, None], wrench[:3].shape), wrench[:3])
    return moved
