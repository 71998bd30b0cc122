"""What the commands about readings share: a data set chosen, reduced, and its faults said."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import click

from strongback.cli.common import note, pick

if TYPE_CHECKING:
    from strongback.evidence.readings import Campaign
    from strongback.project import Project
    from strongback.project.readings import DataSet

__all__ = [
    "BAD_ROWS",
    "campaign_of",
    "chosen",
    "data_option",
    "data_sets",
    "on_its_machine",
    "picture_name",
    "say_faults",
]

BAD_ROWS = 3  # exit code: bad input, shown beside what could be used

data_option = click.option("--data", metavar="NAME", help="Data set of the project; default: the first.")


def data_sets(read: Project) -> tuple[DataSet, ...]:
    """Data sets of a project, at least one."""
    from strongback.errors import ReadingsError

    found: tuple[DataSet, ...] = read.extras["readings"]
    if not found:
        raise ReadingsError(
            "the project has no readings",
            hint='add a [[readings]] table with name and file; "strongback plan" proposes what to measure',
        )
    return found


def chosen(read: Project, name: str | None) -> DataSet:
    """The data set of a name, or the first."""
    sets = data_sets(read)
    if name is None:
        return sets[0]
    return next(d for d in sets if d.name == pick(name, [d.name for d in sets], "data set"))


def picture_name(kind: str, read: Project, data: DataSet) -> str:
    """File name of a picture of a data set."""
    from strongback.project.out_names import out_names

    return out_names(kind, [each.name for each in data_sets(read)], ".png")[data.name]


def campaign_of(data: DataSet) -> Campaign:
    """A data set, reduced."""
    from strongback.errors import ReadingsError
    from strongback.evidence.reduce import reduce

    if not data.readings:
        shown = "\n".join(str(fault) for fault in data.faults)
        if data.unread and not data.faults:
            raise ReadingsError(
                f'nothing in "{data.file}" has been read yet: {data.unread} rows without a figure'
            )
        raise ReadingsError(f'no row of "{data.file}" can be used\n{shown}')
    return reduce(data.readings, data.instrument, name=data.name)


def say_faults(data: DataSet, campaign: Campaign) -> bool:
    """Print rows that are not used, and why, on stderr; whether there are any."""
    for fault in data.faults:
        note(str(fault))
    if data.unread:
        note(f"{data.file}: {data.unread} rows wait to be read")
    for aside in campaign.set_aside:
        rows = ", ".join(str(row) for row in aside.rows)
        note(f"{data.file}: row {rows}, {aside.what}: {aside.reason}")
    for warning in campaign.warnings:
        note(f"{data.file}: {warning}")
    return bool(data.faults or campaign.set_aside)


def on_its_machine(read: Project, data: DataSet) -> Project:
    """The project with the sections that stood when a data set was kept."""
    from strongback.change.values import Change, applied

    if not data.sections:
        return read
    return dataclasses.replace(read, machine=applied(read.machine, Change(sections=data.sections)))
