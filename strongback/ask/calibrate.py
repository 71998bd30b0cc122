"""Which stiffnesses do the readings tell?"""

from __future__ import annotations

from pathlib import Path

from strongback.ask.readings import chosen, machine_at, picture_name, reduced
from strongback.ask.source import Names, names_of, pick, project_of
from strongback.evidence import calibrate as kernel
from strongback.evidence.model import default_parameters, in_words
from strongback.evidence.weighed import weighed
from strongback.machine.assembled import assembled
from strongback.machine.columns import Progress
from strongback.machine.parameters import Parameter, parameters_of
from strongback.machine.values import Machine
from strongback.project.from_readings import Calibrated
from strongback.project.read import Project

__all__ = ["calibrate"]


def calibrate(
    project: str | Path | Project,
    *,
    data: str | None = None,
    fit: Names = (),
    exact_rest: bool = False,
    progress: Progress | None = None,
) -> Calibrated:
    """Fit joints and factors of members to readings, with their ranges as priors.

    Parameters
    ----------
    project : str, Path or Project
    data : str, optional
        Name of a data set; default: the first.
    fit : str or sequence of str
        Only these are told: a joint, a member, or ``"part, mechanism"``; default: all with a range. The others carry their
        ranges all the same.
    exact_rest : bool
        Whether the others, and the model as a whole, are taken as exact. Intervals are then too narrow wherever they are
        not: on the demo, two of three that hold in place of 95 of 100.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Calibrated
        What the readings cannot tell has no number but words, and the reading that would tell it.

    Raises
    ------
    ReadingsError
        If there are no readings, or no row can be used.
    QuestionError
        If there is no such data set or stiffness.

    Examples
    --------
    >>> found = calibrate("demo", fit="base")
    >>> {p.parameter.part for p in found.calibration.parameters}
    {'base'}
    """
    read = project_of(project)
    own = chosen(read, data)
    log = reduced(own)
    ready = assembled(machine_at(read, own), contact=True, progress=progress)
    told = _parameters(ready.machine, names_of(fit))
    measured, instrument = log.campaign.measured, own.instrument
    found = (
        kernel.calibrate(ready.machine, ready.parts, measured, parameters=told, instrument=instrument)
        if exact_rest
        else weighed(
            ready.machine, ready.parts, measured, parameters=told, instrument=instrument, progress=progress
        )
    )
    return Calibrated(
        project=read,
        readings=log,
        calibration=found,
        parts=ready.reports,
        name_of_picture=picture_name("calibrated", read, own),
    )


def _parameters(machine: Machine, names: tuple[str, ...]) -> tuple[Parameter, ...] | None:
    """Stiffnesses of some names, or None for the default."""
    if not names:
        return None
    every = tuple(dict.fromkeys((*default_parameters(machine), *parameters_of(machine))))
    known = {p: {p.part, str(p), in_words(p, machine)} for p in every}
    words = sorted({word for mine in known.values() for word in mine})
    wanted = {pick(name, words, "stiffness") for name in names}
    return tuple(p for p, mine in known.items() if mine & wanted)
