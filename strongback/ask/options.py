"""Which change pays, and which set of changes is enough?"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from strongback import checks
from strongback.ask.deflect import laws_of
from strongback.ask.source import Names, Source, chosen_pulls, machine_of, names_of, pick, project_of
from strongback.errors import MachineError, QuestionError
from strongback.machine.assembled import assembled
from strongback.machine.columns import Progress
from strongback.machine.values import Machine, Pull
from strongback.project.read import Project
from strongback.remedies.options.catalogue import catalogue
from strongback.remedies.options.search import Target
from strongback.remedies.options.values import Option
from strongback.remedies.options.weighed import WeighedOptions, weigh

__all__ = ["options"]


def options(
    project: Source,
    *,
    pull: Names = (),
    under: Mapping[str, float] | None = None,
    most_mass: float = math.inf,
    most_cost: float = math.inf,
    without: Names = (),
    more: Sequence[Option] = (),
    progress: Progress | None = None,
) -> WeighedOptions:
    """Every change of the catalogue side by side: gain with interval, price, mass; and the best set for a target, proved.

    Parameters
    ----------
    project : str, Path, Project or Machine
        The word ``demo`` means the built-in machine.
    pull : str or sequence of str
        Pulls that gains are shown for; default: those that push at the part with the tool, and those of `under`.
    under : mapping of str to float, optional
        By pull, how much the tool may give along it at its force [m].
    most_mass, most_cost : float
        Of the set that meets these targets [kg, euro].
    without : str or sequence of str
        Options to be left out.
    more : sequence of Option
        Options of one's own, beside the catalogue and the ``[[option]]`` tables of the file.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    WeighedOptions

    Raises
    ------
    QuestionError
        If there is no such pull or option, or a target is no length.
    MachineError
        If no pull has a force.

    Examples
    --------
    >>> found = options("examples/iron-mill", under={"sideways": 85e-6}, most_cost=200.0)  # doctest: +SKIP
    >>> found.best_set.names, found.best_set.proved  # doctest: +SKIP
    (('closing plate',), True)
    """
    asked = project if isinstance(project, Machine) else project_of(project)
    machine = machine_of(asked)
    pulls = _forces(machine, pull, tuple(under or ()))
    named = {p.name: p for p in machine.pulls}
    targets = []
    for name, most in (under or {}).items():
        value = checks.number(f'target under "{name}"', "most", most, above=0.0)
        targets.append(Target(pull=named[pick(name, list(named), "pull")], most=value))
    for where, value in (("most_mass", most_mass), ("most_cost", most_cost)):
        checks.number("the best set", where, value, least=0.0, infinite=True)
    own = asked.extras.get("option") or () if isinstance(asked, Project) else ()
    every = (*catalogue(machine), *own, *more)
    left = {pick(name, [o.name for o in every], "option") for name in names_of(without)}
    return weigh(
        machine,
        assembled(machine, progress=lambda f, w: (progress or _quiet)(0.3 * f, w)).parts,
        [o for o in every if o.name not in left],
        pulls,
        targets=targets,
        most_mass=most_mass,
        most_cost=most_cost,
        laws=laws_of(asked),
        progress=lambda f, w: (progress or _quiet)(0.3 + 0.7 * f, w),
    )


def _quiet(fraction: float, what: str) -> None:
    """No progress."""


def _forces(machine: Machine, names: Names, targets: tuple[str, ...]) -> tuple[Pull, ...]:
    """Pulls with a force that gains are shown for."""
    if names:
        found = chosen_pulls(machine, (*names_of(names), *(t for t in targets if t not in names_of(names))))
        for one in found:
            if not np.any(one.force):
                raise QuestionError(f"pull '{one.name}' is a couple", hint="options are weighed under forces")
        return found
    forces = [p for p in machine.pulls if np.any(p.force)]
    found = tuple(p for p in forces if p.part == machine.tool.part or p.name in targets) or tuple(forces)
    if not found:
        raise MachineError("no pull has a force", hint="add a [[pull]] with part, at and force")
    return found
