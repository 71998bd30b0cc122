"""What members are solved as, and what walls that are left out would change: a line beside results, and plain data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from strongback.machine.open_closed import STIFFER, Meeting, TwistDoubt
from strongback.machine.part.kinds import PartKind
from strongback.machine.part.report import PartReport
from strongback.views.quantity import said
from strongback.views.sheet import Block, Words
from strongback.views.tables import signed

__all__ = ["kinds_words", "meeting_words", "parts_dict", "walls_blocks", "walls_words"]


def parts_dict(reports: Sequence[PartReport]) -> list[dict[str, Any]]:
    """Members as plain data; `walls_add_m` by pull, null where it is not known or nothing bears on the walls."""
    return [
        {
            "name": report.kind.name,
            "model": report.kind.model,
            "asked": report.kind.asked,
            "reason": report.kind.reason or None,
            "walls_in": report.kind.is_body,
            "walls_add_m": dict(report.walls_add) or None,
        }
        for report in reports
    ]


def walls_blocks(reports: Sequence[PartReport]) -> list[Block]:
    """`walls_words` as the end of a sheet."""
    return [Words(f"note: {words}", then="  ") for words in walls_words(reports)]


def meeting_words(meetings: Sequence[Meeting], doubts: Sequence[TwistDoubt] = ()) -> tuple[str, ...]:
    """A sentence for every member of which an open length meets a closed one without a diaphragm.

    Examples
    --------
    >>> meeting = Meeting(member="arm", at=0.15, open="channel", closed="box")
    >>> doubt = TwistDoubt(member="arm", adds=(("sideways", 2.34e-6),))
    >>> import textwrap
    >>> print(textwrap.fill(meeting_words([meeting], [doubt])[0], 72))
    "arm": beam 17-31 % too stiff in twist where an open span meets a closed
    one without a diaphragm ("channel" on "box" at 150 mm); that is at most
    +2.34 µm under "sideways"
    """
    words = []
    low, high = (f"{100 * part:.0f}" for part in STIFFER)
    for member in dict.fromkeys(m.member for m in meetings):
        where = ", ".join(
            f'"{m.open}" on "{m.closed}" at {1e3 * m.at:.4g} mm' for m in meetings if m.member == member
        )
        said = (
            f'"{member}": beam {low}-{high} % too stiff in twist where an open span meets a closed one '
            f"without a diaphragm ({where})"
        )
        adds = [a for d in doubts if d.member == member for a in d.adds]
        each = ", ".join(f'{signed(1e6 * value, 2)} µm under "{pull}"' for pull, value in adds)
        words.append(f"{said}; that is at most {each}" if each else said)
    return tuple(words)


def kinds_words(kinds: Sequence[PartKind]) -> tuple[str, ...]:
    """A line for every member that is a body, and for every beam on whose wall something bears."""
    bodies = [f'"{kind.name}" is solved as a body: its walls give' for kind in kinds if kind.is_body]
    return (*bodies, *(words for kind in kinds for words in _left_out(kind)))


def _left_out(kind: PartKind) -> tuple[str, ...]:
    """What a beam leaves out: walls that something bears on, and plates.

    Examples
    --------
    >>> kind = PartKind(name="mast", model="beam", asked="auto", reason="no pad on its walls", plates=("cap", "diaphragms"))
    >>> _left_out(kind)
    ('cap and diaphragms of "mast" left out: it is a beam (no pad on its walls)',)
    """
    what = (*(("walls",) if kind.walls else ()), " and ".join(kind.plates))
    return tuple(f'{each} of "{kind.name}" left out: it is a beam ({kind.reason})' for each in what if each)


def _two(value: float) -> str:
    return f"{value:+.2g}"


def walls_words(reports: Sequence[PartReport]) -> tuple[str, ...]:
    """A sentence for every member whose walls are left out although something bears on them.

    Examples
    --------
    >>> kind = PartKind(name="column", model="beam", asked="beam", reason='model = "beam"', walls=True)
    >>> reports = [PartReport(kind=kind, walls_add=(("sideways", 31.2e-6), ("jack", -4.1e-7)))]
    >>> import textwrap
    >>> print(textwrap.fill(walls_words(reports)[0], 72))
    walls of "column" left out: it is a beam (model = "beam"); they would
    change the tool by +31 µm under "sideways", -0.41 µm under "jack"
    """
    words: list[str] = []
    for report in reports:
        left = _left_out(report.kind)
        words += left[1:] if report.kind.walls else left
        if not report.kind.walls:
            continue
        first = left[0]
        each = ", ".join(f'{said(add, "µm", _two)} under "{pull}"' for pull, add in report.walls_add)
        words.append(f"{first}; they would change the tool by {each}" if each else first)
    return tuple(words)
