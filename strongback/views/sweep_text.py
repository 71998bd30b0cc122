"""A sweep in words: how far responses spread, which numbers cause it, what could not be solved."""

from __future__ import annotations

from strongback.ask.sweep import Planned, Swept
from strongback.views.sheet import Block, Heading, Sheet, Words
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import number, percent

__all__ = ["sheet"]

UM = 1e6
MOST_FAULTS = 5


def sheet(found: Swept | Planned) -> Sheet:
    """What a sweep has found, or what it would take.

    Parameters
    ----------
    found : Swept or Planned
    """
    if isinstance(found, Planned):
        words = f"{found.points:,} points in {found.blocks:,} blocks; some {number(found.seconds, 2)} s of one worker, "
        return Sheet(
            (
                Heading("What the sweep would take"),
                Words(f"{words}{found.memory / 2**20:.0f} MB in the parent."),
            )
        )
    columns = (
        Head("response"),
        Head("2.5 %", "µm", lambda v: number(v, 4)),
        Head("middle", "µm", lambda v: number(v, 4)),
        Head("97.5 %", "µm", lambda v: number(v, 4)),
    )
    rows: list[tuple[Cell, ...]] = [
        (q.response.removesuffix(" [m]"), q.low * UM, q.middle * UM, q.high * UM) for q in found.spread
    ]
    blocks: list[Block] = [Heading(f"Sweep of {found.points:,} points over {', '.join(found.variables)}")]
    blocks.append(Table(columns=columns, rows=tuple(rows)))
    if found.sensitivities:
        heads = (Head("number"), Head("response"), Head("alone", "%", percent), Head("in all", "%", percent))
        shares: list[tuple[Cell, ...]] = [
            (s.variable, s.response.removesuffix(" [m]"), s.first, s.total) for s in found.sensitivities
        ]
        blocks += ["", Heading("Share in the variance"), Table(columns=heads, rows=tuple(shares))]
    if found.failed:
        blocks += ["", Heading(f"{len(found.failed)} blocks could not be solved")]
        blocks += [Words(f"block {n}: {why}", then="  ") for n, why in found.failed[:MOST_FAULTS]]
    if found.store:
        blocks += ["", f"kept in {found.store}"]
    return Sheet(tuple(blocks))
