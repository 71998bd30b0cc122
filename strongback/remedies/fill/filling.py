"""A machine with one member filled, and its filled sections against modulus and bond."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import MixError
from strongback.machine.values import Machine, Member, Span
from strongback.materials import Material
from strongback.section.outline import filled
from strongback.section.values import Fill, Insert, Outline, Ring, SectionStiffness

__all__ = [
    "FillJob",
    "bare_name",
    "filled_machine",
    "span_name",
]

Array = NDArray[np.float64]
Solver = Callable[[Outline], Mapping[str, SectionStiffness]]


@dataclass(frozen=True, slots=True, kw_only=True)
class FillJob:
    """What is filled, and what is known of it.

    Parameters
    ----------
    member : str
    cells : tuple of str
    low, high : float
        Where the fill begins and ends along the member [m].
    material : Material
        At the median modulus.
    u_ln : float
        Standard deviation of ln E [-].
    bond : tuple of float
        Least and greatest hold at the wall, 0 sliding to 1 bonded; evenly between.
    bores : tuple of (str, Ring)
        Holes left free, by cell [m].
    inserts : tuple of (str, Insert)
        Bars bonded in by the fill, by cell.
    remake : float
        Standard deviation of ln stiffness of joints that are undone and made again [-].
    """

    member: str
    cells: tuple[str, ...]
    low: float
    high: float
    material: Material
    u_ln: float
    bond: tuple[float, float] = (1.0, 1.0)
    bores: tuple[tuple[str, Ring], ...] = ()
    inserts: tuple[tuple[str, Insert], ...] = ()
    remake: float = 0.1


def span_name(section: str) -> str:
    """Name of the filled form of a section."""
    return f"{section}, filled"


def bare_name(section: str) -> str:
    """Name of the section that a filled one was made of."""
    return section.removesuffix(", filled")


def filled_machine(machine: Machine, job: FillJob, *, bond: str = "bonded") -> Machine:
    """The machine with its member filled between two heights.

    Parameters
    ----------
    machine : Machine
    job : FillJob
    bond : {"bonded", "sliding"}

    Returns
    -------
    Machine
        The member cut into spans; its filled spans have sections of their own.

    Raises
    ------
    MixError
        If member or cells are not there, or the fill is not within the member.
    """
    member = _member(machine, job)
    sections = dict(machine.sections)
    spans: list[Span] = []
    start = 0.0
    for span in member.spans:
        for low, high, inside in _pieces(start, start + span.length, job.low, job.high):
            name = span_name(span.section) if inside else span.section
            spans.append(Span(section=name, length=high - low))
            if inside and name not in sections:
                sections[name] = _filled_outline(sections[span.section], job, bond)
        start += span.length
    changed = dataclasses.replace(member, spans=tuple(spans))
    members = tuple(changed if m.name == member.name else m for m in machine.members)
    return dataclasses.replace(machine, sections=tuple(sections.items()), members=members)


def _member(machine: Machine, job: FillJob) -> Member:
    found = next((m for m in machine.members if m.name == job.member), None)
    if found is None:
        raise MixError(
            f'there is no member "{job.member}" to fill',
            hint="members: " + ", ".join(m.name for m in machine.members),
        )
    length = sum(span.length for span in found.spans)
    if not -1e-9 <= job.low < job.high <= length * (1.0 + 1e-9):
        raise MixError(
            f'the fill from {job.low * 1e3:g} to {job.high * 1e3:g} mm is not within "{job.member}", '
            f"which is {length * 1e3:g} mm long"
        )
    return found


def _pieces(a: float, b: float, low: float, high: float) -> list[tuple[float, float, bool]]:
    """A stretch cut where the fill begins and ends, each piece with whether it is filled."""
    cuts = [a, *(c for c in (low, high) if a + 1e-9 < c < b - 1e-9), b]
    return [(p, q, low - 1e-9 <= p and q <= high + 1e-9) for p, q in itertools.pairwise(cuts)]


def _filled_outline(section: Outline | SectionStiffness, job: FillJob, bond: str) -> Outline:
    if not isinstance(section, Outline):
        raise MixError(
            f'section "{section.name}" is given by its stiffness: there is no cell to fill',
            hint="give its outline",
        )
    known = [cell.name for cell in section.cells]
    for name in job.cells:
        if name not in known:
            raise MixError(
                f'section "{section.name}" has no cell "{name}"',
                hint="cells: " + (", ".join(known) or "none"),
            )
    fills = {
        name: Fill(
            material=job.material,
            bond="sliding" if bond == "sliding" else "bonded",
            bores=tuple(ring for cell, ring in job.bores if cell == name),
            inserts=tuple(insert for cell, insert in job.inserts if cell == name),
        )
        for name in job.cells
    }
    return dataclasses.replace(filled(section, fills), name=span_name(section.name))
