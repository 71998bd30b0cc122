"""Sizes and masses of a machine as typed, to be set beside calipers and a weighed offcut."""

from __future__ import annotations

from typing import Any

import numpy as np

from strongback.machine.frames import member_length
from strongback.machine.values import Machine, Member
from strongback.section.outline import mass_per_length
from strongback.section.values import Outline, SectionStiffness
from strongback.views.tables import Column, number, table

__all__ = ["sizes_dict", "sizes_text"]


def sizes_dict(machine: Machine) -> dict[str, Any]:
    """Sections with their size and mass per metre, members with length and mass, and the whole; SI units in the keys.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    dict
    """
    sections = dict(machine.sections)
    own = {m.name: _mass(m, sections) for m in machine.members}
    members = [
        {"name": m.name, "length_m": member_length(m), "mass_kg": own[m.name]} for m in machine.members
    ]
    lumped = sum(mass.mass for mass in machine.masses)
    return {
        "sections": [_section(name, section) for name, section in machine.sections],
        "members": members,
        "masses_kg": lumped,
        "total_kg": lumped + sum(own.values()),
    }


def _section(name: str, section: Outline | SectionStiffness) -> dict[str, Any]:
    if not isinstance(section, Outline):
        return {"name": name, "size_m": None, "mass_per_length_kg_m": section.mass_per_length}
    points = np.vstack([wall.ring for wall in section.walls])
    size = [float(v) for v in np.ptp(points, axis=0)]
    return {"name": name, "size_m": size, "mass_per_length_kg_m": mass_per_length(section)}


def _mass(member: Member, sections: dict[str, Outline | SectionStiffness]) -> float:
    total = 0.0
    for span in member.spans:
        section = sections[span.section]
        per = mass_per_length(section) if isinstance(section, Outline) else section.mass_per_length
        total += span.length * per
    return total


def sizes_text(machine: Machine, width: int) -> str:
    """The same as two tables.

    Parameters
    ----------
    machine : Machine
    width : int
        Columns of the terminal.

    Returns
    -------
    str
    """
    found = sizes_dict(machine)
    sections = [
        [
            row["name"],
            "-" if row["size_m"] is None else " x ".join(f"{1e3 * v:.4g}" for v in row["size_m"]),
            number(row["mass_per_length_kg_m"], 3),
        ]
        for row in found["sections"]
    ]
    members = [
        [row["name"], number(1e3 * row["length_m"], 4), number(row["mass_kg"], 3)] for row in found["members"]
    ]
    members.append(["all, with masses", "", number(found["total_kg"], 3)])
    heads = [
        Column("section"),
        Column("width x depth", "mm", "right"),
        Column("weigh an offcut", "kg/m", "right"),
    ]
    parts = [Column("member"), Column("length", "mm", "right"), Column("mass", "kg", "right")]
    return table(heads, sections, width=width) + "\n\n" + table(parts, members, width=width)
