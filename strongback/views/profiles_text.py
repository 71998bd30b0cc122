"""The sheet of every section: solved values with bounds, handbook, catalogue, second opinion."""

from __future__ import annotations

from strongback.section.profiles import Profile, Sections
from strongback.views.catalogue_text import catalogue_sheet
from strongback.views.opinion_text import opinion_sheet
from strongback.views.section_text import section_blocks
from strongback.views.sheet import Block, Heading, Sheet

__all__ = ["profile_blocks", "sheet"]


def sheet(found: Sections) -> Sheet:
    """Every section, one after the other; those that could not be solved beside.

    Parameters
    ----------
    found : Sections
    """
    blocks = [block for own in found.sections if own.fault is None for block in profile_blocks(own)]
    notes = tuple(f'section "{own.name}" is left out: {own.fault}' for own in found.sections if own.fault)
    return Sheet(tuple(blocks), notes=notes)


def profile_blocks(own: Profile) -> list[Block]:
    """One section."""
    blocks: list[Block] = [Heading(f"section {own.name}")]
    if own.given is not None:
        return [*blocks, "given by its stiffness in the project file, nothing to solve", ""]
    if own.solved is not None and own.outline is not None:
        blocks += [*section_blocks(own.solved, own.formulas, own.outline), ""]
    if own.catalogue is not None:
        blocks += [*catalogue_sheet(own.catalogue), ""]
    if own.opinion is not None:
        blocks += [*opinion_sheet(own.opinion), ""]
    return blocks
