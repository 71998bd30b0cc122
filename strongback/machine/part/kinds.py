"""Beam or body: decided here, from the machine as it is drawn, before anything is solved.

A pad decides: it is a saddle or a clamp on a wall, and walls bend there. On the demo and the examples a beam in its
place is wrong by up to half of the deflection at the tool, either way.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np

from strongback.answer import Telling, Told, told
from strongback.errors import MachineError
from strongback.machine.frames import member_axes, member_length
from strongback.machine.pad_contact import joints_of_beams
from strongback.machine.values import Machine, Member, Pad, Vector
from strongback.section.values import Outline

__all__ = [
    "PartKind",
    "as_beam",
    "as_beams",
    "as_body",
    "body_names",
    "kind_of",
    "kinds",
    "pads_on",
    "refuse_idle_factors",
]

SAME = 1e-6  # points nearer than this are one [m]
OF_BEAMS = ("bending", "torsion", "shear", "axial", "warping")
OF_BODIES = ("wall", "contact")


@dataclass(frozen=True, slots=True, kw_only=True)
class PartKind(Told):
    """What a member is solved as.

    Parameters
    ----------
    name : str
    model : {"beam", "body"}
    asked : {"auto", "beam", "body"}
        As the member says.
    reason : str
        Why it is not the other; of a body empty.
    walls : bool
        Whether walls that something bears on are left out: it is a beam, and its outline is known.
    plates : tuple of str
        What a beam leaves out of its plates: cap, foot, diaphragms.
    """

    TOLD: ClassVar[Telling] = (("walls_in", "is_body"),)

    name: str
    model: str
    asked: str
    reason: str = field(default="", metadata=told(blank=True))
    walls: bool = field(default=False, metadata=told("walls_left_out"))
    plates: tuple[str, ...] = field(default=(), metadata=told("plates_left_out"))

    @property
    def is_body(self) -> bool:
        """Whether its walls give."""
        return self.model == "body"


def kind_of(machine: Machine, member: Member) -> PartKind:
    """What a member is solved as: as it says, or by itself where it leaves that open.

    Parameters
    ----------
    machine : Machine
    member : Member

    Returns
    -------
    PartKind
        With ``model = "auto"`` a body where a joint bears on its wall through a pad and nothing stands in the way.
    """
    if member.model == "body":
        return PartKind(name=member.name, model="body", asked="body")
    outlined = all(isinstance(s, Outline) for s in _sections(machine, member))
    bare = _on_bare_wall(machine, member)
    pads = pads_on(machine, member)
    walls = outlined and bool(pads or bare)
    reason = 'model = "beam"' if member.model == "beam" else _not_a_body(machine, member, pads, bare)
    if not reason:
        return PartKind(name=member.name, model="body", asked=member.model)
    return PartKind(
        name=member.name,
        model="beam",
        asked=member.model,
        reason=reason,
        walls=walls,
        plates=_plates_of(member),
    )


def _plates_of(member: Member) -> tuple[str, ...]:
    given = {"cap": member.cap, "foot": member.foot, "diaphragms": member.diaphragms}
    return tuple(name for name, plate in given.items() if plate)


def kinds(machine: Machine) -> tuple[PartKind, ...]:
    """`kind_of` every member."""
    return tuple(kind_of(machine, member) for member in machine.members)


def body_names(machine: Machine) -> tuple[str, ...]:
    """Members that are bodies."""
    return tuple(kind.name for kind in kinds(machine) if kind.model == "body")


def as_beams(machine: Machine, *, only: str = "") -> Machine:
    """The machine with every member, or one of them, a line of sections, its walls and their factors left out.

    Contact under pads that was taken out of their joints is put back into them.
    """
    turned = [name for name in body_names(machine) if only in ("", name)]
    return dataclasses.replace(
        machine,
        members=tuple(as_beam(m) if only in ("", m.name) else m for m in machine.members),
        joints=joints_of_beams(machine, turned),
    )


def as_body(machine: Machine, name: str) -> Machine:
    """The machine with one member a body, whatever it says itself."""
    return dataclasses.replace(
        machine,
        members=tuple(
            dataclasses.replace(
                m,
                model="body",
                factors=_only(m.factors, OF_BODIES),
                factor_ranges=tuple(row for row in m.factor_ranges if row[0] in OF_BODIES),
            )
            if m.name == name
            else m
            for m in machine.members
        ),
    )


def mechanisms_of(machine: Machine, member: Member) -> tuple[str, ...]:
    """Every mechanism of a member that a factor may multiply."""
    return OF_BODIES if kind_of(machine, member).is_body else OF_BEAMS


def asked_about(machine: Machine, member: Member) -> tuple[str, ...]:
    """Mechanisms of a member that readings are asked about: of a body walls, and contact where a pad is pressed."""
    if not kind_of(machine, member).is_body:
        return OF_BEAMS[:3]
    return OF_BODIES if pads_on(machine, member) else OF_BODIES[:1]


def pads_on(machine: Machine, member: Member) -> list[Pad]:
    """Pads on a member through which a joint pushes."""
    used = {joint.pad for joint in machine.joints if member.name in joint.parts}
    return [pad for pad in machine.pads if pad.part == member.name and pad.name in used]


def refuse_idle_factors(machine: Machine) -> None:
    """Refuse factors that would do nothing: of a beam on a body, of walls on a beam.

    Raises
    ------
    MachineError
    """
    for member in machine.members:
        given = [name for name, factor in member.factors if factor != 1.0]
        given += [name for name, _, _ in member.factor_ranges]
        if not given:
            continue
        kind = kind_of(machine, member)
        idle = [name for name in given if name not in mechanisms_of(machine, member)]
        if idle:
            raise MachineError(
                f'member "{member.name}" is a {kind.model}: its factor on {idle[0]} would do nothing',
                hint=f"a {kind.model} has factors on {', '.join(mechanisms_of(machine, member))}"
                + (f"; it is a beam because of {kind.reason}" if kind.reason else ""),
            )


def as_beam(member: Member) -> Member:
    """The member as a line of sections, its walls and their factors left out."""
    return dataclasses.replace(
        member,
        model="beam",
        factors=_only(member.factors, OF_BEAMS),
        factor_ranges=tuple(row for row in member.factor_ranges if row[0] in OF_BEAMS),
    )


def _only(factors: Iterable[tuple[str, float]], names: tuple[str, ...]) -> tuple[tuple[str, float], ...]:
    return tuple(row for row in factors if row[0] in names)


def _sections(machine: Machine, member: Member) -> list[object]:
    known = dict(machine.sections)
    return [known.get(span.section) for span in member.spans]


def _not_a_body(machine: Machine, member: Member, pads: list[Pad], bare: list[str]) -> str:
    """Why a member that may choose is no body; empty where it is one."""
    if not pads:
        return f'"{bare[0]}" on its wall without a pad' if bare else "no pad on its walls"
    outlines = _sections(machine, member)
    if not all(isinstance(o, Outline) for o in outlines):
        return "a section without an outline"
    if any(o.seams for o in outlines if isinstance(o, Outline)):
        return "a seam that slips, which only a beam has"
    first = outlines[0]
    if any(o.walls != first.walls for o in outlines if isinstance(o, Outline) and isinstance(first, Outline)):
        return "walls that differ along it"
    if bare:
        return f'"{bare[0]}" on its wall without a pad'
    if "joined" in member.ends:
        return "an end that continues into the next member"
    axes = member_axes(member)
    for pad in pads:
        normal = axes @ np.asarray(pad.normal)
        if abs(normal[2]) > 1e-6 * float(np.linalg.norm(normal)):
            return f'pad "{pad.name}" on its end, not on its wall'
    factors = [name for name, _ in member.factors if name in OF_BEAMS]
    factors += [name for name, _, _ in member.factor_ranges if name in OF_BEAMS]
    if factors:
        return f"a factor on its {factors[0]}, which only a beam has"
    return (
        ""
        if len(pads) + _held_ends(machine, member) > 1
        else "one hold only and nothing else that bears on it"
    )


def _held_ends(machine: Machine, member: Member) -> int:
    """Ends that are held in shape or held on to."""
    length = member_length(member)
    held = [s for s, kind in zip((0.0, length), member.ends, strict=True) if kind == "held"]
    holders = [at for _, at in _holders(machine, member)]
    at_ends = [s for at in holders if not SAME < (s := _station(member, at)) < length - SAME]
    return len({s < 0.5 * length for s in (*held, *at_ends)})


def _holders(machine: Machine, member: Member) -> list[tuple[str, Vector]]:
    """What holds on to a member without a pad: joints, supports, tool and work."""
    padded = {pad.name for pad in machine.pads if pad.part == member.name}
    found = [(j.name, j.at) for j in machine.joints if member.name in j.parts and j.pad not in padded]
    found += [(s.name, s.at) for s in machine.supports if s.part == member.name]
    ends = (("the tool", machine.tool), ("the work", machine.work))
    return [*found, *((name, place.at) for name, place in ends if place.part == member.name)]


def _on_bare_wall(machine: Machine, member: Member) -> list[str]:
    length = member_length(member)
    return [name for name, at in _holders(machine, member) if SAME < _station(member, at) < length - SAME]


def _station(member: Member, at: Vector) -> float:
    x, y, z = member_axes(member)[2].tolist()
    a, b, c = member.start
    return float(x * (at[0] - a) + y * (at[1] - b) + z * (at[2] - c))
