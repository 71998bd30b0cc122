"""Take rubber feet away and bolt the machine down at the same points."""

from __future__ import annotations

from strongback.machine.values import COMPONENTS, Machine
from strongback.remedies.options.catalogue.roles import multiplied, roles_of
from strongback.remedies.options.values import Option

__all__ = ["feet"]


def feet(machine: Machine, factor: float = 3.0) -> Option | None:
    """Take rubber feet away and bolt the machine down at the same points.

    Parameters
    ----------
    machine : Machine
    factor : float
        On the stiffness. Rubber gives far more: 3 is low for it, high for feet that are bolted already.

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
        name="bolted feet",
        make=lambda _: change,
        changes=f"feet x {factor:g}",
        cost=20.0,
        hours=3.0,
        hazard="lifting: the weight of the machine, fingers",
    )
