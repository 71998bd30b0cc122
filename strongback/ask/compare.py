"""How far are predictions from readings?"""

from __future__ import annotations

from pathlib import Path

from strongback.ask.readings import chosen, machine_at, picture_name, reduced
from strongback.ask.source import project_of
from strongback.evidence import compare as kernel
from strongback.machine.assembled import assembled
from strongback.machine.columns import Progress
from strongback.project.from_readings import Compared
from strongback.project.read import Project

__all__ = ["compare"]


def compare(
    project: str | Path | Project, *, data: str | None = None, progress: Progress | None = None
) -> Compared:
    """Set predicted beside measured at every gauge, stiffnesses as the project has them.

    Parameters
    ----------
    project : str, Path or Project
    data : str, optional
        Name of a data set; default: the first.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Compared

    Raises
    ------
    ReadingsError
        If there are no readings, or no row can be used.
    QuestionError
        If there is no such data set.

    Examples
    --------
    >>> found = compare("demo")
    >>> len(found.comparison.rows)
    21
    """
    read = project_of(project)
    own = chosen(read, data)
    log = reduced(own)
    ready = assembled(machine_at(read, own), contact=True, progress=progress)
    return Compared(
        machine=ready.machine,
        readings=log,
        comparison=kernel.compare(ready.machine, ready.parts, log.campaign.measured),
        parts=ready.reports,
        name_of_picture=picture_name("comparison", read, own),
    )
