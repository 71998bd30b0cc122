"""A stay from the top of the column to the rear of its base."""

from __future__ import annotations

import math

import numpy as np

from strongback.change.values import Change
from strongback.machine.frames import member_length
from strongback.machine.values import RIGID, Block, Joint, Machine
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.values import Option

__all__ = ["back_stay"]


def back_stay(machine: Machine, *, joint: float = 5e7, share: float = 0.6) -> Option | None:
    """Two stays of steel tube 30 x 2 mm from the top of the column to the rear of what it stands on.

    Each gives as a bar, L/EA, and at the joints of its ends; together they are one spring along their direction.

    Parameters
    ----------
    machine : Machine
    joint : float
        Stiffness of the joint at each end of a stay [N/m]: a guess.
    share : float
        How far behind the column its foot stands, over the height of the column [-].

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
    back = np.array([0.0, -math.copysign(1.0, machine.tool.at[1] - column.start[1]), 0.0])
    top = np.asarray(column.end)
    foot = np.asarray(column.start) + share * member_length(column) * back
    along = (top - foot) / np.linalg.norm(top - foot)
    area = math.pi / 4.0 * (0.030**2 - 0.026**2)
    length = float(np.linalg.norm(top - foot))
    k = 2.0 / (length / (210e9 * area) + 2.0 / joint)
    aside = np.array([1.0, 0.0, 0.0])
    axes = tuple(tuple(float(v) for v in row) for row in (along, aside, np.cross(along, aside)))

    def make(_: Machine) -> Change:
        block = Block(name="back stay", at=tuple(float(v) for v in foot))  # type: ignore[arg-type]
        held = Joint(name="foot of the stay", parts=(other, block.name), at=block.at, stiffness=(RIGID,) * 6)
        spring = Joint(
            name="stay",
            parts=(block.name, column.name),
            at=tuple(float(v) for v in top),  # type: ignore[arg-type]
            axes=axes,  # type: ignore[arg-type]
            stiffness=(k, 0.0, 0.0, 0.0, 0.0, 0.0),
            source="guess: its end joints",
        )
        return Change(blocks=(block,), joints=(held, spring))

    return Option(
        name="back stay",
        make=make,
        changes=f"{k / 1e6:.3g} N/um along a stay of {length * 1e3:.0f} mm behind the column",
        cost=50.0,
        hours=6.0,
        mass=2.0 * area * length * 7850.0 + 1.0,
        blocks=("the room behind the machine",),
    )
