"""Pictures of cases: the machine under each, and the diagrams of the forces in its members."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from strongback.ask.source import pick
from strongback.machine.loaded import Loaded
from strongback.project.out_names import out_names
from strongback.views.forces_plot import forces_figure
from strongback.views.machine_plot import machine_figure
from strongback.views.style import Picture

__all__ = ["figure", "figures"]


def figure(
    found: Loaded,
    *,
    of: Literal["machine", "forces"] = "machine",
    case: str = "",
    magnify: float | None = None,
    width_mm: float = 160.0,
) -> Picture:
    """The machine under a case, or the forces in its members.

    Parameters
    ----------
    found : Loaded
    of : {"machine", "forces"}
    case : str
        Its name; default: the first.
    magnify : float, optional
        Of the machine, factor on the motion.
    width_mm : float

    Returns
    -------
    Picture

    Raises
    ------
    QuestionError
        If there is no such case.
    """
    names = [one.name for one in found.cases]
    one = found[pick(case or names[0], names, "case")]
    if of == "forces":
        return forces_figure(one, width_mm=width_mm)
    return machine_figure(one.loop, one, magnify=magnify, width_mm=width_mm)


def figures(found: Loaded) -> Iterator[tuple[str, Picture]]:
    """The machine and its diagrams under every case, each with the name of its file."""
    wholes, diagrams = (out_names(kind, found.known, ".png") for kind in ("case", "forces"))
    for one in found.cases:
        yield wholes[one.name], figure(found, case=one.name)
        if one.members:
            yield diagrams[one.name], figure(found, of="forces", case=one.name)
