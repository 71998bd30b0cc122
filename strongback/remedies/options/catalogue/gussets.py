"""Gussets between column and base: springs in parallel with the base joint."""

from __future__ import annotations

import dataclasses

from strongback.change.values import Change
from strongback.machine.values import Machine
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.values import Option

__all__ = ["gussets"]

SCREWS = 4  # of each leg of a bracket


def gussets(machine: Machine, screw: float = 2e7, arm: float = 0.1) -> Option | None:
    """Two angle brackets between column and base.

    Their screws in shear are the soft part: k = 2 brackets * (n k / 2) * arm², as a bracket is held by n screws on
    either leg.

    Parameters
    ----------
    machine : Machine
    screw : float
        Shear stiffness of one M6 screw [N/m]: a guess, measure it.
    arm : float
        From the base joint to the middle of the screws [m].

    Returns
    -------
    Option or None
        None where no joint holds the column, or it is rigid already.
    """
    base = roles_of(machine).base
    if base is None or not any(0.0 < k < float("inf") for k in base.stiffness[3:5]):
        return None
    more = 2.0 * (SCREWS * screw / 2.0) * arm**2
    name = base.name

    def make(there: Machine) -> Change:
        old = next(j for j in there.joints if j.name == name)
        a, b, c, d, e, f = old.stiffness
        return Change(joints=(dataclasses.replace(old, stiffness=(a, b, c, d + more, e + more, f)),))

    return Option(
        name="gussets",
        make=make,
        changes=f"{more:.3g} N m/rad beside the nod and the side tilt of the base joint",
        cost=30.0,
        hours=5.0,
        mass=1.5,
        reversible=False,
        blocks=("some of the table's travel", "the way of the chips"),
    )
