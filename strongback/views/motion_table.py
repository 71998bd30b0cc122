"""Where everything goes under a pull: the tool against the work, and every station, interface and block."""

from __future__ import annotations

import numpy as np

from strongback.views.shape import Moved
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import signed

__all__ = ["motion_table"]

UM = 1e6


def motion_table(deflection: Moved) -> Table:
    """Displacement and rotation of the tool against the work and of every point of every part.

    Parameters
    ----------
    deflection : Deflection or CaseResult

    Returns
    -------
    Table
    """
    columns = (
        Head("part"),
        *(Head(f"at {axis}", "mm", lambda v: f"{v:.0f}") for axis in "XYZ"),
        *(Head(axis, "µm", signed) for axis in "XYZ"),
        *(Head(name, "µrad", signed) for name in ("nod", "side tilt", "yaw")),
    )
    tool = [*deflection.tool_displacement * UM, *deflection.tool_rotation * UM]
    rows: list[tuple[Cell, ...]] = [("tool against work", None, None, None, *map(float, tool))]
    for part in deflection.parts:
        for point, u, r in zip(part.points, part.displacement, part.rotation, strict=True):
            rows.append((part.part, *map(float, np.concatenate([point * 1e3, u * UM, r * UM]))))
    return Table(columns=columns, rows=tuple(rows), title=f"under {deflection.name}")
