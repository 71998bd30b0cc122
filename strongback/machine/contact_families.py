"""Members that are bodies, with the contact under their pads as a variable."""

from __future__ import annotations

import dataclasses

from strongback.machine.body.family import CONTACTS, BodyFamily, anchored
from strongback.machine.columns import CoarseStart, Progress, coarse_body, column_body
from strongback.machine.part.kinds import body_names
from strongback.machine.part.values import contact_over_wall
from strongback.machine.values import Machine, Member

__all__ = ["body_families", "contact_family"]


def body_families(
    machine: Machine, *, size: float | None = None, progress: Progress | None = None
) -> dict[str, BodyFamily]:
    """Every member of a machine that is a body, condensed with its pads softer and stiffer than meant.

    Parameters
    ----------
    machine : Machine
    size, progress
        As in `columns.machine_bodies`.

    Returns
    -------
    dict of str to BodyFamily
    """
    bodies = set(body_names(machine))
    return {
        member.name: contact_family(machine, member, size=size, progress=progress)
        for member in machine.members
        if member.name in bodies
    }


def contact_family(
    machine: Machine, member: Member, *, size: float | None = None, progress: Progress | None = None
) -> BodyFamily:
    """A member with the contact under its pads as a variable: exact as meant, its changes from a coarse grid.

    Parameters
    ----------
    machine : Machine
    member : Member
    size, progress
        As in `columns.machine_bodies`.

    Returns
    -------
    BodyFamily
    """
    tell = progress or (lambda _fraction, _what: None)
    fine = column_body(machine, member, size=size, progress=lambda done, what: tell(0.5 * done, what))
    made = {1.0: fine}
    others = [f for f in CONTACTS if f != 1.0] if fine.has_pads else []
    if others:
        start = CoarseStart(machine, member, size=size)
        coarse = coarse_body(machine, member, size=size)
    for number, factor in enumerate(others):
        tell(0.5 + 0.5 * number / len(others), f"contact times {factor:g}")
        pads = tuple(dataclasses.replace(p, stiffness=p.stiffness * factor) for p in machine.pads)
        there = dataclasses.replace(machine, pads=pads)
        made[factor] = anchored(fine, coarse, coarse_body(there, member, start=start, size=size))
    return BodyFamily(bodies=made, meant=contact_over_wall(member))
