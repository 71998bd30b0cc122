"""What every member is solved as, and what its walls change at the tool: told wherever a result rests on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from strongback.answer import INLINE, told
from strongback.machine.along import along_pulls
from strongback.machine.columns import Progress
from strongback.machine.loop import assemble
from strongback.machine.part.kinds import PartKind, as_beams, kinds, pads_on
from strongback.machine.part.values import Parts
from strongback.machine.values import Machine, Member, Pull
from strongback.machine.walls_add import walls_add

__all__ = ["PartReport", "part_reports"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartReport:
    """A member, its model, and what its walls add to the deflection of the tool.

    Parameters
    ----------
    kind : PartKind
    walls_add : tuple of (str, float)
        By pull, along it, against the member as a beam: of a body what is in the results, of a beam what they lack, from a
        coarse grid (to some 2 % of itself) [m]. Empty where nothing bears on its walls, or where it is not known.
    """

    kind: PartKind = field(metadata=INLINE)
    walls_add: tuple[tuple[str, float], ...] = field(default=(), metadata=told("walls_add_m", mapping=True))


def part_reports(
    machine: Machine, parts: Parts, pulls: Sequence[Pull], *, progress: Progress | None = None
) -> tuple[PartReport, ...]:
    """Every member with what its walls change.

    Parameters
    ----------
    machine : Machine
    parts : Parts
    pulls : sequence of Pull
        Of the machine.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    tuple of PartReport
    """
    names = [pull.name for pull in pulls]
    found = []
    for kind in kinds(machine):
        member = next(m for m in machine.members if m.name == kind.name)
        add: Array | None = None
        if pulls and kind.is_body:
            add = _added(machine, parts, member, pulls)
        elif pulls and kind.walls and pads_on(machine, member) and kind.reason == FORCED:
            known = {w.pull.name: w.along for w in walls_add(machine, member.name, parts, progress=progress)}
            add = np.array([known[name] for name in names])
        rows = () if add is None else tuple(zip(names, map(float, add), strict=True))
        found.append(PartReport(kind=kind, walls_add=rows))
    return tuple(found)


FORCED = 'model = "beam"'


def _added(machine: Machine, parts: Parts, member: Member, pulls: Sequence[Pull]) -> Array:
    """The machine as it is less the same with one body as a beam."""
    beam = as_beams(machine, only=member.name)
    return along_pulls(assemble(machine, parts), pulls) - along_pulls(assemble(beam, parts), pulls)
