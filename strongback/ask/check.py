"""Is the project without fault, and what in it looks like a slip?"""

from __future__ import annotations

import warnings
from pathlib import Path

from strongback.ask.source import project_of
from strongback.plausible import UnlikelySize
from strongback.project.checked import Checked, checked
from strongback.project.read import Project

__all__ = ["check"]


def check(project: str | Path | Project) -> Checked:
    """Look at a project without solving anything.

    Parameters
    ----------
    project : str, Path or Project
        The word ``demo`` means the built-in machine.

    Returns
    -------
    Checked
        Its sizes, joints in words, what each member will be solved as, and what looks like a slip.

    Raises
    ------
    ProjectError
        With every fault of the file, each with its place and what to do.
    OutlineError
        If an outline bounds no section.
    MechanismError
        If a part is free to move.

    Examples
    --------
    >>> found = check("demo")
    >>> found.faults, found.counts["members"]
    ((), 3)
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UnlikelySize)  # they are told in the answer, all of them and once
        return checked(project_of(project))
