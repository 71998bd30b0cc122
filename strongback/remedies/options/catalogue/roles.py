"""Which part of a machine is what: the column, its base, the ways. Found from how things stand, not from their names."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strongback.change.values import Change
from strongback.machine.frames import member_axes, member_length
from strongback.machine.parameters import Parameter
from strongback.machine.part.kinds import kind_of
from strongback.machine.values import COMPONENTS, Joint, Machine, Member, Support
from strongback.section.values import Outline

__all__ = ["TURNS", "UPRIGHT", "Roles", "multiplied", "roles_of"]

TURNS = COMPONENTS[3:]
UPRIGHT = 0.7  # cosine between an upright member and the vertical


@dataclass(frozen=True, slots=True, kw_only=True)
class Roles:
    """Parts that options are about.

    Parameters
    ----------
    column : Member or None
        The longest upright member; of a machine without one the longest member.
    main : Member or None
        The longest member that stands on no support: the column of a mill, the beam of a portal.
    outline : Outline or None
        Of the main member, where it has one all along.
    body : bool
        Whether the walls of the main member give.
    base : Joint or None
        That holds the start of the column.
    ways : tuple of Joint
        Joints that slide on pads, and those that carry the work.
    top : bool
        Whether something can hold on to the end of the column: it is a line of sections, not a body with an open end.
    bed : Member or None
        That the base joint stands on.
    feet : tuple of Support
    """

    column: Member | None
    main: Member | None
    outline: Outline | None
    body: bool
    base: Joint | None
    ways: tuple[Joint, ...]
    top: bool
    bed: Member | None
    feet: tuple[Support, ...]


def roles_of(machine: Machine) -> Roles:
    """Find the parts that options are about.

    Parameters
    ----------
    machine : Machine
    """
    upright = [m for m in machine.members if abs(member_axes(m)[2, 2]) > UPRIGHT]
    column = max(upright or list(machine.members), key=member_length, default=None)
    if column is None:
        return Roles(
            column=None,
            main=None,
            outline=None,
            body=False,
            base=None,
            ways=(),
            top=False,
            bed=None,
            feet=machine.supports,
        )
    stood = {s.part for s in machine.supports}
    main = max([m for m in machine.members if m.name not in stood] or [column], key=member_length)
    sections = dict(machine.sections)
    own = {span.section for span in main.spans}
    first = sections[main.spans[0].section]
    outline = first if len(own) == 1 and isinstance(first, Outline) else None
    held = [j for j in machine.joints if column.name in j.parts]
    foot = min(held, key=lambda j: float(np.linalg.norm(np.subtract(j.at, column.start))), default=None)
    if foot is not None and np.linalg.norm(np.subtract(foot.at, column.start)) > 0.2 * member_length(column):
        foot = None
    ways = tuple(j for j in machine.joints if j is not foot and (j.pad or machine.work.part in j.parts))
    other = next((p for p in foot.parts if p != column.name), "") if foot is not None else ""
    return Roles(
        column=column,
        main=main,
        outline=outline,
        body=kind_of(machine, main).is_body,
        base=foot,
        ways=ways,
        top=not kind_of(machine, column).is_body,
        bed=next((m for m in machine.members if m.name == other), None),
        feet=machine.supports,
    )


def multiplied(holders: tuple[Joint | Support, ...], mechanisms: tuple[str, ...], factor: float) -> Change:
    """Stiffnesses of joints or supports multiplied; free and rigid ones stay.

    Parameters
    ----------
    holders : tuple of Joint or Support
    mechanisms : tuple of str
        Components, as in `COMPONENTS`.
    factor : float
    """
    return Change(
        factors=tuple(
            (
                Parameter(kind="joint" if isinstance(h, Joint) else "support", part=h.name, mechanism=name),
                factor,
            )
            for h in holders
            for name in mechanisms
            if 0.0 < h.stiffness[COMPONENTS.index(name)] < float("inf")
        )
    )
