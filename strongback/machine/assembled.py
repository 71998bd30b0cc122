"""A machine made ready for its pulls: its parts, the loop of them, and the same with every member a line of sections."""

from __future__ import annotations

from dataclasses import dataclass

from strongback.machine.columns import Progress
from strongback.machine.loop import Loop, assemble
from strongback.machine.part.kinds import as_beams, body_names
from strongback.machine.part.make import parts_of
from strongback.machine.part.report import PartReport, part_reports
from strongback.machine.part.values import Parts
from strongback.machine.values import Machine

__all__ = ["Assembled", "assembled", "stage"]

MAKING = 0.7  # of the time of both dear steps


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Assembled:
    """A machine ready for pulls.

    Parameters
    ----------
    machine : Machine
    parts : Parts
    beams : Loop
        With every member a line of sections; `loop` itself where no member is a body.
    loop : Loop
    reports : tuple of PartReport
        What each member is solved as, and what its walls change.
    """

    machine: Machine
    parts: Parts
    beams: Loop
    loop: Loop
    reports: tuple[PartReport, ...]

    @property
    def has_bodies(self) -> bool:
        """Whether any member is a body."""
        return bool(self.loop.bodies)


def assembled(machine: Machine, *, contact: bool = False, progress: Progress | None = None) -> Assembled:
    """Make the parts of a machine and the loop of them.

    Parameters
    ----------
    machine : Machine
    contact : bool
        Whether contact under pads stays a variable, as evidence needs it.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Assembled
    """
    parts = parts_of(machine, contact=contact, progress=stage(progress, 0.0, MAKING))
    loop = assemble(machine, parts)
    return Assembled(
        machine=machine,
        parts=parts,
        beams=assemble(as_beams(machine), parts) if body_names(machine) else loop,
        loop=loop,
        reports=part_reports(machine, parts, machine.pulls, progress=stage(progress, MAKING, 1.0)),
    )


def stage(progress: Progress | None, start: float, end: float) -> Progress | None:
    """The progress of a step that takes a part of the whole.

    Examples
    --------
    >>> stage(lambda fraction, what: print(fraction, what), 0.5, 1.0)(0.5, "walls")
    0.75 walls
    """
    if progress is None:
        return None
    whole = progress
    return lambda fraction, what: whole(start + (end - start) * fraction, what)
