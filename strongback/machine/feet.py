"""The two bounds of a foot on bolts: the face between the bolts free, as it is solved, or bedded all over."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from strongback.machine.columns import coarse_body
from strongback.machine.loop import Loop, assemble
from strongback.machine.part.values import alone
from strongback.machine.solve import solve_all
from strongback.machine.values import Pull

__all__ = ["bedded_feet"]

Array = NDArray[np.float64]


def bedded_feet(loop: Loop, pulls: Sequence[Pull]) -> tuple[Array | None, ...]:
    """Motion of the tool against the work if every foot were bedded all over.

    The change from bolts alone to bedded is that of the coarse grid, which costs little.

    Parameters
    ----------
    loop : Loop
        With feet on their bolts alone.
    pulls : sequence of Pull

    Returns
    -------
    tuple of (ndarray of shape (3,) or None)
        One a pull [m]; None where no body has a foot.
    """
    machine = loop.machine
    footed = [m for m in machine.members if m.foot is not None and m.name in loop.bodies]
    if not footed:
        return (None,) * len(pulls)
    names = {m.name for m in footed}
    firm = dataclasses.replace(
        machine,
        members=tuple(dataclasses.replace(m, foot=None) if m.name in names else m for m in machine.members),
    )
    on_bolts = {m.name: alone(m, coarse_body(machine, m)) for m in footed}
    bedded = {m.name: alone(m, coarse_body(firm, m)) for m in firm.members if m.name in names}
    rough, rough_firm = (
        solve_all(assemble(where, loop.parts.with_bodies(bodies)), pulls)
        for where, bodies in ((machine, on_bolts), (firm, bedded))
    )
    return tuple(
        fine.tool_displacement + after.tool_displacement - before.tool_displacement
        for fine, before, after in zip(solve_all(loop, pulls), rough, rough_firm, strict=True)
    )
