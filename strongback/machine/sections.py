"""The sections of a machine, solved or as given."""

from __future__ import annotations

from strongback.machine.values import Machine
from strongback.section.analyse import DEFAULT_GAP
from strongback.section.mesh import Mesher
from strongback.section.store import SolvedSection, solved_section
from strongback.section.values import Outline, SectionStiffness

__all__ = ["section_stiffness", "solved_sections"]


def solved_sections(
    machine: Machine, *, tolerance: float = DEFAULT_GAP, mesher: Mesher = "auto"
) -> dict[str, SolvedSection]:
    """Every section of a machine that is given as an outline, solved.

    Parameters
    ----------
    machine : Machine
    tolerance, mesher
        As in `analyse`.

    Returns
    -------
    dict of str to SolvedSection

    Examples
    --------
    >>> from strongback.machine.sample import post
    >>> from strongback.section.shapes import rectangle
    >>> machine = post().with_section("bar", rectangle("steel", 0.04, 0.02))
    >>> round(solved_sections(machine)["bar"].stiffness.EA * 1e-6, 6)  # E b h [MN]
    168.0
    """
    return {
        name: solved_section(
            section, tolerance=tolerance, mesher=mesher, half_wave=_half_wave(machine, name, section)
        )
        for name, section in machine.sections
        if isinstance(section, Outline)
    }


def section_stiffness(
    machine: Machine, *, tolerance: float = DEFAULT_GAP, mesher: Mesher = "auto"
) -> dict[str, SectionStiffness]:
    """Stiffness of every section of a machine, by name.

    Parameters
    ----------
    machine : Machine
    tolerance, mesher
        As in `analyse`.

    Returns
    -------
    dict of str to SectionStiffness

    Examples
    --------
    >>> from strongback.machine.sample import post
    >>> section_stiffness(post())["bar"].EIx  # given, nothing to solve [N m²]
    100000.0
    """
    solved = solved_sections(machine, tolerance=tolerance, mesher=mesher)
    return {
        name: solved[name].stiffness if isinstance(section, Outline) else section
        for name, section in machine.sections
    }


def _half_wave(machine: Machine, name: str, section: Outline) -> float | None:
    """Half wave of the bending where a fill slips: twice the shortest member of that section, as a cantilever.

    Without a slip stiffness no length enters.
    """
    if not any(c.fill is not None and not isinstance(c.fill.bond, str) for c in section.cells):
        return None
    lengths = [
        sum(span.length for span in member.spans)
        for member in machine.members
        if any(span.section == name for span in member.spans)
    ]
    return 2.0 * min(lengths) if lengths else None
