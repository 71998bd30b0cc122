"""Before and after a change: every named state is one fine solve, the same for every command."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from strongback.machine.along import along_pulls
from strongback.machine.loop import Loop, assemble
from strongback.machine.part.values import Parts
from strongback.machine.values import Machine, Pull

__all__ = ["State", "state_of"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class State:
    """A machine in one state, and what the tool does in it.

    Parameters
    ----------
    name : str
        ``"before"``, ``"after"``.
    loop : Loop
    along_pull : tuple of (str, float)
        Motion of the tool along each pull, stiffnesses at their best guess [m].
    """

    name: str
    loop: Loop
    along_pull: tuple[tuple[str, float], ...]


def state_of(name: str, machine: Machine, parts: Parts, pulls: Sequence[Pull] = ()) -> State:
    """A machine solved as `deflect` solves it.

    Parameters
    ----------
    name : str
    machine : Machine
    parts : Parts
        Of that machine.
    pulls : sequence of Pull
        Default: all of the machine.

    Returns
    -------
    State
    """
    chosen = tuple(pulls) or machine.pulls
    loop = assemble(machine, parts)
    found = along_pulls(loop, chosen) if chosen else ()
    named = tuple((pull.name, float(value)) for pull, value in zip(chosen, found, strict=True))
    return State(name=name, loop=loop, along_pull=named)
