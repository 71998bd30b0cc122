"""The compliance of the tool over the work space in words and as a table."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strongback.machine.workspace import ComplianceMap, WorkPoint
from strongback.views.sheet import Heading, Sheet
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import number

__all__ = ["DIRECTIONS", "map_table", "sheet"]

DIRECTIONS = ("along X", "along Y", "along Z")


def sheet(found: ComplianceMap) -> Sheet:
    """The compliance at every position.

    Parameters
    ----------
    found : ComplianceMap
    """
    head = Heading(f"{found.machine.name}: compliance of the tool over the work space")
    return Sheet((head, map_table(found.points)))


def map_table(points: Sequence[WorkPoint]) -> Table:
    """The compliance at every position, along X, Y and Z and in the softest direction."""

    def thousandths(value: float) -> str:
        return f"{value:.3f}"

    columns = [Head(name, "mm", lambda v: f"{v:.0f}") for name, _ in points[0].position]
    columns += [Head(label, "µm/N", thousandths) for label in (*DIRECTIONS, "softest")]
    columns.append(Head("softest direction", "x, y, z", number))
    rows: list[tuple[Cell, ...]] = []
    for point in points:
        x, y, z = np.round(point.directions[0], 2) + 0.0  # no -0.00
        rows.append(
            (
                *(d * 1e3 for _, d in point.position),
                *(float(v) * 1e6 for v in np.diag(point.compliance)),
                float(point.principal[0]) * 1e6,
                f"{x:+.2f}, {y:+.2f}, {z:+.2f}",
            )
        )
    return Table(columns=tuple(columns), rows=tuple(rows))
