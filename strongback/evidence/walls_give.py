"""What walls would add to readings, where a member on whose wall something bears is taken as a beam."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.evidence.model import Matched
from strongback.evidence.stand_in import OWN, StandIn
from strongback.evidence.suspects import EXTRA
from strongback.machine.columns import coarse_body
from strongback.machine.loop import assemble
from strongback.machine.pad_contact import pad_springs, without_contact
from strongback.machine.parameters import responses
from strongback.machine.part.kinds import as_body, kinds
from strongback.machine.part.values import Parts, alone
from strongback.machine.values import COMPONENTS, Machine, Member

__all__ = ["Walls", "walls_of", "with_walls"]

Array = NDArray[np.float64]
WALLS_SHARE = 0.5  # standard deviation of what walls add, of what one solution of them adds
# What a coarse grid leaves of it, from the demo: 2.3 µm of 51, 1.4 of 15, 0.6 of 1.6.
COARSE_SHARE, COARSE_FLOOR = 0.05, 0.01
SOFT = 0.5  # contact under pads of a second solution, over that of the first


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Walls:
    """What the walls of a member that is taken as a beam would add.

    Parameters
    ----------
    member : str
    added : ndarray, shape (m,)
        To each reading [m].
    contact : ndarray, shape (m,)
        How much of it the contact under the pads gives, beyond what stands in the joints on them [m].
    """

    member: str
    added: Array
    contact: Array

    @property
    def variance(self) -> Array:
        """Of what one solution on a coarse grid leaves open, reading by reading, (m,) [m²]."""
        floor = COARSE_FLOOR * float(np.abs(self.added).max(initial=0.0))
        return np.asarray((COARSE_SHARE * self.added) ** 2 + floor**2)

    def table(self, base: Array) -> Array:
        """That of the machine with the walls, from that without, which has columns of further springs, (m, s, 1 + n)."""
        table = base.copy()
        table[:, 0, 0] += self.added - self.contact
        table[:, 0, -EXTRA] = self.contact
        table[:, OWN, 0] = WALLS_SHARE * (self.added - self.contact)
        return table


def walls_of(
    machine: Machine,
    parts: Parts,
    matched: Matched,
    base: StandIn,
    progress: Callable[[float, str], None] | None = None,
) -> Iterator[Walls]:
    """Members that are beams although something bears on their walls, and what these would add to readings.

    Parameters
    ----------
    machine : Machine
    parts : Parts
    matched : Matched
    base : StandIn
        Of the machine as stated.
    progress : callable, optional
        While walls are solved, on a coarse grid, with the contact under the pads as meant and half of it.

    Yields
    ------
    Walls
        None of a member that can only be a beam.
    """
    plain = None
    for kind in kinds(machine):
        if kind.is_body or not kind.walls:
            continue
        walled = with_walls(machine, kind.name)
        member = next(m for m in walled.members if m.name == kind.name)
        try:
            hard = _readings(walled, parts, matched, member, progress)
            soft = _readings(_softer(walled, kind.name), parts, matched, member, progress)
        except MachineError:
            continue  # no pad, a face at an angle: a beam is all that can be made of it
        if plain is None:
            plain = responses(assemble(machine, parts), matched.pairs)
        yield Walls(
            member=kind.name,
            added=hard - plain,
            contact=(soft - hard) / (1.0 / SOFT - 1.0) - _in_joints(machine, member, base),
        )


def _readings(
    walled: Machine,
    parts: Parts,
    matched: Matched,
    member: Member,
    progress: Callable[[float, str], None] | None,
) -> Array:
    body = coarse_body(walled, member, progress=progress)
    return responses(assemble(walled, parts.with_bodies({member.name: alone(member, body)})), matched.pairs)


def _softer(machine: Machine, name: str) -> Machine:
    pads = tuple(
        dataclasses.replace(p, stiffness=SOFT * p.stiffness) if p.part == name else p for p in machine.pads
    )
    return dataclasses.replace(machine, pads=pads)


def _in_joints(machine: Machine, member: Member, base: StandIn) -> Array:
    """What contact under the pads of a member gives of each reading, as far as it stands in the joints on them (m,)."""
    total = np.zeros(len(base.data))
    pads = {p.name: p for p in machine.pads if p.part == member.name and p.within_joint}
    for joint in machine.joints:
        if joint.pad not in pads:
            continue
        springs = pad_springs(pads[joint.pad], member, np.asarray(joint.axes))
        for k, p in enumerate(base.works.parameters):
            if (p.kind, p.part) == ("joint", joint.name):
                i = COMPONENTS.index(p.mechanism)
                total += min(joint.stiffness[i] / float(springs[i]), 1.0) * base.table[:, 0, 1 + k]
    return total


def with_walls(machine: Machine, name: str) -> Machine:
    """The machine with one member a body; contact that its pads hold comes out of their joints.

    Parameters
    ----------
    machine : Machine
        In which the member is a beam.
    name : str
    """
    walled = as_body(machine, name)
    member = next(m for m in walled.members if m.name == name)
    pads = {p.name: p for p in machine.pads if p.part == name and p.within_joint}
    joints = tuple(
        without_contact(j, pads[j.pad], member, (False,) * 6) if j.pad in pads else j for j in walled.joints
    )
    return dataclasses.replace(walled, joints=joints)
