"""Pictures of sections: their outlines with centroid, shear centre and principal axes."""

from __future__ import annotations

from collections.abc import Iterator

from strongback.ask.source import pick
from strongback.project.out_names import out_names
from strongback.section.profiles import Sections
from strongback.views.section_plot import profile_figure
from strongback.views.style import Picture

__all__ = ["figure", "figures"]


def figure(found: Sections, *, section: str = "", width_mm: float = 160.0) -> Picture:
    """A section.

    Parameters
    ----------
    found : Sections
    section : str
        Its name; default: the first that has an outline.
    width_mm : float

    Returns
    -------
    Picture

    Raises
    ------
    QuestionError
        If there is no such section.
    """
    drawn = {own.name: own for own in found.sections if own.outline is not None and own.fault is None}
    own = drawn[pick(section or next(iter(drawn), ""), list(drawn), "section with an outline")]
    assert own.outline is not None
    return profile_figure(own.outline, own.stiffness, width_mm=width_mm)


def figures(found: Sections) -> Iterator[tuple[str, Picture]]:
    """Every section that was solved, with the name of its file."""
    names = out_names("section", [own.name for own in found.sections], ".png")
    for own in found.sections:
        if own.solved is not None:
            yield names[own.name], figure(found, section=own.name)
