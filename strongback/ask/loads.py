"""What does the machine do under its own weight, warm parts, and everything that acts at once?"""

from __future__ import annotations

from strongback.ask.source import Names, Source, machine_of, names_of, pick, project_of
from strongback.machine.assembled import assembled
from strongback.machine.columns import Progress
from strongback.machine.loaded import Loaded, loaded
from strongback.machine.loads import GRAVITY, Combination, LoadCase
from strongback.machine.values import Machine

__all__ = ["WEIGHT", "loads"]

WEIGHT = "own weight"


def loads(project: Source, *, case: Names = (), progress: Progress | None = None) -> Loaded:
    """Motion of the tool, forces of the ground and in members under cases, combinations and own weight.

    Parameters
    ----------
    project : str, Path, Project or Machine
        Of a machine alone there are its own weight and its pulls.
    case : str or sequence of str
        Only these: names of cases, combinations or pulls; default: own weight and all cases and combinations.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Loaded

    Raises
    ------
    QuestionError
        If there is no such case.
    MachineError
        If a case names what is not there.

    Examples
    --------
    >>> droop = loads("demo", case="own weight")["own weight"]
    >>> bool(droop.tool_displacement[2] < 0.0)
    True
    """
    asked = project if isinstance(project, Machine) else project_of(project)
    machine = machine_of(asked)
    cases: list[LoadCase] = [] if isinstance(asked, Machine) else list(asked.extras["case"])
    sums: list[Combination] = [] if isinstance(asked, Machine) else list(asked.extras["combination"])
    if WEIGHT not in {own.name for own in cases}:
        cases.insert(0, LoadCase(name=WEIGHT, gravity=GRAVITY))
    every = [*(own.name for own in cases), *(one.name for one in sums)]
    pulls = {pull.name: pull for pull in machine.pulls if pull.name not in every}
    wanted = [pick(name, [*every, *pulls], "case") for name in names_of(case)] or every
    cases += [LoadCase(name=name, pulls=(pulls[name],)) for name in wanted if name in pulls]
    return loaded(assembled(machine, progress=progress), cases, sums, wanted, [*every, *pulls])
