"""A tie from the top of the column to a wall or a heavy frame."""

from __future__ import annotations

from strongback.change.values import Change
from strongback.machine.values import Machine, Support
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.values import Option

__all__ = ["wall_tie"]


def wall_tie(machine: Machine, stiffness: float = 1e7) -> Option | None:
    """A tie from the top of the column to a wall.

    Parameters
    ----------
    machine : Machine
    stiffness : float
        Sideways and fore-aft, wall and bracket together [N/m]: a guess, a plastered wall gives more.

    Returns
    -------
    Option or None
        None without a column, or where its end is that of a body: open, with nothing to hold on to.
    """
    roles = roles_of(machine)
    column = roles.column
    if column is None or not roles.top:
        return None
    at = column.end

    def make(_: Machine) -> Change:
        springs = (stiffness, stiffness, 0.0, 0.0, 0.0, 0.0)
        tie = Support(name="wall tie", part=column.name, at=at, stiffness=springs, source="guess")
        return Change(supports=(tie,))

    return Option(
        name="tie to a wall",
        make=make,
        changes=f"{stiffness / 1e6:.3g} N/um to the wall at the top of the column",
        cost=20.0,
        hours=3.0,
        mass=1.0,
        blocks=("moving the machine",),
        hazard="the wall shakes with the machine, and the machine with the wall",
    )
