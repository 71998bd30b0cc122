"""A plate on the open end of a column whose walls give."""

from __future__ import annotations

import dataclasses

from strongback.change.values import Change
from strongback.machine.plates import EndPlate, PlateJoint
from strongback.machine.values import Machine
from strongback.materials import material
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.values import Option

__all__ = ["cap_plate"]


def cap_plate(machine: Machine, thickness: float = 0.004, joint: PlateJoint = "welded") -> Option | None:
    """A steel plate on the open end of the column.

    Sideways it gains 0.3 to 0.75 of what a fill gains, the more the wider the pad and the nearer the end; fore-aft and
    vertically next to nothing. A line of sections knows no wall that gives, and so no cap.

    Parameters
    ----------
    machine : Machine
    thickness : float
        [m]; 2 mm do as much as 5.
    joint : {"welded", "glued", "screwed"}

    Returns
    -------
    Option or None
        None where the column is no body, or has a cap or a held end already.
    """
    roles = roles_of(machine)
    column = roles.main
    if column is None or not roles.body or column.cap is not None or column.ends[1] != "free":
        return None
    name = column.name
    plate = EndPlate(
        thickness=thickness,
        material=material("steel"),
        joint=joint,
        glue=material("epoxy") if joint == "glued" else None,
    )

    def make(there: Machine) -> Change:
        own = next(m for m in there.members if m.name == name)
        return Change(members=(dataclasses.replace(own, cap=plate),))

    return Option(
        name="cap plate",
        make=make,
        changes=f"{thickness * 1e3:g} mm of steel on the open end of the column, {joint}",
        cost=25.0,
        hours=3.0,
        blocks=("the open end of the column",),
        hazard="welding warps a machined column: stitch it, or glue the plate",
    )
