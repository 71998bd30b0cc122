"""A fill in a member whose walls give: before and after with that member as a three-dimensional body.

What presses on a wall bends it; a fill stops that, which no beam can show. Dear to compute, so it is done once, at the
median modulus and with a full bond.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from strongback.errors import MixError
from strongback.machine.columns import Progress, column_body
from strongback.machine.loop import Loop, assemble
from strongback.machine.part.values import Parts, alone
from strongback.machine.solve import pull_load, tool_rows
from strongback.machine.values import Machine, Pull
from strongback.remedies.fill.filling import FillJob, filled_machine

__all__ = ["WallGain", "with_walls"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WallGain:
    """Deflection of the tool along a pull with walls that give, bonded fill at its median modulus [m]."""

    pull: str
    before: float
    after: float

    @property
    def ratio(self) -> float:
        """After over before [-]."""
        return self.after / self.before


def with_walls(
    machine: Machine,
    parts: Parts,
    job: FillJob,
    *,
    pulls: Sequence[Pull] = (),
    size: float | None = None,
    progress: Progress | None = None,
) -> tuple[WallGain, ...]:
    """Before and after with the filled member as a body.

    Parameters
    ----------
    machine : Machine
        Its joints on the member need pads, or an end of it.
    parts : Parts
        With the sections of the other members.
    job : FillJob
    pulls : sequence of Pull
        With a force; default all of the machine.
    size : float, optional
        Largest triangle of the section mesh [m].
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    tuple of WallGain

    Raises
    ------
    MachineError
        If a joint meets the body on its bare wall.
    MixError
        If no pull has a force.
    """
    chosen = [pull for pull in (pulls or machine.pulls) if np.any(pull.force)]
    if not chosen:
        raise MixError("no pull with a force to compare before and after by")
    members = tuple(
        dataclasses.replace(m, model="body" if m.name == job.member else "beam") for m in machine.members
    )
    before = dataclasses.replace(machine, members=members)
    tools = []
    for made in (before, filled_machine(before, job)):
        member = next(m for m in made.members if m.name == job.member)
        body = column_body(made, member, size=size, progress=progress)
        loop = assemble(made, parts.with_bodies({member.name: alone(member, body)}))
        tools.append([_along(loop, pull) for pull in chosen])
    return tuple(
        WallGain(pull=pull.name, before=one, after=two)
        for pull, one, two in zip(chosen, tools[0], tools[1], strict=True)
    )


def _along(loop: Loop, pull: Pull) -> float:
    motions, _ = loop.solve(pull_load(loop, pull)[:, None])
    tool = (tool_rows(loop)[:3] @ motions)[:, 0]
    return float(tool @ np.asarray(pull.force) / np.linalg.norm(pull.force))
