"""What is to be read next?"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from strongback.ask.readings import chosen, reduced
from strongback.ask.source import pick, project_of
from strongback.evidence import plan as kernel
from strongback.evidence.calibrate import calibrate
from strongback.evidence.model import default_parameters, in_words
from strongback.machine.assembled import assembled
from strongback.machine.columns import Progress
from strongback.machine.values import Machine
from strongback.project.from_readings import NextReadings
from strongback.project.read import Project

__all__ = ["plan"]


def plan(
    project: str | Path | Project,
    *,
    count: int = 12,
    learn: str | None = None,
    after: str | None = None,
    loads: Sequence[float] | None = None,
    progress: Progress | None = None,
) -> NextReadings:
    """Choose readings one after the other by what each adds to the knowledge of the stiffnesses.

    Parameters
    ----------
    project : str, Path or Project
    count : int
        Readings to propose.
    learn : str, optional
        Learn about one stiffness, such as ``"base, about x"``.
    after : str, optional
        Go on from the readings of this data set.
    loads : sequence of float, optional
        To choose from for every pull [N].
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    NextReadings

    Raises
    ------
    QuestionError
        If there is no such data set or stiffness.

    Examples
    --------
    >>> found = plan("demo", count=2)
    >>> len(found.plan.steps), found.plan.steps[0].load > found.plan.steps[0].least_load
    (2, True)
    """
    read = project_of(project)
    ready = assembled(read.machine, contact=True, progress=progress)
    machine = ready.machine
    parameters = default_parameters(machine)
    covariance = taken = target = None
    if after is not None:
        own = chosen(read, after)
        measured = reduced(own).campaign.measured
        known = calibrate(machine, ready.parts, measured, instrument=own.instrument, advise=False)
        machine, covariance = known.machine, known.covariance
        taken = known.fit.sensitivity[:, : len(parameters)]
    if learn is not None:
        names = {name: i for i, p in enumerate(parameters) for name in (str(p), in_words(p, machine))}
        target = np.zeros(len(parameters))
        target[names[pick(learn, list(names), "stiffness")]] = 1.0
    found = kernel.plan(
        machine,
        ready.parts,
        count,
        choices=kernel.candidates(machine, _loads(machine, loads)),
        parameters=parameters,
        covariance=covariance,
        taken=taken,
        target=target,
    )
    return NextReadings(project=read, machine=machine, plan=found, parts=ready.reports)


def _loads(machine: Machine, loads: Sequence[float] | None) -> dict[str, tuple[float, ...]] | None:
    """The same loads for every pull with a force."""
    return None if loads is None else {p.name: tuple(loads) for p in machine.pulls if any(p.force)}
