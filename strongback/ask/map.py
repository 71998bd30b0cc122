"""Where in the work space is the tool soft?"""

from __future__ import annotations

from strongback.ask.source import Source, machine_of
from strongback.errors import MachineError
from strongback.machine import workspace
from strongback.machine.columns import Progress
from strongback.machine.part.values import Parts
from strongback.machine.sections import section_stiffness
from strongback.machine.workspace import ComplianceMap

__all__ = ["compliance_map"]

POSITIONS = (5, 3)  # on the first travel, and on the second where there is one


def compliance_map(
    project: Source, *, positions: tuple[int, ...] = POSITIONS, progress: Progress | None = None
) -> ComplianceMap:
    """Compliance of the tool with head, quill or table in several places of their travels.

    Parameters
    ----------
    project : str, Path, Project or Machine
    positions : tuple of int
        On the first travel, and on the second where there is one.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    ComplianceMap

    Raises
    ------
    MachineError
        If the machine has no travel.

    Examples
    --------
    >>> found = compliance_map("demo", positions=(2,))
    >>> len(found.points)  # the two ends of the travel of the head
    2
    """
    machine = machine_of(project)
    travels = machine.travels[: len(positions)]
    if not travels:
        raise MachineError(
            "the machine has no travel to map", hint="add a [[travel]] with parts, direction, low and high"
        )
    parts = Parts(sections=section_stiffness(machine))
    counts = positions[: len(travels)]
    points = workspace.compliance_map(machine, parts, travels, counts, progress=progress)
    return ComplianceMap(machine=machine, points=points)
