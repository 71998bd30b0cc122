"""Pictures of a deflection: the machine under every pull, the walls of its bodies, the budget."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from strongback.ask.source import pick
from strongback.machine.deflected import Deflected
from strongback.project.out_names import out_names
from strongback.views.budget_plot import budget_figure
from strongback.views.machine_plot import machine_figure
from strongback.views.style import Picture
from strongback.views.wall_plot import wall_figure

__all__ = ["figure", "figures"]


def figure(
    found: Deflected,
    *,
    of: Literal["machine", "budget", "walls"] = "machine",
    pull: str = "",
    body: str = "",
    magnify: float | None = None,
    width_mm: float = 160.0,
) -> Picture:
    """The machine under a pull, its budgets, or the walls of a body.

    Parameters
    ----------
    found : Deflected
    of : {"machine", "budget", "walls"}
    pull : str
        Name of the pull; default: the first.
    body : str
        Name of the member whose walls are drawn; default: the first that is a body.
    magnify : float, optional
        Of the machine, factor on the motion; give the same to pictures that are set side by side.
    width_mm : float
        Of the machine and of budgets [mm].

    Returns
    -------
    Picture

    Raises
    ------
    QuestionError
        If there is no such pull or body.
    """
    if of == "budget":
        intervals = {one.pull.name: one.interval for one in found.pulls if one.interval is not None}
        budgets = [one.budget for one in found.pulls]
        return budget_figure(found.machine, budgets, intervals=intervals, width_mm=width_mm)
    pulls = {one.pull.name: one.deflection for one in found.pulls}
    one = pulls[pick(pull, list(pulls), "pull")] if pull else found.pulls[0].deflection
    if of == "walls":
        bodies = list(found.loop.bodies)
        return wall_figure(found.loop, one, pick(body or (bodies or [""])[0], bodies, "body"))
    return machine_figure(found.loop, one, magnify=magnify, width_mm=width_mm)


def figures(found: Deflected, *, magnify: float | None = None) -> Iterator[tuple[str, Picture]]:
    """The machine under every pull, the walls of its bodies, the budget; each with the name of its file."""
    pulls, bodies = [pull.name for pull in found.machine.pulls], list(found.loop.bodies)
    wholes = out_names("machine", pulls, ".png")
    walls = out_names("walls", [(body, pull) for body in bodies for pull in pulls], ".png")
    asked = [one.pull.name for one in found.pulls]
    for pull in asked:
        yield wholes[pull], figure(found, pull=pull, magnify=magnify)
    for body in bodies:
        for pull in asked:
            yield walls[body, pull], figure(found, of="walls", body=body, pull=pull)
    yield "budget.png", figure(found, of="budget")
