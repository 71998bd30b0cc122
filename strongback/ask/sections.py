"""How stiff are the sections of a machine, or a profile alone?"""

from __future__ import annotations

from pathlib import Path

from strongback.ask.source import project_of
from strongback.errors import ProjectError, StrongbackError
from strongback.machine.values import Machine
from strongback.project.read import Project, read_sections
from strongback.section.analyse import DEFAULT_GAP
from strongback.section.mesh import Mesher
from strongback.section.profiles import Sections, profile
from strongback.section.values import Outline, SectionStiffness

__all__ = ["sections"]


def sections(
    project: str | Path | Project | Machine | Outline,
    *,
    tolerance: float = DEFAULT_GAP,
    mesher: Mesher = "auto",
    second_opinion: bool = False,
) -> Sections:
    """Stiffness of every section with bounds, handbook values and catalogue numbers beside.

    Parameters
    ----------
    project : str, Path, Project, Machine or Outline
        Of a project with faults those sections that have none; of an outline, that alone.
    tolerance : float
        Relative gap between the bounds of GJ.
    mesher : {"auto", "built-in", "triangle"}
    second_opinion : bool
        Whether each is solved by the library sectionproperties, too.

    Returns
    -------
    Sections
        What is wrong with one section stands beside the others.

    Raises
    ------
    ProjectError
        If no section of the project can be read.

    Examples
    --------
    >>> from strongback.section.shapes import rectangle
    >>> found = sections(rectangle("steel", 0.02, 0.03))
    >>> round(found.sections[0].stiffness.EA * 1e-6, 6)  # 210 GPa on 600 mm² [MN]
    126.0
    """
    chosen, fault = _chosen(project)
    found = tuple(
        profile(name, section, tolerance=tolerance, mesher=mesher, opinion=second_opinion)
        for name, section in chosen
    )
    return Sections(sections=found, fault=fault or next((own.fault for own in found if own.fault), None))


def _chosen(
    project: str | Path | Project | Machine | Outline,
) -> tuple[list[tuple[str, Outline | SectionStiffness]], StrongbackError | None]:
    """The sections that are meant, and what was wrong with the others."""
    if isinstance(project, Outline):
        return [(project.name, project)], None
    if isinstance(project, Machine):
        return list(project.sections), None
    try:
        return list(project_of(project).machine.sections), None
    except ProjectError as error:
        if isinstance(project, Project) or not error.faults:
            raise
        known = read_sections(project)
        if not known:
            raise
        return list(known.items()), error
