"""Members that are bodies, with the contact under their pads as a variable."""

from __future__ import annotations

import dataclasses

from strongback.machine.body.family import CONTACTS, BodyFamily
from strongback.machine.columns import Progress, column_body
from strongback.machine.part.values import contact_over_wall
from strongback.machine.values import Machine, Member

__all__ = ["body_families"]


def body_families(
    machine: Machine, *, size: float | None = None, progress: Progress | None = None
) -> dict[str, BodyFamily]:
    """Every member of a machine whose model is ``"body"``, condensed with its pads softer and stiffer than meant.

    Parameters
    ----------
    machine : Machine
    size, progress
        As in `columns.machine_bodies`.

    Returns
    -------
    dict of str to BodyFamily
    """
    return {
        member.name: _family(machine, member, size, progress)
        for member in machine.members
        if member.model == "body"
    }


def _family(machine: Machine, member: Member, size: float | None, progress: Progress | None) -> BodyFamily:
    tell = progress or (lambda _fraction, _what: None)
    middle = column_body(machine, member, size=size, progress=lambda done, what: tell(0.3 * done, what))
    made = {1.0: middle}
    others = [f for f in CONTACTS if f != 1.0] if middle.has_pads else []
    for number, factor in enumerate(others):
        tell(0.3 + 0.7 * number / len(others), f"contact times {factor:g}")
        pads = tuple(dataclasses.replace(p, stiffness=p.stiffness * factor) for p in machine.pads)
        made[factor] = column_body(dataclasses.replace(machine, pads=pads), member, size=size, akin=middle)
    return BodyFamily(bodies=made, meant=contact_over_wall(member))
