"""What do the readings say?"""

from __future__ import annotations

from pathlib import Path

from strongback.ask.source import pick, project_of
from strongback.change.values import Change, applied
from strongback.errors import ReadingsError
from strongback.evidence.reduce import reduce
from strongback.machine.values import Machine
from strongback.project.from_readings import Reduced, SetOfReadings
from strongback.project.out_names import out_names
from strongback.project.read import Project
from strongback.project.readings import DataSet

__all__ = ["readings"]


def readings(project: str | Path | Project, *, data: str | None = None) -> Reduced:
    """Reduce dial readings: drift, width of loops, uncertainty.

    Parameters
    ----------
    project : str, Path or Project
    data : str, optional
        Name of a data set; default: the first.

    Returns
    -------
    Reduced

    Raises
    ------
    ReadingsError
        If there are no readings, or no row can be used.
    QuestionError
        If there is no such data set.

    Examples
    --------
    >>> readings("demo").readings.data.name
    'before'
    """
    read = project_of(project)
    own = chosen(read, data)
    return Reduced(readings=reduced(own), name_of_picture=picture_name("readings", read, own))


def data_sets(read: Project) -> tuple[DataSet, ...]:
    """Data sets of a project, at least one."""
    found: tuple[DataSet, ...] = read.extras["readings"]
    if not found:
        raise ReadingsError(
            "the project has no readings",
            hint='add a [[readings]] table with name and file; "strongback plan" proposes what to measure',
        )
    return found


def chosen(read: Project, name: str | None) -> DataSet:
    """The data set of a name, or the first."""
    sets = {own.name: own for own in data_sets(read)}
    return next(iter(sets.values())) if name is None else sets[pick(name, list(sets), "data set")]


def reduced(data: DataSet) -> SetOfReadings:
    """A data set with its values."""
    if not data.readings:
        shown = "\n".join(str(fault) for fault in data.faults)
        if data.unread and not data.faults:
            raise ReadingsError(
                f'nothing in "{data.file}" has been read yet: {data.unread} rows without a figure'
            )
        raise ReadingsError(f'no row of "{data.file}" can be used\n{shown}')
    return SetOfReadings(data=data, campaign=reduce(data.readings, data.instrument, name=data.name))


def machine_at(read: Project, data: DataSet) -> Machine:
    """The machine with the sections that stood when a data set was kept."""
    return applied(read.machine, Change(sections=data.sections)) if data.sections else read.machine


def picture_name(kind: str, read: Project, data: DataSet) -> str:
    """File name of a picture of a data set."""
    return out_names(kind, [own.name for own in data_sets(read)], ".png")[data.name]
