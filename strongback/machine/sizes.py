"""Sizes and masses of a machine as typed, to be set beside calipers and a weighed offcut."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from strongback.answer import told
from strongback.machine.frames import member_length
from strongback.machine.plate_mass import plate_masses
from strongback.machine.values import Machine, Member
from strongback.section.outline import mass_per_length
from strongback.section.values import Outline, SectionStiffness

__all__ = ["MemberSize", "SectionSize", "Sizes", "sizes_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionSize:
    """A section as calipers and scales find it.

    Parameters
    ----------
    name : str
    size : tuple of float, optional
        Width and depth [m]; None of a section that is given by its stiffness.
    mass_per_length : float
        [kg/m]
    """

    name: str
    size: tuple[float, float] | None = field(metadata=told("size_m"))
    mass_per_length: float = field(metadata=told("mass_per_length_kg_m"))


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberSize:
    """A member with its length [m] and mass, plates on it and in it among that [kg]."""

    name: str
    length: float = field(metadata=told("length_m"))
    mass: float = field(metadata=told("mass_kg"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """Sections, members, and the whole.

    Parameters
    ----------
    sections : tuple of SectionSize
    members : tuple of MemberSize
    masses : float
        Of all point masses [kg].
    total : float
        [kg]
    """

    sections: tuple[SectionSize, ...]
    members: tuple[MemberSize, ...]
    masses: float = field(metadata=told("masses_kg"))
    total: float = field(metadata=told("total_kg"))


def sizes_of(machine: Machine) -> Sizes:
    """Sizes and masses of a machine.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    Sizes
    """
    sections = dict(machine.sections)
    plates = plate_masses(machine)
    members = tuple(
        MemberSize(
            name=m.name,
            length=member_length(m),
            mass=_mass(m, sections) + sum(plate.mass for plate in plates if plate.part == m.name),
        )
        for m in machine.members
    )
    lumped = sum(mass.mass for mass in machine.masses)
    return Sizes(
        sections=tuple(_section(name, section) for name, section in machine.sections),
        members=members,
        masses=lumped,
        total=lumped + sum(m.mass for m in members),
    )


def _section(name: str, section: Outline | SectionStiffness) -> SectionSize:
    if not isinstance(section, Outline):
        return SectionSize(name=name, size=None, mass_per_length=section.mass_per_length)
    width, depth = np.ptp(np.vstack([wall.ring for wall in section.walls]), axis=0)
    return SectionSize(name=name, size=(float(width), float(depth)), mass_per_length=mass_per_length(section))


def _mass(member: Member, sections: Mapping[str, Outline | SectionStiffness]) -> float:
    total = 0.0
    for span in member.spans:
        section = sections[span.section]
        per = mass_per_length(section) if isinstance(section, Outline) else section.mass_per_length
        total += span.length * per
    return total
