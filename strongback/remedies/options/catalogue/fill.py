"""Epoxy mineral fill, bonded, in every hollow of the column."""

from __future__ import annotations

from strongback.change.values import Change
from strongback.machine.values import Machine
from strongback.materials import material
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.catalogue.sections import fills, outline_of, resectioned, with_cells
from strongback.remedies.options.values import Option
from strongback.section.values import Fill

__all__ = ["fill"]


def fill(machine: Machine) -> Option | None:
    """Epoxy mineral fill, bonded, in every hollow of the column.

    As meant: fully bonded and as stiff as the table of materials says; `strongback mix` weighs what may come out otherwise.

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

    def make(there: Machine) -> Change:
        poured = Fill(material=material("epoxy mineral"), bond="bonded")
        return resectioned(there, column, fills(outline_of(there, column), poured), "fill")

    return Option(
        name="epoxy mineral fill",
        make=make,
        changes="section of the column",
        cost=90.0,
        hours=10.0,
        reversible=False,
        excludes=("cement grout", "fill with bars", "fill below the head", "fill of outer cells"),
        blocks=("the hollow of the column", "machining the column again"),
        hazard="respirable quartz and epoxy: wet methods, mask, gloves, air; the safety data sheets come first",
    )
