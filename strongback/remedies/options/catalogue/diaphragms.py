"""A plate inside a column, behind its pad."""

from __future__ import annotations

import dataclasses

import numpy as np

from strongback.change.values import Change
from strongback.machine.frames import member_axes, member_length
from strongback.machine.plates import Diaphragm
from strongback.machine.values import Machine
from strongback.materials import material
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.catalogue.sections import with_cells
from strongback.remedies.options.values import Option

__all__ = ["diaphragm"]


def diaphragm(machine: Machine, thickness: float = 0.004) -> Option | None:
    """A steel plate inside the column at the upper edge of its uppermost pad.

    Parameters
    ----------
    machine : Machine
    thickness : float
        [m]

    Returns
    -------
    Option or None
        None where the column is no body, nothing bears on its wall, or it has no empty hollow to close.
    """
    roles = roles_of(machine)
    column = roles.main
    pads = [p for p in machine.pads if column is not None and p.part == column.name]
    if column is None or not roles.body or not pads or column.diaphragms:
        return None
    if roles.outline is None or all(cell.fill is not None for cell in with_cells(roles.outline).cells):
        return None
    axis = member_axes(column)[2]
    edge = max(float(axis @ np.subtract(p.at, column.start)) + 0.5 * p.size[1] for p in pads)
    at = min(edge, member_length(column) - 2.0 * thickness)
    name = column.name
    plate = Diaphragm(at=at, thickness=thickness, material=material("steel"))

    def make(there: Machine) -> Change:
        own = next(m for m in there.members if m.name == name)
        return Change(members=(dataclasses.replace(own, diaphragms=(*own.diaphragms, plate)),))

    return Option(
        name="diaphragm",
        make=make,
        changes=f"{thickness * 1e3:g} mm of steel inside the column at {at * 1e3:.0f} mm",
        cost=20.0,
        hours=4.0,
        reversible=False,
        blocks=("the hollow of the column",),
        hazard="welding inside a tube: fumes",
    )
