"""What must hold before a machine can be assembled: names, parts, lengths, finite numbers."""

from __future__ import annotations

import functools
import math
from collections import Counter

import numpy as np

from strongback.checks import nearest
from strongback.errors import MachineError
from strongback.machine.frames import member_length
from strongback.machine.part.kinds import kind_of, refuse_idle_factors
from strongback.machine.plausible import warn_of_unlikely
from strongback.machine.values import GROUND, Axes, Joint, Machine, Member, Support, Vector

__all__ = ["SAME_AXIS", "SAME_POINT", "check_machine"]

SAME_POINT = 1e-6  # ends nearer than this meet [m]
SAME_AXIS = 0.999  # cosine between members that run on into each other


def check_machine(machine: Machine) -> None:
    """Refuse a machine whose parts do not fit together.

    Parameters
    ----------
    machine : Machine

    Raises
    ------
    MachineError
        With the first fault found: a name used twice or unknown, a span that does not fit its member, a stiffness
        below zero, a direction of no length.
    """
    _check_names(machine)
    _check_references(machine)
    warn_of_unlikely(machine)
    sections = {name for name, _ in machine.sections}
    for member in machine.members:
        _check_member(member, sections)
    _check_joined_ends(machine)
    refuse_idle_factors(machine)
    holders: list[Joint | Support] = [*machine.joints, *machine.supports]
    for holder in holders:
        _check_springs(holder)
    for pull in machine.pulls:
        if not np.any(pull.force) and not np.any(pull.couple):
            raise MachineError(f'pull "{pull.name}" has neither force nor couple')
    for gauge in machine.gauges:
        if not np.linalg.norm(gauge.direction) > 0.0:
            raise MachineError(f'gauge "{gauge.name}" has no direction')


def _check_names(machine: Machine) -> None:
    kinds = {
        "part": [*(m.name for m in machine.members), *(b.name for b in machine.blocks), GROUND],
        "joint or support": [*(j.name for j in machine.joints), *(s.name for s in machine.supports)],
        "pull": [p.name for p in machine.pulls],
        "gauge": [g.name for g in machine.gauges],
        "section": [name for name, _ in machine.sections],
    }
    for kind, names in kinds.items():
        name, count = Counter(names).most_common(1)[0] if names else ("", 0)
        if count > 1:
            raise MachineError(
                f'the {kind} "{name}" is there {count} times', hint="give each a name of its own"
            )


def _check_references(machine: Machine) -> None:
    parts = [*(m.name for m in machine.members), *(b.name for b in machine.blocks), GROUND]
    uses: list[tuple[str, str]] = [("tool", machine.tool.part), ("work", machine.work.part)]
    for joint in machine.joints:
        uses += [(f'joint "{joint.name}"', part) for part in joint.parts]
        if joint.parts[0] == joint.parts[1]:
            raise MachineError(f'joint "{joint.name}" joins "{joint.parts[0]}" to itself')
    uses += [(f'support "{s.name}"', s.part) for s in machine.supports]
    uses += [(f'mass "{m.name}"', m.part) for m in machine.masses]
    uses += [(f'pull "{p.name}"', part) for p in machine.pulls for part in (p.part, p.against)]
    uses += [(f'gauge "{g.name}"', part) for g in machine.gauges for part in (g.part, g.reference)]
    for what, part in uses:
        if part not in parts:
            raise MachineError(
                f'{what}: no part is called "{part}"', hint=nearest(part, parts, "parts", cutoff=0.5)
            )
    if machine.tool.part == GROUND:
        raise MachineError("the tool is on the ground", hint="name the part that carries the tool")


def _check_member(member: Member, sections: set[str]) -> None:
    length = member_length(member)
    if not member.spans:
        raise MachineError(f'member "{member.name}" has no section')
    for span in member.spans:
        if span.section not in sections:
            raise MachineError(
                f'member "{member.name}": no section is called "{span.section}"',
                hint=nearest(span.section, sorted(sections), "sections", cutoff=0.5),
            )
        if not span.length > 0.0:
            raise MachineError(f'member "{member.name}": a span of {span.length * 1e3:g} mm must be above 0')
    total = sum(span.length for span in member.spans)
    if abs(total - length) > 1e-6 * length:
        raise MachineError(
            f'member "{member.name}" is {length * 1e3:.6g} mm long, its spans add to {total * 1e3:.6g} mm',
            hint="the spans must reach from start to end; a fill cannot be higher than the column",
        )
    for name, factor in member.factors:
        if not (factor > 0.0 and math.isfinite(factor)):
            raise MachineError(f'member "{member.name}": factor on {name} must be above 0')
    for name, low, high in member.factor_ranges:
        if not 0.0 < low <= high < math.inf:
            raise MachineError(
                f'member "{member.name}": range of the factor on {name} must rise from above 0'
            )


def _check_joined_ends(machine: Machine) -> None:
    """An end that runs on into another member needs one that starts there, on the same axis, and says so as well."""
    joined = [
        (member, point)
        for member in machine.members
        for kind, point in zip(member.ends, (member.start, member.end), strict=True)
        if kind == "joined"
    ]
    for member, point in joined:
        if kind_of(machine, member).is_body:
            raise MachineError(
                f'member "{member.name}" is a body: its end cannot be joined to the next member',
                hint='an end face of a body is plane ("held") or open ("free")',
            )
        if not any(_runs_on(member, point, other, there) for other, there in joined):
            raise MachineError(
                f'member "{member.name}": its end is "joined", but to no other member',
                hint='the other must end at the same point, lie on the same axis and be "joined", too; '
                'else give "held" or "free"',
            )


def _runs_on(member: Member, point: Vector, other: Member, there: Vector) -> bool:
    if other is member or math.dist(point, there) > SAME_POINT:
        return False
    one, two = (np.subtract(m.end, m.start) / member_length(m) for m in (member, other))
    return abs(float(one @ two)) > SAME_AXIS


@functools.lru_cache(maxsize=256)
def _askew(rows: Axes) -> bool:
    axes = np.asarray(rows)
    return bool(np.abs(axes @ axes.T - np.eye(3)).max() > 1e-9)


def _check_springs(holder: Joint | Support) -> None:
    for value in holder.stiffness:
        if math.isnan(value) or value < 0.0:
            raise MachineError(f'"{holder.name}": a stiffness must not be below 0')
    if _askew(holder.axes):
        raise MachineError(f'"{holder.name}": its axes are not at right angles')
