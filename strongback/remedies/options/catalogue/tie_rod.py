"""A tie rod through the column, preloaded: its linear part."""

from __future__ import annotations

import math

from strongback.change.values import Change
from strongback.machine.frames import member_axes, member_length
from strongback.machine.values import RIGID, Block, Joint, Machine
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.values import Option

__all__ = ["tie_rod"]


def tie_rod(machine: Machine, diameter: float = 0.016) -> Option | None:
    """A steel rod from what the column stands on to a plate on its top, preloaded.

    Only its stiffness along the column is counted, EA/L. Its preload keeps the base joint closed under both signs, which
    matters where that joint would open; what a compressed column loses is left out (P L²/(pi² EI) of its bending: below 1 %
    for 20 kN on columns that this package is about).

    Parameters
    ----------
    machine : Machine
    diameter : float
        Of its core [m].

    Returns
    -------
    Option or None
        None where no joint holds a column, or its end is that of a body: open, with nothing to hold on to.
    """
    roles = roles_of(machine)
    if roles.column is None or roles.base is None or not roles.top:
        return None
    column, base = roles.column, roles.base
    other = next(p for p in base.parts if p != column.name)
    length = member_length(column)
    k = 210e9 * math.pi / 4.0 * diameter**2 / length
    axes = member_axes(column)
    turned = tuple(tuple(float(v) for v in row) for row in (axes[2], axes[0], axes[1]))

    def make(_: Machine) -> Change:
        block = Block(name="tie rod", at=column.start)
        held = Joint(
            name="foot of the rod", parts=(other, block.name), at=column.start, stiffness=(RIGID,) * 6
        )
        rod = Joint(
            name="rod",
            parts=(block.name, column.name),
            at=column.end,
            axes=turned,  # type: ignore[arg-type]
            stiffness=(k, 0.0, 0.0, 0.0, 0.0, 0.0),
            source="EA/L of the rod",
        )
        return Change(blocks=(block,), joints=(held, rod))

    return Option(
        name="tie rod",
        make=make,
        changes=f"{k / 1e6:.3g} N/um along the column",
        cost=30.0,
        hours=4.0,
        mass=math.pi / 4.0 * diameter**2 * length * 7850.0 + 1.5,
        blocks=("the hollow of the column",),
        hazard="stored energy: tighten by a torque table, stand clear of its ends",
    )
