"""What an option touches in a machine: members, joints and supports, or the geometry itself."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from strongback.machine.part.kinds import body_names
from strongback.machine.values import RIGID, Joint, Machine, Support

__all__ = ["Touched", "touched"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """What differs between a machine and the same with an option.

    Parameters
    ----------
    members : tuple of str
        Whose sections, plates or factors differ.
    holders : tuple of str
        Joints and supports whose stiffness differs.
    new : tuple of str
        Joints and supports that were not there.
    geometry : str
        What moved, came or went, so that all is to be solved anew; empty where nothing did.
    """

    members: tuple[str, ...]
    holders: tuple[str, ...]
    new: tuple[str, ...]
    geometry: str


def touched(before: Machine, after: Machine) -> Touched:
    """Compare a machine with the same after an option.

    Parameters
    ----------
    before, after : Machine
    """
    sections = (dict(before.sections), dict(after.sections))
    old, new = ({m.name: m for m in machine.members} for machine in (before, after))
    geometry = "" if list(old) == list(new) else "members"
    members = []
    for name in [n for n in old if n in new]:
        a, b = old[name], new[name]
        if (a.start, a.end, a.x_axis, a.ends) != (b.start, b.end, b.x_axis, b.ends):
            geometry = geometry or f'place of "{name}"'
        same = [sections[0].get(s.section) for s in a.spans] == [sections[1].get(s.section) for s in b.spans]
        if a != b or not same:
            members.append(name)
    for field in ("pads", "tool", "work", "travels", "gauges", "pulls"):
        if getattr(before, field) != getattr(after, field):
            geometry = geometry or field
    blocks = {b.name: b for b in after.blocks}
    if any(blocks.get(b.name) != b for b in before.blocks):
        geometry = geometry or "blocks"
    holders, fresh, bodies = [], [], set(body_names(before))
    was = {h.name: h for _, h in before.holders()}
    now = {h.name: h for _, h in after.holders()}
    for name, holder in now.items():
        if name not in was:
            fresh.append(name)
            held = holder.parts if isinstance(holder, Joint) else (holder.part,)
            on = [part for part in held if part in bodies]
            geometry = geometry or (f'"{name}" holds on to "{on[0]}", whose walls give' if on else "")
        elif holder != was[name]:
            if _placed(holder) != _placed(was[name]):
                geometry = geometry or f'place of "{name}"'
            holders.append(name)
    if any(name not in now for name in was):
        geometry = geometry or "a joint taken away"
    return Touched(members=tuple(members), holders=tuple(holders), new=tuple(fresh), geometry=geometry)


def _placed(holder: Joint | Support) -> Joint | Support:
    """A joint or support without its stiffness."""
    return dataclasses.replace(
        holder, stiffness=(RIGID,) * 6, low=None, high=None, loss_factor=0.0, source=""
    )
