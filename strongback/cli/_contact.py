"""``strongback deflect``: joints that open or have play, beside the linear answer."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from strongback.cli._machine import Assembled
    from strongback.machine.contact import ContactResult
    from strongback.machine.values import Pull
    from strongback.project import Project

__all__ = ["contact_dict", "contact_results", "contact_text"]


def contact_results(read: Project, ready: Assembled, pulls: Sequence[Pull]) -> list[ContactResult]:
    """What every pull does when the stated joints open or have play; empty where none is stated.

    Parameters
    ----------
    read : Project
    ready : Assembled
    pulls : sequence of Pull

    Returns
    -------
    list of ContactResult
    """
    from strongback.machine.contact import OneSided, Play, solve_contact
    from strongback.machine.parameters import Parameter

    laws = {
        Parameter(kind=law.kind, part=law.part, mechanism=law.component): Play(gap=law.size)
        if law.law == "play"
        else OneSided(preload=law.size, sign=law.sign)
        for law in read.laws
    }
    return [solve_contact(ready.loop, pull, laws) for pull in pulls] if laws else []


def contact_text(pulls: Sequence[Pull], results: Sequence[ContactResult], width: int) -> str:
    """Motion of the tool and state of each such component, pull by pull."""
    from strongback.views.tables import Column, signed, table

    columns = [
        Column("pull"),
        *(Column(axis, "µm", "right") for axis in "XYZ"),
        Column("joints that do not just hold"),
    ]
    rows = []
    for pull, result in zip(pulls, results, strict=True):
        states = [f"{p}: {state}" for p, state in result.states if state != "holds"]
        moved = [signed(float(v) * 1e6) for v in result.tool_displacement]
        rows.append([pull.name, *moved, "; ".join(states) or "all hold"])
    doubts = [f"{p.name}: {r.doubt}" for p, r in zip(pulls, results, strict=True) if r.doubt]
    return "\n".join([table(columns, rows, width=width), *doubts])


def contact_dict(pulls: Sequence[Pull], results: Sequence[ContactResult]) -> list[dict[str, Any]]:
    """Plain data, SI units in the keys."""
    from strongback.views.deflection_text import gauges_dict

    return [
        {
            "pull": pull.name,
            "displacement_m": result.tool_displacement.tolist(),
            "rotation_rad": result.tool_rotation.tolist(),
            "gauges": gauges_dict(result.gauges),
            "rounding_error": result.error,
            "warning": result.doubt,
            "states": [
                {"part": p.part, "component": p.mechanism, "state": state} for p, state in result.states
            ],
        }
        for pull, result in zip(pulls, results, strict=True)
    ]
