"""Forces of the ground on a machine and in its members, in words and tables."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strongback.machine.cases import CaseResult
from strongback.machine.loaded import Loaded
from strongback.machine.room import Operator
from strongback.machine.section_forces import FORCES, MemberForces
from strongback.views.motion_table import motion_heads, six_shown
from strongback.views.sheet import Block, Heading, Sheet, Words
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import signed

__all__ = ["case_table", "largest_forces", "member_table", "reactions_table", "sheet"]

COUPLES = ("about X", "about Y", "about Z")


def sheet(found: Loaded) -> Sheet:
    """Motion of the tool, forces of the ground, the largest forces in members.

    Parameters
    ----------
    found : Loaded
    """
    blocks: list[Block] = [
        Heading(f"{found.machine.name}: tool against work"),
        case_table(found.cases, found.machine.operator),
        "",
        Heading("Forces of the ground on the machine"),
        reactions_table(found.cases),
        "",
        Heading("Largest forces in the members"),
        largest_forces(found.cases),
        "",
        "Bending is about the centroid, torque about the shear centre, in the axes of the",
        "section. Linear: joints hold both ways. The tool counts as true before all this.",
    ]
    if found.weightless:
        listed = ", ".join(found.weightless)
        blocks.append(Words(f"The weight of caps, feet and diaphragms is left out: {listed}."))
    return Sheet(tuple(blocks))


def case_table(results: Sequence[CaseResult], operator: Operator | None = None) -> Table:
    """Motion of the tool against the work, a row for every case.

    Parameters
    ----------
    results : sequence of CaseResult
    operator : {"-y", "+y", "-x", "+x"}, optional
        Where the operator stands, for the words of the heads.
    """
    columns = (Head("under"), *motion_heads(operator))
    rows: list[tuple[Cell, ...]] = [
        (one.name, *six_shown(one.tool_displacement, one.tool_rotation)) for one in results
    ]
    return Table(columns=columns, rows=tuple(rows))


def reactions_table(results: Sequence[CaseResult]) -> Table:
    """Force and couple of the ground at every support, under every case.

    Parameters
    ----------
    results : sequence of CaseResult
    """
    columns = (
        Head("under"),
        Head("support"),
        *(Head(axis, "N", signed) for axis in "XYZ"),
        *(Head(name, "N m", signed) for name in COUPLES),
    )
    rows: list[tuple[Cell, ...]] = [
        (result.name, name, *map(float, wrench)) for result in results for name, wrench in result.reactions
    ]
    return Table(columns=columns, rows=tuple(rows))


def largest_forces(results: Sequence[CaseResult]) -> Table:
    """The largest forces in the sections of every member, and where.

    Parameters
    ----------
    results : sequence of CaseResult
    """
    columns = (
        Head("under"),
        Head("member"),
        *(Head(name, unit, lambda v: signed(v, 1)) for name, unit in FORCES),
    )
    rows: list[tuple[Cell, ...]] = [
        (result.name, own.member, *map(float, _largest(own))) for result in results for own in result.members
    ]
    return Table(columns=columns, rows=tuple(rows))


def _largest(own: MemberForces) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Each force where it is largest, with its sign."""
    return np.asarray(own.forces[np.argmax(np.abs(own.forces), axis=0), np.arange(len(FORCES))])


def member_table(own: MemberForces) -> Table:
    """Forces along a member, both sides of every station.

    Parameters
    ----------
    own : MemberForces
    """
    columns = (
        Head("from the start", "mm", lambda v: f"{v:.1f}"),
        *(Head(name, unit, lambda v: signed(v, 2)) for name, unit in FORCES),
    )
    rows: list[tuple[Cell, ...]] = [
        (float(1e3 * s), *map(float, row)) for s, row in zip(own.s, own.forces, strict=True)
    ]
    return Table(columns=columns, rows=tuple(rows), title=own.member)
