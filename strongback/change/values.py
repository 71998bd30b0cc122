"""A change of a machine: what is put in, made again, moved or multiplied. Applying it makes another machine."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol, TypeVar

from strongback.errors import MachineError
from strongback.machine.parameters import Parameter, scaled
from strongback.machine.values import Block, Joint, Machine, Member, Pad, PointMass, Span, Support
from strongback.machine.workspace import moved, travel_named
from strongback.section.values import Outline, SectionStiffness

__all__ = ["Change", "applied"]


class _Named(Protocol):
    @property
    def name(self) -> str: ...


T = TypeVar("T", bound=_Named)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A change of a machine.

    Parameters
    ----------
    name : str
    new_sections : tuple of (str, Outline or SectionStiffness)
        Sections that the machine does not have yet.
    sections : tuple of (str, str)
        Section that members have and the one put in its place.
    spans : tuple of (str, tuple of Span)
        Member and its spans from now on.
    factors : tuple of (Parameter, float)
        Stiffnesses multiplied: a joint made again, walls that came out otherwise.
    travels : tuple of (str, float)
        Travel and how far it is moved [m].
    members, blocks, joints, supports, pads, masses : tuples
        Parts put on, or in the place of those of the same name.
    """

    name: str = ""
    new_sections: tuple[tuple[str, Outline | SectionStiffness], ...] = ()
    sections: tuple[tuple[str, str], ...] = ()
    spans: tuple[tuple[str, tuple[Span, ...]], ...] = ()
    factors: tuple[tuple[Parameter, float], ...] = ()
    travels: tuple[tuple[str, float], ...] = ()
    members: tuple[Member, ...] = ()
    blocks: tuple[Block, ...] = ()
    joints: tuple[Joint, ...] = ()
    supports: tuple[Support, ...] = ()
    pads: tuple[Pad, ...] = ()
    masses: tuple[PointMass, ...] = ()


def applied(machine: Machine, change: Change) -> Machine:
    """The machine after a change.

    Parameters
    ----------
    machine : Machine
    change : Change

    Returns
    -------
    Machine

    Raises
    ------
    MachineError
        If the change names a section, member, stiffness or travel that is not there.
    """
    there = dataclasses.replace(
        machine,
        sections=tuple({**dict(machine.sections), **dict(change.new_sections)}.items()),
        members=_put_on(machine.members, change.members),
        blocks=_put_on(machine.blocks, change.blocks),
        joints=_put_on(machine.joints, change.joints),
        supports=_put_on(machine.supports, change.supports),
        pads=_put_on(machine.pads, change.pads),
        masses=_put_on(machine.masses, change.masses),
    )
    there = dataclasses.replace(there, members=_with_spans(there, dict(change.spans)))
    there = _with_sections(there, dict(change.sections))
    for name, distance in change.travels:
        there = moved(there, travel_named(there, name), distance)
    return scaled(there, dict(change.factors)) if change.factors else there


def _put_on(old: tuple[T, ...], new: tuple[T, ...]) -> tuple[T, ...]:
    """What was there with what is new, in the place of one of the same name."""
    known = [item.name for item in old]
    replaced = [next((n for n in new if n.name == item.name), item) for item in old]
    return (*replaced, *(item for item in new if item.name not in known))


def _with_spans(machine: Machine, spans: Mapping[str, tuple[Span, ...]]) -> tuple[Member, ...]:
    known = {m.name for m in machine.members}
    for name in spans:
        if name not in known:
            raise MachineError(f'there is no member "{name}"', hint=f"members: {', '.join(sorted(known))}")
    return tuple(
        dataclasses.replace(m, spans=spans[m.name]) if m.name in spans else m for m in machine.members
    )


def _with_sections(machine: Machine, swap: Mapping[str, str]) -> Machine:
    known = {name for name, _ in machine.sections}
    used = {span.section for m in machine.members for span in m.spans}
    for old, new in swap.items():
        if old not in used:
            raise MachineError(
                f'no member has the section "{old}"', hint=f"members have {', '.join(sorted(used))}"
            )
        if new not in known:
            raise MachineError(f'no section is called "{new}"', hint=f"there are {', '.join(sorted(known))}")
    members = tuple(
        dataclasses.replace(
            m, spans=tuple(dataclasses.replace(s, section=swap.get(s.section, s.section)) for s in m.spans)
        )
        for m in machine.members
    )
    return dataclasses.replace(machine, members=members)
