"""How far does the tool give, and who causes it?"""

from __future__ import annotations

from collections.abc import Sequence

from strongback.ask.source import Names, Source, machine_of, project_of, with_pulls
from strongback.machine.assembled import assembled
from strongback.machine.columns import Progress
from strongback.machine.contact import OneSided, Play
from strongback.machine.deflected import Deflected, deflected
from strongback.machine.parameters import Parameter
from strongback.machine.values import Machine, Pull

__all__ = ["deflect", "laws_of"]


def deflect(
    project: Source, pull: Names | Pull | Sequence[Pull] = (), *, progress: Progress | None = None
) -> Deflected:
    """Motion of the tool against the work, expected readings, and the budget: how much each part gives.

    Parameters
    ----------
    project : str, Path, Project or Machine
        The word ``demo`` means the built-in machine.
    pull : str, Pull, or sequence of these
        Only pulls of these names, or these pulls, whether the machine has them or not; default: all of its own.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Deflected

    Raises
    ------
    QuestionError
        If there is no such pull.
    MachineError
        If the machine has no pull.
    SolveError
        If a part is free to move, or rounding would decide.

    Examples
    --------
    >>> found = deflect("demo", pull="sideways")
    >>> [row.part for row in found["sideways"].budget.rows[:2]]
    ['column', 'column']
    """
    asked = project if isinstance(project, Machine) else project_of(project)
    machine, pulls = with_pulls(machine_of(asked), pull)
    return deflected(assembled(machine, progress=progress), pulls, laws_of(asked))


def laws_of(what: Source) -> dict[Parameter, OneSided | Play]:
    """Components that open or have play; of a machine alone none.

    Examples
    --------
    >>> from strongback.machine.sample import post
    >>> laws_of(post())
    {}
    """
    if isinstance(what, Machine):
        return {}
    return {
        Parameter(kind=law.kind, part=law.part, mechanism=law.component): Play(gap=law.size)
        if law.law == "play"
        else OneSided(preload=law.size, sign=law.sign)
        for law in project_of(what).laws
    }
