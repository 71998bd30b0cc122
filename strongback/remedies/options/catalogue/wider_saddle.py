"""A wider saddle or carriage: blocks further apart."""

from __future__ import annotations

from strongback.machine.values import Machine
from strongback.remedies.options.catalogue.roles import TURNS, multiplied, roles_of
from strongback.remedies.options.values import Option

__all__ = ["wider_saddle"]


def wider_saddle(machine: Machine, factor: float = 1.7) -> Option | None:
    """A wider saddle or carriage: blocks further apart.

    Parameters
    ----------
    machine : Machine
    factor : float
        On the stiffness. The square of a spacing 1.3 times as wide.

    Returns
    -------
    Option or None
        None where the machine has nothing of the kind.
    """
    roles = roles_of(machine)
    if not roles.ways:
        return None
    holders = roles.ways
    change = multiplied(holders, TURNS, factor)
    if not change.factors:
        return None
    return Option(
        name="wider saddle",
        make=lambda _: change,
        changes=f"rotations of the ways x {factor:g}",
        cost=110.0,
        hours=8.0,
        mass=1.5,
        reversible=False,
        blocks=("some of the travel",),
    )
