"""A shorter tool: the first thing to try."""

from __future__ import annotations

from strongback.change.values import Change
from strongback.machine.parameters import Parameter
from strongback.machine.values import Machine
from strongback.remedies.options.values import Option

__all__ = ["shorter_tool"]


def shorter_tool(machine: Machine, length: float = 0.8) -> Option | None:
    """A shorter tool or holder, its point at the same place.

    Parameters
    ----------
    machine : Machine
    length : float
        Of the new stick-out over the old [-]; bending goes with its cube (Euler's cantilever).

    Returns
    -------
    Option or None
        None where the tool is not a member of the machine.
    """
    if machine.tool.part not in {m.name for m in machine.members}:
        return None
    own = Parameter(kind="member", part=machine.tool.part, mechanism="bending")
    return Option(
        name="shorter tool",
        make=lambda _: Change(factors=((own, length**-3),)),
        changes=f"bending of the tool x {length**-3:.3g}",
        cost=20.0,
        hours=0.0,
        blocks=("deep pockets",),
    )
