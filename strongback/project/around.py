"""What a joint is told by the parts around it: materials and axes of members, weight on the feet, pads on bodies."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from strongback.machine.frames import member_axes
from strongback.machine.joints.estimate import JointStiffness
from strongback.machine.values import FREE, RIGID, Joint, Member, Pad, Six
from strongback.materials import Material
from strongback.project.kinds import Line, Surroundings
from strongback.project.schema import MassTable, MemberTable
from strongback.project.tables import Row
from strongback.section.outline import mass_per_length
from strongback.section.values import Outline, SectionStiffness

__all__ = ["contact_of", "surroundings", "without_contact"]

Array = NDArray[np.float64]
GRAVITY = 9.80665  # [m/s²]
SAME = 1e-6  # of a stiffness: what is left beside a pad below that share is nothing


def surroundings(
    members: Sequence[Row[MemberTable]],
    masses: Sequence[Row[MassTable]],
    feet: int,
    sections: Mapping[str, Outline | SectionStiffness],
    materials: Mapping[str, Material],
) -> Surroundings:
    """What kinds of joints may ask of a file.

    Parameters
    ----------
    members, masses : sequence of Row
    feet : int
        Number of supports.
    sections : mapping of str to Outline or SectionStiffness
    materials : mapping of str to Material
        The file's own.

    Returns
    -------
    Surroundings
    """
    lines = {
        row.table.name: _line(row.table, sections) for row in members if row.table.start != row.table.end
    }
    weight = GRAVITY * (
        sum(row.table.mass for row in masses) + sum(_mass(row.table, sections) for row in members)
    )
    return Surroundings(members=lines, materials=materials, feet=feet, weight=weight)


def _line(table: MemberTable, sections: Mapping[str, Any]) -> Line:
    first = table.section or (table.span[0].section if table.span else "")
    section = sections.get(first)
    wall = section.walls[0].material if isinstance(section, Outline) else None
    return Line(start=table.start, end=table.end, material=wall, body=table.model == "body")


def _mass(table: MemberTable, sections: Mapping[str, Outline | SectionStiffness]) -> float:
    """Of a member [kg]."""
    length = math.dist(table.start, table.end)
    if table.section is not None:
        return length * _per_length(sections.get(table.section))
    open_ones = sum(math.isnan(span.length) for span in table.span)
    rest = length - sum(span.length for span in table.span if not math.isnan(span.length))
    return sum(
        (rest / open_ones if math.isnan(span.length) else span.length)
        * _per_length(sections.get(span.section))
        for span in table.span
    )


def _per_length(section: Outline | SectionStiffness | None) -> float:
    if section is None:
        return 0.0
    return mass_per_length(section) if isinstance(section, Outline) else section.mass_per_length


def contact_of(joint: Joint, start: JointStiffness, pad: Pad) -> Pad:
    """A pad with the contact of the joint that pushes through it, spread over its size.

    Parameters
    ----------
    joint : Joint
    start : JointStiffness
        Of its kind.
    pad : Pad

    Returns
    -------
    Pad
    """
    normal = np.asarray(pad.normal) / np.linalg.norm(pad.normal)
    axes = np.asarray(joint.axes)
    out = int(np.argmax(np.abs(axes @ normal)))
    across = min((i for i in range(3) if i != out), key=lambda i: 0 if i == 0 else 1)
    k_n, k_t = start.best[out], start.best[across]
    if math.isinf(k_n):
        return dataclasses.replace(pad, stiffness=RIGID)
    area = pad.size[0] * pad.size[1]
    return dataclasses.replace(pad, stiffness=k_n / area, tangential=min(1.0, k_t / k_n))


def without_contact(joint: Joint, pad: Pad, member: Member, written: Sequence[bool]) -> Joint:
    """A joint with what is left of its springs once the pad under it holds the contact.

    Parameters
    ----------
    joint : Joint
        With the springs of its kind, contact and all.
    pad : Pad
    member : Member
        A body, which carries the pad.
    written : sequence of bool
        Components that the file writes itself, which stay.

    Returns
    -------
    Joint
    """
    low = joint.stiffness if joint.low is None else joint.low
    high = joint.stiffness if joint.high is None else joint.high
    own = pad_springs(pad, member, np.asarray(joint.axes))
    found = [
        (k, a, b) if kept else _left(k, a, b, float(p))
        for k, a, b, p, kept in zip(joint.stiffness, low, high, own, written, strict=True)
    ]
    best, soft, stiff = zip(*found, strict=True)
    return dataclasses.replace(joint, stiffness=_six(best), low=_six(soft), high=_six(stiff))


def _left(k: float, low: float, high: float, pad: float) -> tuple[float, float, float]:
    """What stands in series with the pad, so that both together give what the joint gives."""
    if k in (FREE, RIGID) or math.isinf(pad):
        return k, low, high
    give = 1.0 / k - 1.0 / pad
    if give <= SAME / k:
        return RIGID, RIGID, RIGID
    return 1.0 / give, low / k / give, high / k / give


def pad_springs(pad: Pad, member: Member, axes: Array) -> Array:
    """Six springs of the contact under a rigid pad, in the axes of a joint, (6,)."""
    if math.isinf(pad.stiffness):
        return np.full(6, math.inf)
    normal = np.asarray(pad.normal) / np.linalg.norm(pad.normal)
    along = member_axes(member)[2]
    frame = np.array([np.cross(along, normal), along, normal])
    w, h = pad.size
    kn = pad.stiffness * w * h
    kt = pad.tangential * kn
    straight = frame.T @ np.diag([kt, kt, kn]) @ frame
    turns = frame.T @ np.diag([kn * h**2, kn * w**2, kt * (w**2 + h**2)]) @ frame / 12.0
    return np.concatenate([np.diag(axes @ straight @ axes.T), np.diag(axes @ turns @ axes.T)])


def _six(values: Sequence[float]) -> Six:
    a, b, c, d, e, f = (float(v) for v in values)
    return a, b, c, d, e, f
