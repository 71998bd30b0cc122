"""Forces of the ground on a machine and in its members, as tables and plain data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from strongback.machine.cases import CaseResult
from strongback.machine.room import Operator
from strongback.machine.section_forces import FORCES, MemberForces
from strongback.views.motion_table import motion_heads, six_shown
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import signed

__all__ = ["case_table", "cases_dict", "forces_dict", "largest_forces", "member_table", "reactions_table"]

COUPLES = ("about X", "about Y", "about Z")
KEYS = ("Vx_N", "Vy_N", "N_N", "Mx_N_m", "My_N_m", "T_N_m", "B_N_m2")


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
    return Table(columns=columns, rows=tuple(rows), title="tool against work")


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
    return Table(columns=columns, rows=tuple(rows), title="forces of the ground")


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
    return Table(columns=columns, rows=tuple(rows), title="largest forces in members")


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


def forces_dict(results: Sequence[CaseResult]) -> dict[str, Any]:
    """Reactions and forces in members as plain data: a list each, every entry with the name of what acts."""
    members: dict[str, list[dict[str, Any]]] = {}
    for result in results:
        for own in result.members:
            along = [
                {"s_m": float(s), **{key: float(v) for key, v in zip(KEYS, row, strict=True)}}
                for s, row in zip(own.s, own.forces, strict=True)
            ]
            members.setdefault(own.member, []).append({"under": result.name, "along": along})
    return {
        "reactions": [
            {
                "under": result.name,
                "name": name,
                "force_N": [float(v) for v in wrench[:3]],
                "couple_N_m": [float(v) for v in wrench[3:]],
            }
            for result in results
            for name, wrench in result.reactions
        ],
        "members": [{"name": name, "forces": forces} for name, forces in members.items()],
    }


def cases_dict(results: Sequence[CaseResult]) -> dict[str, Any]:
    """Everything of some cases as plain data, SI units in the keys."""
    found = [
        {
            "name": one.name,
            "tool": {
                "displacement_m": one.tool_displacement.tolist(),
                "rotation_rad": one.tool_rotation.tolist(),
            },
            "gauges": [{"name": name, "reading_m": value} for name, value in one.gauges],
            "motions": [
                {
                    "part": part.part,
                    "at_m": part.points.tolist(),
                    "displacement_m": part.displacement.tolist(),
                    "rotation_rad": part.rotation.tolist(),
                }
                for part in one.parts
            ],
        }
        for one in results
    ]
    return {"cases": found, **forces_dict(results)}
