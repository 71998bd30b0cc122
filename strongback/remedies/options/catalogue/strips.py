"""Carbon-fibre strips of 1.2 mm glued on front and rear of the column."""

from __future__ import annotations

from strongback.change.values import Change
from strongback.errors import MachineError
from strongback.machine.values import Machine
from strongback.materials import Material
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.catalogue.sections import on_face, outline_of, resectioned
from strongback.remedies.options.values import Option
from strongback.section.values import Outline

__all__ = ["carbon_strips"]

STRIP = Material(
    name="carbon strip", E=150e9, nu=0.3, density=1600.0, source="data sheets of pultruded strips; memory"
)


def carbon_strips(machine: Machine, thickness: float = 0.0012) -> Option | None:
    """Carbon-fibre strips of 1.2 mm glued on front and rear of the column.

    E 150 GPa along the fibres (data sheets of pultruded strips; memory); glue of 0.5 mm and 1 GPa.

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
        for side in ("-y", "+y"):
            outline = on_face(outline, side, thickness, STRIP, f"strip {side}", 2e12, 0.5)
        return outline

    def make(there: Machine) -> Change:
        return resectioned(there, column, plated(outline_of(there, column)), "strip")

    try:
        plated(roles.outline)
    except MachineError:
        return None
    return Option(
        name="carbon strips",
        make=make,
        changes="section of the column",
        cost=80.0,
        hours=5.0,
        reversible=False,
        blocks=("the faces of the rails",),
        hazard="carbon dust: mask and gloves; on aluminium a glass layer against corrosion",
    )
