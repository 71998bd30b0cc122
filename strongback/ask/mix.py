"""What does the fill of a project's [mix] table need, and what does it do at the tool?"""

from __future__ import annotations

from pathlib import Path

from strongback.ask.source import project_of
from strongback.errors import MixError
from strongback.machine.assembled import stage
from strongback.machine.columns import Progress
from strongback.machine.part.kinds import as_beams, as_body
from strongback.machine.part.make import parts_of
from strongback.machine.values import Machine
from strongback.project.read import Project
from strongback.remedies.fill.before_after import BeforeAfter, before_after
from strongback.remedies.fill.filled import Filled
from strongback.remedies.fill.plan import FillPlan, fill_job, plan_fill

__all__ = ["DRAWS", "mix"]

DRAWS = 128
MAKING = 0.3  # of the time, until the parts are there


def mix(
    project: str | Path | Project,
    *,
    draws: int = DRAWS,
    walls: bool | None = None,
    progress: Progress | None = None,
) -> Filled:
    """From void test and bags to grams, modulus, pour and cautions, and the tool before and after.

    Parameters
    ----------
    project : str, Path or Project
        With a [mix] table.
    draws : int
        Samples of what is not known, a power of two.
    walls : bool, optional
        Whether the walls of the filled member count; default: as the project has it.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Filled

    Raises
    ------
    MixError
        If the project has no [mix] table, or its data contradict each other.

    Examples
    --------
    The demo's job takes half a minute; a project without one is told what to write:

    >>> import strongback as sb
    >>> from tempfile import TemporaryDirectory
    >>> from strongback.machine.sample import post
    >>> with TemporaryDirectory() as folder:
    ...     project = sb.read(sb.write_project(post(), folder + "/post"))
    >>> try:
    ...     mix(project)
    ... except sb.StrongbackError as error:
    ...     print(error.message)
    the project has no [mix] table
    """
    read = project_of(project)
    table = read.extras.get("mix")
    if table is None:
        raise MixError(
            "the project has no [mix] table",
            hint="write [mix] with member, cells and bags; the demo holds an example",
        )
    plan = plan_fill(table, read.machine)
    machine = _chosen(read.machine, plan.mix.member, walls)
    return Filled(machine=read.machine, plan=plan, found=_effect(machine, plan, draws, progress))


def _effect(machine: Machine, plan: FillPlan, draws: int, progress: Progress | None) -> BeforeAfter | None:
    """What the fill does at the tool; None for one that adds mass only, or without a pull."""
    job = fill_job(plan)
    if job is None or not machine.pulls:
        return None
    return before_after(
        machine,
        parts_of(machine, progress=stage(progress, 0.0, MAKING)),
        job,
        targets=dict(plan.mix.goals),
        draws=draws,
        progress=stage(progress, MAKING, 1.0),
    )


def _chosen(machine: Machine, member: str, walls: bool | None) -> Machine:
    """The machine with the filled member as the project has it, or with its walls counted or left out as asked."""
    if walls is None:
        return machine
    return as_body(machine, member) if walls else as_beams(machine, only=member)
