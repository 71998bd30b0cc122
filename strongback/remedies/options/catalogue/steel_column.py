"""The same column of steel, or of a stiffer wall."""

from __future__ import annotations

import dataclasses

from strongback.change.values import Change
from strongback.machine.values import Machine
from strongback.materials import material
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.catalogue.sections import outline_of, resectioned
from strongback.remedies.options.values import Option

__all__ = ["steel_column"]

SOFTER = 150e9  # walls below are worth the change [Pa]


def steel_column(machine: Machine) -> Option | None:
    """A steel column of the same drawing in the place of one of aluminium or iron.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    Option or None
        None where its walls are stiff already.
    """
    roles = roles_of(machine)
    if roles.main is None or roles.outline is None or all(w.material.E > SOFTER for w in roles.outline.walls):
        return None
    column = roles.main.name

    def make(there: Machine) -> Change:
        outline = outline_of(there, column)
        walls = tuple(
            dataclasses.replace(w, material=material("steel")) if w.material.E < SOFTER else w
            for w in outline.walls
        )
        return resectioned(there, column, dataclasses.replace(outline, walls=walls), "steel")

    return Option(
        name="steel column",
        make=make,
        changes="material of the column",
        cost=200.0,
        hours=20.0,
        blocks=("nothing else for a while: everything is fitted anew",),
        hazard="lifting",
    )
