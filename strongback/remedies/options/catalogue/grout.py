"""Expanding cement grout in every hollow of the column."""

from __future__ import annotations

from strongback.change.values import Change
from strongback.machine.values import Machine
from strongback.materials import material
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.catalogue.sections import fills, outline_of, resectioned, with_cells
from strongback.remedies.options.values import Option
from strongback.section.values import Fill

__all__ = ["grout"]

SEAMED = (
    "closing plate",
    "side plates",
    "carbon strips",
)  # a fill and a plate that both slip are not solved together


def grout(machine: Machine) -> Option | None:
    """Expanding cement grout in every hollow of the column.

    Counted as sliding: grout shrinks from a smooth wall. On aluminium fresh cement corrodes the wall: leave it.

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
        poured = Fill(material=material("cement grout"), bond="sliding")
        return resectioned(there, column, fills(outline_of(there, column), poured), "grout")

    return Option(
        name="cement grout",
        make=make,
        changes="section of the column",
        cost=15.0,
        hours=6.0,
        reversible=False,
        excludes=(
            "epoxy mineral fill",
            "fill with bars",
            "fill below the head",
            "fill of outer cells",
            *SEAMED,
        ),
        blocks=("the hollow of the column", "machining the column again"),
        hazard="fresh cement burns skin and eyes, and gives off hydrogen on aluminium",
    )
