"""Clean, de-burr and scrape or shim the base joint, and torque it again."""

from __future__ import annotations

from strongback.machine.values import COMPONENTS, Machine
from strongback.remedies.options.catalogue.roles import multiplied, roles_of
from strongback.remedies.options.values import Option

__all__ = ["remade_base"]


def remade_base(machine: Machine, factor: float = 1.5) -> Option | None:
    """Clean, de-burr and scrape or shim the base joint, and torque it again.

    Parameters
    ----------
    machine : Machine
    factor : float
        On the stiffness. Range 1.3 to 3 (common practice, no source).

    Returns
    -------
    Option or None
        None where the machine has nothing of the kind.
    """
    roles = roles_of(machine)
    if roles.base is None:
        return None
    holders = (roles.base,)
    change = multiplied(holders, COMPONENTS, factor)
    if not change.factors:
        return None
    return Option(
        name="remade base joint",
        make=lambda _: change,
        changes=f"base joint x {factor:g}",
        cost=5.0,
        hours=4.0,
        blocks=("tram: set it again",),
    )
