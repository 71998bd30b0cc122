"""Spindle bearings of more preload, or better ones."""

from __future__ import annotations

from strongback.machine.values import COMPONENTS, Machine
from strongback.remedies.options.catalogue.roles import multiplied
from strongback.remedies.options.values import Option

__all__ = ["bearings"]


def bearings(machine: Machine, factor: float = 1.4) -> Option | None:
    """Spindle bearings of more preload, or better ones.

    Parameters
    ----------
    machine : Machine
    factor : float
        On the joints that carry the part with the tool. A guess (common practice, no source).

    Returns
    -------
    Option or None
        None where no joint carries that part.
    """
    holders = tuple(j for j in machine.joints if machine.tool.part in j.parts and not j.pad)
    if not holders:
        return None
    change = multiplied(holders, COMPONENTS, factor)
    if not change.factors:
        return None
    return Option(
        name="better bearings",
        make=lambda _: change,
        changes=f"joints of the spindle x {factor:g}",
        cost=90.0,
        hours=6.0,
        hazard="too much preload runs hot and fails: the maker's limits come first",
    )
