"""What a question is asked of, and the names in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeAlias

from strongback.checks import closest
from strongback.errors import MachineError, QuestionError
from strongback.machine.values import Machine, Pull
from strongback.project.read import Project, read

__all__ = ["Names", "Source", "chosen_pulls", "machine_of", "names_of", "pick", "project_of"]

Source: TypeAlias = str | Path | Project | Machine
"""A project, the path of one (the word ``demo`` is the built-in one), or a machine."""
Names: TypeAlias = str | Sequence[str]
ONE_LINE = 160  # letters of names; more of them are listed one a line


def project_of(what: Source) -> Project:
    """The project that is meant.

    Raises
    ------
    QuestionError
        If it is a machine: what was measured of it or is to be done with it stands in a project.
    """
    if isinstance(what, Machine):
        raise QuestionError(
            "this is asked of a project, not of a machine", hint="give a path, or sb.read(path)"
        )
    return what if isinstance(what, Project) else read(what)


def machine_of(what: Source) -> Machine:
    """The machine that is meant."""
    return what if isinstance(what, Machine) else project_of(what).machine


def names_of(names: Names) -> tuple[str, ...]:
    """One name or several as several."""
    return (names,) if isinstance(names, str) else tuple(names)


def pick(word: str, known: Sequence[str], what: str) -> str:
    """One of some names.

    Parameters
    ----------
    word : str
    known : sequence of str
    what : str
        What it is called, such as ``"pull"``.

    Returns
    -------
    str

    Raises
    ------
    QuestionError
        With the nearest name and the others.

    Examples
    --------
    >>> pick("sidewys", ["sideways", "jack"], "pull")
    Traceback (most recent call last):
        ...
    strongback.errors.QuestionError: there is no pull 'sidewys' (there are: sideways, jack). Did you mean 'sideways'?
    """
    if word in known:
        return word
    close = closest(word, known, 0.5)
    near = f" Did you mean '{close}'?" if close else ""
    if sum(map(len, known)) > ONE_LINE:
        listed = "\n".join(f"  {each}" for each in known)
        raise QuestionError(f"there is no {what} '{word}'.{near}\nThere are:\n{listed}")
    listed = ", ".join(known) if known else "none"
    raise QuestionError(f"there is no {what} '{word}' (there are: {listed}).{near}")


def with_pulls(machine: Machine, pull: Names | Pull | Sequence[Pull]) -> tuple[Machine, tuple[Pull, ...]]:
    """A machine with the pulls that are given as values among its own, and what is asked of it.

    Parameters
    ----------
    machine : Machine
    pull : str, Pull, or sequence of these
        Names of its own pulls, and pulls of the caller; none asks for all of its own.

    Returns
    -------
    machine : Machine
    pulls : tuple of Pull

    Examples
    --------
    >>> from strongback.machine.sample import post
    >>> more = Pull(name="up", part="post", at=(0, 0, 0.6), force=(0, 0, 10.0))
    >>> machine, pulls = with_pulls(post(), [more])
    >>> len(machine.pulls), [one.name for one in pulls]
    (2, ['up'])
    """
    items: list[str | Pull] = [pull] if isinstance(pull, str | Pull) else list(pull)
    own = {one.name: one for one in items if isinstance(one, Pull)}
    if own:
        kept = [one for one in machine.pulls if one.name not in own]
        machine = replace(machine, pulls=(*kept, *own.values()))
    return machine, chosen_pulls(machine, [one.name if isinstance(one, Pull) else one for one in items])


def chosen_pulls(machine: Machine, names: Names = ()) -> tuple[Pull, ...]:
    """The pulls of some names, or all.

    Raises
    ------
    MachineError
        If the machine has none.
    QuestionError
        If it has none of that name.
    """
    if not machine.pulls:
        raise MachineError("the project has no pull", hint="add a [[pull]] with part, at and force")
    every = {pull.name: pull for pull in machine.pulls}
    return tuple(every[pick(name, list(every), "pull")] for name in names_of(names)) or machine.pulls
