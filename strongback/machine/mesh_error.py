"""The error that the meshes of bodies leave in the motion of the tool, told from two grids."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from strongback.machine.loop import Loop, assemble
from strongback.machine.part.values import alone
from strongback.machine.solve import solve_all
from strongback.machine.values import Pull

__all__ = ["SAFETY", "mesh_errors"]

Array = NDArray[np.float64]
SAFETY = 1.5


def mesh_errors(loop: Loop, pulls: Sequence[Pull]) -> tuple[Array | None, ...]:
    """How far the motion of the tool may be off by the meshes of the bodies of a loop.

    The difference between the fine grid and the coarse one, in every direction, and half of it on top: in the cases of
    the tests the true error was 0.1 to 1.2 times the difference. Nothing is corrected by it.

    Parameters
    ----------
    loop : Loop
    pulls : sequence of Pull

    Returns
    -------
    tuple of (ndarray of shape (3,) or None)
        One a pull [m]; None where there is no body, or one was not found on two grids.
    """
    bodies = {name: place.body for name, place in loop.bodies.items()}
    if not bodies or any(body.coarse.size == 0 for body in bodies.values()):
        return (None,) * len(pulls)
    rough_bodies = {
        member.name: alone(
            member,
            dataclasses.replace(bodies[member.name], stiffness=np.array(bodies[member.name].coarse)),
        )
        for member in loop.machine.members
        if member.name in bodies
    }
    coarse = assemble(loop.machine, loop.parts.with_bodies(rough_bodies), like=loop)
    return tuple(
        SAFETY * np.abs(rough.tool_displacement - fine.tool_displacement)
        for rough, fine in zip(solve_all(coarse, pulls), solve_all(loop, pulls), strict=True)
    )
