"""Bodies over the work space: condensed at three heights of the head, and told from those at every other.

The give of a pad against the base is that of the beam, which is known at every height, plus what the walls add. The
second part varies slowly with the height, so that a parabola through three heights stands for it; the first, which grows
with the third power, is solved anew each time.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from strongback.machine.body.values import BodyStiffness
from strongback.machine.columns import Progress, column_body
from strongback.machine.frames import carriage, member_axes
from strongback.machine.loop import Loop, assemble
from strongback.machine.pad_give import beam_give, pad_contact_give, pad_give
from strongback.machine.part.kinds import body_names
from strongback.machine.part.values import Parts, alone
from strongback.machine.values import Machine, Member, Pad

__all__ = ["map_builder"]

Array = NDArray[np.float64]
HEIGHTS = 3
AT_THE_BASE = 1e-6  # [m]


def map_builder(
    machines: Sequence[Machine],
    parts: Parts,
    *,
    progress: Progress | None = None,
) -> Callable[[Machine], Loop]:
    """Something that makes the loop of a machine at any of some positions, for the compliance of its tool.

    Parameters
    ----------
    machines : sequence of Machine
        The machine at every position that will be asked for.
    parts : Parts
        Its sections; bodies are condensed anew where their pads move.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    callable
        Machine to Loop. Gauges on a body are not carried along.
    """
    told: dict[str, _Told] = {}
    bodies = set(body_names(machines[0]))
    for member in machines[0].members:
        if member.name in bodies and _one_pad_rides(machines, member):
            told[member.name] = _Told.at_heights(machines, member, parts, progress)

    def build(there: Machine) -> Loop:
        members = {m.name: m for m in there.members}
        made = {name: own.body(there) for name, own in told.items()}
        for name in body_names(there):
            if name not in told:
                made[name] = column_body(there, members[name], progress=progress)
        bare = dataclasses.replace(there, gauges=(), pulls=()) if told else there
        return assemble(bare, parts.with_bodies({name: alone(members[name], b) for name, b in made.items()}))

    return build


def _pads_on(machine: Machine, member: Member) -> list[Pad]:
    used = {joint.pad for joint in machine.joints if member.name in joint.parts}
    return [pad for pad in machine.pads if pad.part == member.name and pad.name in used]


def _height(member: Member, pad: Pad) -> float:
    return float(member_axes(member)[2] @ np.subtract(pad.at, member.start))


def _held_elsewhere(machine: Machine, member: Member) -> bool:
    """Whether something but its pads and its base holds on to the body: its far end."""
    joints = [j.at for j in machine.joints if member.name in j.parts and not j.pad]
    supports = [s.at for s in machine.supports if s.part == member.name]
    along = member_axes(member)[2]
    return any(float(along @ np.subtract(at, member.start)) > AT_THE_BASE for at in (*joints, *supports))


def _one_pad_rides(machines: Sequence[Machine], member: Member) -> bool:
    """Whether the body stands still on its base and one pad moves along it to more than `HEIGHTS` places."""
    if any(m != member for there in machines for m in there.members if m.name == member.name):
        return False
    pads = [_pads_on(there, member) for there in machines]
    if any(len(p) != 1 for p in pads) or any(_held_elsewhere(there, member) for there in machines):
        return False
    axes = member_axes(member)
    across = np.array([axes[:2] @ np.subtract(p[0].at, member.start) for p in pads])
    heights = {round(_height(member, p[0]), 9) for p in pads}
    return bool(np.ptp(across, axis=0).max() < 1e-9) and len(heights) > HEIGHTS


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Told:
    """The walls' part of the give of a pad at some heights."""

    member: Member
    parts: Parts
    heights: Array  # (n,)
    walls: Array  # (n, 6, 6)
    contacts: Array  # (n, 6, 6)
    sample: BodyStiffness

    @classmethod
    def at_heights(
        cls,
        machines: Sequence[Machine],
        member: Member,
        parts: Parts,
        progress: Progress | None,
    ) -> _Told:
        every = [_height(member, _pads_on(there, member)[0]) for there in machines]
        low, high = min(every), max(every)
        # Zeros of Chebyshev's polynomial: the parabola errs least over the range.
        angles = (2.0 * np.arange(HEIGHTS) + 1.0) * np.pi / (2.0 * HEIGHTS)
        heights = 0.5 * (low + high) + 0.5 * (high - low) * np.cos(angles)
        first = _pads_on(machines[0], member)[0]
        walls, contacts, body = [], [], None
        for height in heights:
            step = (height - _height(member, first)) * member_axes(member)[2]
            there = _with_pad_moved(machines[0], first, step)
            body = column_body(there, member, akin=body, progress=progress)
            pad = _pads_on(there, member)[0]
            give = pad_give(body, pad.name)
            walls.append(give - beam_give(there, member, pad, parts))
            contacts.append(pad_contact_give(body, pad.name))
        assert body is not None
        return cls(
            member=member,
            parts=parts,
            heights=heights,
            walls=np.array(walls),
            contacts=np.array(contacts),
            sample=body,
        )

    def body(self, there: Machine) -> BodyStiffness:
        """The body with its pad where the machine has it, on base and pad alone."""
        pad = _pads_on(there, self.member)[0]
        height = _height(self.member, pad)
        give = beam_give(there, self.member, pad, self.parts) + _parabola(self.heights, self.walls, height)
        stiff = np.linalg.inv(0.5 * (give + give.T))
        contact = stiff @ _parabola(self.heights, self.contacts, height) @ stiff
        base = np.zeros(3)
        point = member_axes(self.member) @ np.subtract(pad.at, self.member.start)
        rigid = carriage(base, (float(point[0]), float(point[1]), float(point[2])))
        follow = np.hstack([-rigid, np.eye(6)])
        whole, beds = follow.T @ stiff @ follow, follow.T @ contact @ follow
        return dataclasses.replace(
            self.sample,
            names=("base", pad.name),
            points=np.array([base, point]),
            stiffness=0.5 * (whole + whole.T),
            contact=0.5 * (beds + beds.T),
            coarse=np.zeros((0, 0)),
            mass=np.zeros((12, 12)),
            gauges=np.zeros((0, 12)),
            gauge_points=np.zeros((0, 3)),
            gauge_bars=np.zeros(0),
            cuts=np.zeros(0),
        )


def _with_pad_moved(machine: Machine, pad: Pad, step: Array) -> Machine:
    x, y, z = (float(v) for v in np.add(pad.at, step))
    pads = tuple(dataclasses.replace(p, at=(x, y, z)) if p.name == pad.name else p for p in machine.pads)
    return dataclasses.replace(machine, pads=pads)


def _parabola(heights: Array, values: Array, at: float) -> Array:
    """Lagrange's polynomial through values at some heights."""
    total = np.zeros_like(values[0])
    for i, value in enumerate(values):
        others = np.delete(heights, i)
        total += value * float(np.prod((at - others) / (heights[i] - others)))
    return np.asarray(total)
