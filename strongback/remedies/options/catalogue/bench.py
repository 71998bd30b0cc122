"""A stiffer bench or a welded stand under the same feet."""

from __future__ import annotations

from strongback.machine.values import COMPONENTS, Machine
from strongback.remedies.options.catalogue.roles import multiplied, roles_of
from strongback.remedies.options.values import Option

__all__ = ["bench"]


def bench(machine: Machine, factor: float = 1.5) -> Option | None:
    """A stiffer bench or a welded stand under the same feet.

    Parameters
    ----------
    machine : Machine
    factor : float
        On the stiffness. A guess: measure the bench.

    Returns
    -------
    Option or None
        None where the machine has nothing of the kind.
    """
    roles = roles_of(machine)
    if not roles.feet:
        return None
    holders = roles.feet
    change = multiplied(holders, COMPONENTS, factor)
    if not change.factors:
        return None
    return Option(
        name="stiff bench",
        make=lambda _: change,
        changes=f"feet x {factor:g}",
        cost=150.0,
        hours=8.0,
        hazard="lifting: the weight of the machine",
    )
