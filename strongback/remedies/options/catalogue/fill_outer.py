"""Epoxy mineral fill, bonded, in the four outer cells of a profile of many."""

from __future__ import annotations

from strongback.change.values import Change
from strongback.machine.values import Machine
from strongback.materials import material
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.catalogue.sections import (
    fills,
    outer_cells,
    outline_of,
    resectioned,
    with_cells,
)
from strongback.remedies.options.values import Option
from strongback.section.values import Fill

__all__ = ["fill_outer"]


def fill_outer(machine: Machine) -> Option | None:
    """Epoxy mineral fill, bonded, in the four outer cells of a profile of many.

    The corner cells carry nearly all that a full fill gains in bending.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    Option or None
        None where the column has no hollow.
    """
    roles = roles_of(machine)
    if (
        roles.main is None
        or roles.outline is None
        or not any(c.fill is None for c in with_cells(roles.outline).cells)
    ):
        return None
    column = roles.main.name
    outer = outer_cells(roles.outline)
    if not outer:
        return None

    def make(there: Machine) -> Change:
        poured = Fill(material=material("epoxy mineral"))
        return resectioned(there, column, fills(outline_of(there, column), poured, outer), "outer fill")

    return Option(
        name="fill of outer cells",
        make=make,
        changes="section of the column",
        cost=60.0,
        hours=8.0,
        reversible=False,
        excludes=("epoxy mineral fill", "cement grout", "fill with bars", "fill below the head"),
        blocks=("the hollow of the column", "machining the column again"),
        hazard="respirable quartz and epoxy: wet methods, mask, gloves, air; the safety data sheets come first",
    )
