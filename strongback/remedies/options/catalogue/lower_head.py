"""The head lower on the column."""

from __future__ import annotations

from strongback.change.values import Change
from strongback.machine.values import Machine
from strongback.remedies.options.catalogue.roles import UPRIGHT, roles_of
from strongback.remedies.options.values import Option

__all__ = ["lower_head"]


def lower_head(machine: Machine, share: float = 0.5) -> Option | None:
    """The head moved down along its travel, the work packed up to meet it.

    Everything moves, so it is solved by itself and beside all sets of the other options.

    Parameters
    ----------
    machine : Machine
    share : float
        Of the travel that is left downwards [-].

    Returns
    -------
    Option or None
        None where no upright travel leads down.
    """
    column = roles_of(machine).column
    for travel in machine.travels:
        up = travel.direction[2]
        down = (travel.low if up > 0.0 else travel.high) * share
        if abs(up) > UPRIGHT and down * up < 0.0 and (column is None or column.name not in travel.parts):
            return _moved(travel.name, down)
    return None


def _moved(name: str, by: float) -> Option:
    return Option(
        name="lower head",
        make=lambda _: Change(travels=((name, by),)),
        changes=f"{name} moved by {by * 1e3:.0f} mm",
        cost=0.0,
        hours=1.0,
        blocks=("tall work",),
    )
