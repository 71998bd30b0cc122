"""Steel plates on both sides of the column, screwed and glued."""

from __future__ import annotations

from strongback.change.values import Change
from strongback.errors import MachineError
from strongback.machine.values import Machine
from strongback.materials import material
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.catalogue.sections import on_face, outline_of, resectioned
from strongback.remedies.options.values import Option
from strongback.section.values import Outline

__all__ = ["side_plates"]


def side_plates(machine: Machine, thickness: float = 0.006) -> Option | None:
    """Steel plates on both sides of the column, screwed and glued.

    Their seam of glue and screws is 2e11 N/m³ of contact: a glue line of 1 GPa over 5 mm, a low guess.

    Parameters
    ----------
    machine : Machine
    thickness : float
        Of each [m].

    Returns
    -------
    Option or None
        None where the column has no such faces, or its walls give: bodies know no seams.
    """
    roles = roles_of(machine)
    if roles.main is None or roles.outline is None or roles.body:
        return None
    column = roles.main.name

    def plated(outline: Outline) -> Outline:
        for side in ("-x", "+x"):
            outline = on_face(outline, side, thickness, material("steel"), f"side plate {side}", 2e11, 0.5)
        return outline

    def make(there: Machine) -> Change:
        return resectioned(there, column, plated(outline_of(there, column)), "side plate")

    try:
        plated(roles.outline)
    except MachineError:
        return None
    return Option(
        name="side plates",
        make=make,
        changes="section of the column",
        cost=50.0,
        hours=6.0,
        reversible=False,
        blocks=("the rails' clearance at the sides",),
        hazard="sharp edges, drilling",
    )
