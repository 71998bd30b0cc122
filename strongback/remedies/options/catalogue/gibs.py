"""Fit the gibs anew and use the locks while cutting."""

from __future__ import annotations

from strongback.machine.values import COMPONENTS, Machine
from strongback.remedies.options.catalogue.roles import multiplied, roles_of
from strongback.remedies.options.values import Option

__all__ = ["gibs"]


def gibs(machine: Machine, factor: float = 1.4) -> Option | None:
    """Fit the gibs anew and use the locks while cutting.

    Parameters
    ----------
    machine : Machine
    factor : float
        On the stiffness. A guess (common practice, no source); play goes, too.

    Returns
    -------
    Option or None
        None where the machine has nothing of the kind.
    """
    roles = roles_of(machine)
    if not roles.ways:
        return None
    holders = roles.ways
    change = multiplied(holders, COMPONENTS, factor)
    if not change.factors:
        return None
    return Option(
        name="gibs and locks",
        make=lambda _: change,
        changes=f"ways x {factor:g}",
        cost=10.0,
        hours=2.0,
        blocks=("feeding along a locked way",),
    )
