"""What made the difference between two sets of readings?"""

from __future__ import annotations

from pathlib import Path

from strongback.ask.readings import data_sets, reduced
from strongback.ask.source import pick, project_of
from strongback.change.effect import state_of
from strongback.change.values import Change, applied
from strongback.errors import ReadingsError
from strongback.evidence import explain as kernel
from strongback.evidence.change import Case, causes_of, changed_members
from strongback.evidence.model import default_parameters, prior_uncertainty
from strongback.machine.assembled import stage
from strongback.machine.columns import Progress
from strongback.machine.part.make import parts_of
from strongback.machine.part.report import part_reports
from strongback.machine.surrogate import filled_parts
from strongback.machine.values import Machine
from strongback.project.from_readings import Explained
from strongback.project.read import Project
from strongback.project.readings import DataSet

__all__ = ["explain"]

MAKING = 0.4  # of the time, until the parts before the change are there


def explain(
    project: str | Path | Project,
    *,
    before: str | None = None,
    after: str | None = None,
    other_weights: bool = False,
    progress: Progress | None = None,
) -> Explained:
    """Split a change before/after over its possible causes.

    Parameters
    ----------
    project : str, Path or Project
    before, after : str, optional
        Data sets before and after the change; default: the first and the second.
    other_weights : bool
        Whether the two data sets used different weights.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Explained

    Raises
    ------
    ReadingsError
        If there is one data set only.
    QuestionError
        If there is no such data set.

    Examples
    --------
    >>> found = explain("demo")
    >>> found.first.data.name, found.second.data.name, found.before["sideways"] > found.after_as_meant["sideways"]
    ('before', 'after', True)
    """
    read = project_of(project)
    sets = {own.name: own for own in data_sets(read)}
    names = list(sets)
    if len(names) < 2:
        raise ReadingsError(
            "one data set only: nothing to explain", hint="add the [[readings]] after the change"
        )
    first = sets[pick(before, names, "data set") if before else names[0]]
    second = sets[pick(after, names, "data set") if after else names[1]]
    case = _case(read.machine, second, progress)
    parameters = default_parameters(read.machine)
    logs = reduced(first), reduced(second)
    found = kernel.explain(
        case,
        logs[0].campaign,
        logs[1].campaign,
        parameters=parameters,
        prior_u=prior_uncertainty(read.machine, parameters),
        u_load=first.instrument.u_load,
        same_load=not other_weights,
    )
    pulls = case.machine.pulls
    return Explained(
        machine=read.machine,
        first=logs[0],
        second=logs[1],
        explanation=found,
        before=dict(state_of("before", case.machine, case.parts).along_pull),
        after_as_meant=dict(state_of("after", case.meant, case.filled.at(case.meant, {}), pulls).along_pull),
        parts=part_reports(case.machine, case.parts, pulls),
    )


def _case(machine: Machine, after: DataSet, progress: Progress | None) -> Case:
    """The change that was meant: sections put in place of others, filled or not."""
    meant = applied(machine, Change(sections=after.sections))
    parts = parts_of(machine, contact=True, progress=stage(progress, 0.0, MAKING))
    filled = filled_parts(machine, meant, parts, contact=True, progress=stage(progress, MAKING, 1.0))
    causes = causes_of(machine, changed_members(machine, meant), filled=filled)
    return Case(machine=machine, meant=meant, parts=parts, filled=filled, causes=causes)
