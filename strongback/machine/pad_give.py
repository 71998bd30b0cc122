"""What a pad gives against the base of its member: as a body, of that the contact, and as a beam. All in member axes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from strongback.machine.body import BodyStiffness
from strongback.machine.compliance import tool_compliance
from strongback.machine.frames import member_axes
from strongback.machine.loop import assemble
from strongback.machine.part.kinds import as_beam
from strongback.machine.part.values import Parts
from strongback.machine.values import GROUND, RIGID, Machine, Member, Pad, Place, Support

__all__ = ["beam_give", "pad_contact_give", "pad_give"]

Array = NDArray[np.float64]


def pad_give(body: BodyStiffness, pad: str) -> Array:
    """Motions of a pad per force on it, the base standing still and other interfaces free, in member axes, (6, 6)."""
    base, own = body.columns("base"), body.columns(pad)
    free = np.ones(len(body.stiffness), dtype=bool)
    free[base] = False
    places = np.flatnonzero(free)
    flexible = np.linalg.inv(body.stiffness[np.ix_(places, places)])
    mine = np.searchsorted(places, np.arange(own.start, own.stop))
    return np.asarray(flexible[np.ix_(mine, mine)])


def pad_contact_give(body: BodyStiffness, pad: str) -> Array:
    """Part of `pad_give` in the contact under all pads: give' (energy there) give."""
    free = np.ones(len(body.stiffness), dtype=bool)
    free[body.columns("base")] = False
    places = np.flatnonzero(free)
    flexible = np.linalg.inv(body.stiffness[np.ix_(places, places)])
    own = body.columns(pad)
    mine = flexible[:, np.searchsorted(places, np.arange(own.start, own.stop))]
    return np.asarray(mine.T @ body.contact[np.ix_(places, places)] @ mine)


def beam_give(machine: Machine, member: Member, pad: Pad, parts: Parts) -> Array:
    """The same of the beam alone, clamped at its base, in member axes."""
    alone = Machine(
        name=member.name,
        sections=machine.sections,
        members=(as_beam(member),),
        supports=(Support(name="base", part=member.name, at=member.start, stiffness=(RIGID,) * 6),),
        tool=Place(part=member.name, at=pad.at),
        work=Place(part=GROUND, at=pad.at),
    )
    axes = member_axes(member)
    turn = np.kron(np.eye(2), axes)
    return np.asarray(turn @ tool_compliance(assemble(alone, parts)) @ turn.T)
