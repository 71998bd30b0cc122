"""Whether a project has a fault: what it holds, in words and sizes to be looked at, and what looks like a slip."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from strongback.answer import HIDDEN, Answer, told
from strongback.machine.joint_words import JointWords, joint_words
from strongback.machine.joints.estimate import JointStiffness
from strongback.machine.mechanism import refuse_mechanism
from strongback.machine.part.kinds import PartKind, kinds
from strongback.machine.sizes import Sizes, sizes_of
from strongback.machine.values import Machine
from strongback.project.plausible import Unlikely, unlikely_of
from strongback.project.read import Project
from strongback.section.apart import separated
from strongback.section.check import check
from strongback.section.values import Outline

__all__ = ["Checked", "checked", "to_ask"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Checked(Answer):
    """A project that can be read, and what to look at in it.

    Parameters
    ----------
    path : Path
        The project file.
    machine : Machine
    note : str
        What the file says about itself.
    faults : tuple of str
        Of its readings.
    warnings : tuple of Unlikely
        Sizes, places and loads that look like a slip.
    counts : mapping of str to int
    joints : tuple of JointWords
        Of a member whose walls give with the contact that its pad holds.
    parts : tuple of PartKind
    sizes : Sizes
    to_ask : tuple of str
        What nobody has said of a joint yet.
    """

    path: Path = field(metadata=told("project"))
    machine: Machine = field(metadata=told(of="name"))
    note: str = field(metadata=HIDDEN)
    faults: tuple[str, ...]
    warnings: tuple[Unlikely, ...]
    counts: Mapping[str, int]
    joints: tuple[JointWords, ...]
    parts: tuple[PartKind, ...]
    sizes: Sizes
    to_ask: tuple[str, ...]

    def __repr__(self) -> str:
        found = f"{len(self.faults)} faults, {len(self.warnings)} warnings"
        return (
            f"Checked({self.machine.name!r}: {found}; {len(self.parts)} members, {len(self.joints)} joints)"
        )


def checked(project: Project) -> Checked:
    """Look at a project without solving anything.

    Parameters
    ----------
    project : Project

    Returns
    -------
    Checked

    Raises
    ------
    OutlineError
        If an outline bounds no section.
    MechanismError
        If a part is free to move.
    """
    machine = project.machine
    for _, section in machine.sections:
        for part in separated(section) if isinstance(section, Outline) else ():
            check(part)
    refuse_mechanism(machine)
    logs = project.extras["readings"]
    listed = ("sections", "members", "blocks", "joints", "supports", "pads", "masses", "pulls", "gauges")
    counts = {name: len(getattr(machine, name)) for name in listed}
    return Checked(
        path=project.path,
        machine=machine,
        note=project.note,
        faults=tuple(str(fault) for data in logs for fault in data.faults),
        warnings=tuple(unlikely_of(project)),
        counts=counts
        | {
            "readings": sum(len(data.readings) for data in logs),
            "rows not yet read": sum(data.unread for data in logs),
        },
        joints=joint_words(machine),
        parts=kinds(machine),
        sizes=sizes_of(machine),
        to_ask=to_ask(project.starts, {law.part for law in project.laws}),
    )


def to_ask(starts: Mapping[str, JointStiffness], said: set[str]) -> tuple[str, ...]:
    """What nobody has said of a joint yet: usual play, when it opens, where its sizes leave the formulas.

    Parameters
    ----------
    starts : mapping of str to JointStiffness
        By joint.
    said : set of str
        Joints whose play or opening the file states.

    Returns
    -------
    tuple of str
    """
    found = []
    for name, start in starts.items():
        if name not in said:
            for when in dict.fromkeys(play.when for play in start.play):
                same = [play for play in start.play if play.when == when]
                low, high = 1e6 * same[0].low, 1e6 * same[0].high
                found.append(f"{name}: play of {low:g} to {high:g} µm? ({when})")
            if start.opens:
                found.append(f"{name}: {start.opens}")
        found += [f"{name}: {note}" for note in start.notes]
    return tuple(found)
