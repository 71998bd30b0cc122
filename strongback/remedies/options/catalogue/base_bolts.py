"""More or larger base bolts, thread inserts, thick washers."""

from __future__ import annotations

from strongback.machine.values import Machine
from strongback.remedies.options.catalogue.roles import TURNS, multiplied, roles_of
from strongback.remedies.options.values import Option

__all__ = ["base_bolts"]


def base_bolts(machine: Machine, factor: float = 1.6) -> Option | None:
    """More or larger base bolts, thread inserts, thick washers.

    Parameters
    ----------
    machine : Machine
    factor : float
        On the stiffness. Range 1.5 to 2 (common practice, no source).

    Returns
    -------
    Option or None
        None where the machine has nothing of the kind.
    """
    roles = roles_of(machine)
    if roles.base is None:
        return None
    holders = (roles.base,)
    change = multiplied(holders, TURNS[:2], factor)
    if not change.factors:
        return None
    return Option(
        name="more base bolts",
        make=lambda _: change,
        changes=f"nod and side tilt of the base joint x {factor:g}",
        cost=20.0,
        hours=3.0,
        mass=0.5,
        reversible=False,
        hazard="drilling a casting: clamp it, wear eye protection",
    )
