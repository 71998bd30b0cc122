"""What a joint is told by the parts around it: materials and axes of members, weight on the feet, pads on bodies."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Container, Mapping, Sequence
from typing import Any

import numpy as np

from strongback.machine.joints.estimate import JointStiffness
from strongback.machine.values import RIGID, Joint, Pad
from strongback.materials import Material
from strongback.project.kinds import Line, Surroundings
from strongback.project.schema import MassTable, MemberTable
from strongback.project.tables import Row
from strongback.section.outline import mass_per_length
from strongback.section.values import Outline, SectionStiffness

__all__ = ["contact_of", "surroundings"]

GRAVITY = 9.80665  # [m/s²]


def surroundings(
    members: Sequence[Row[MemberTable]],
    masses: Sequence[Row[MassTable]],
    feet: int,
    padded: Container[str],
    sections: Mapping[str, Outline | SectionStiffness],
    materials: Mapping[str, Material],
) -> Surroundings:
    """What kinds of joints may ask of a file.

    Parameters
    ----------
    members, masses : sequence of Row
    feet : int
        Number of supports.
    padded : container of str
        Members with a pad on their wall.
    sections : mapping of str to Outline or SectionStiffness
    materials : mapping of str to Material
        The file's own.

    Returns
    -------
    Surroundings
    """
    lines = {
        row.table.name: _line(row.table, sections, padded)
        for row in members
        if row.table.start != row.table.end
    }
    weight = GRAVITY * (
        sum(row.table.mass for row in masses) + sum(_mass(row.table, sections) for row in members)
    )
    return Surroundings(members=lines, materials=materials, feet=feet, weight=weight)


def _line(table: MemberTable, sections: Mapping[str, Any], padded: Container[str]) -> Line:
    first = table.section or (table.span[0].section if table.span else "")
    section = sections.get(first)
    wall = section.walls[0].material if isinstance(section, Outline) else None
    # Near enough: what else bears on the member is not built yet.
    body = table.model == "body" or (table.model == "auto" and wall is not None and table.name in padded)
    return Line(start=table.start, end=table.end, material=wall, body=body)


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
