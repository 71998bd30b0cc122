"""A thick steel sole under the foot of the column, let in so that the height stays."""

from __future__ import annotations

from strongback.machine.values import Machine
from strongback.remedies.options.catalogue.roles import TURNS, multiplied, roles_of
from strongback.remedies.options.values import Option

__all__ = ["sole_plate"]


def sole_plate(machine: Machine, factor: float = 2.5) -> Option | None:
    """A thick steel sole under the foot of the column, let in so that the height stays.

    Parameters
    ----------
    machine : Machine
    factor : float
        On the stiffness. Range 2 to 5 with local bending of the base (common practice, no source).

    Returns
    -------
    Option or None
        None where the machine has nothing of the kind.
    """
    roles = roles_of(machine)
    if roles.base is None:
        return None
    holders = (roles.base,)
    change = multiplied(holders, TURNS, factor)
    if not change.factors:
        return None
    return Option(
        name="sole plate",
        make=lambda _: change,
        changes=f"rotations of the base joint x {factor:g}",
        cost=70.0,
        hours=6.0,
        mass=6.0,
        hazard="a column is top-heavy: a second person, and unplug it",
    )
