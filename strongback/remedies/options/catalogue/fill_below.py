"""Epoxy mineral fill, bonded, from the foot of the column to the middle of the head's joint."""

from __future__ import annotations

import dataclasses

import numpy as np

from strongback.change.values import Change
from strongback.machine.frames import member_axes
from strongback.machine.values import Machine, Span
from strongback.materials import material
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.catalogue.sections import fills, outline_of, with_cells
from strongback.remedies.options.values import Option
from strongback.section.values import Fill

__all__ = ["fill_below_head"]


def fill_below_head(machine: Machine) -> Option | None:
    """Epoxy mineral fill, bonded, from the foot of the column to the middle of the head's joint.

    The upper end of the column carries little force and stays empty and light.

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
    length = sum(span.length for span in roles.main.spans)
    axis = member_axes(roles.main)[2]
    heights = [float(axis @ np.subtract(j.at, roles.main.start)) for j in machine.joints if column in j.parts]
    height = max((h for h in heights if h < 0.95 * length), default=0.0)
    if height < 0.2 * length:
        return None

    def make(there: Machine) -> Change:
        outline = fills(outline_of(there, column), Fill(material=material("epoxy mineral")))
        own = next(m for m in there.members if m.name == column)
        name = f"{own.spans[0].section} + fill below"
        spans = (
            Span(section=name, length=height),
            Span(section=own.spans[0].section, length=length - height),
        )
        return Change(
            new_sections=((name, dataclasses.replace(outline, name=name)),), spans=((column, spans),)
        )

    return Option(
        name="fill below the head",
        make=make,
        changes="section of the column",
        cost=60.0,
        hours=9.0,
        reversible=False,
        excludes=("epoxy mineral fill", "cement grout", "fill with bars", "fill of outer cells"),
        blocks=("the hollow of the column", "machining the column again"),
        hazard="respirable quartz and epoxy: wet methods, mask, gloves, air; the safety data sheets come first",
    )
