"""What a project holds, in words and tables: to be looked at before anything is solved."""

from __future__ import annotations

from strongback.machine.open_closed import open_meets_closed
from strongback.project.checked import Checked
from strongback.views.joints_text import joints_blocks
from strongback.views.parts_text import kinds_words, meeting_words
from strongback.views.sheet import Block, Heading, Sheet, Words
from strongback.views.sizes_text import sizes_blocks
from strongback.views.table import Head, Table

__all__ = ["counts_table", "sheet"]


def sheet(found: Checked) -> Sheet:
    """Whether it has a fault, counts, sizes, joints, what to ask of them; faults and slips beside.

    Parameters
    ----------
    found : Checked
    """
    number = len(found.faults)
    said = f"{number} fault{'s' if number > 1 else ''} in its readings" if number else "no fault found"
    blocks: list[Block] = [Heading(f"{found.machine.name}: {said}")]
    if found.note:
        blocks.append(found.note)
    blocks += ["", counts_table(found), "", *sizes_blocks(found.sizes), "", *joints_blocks(found.joints)]
    if found.to_ask:
        blocks += ["", Words("In no range; look, and write it as [[joint.play]] or [[joint.opens]]:")]
        blocks += [Words(line, first="- ", then="  ") for line in found.to_ask]
    blocks += kinds_words(found.parts)
    blocks += [Words(line, then="  ") for line in meeting_words(open_meets_closed(found.machine))]
    slips = [f"unlikely: {slip.text}" for slip in found.warnings]
    return Sheet(tuple(blocks), notes=(*slips, *found.faults))


def counts_table(found: Checked) -> Table:
    """How many of each table the project has."""
    rows = tuple((name, float(count)) for name, count in found.counts.items() if count)
    return Table(columns=(Head("what"), Head("number", show=lambda v: f"{v:.0f}")), rows=rows)
