"""The machine made ready for commands, and the line about walls that are left out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from strongback.cli.common import note, progress

if TYPE_CHECKING:
    from strongback.machine.assembled import Assembled
    from strongback.machine.part.report import PartReport
    from strongback.machine.values import Machine

__all__ = ["assembled", "note_walls", "say_walls"]


def assembled(machine: Machine, *, contact: bool = False) -> Assembled:
    """Make the parts, the contact under pads as a variable where it is asked for, and assemble the loop."""
    from strongback.machine import assembled as room

    with progress("walls") as step:
        return room.assembled(machine, contact=contact, progress=step)


def note_walls(ready: Assembled) -> None:
    """Say on stderr which walls are left out, and by how much they would change the tool."""
    say_walls(ready.reports)


def say_walls(reports: Sequence[PartReport]) -> None:
    """The same of members as they are reported."""
    from strongback.views.parts_text import walls_words

    for words in walls_words(reports):
        note(f"note: {words}")
