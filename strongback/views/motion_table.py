"""Where everything goes under a pull: the tool against the work, and every station, interface and block."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from strongback.machine.cases import CaseResult
from strongback.machine.named_points import named_motions
from strongback.machine.room import Operator, motions_of_room
from strongback.views.quantity import scale, system, unit_of
from strongback.views.shape import Moved
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import signed

__all__ = ["lever_note", "motion_heads", "motion_table", "six_shown"]

UM = 1e6
LEVER = 1e5  # rad to µm per 100 mm
ROOM = ("along X", "along Y", "along Z", "about X", "about Y", "about Z")


def motion_heads(operator: Operator | None = None) -> tuple[Head, ...]:
    """Heads of three displacements and three rotations about the axes of the room.

    Parameters
    ----------
    operator : {"-y", "+y", "-x", "+x"}, optional
        Where the operator stands; without, the motions are called by their axes.

    Examples
    --------
    >>> [head.label for head in motion_heads("-y")][2:4]
    ['up [µm]', 'nod [µm/100 mm]']
    """
    if operator is None:
        names: tuple[str, ...] = ROOM
    else:
        names = motions_of_room(operator)
    return tuple(Head(name, "µm" if k < 3 else "µm/100 mm", signed) for k, name in enumerate(names))


def lever_note() -> str:
    """What the signs are, and what a turn is in radians.

    Examples
    --------
    >>> lever_note()
    'Signs along and about +X, +Y and +Z. Turns as what they move 100 mm away: 1 µm/100 mm is 10.0 µrad.'
    """
    away = "100 mm" if system() == "mm" else "a foot"
    one = scale("µm/100 mm") * 1e6
    return (
        f"Signs along and about +X, +Y and +Z. Turns as what they move {away} away: 1 {unit_of('µm/100 mm')} is "
        f"{one:.1f} µrad."
    )


def six_shown(displacement: NDArray[np.float64], rotation: NDArray[np.float64]) -> list[float]:
    """Displacement and rotation in the units of `motion_heads`.

    Examples
    --------
    >>> [round(v, 9) for v in six_shown(np.array([1e-6, 0.0, 0.0]), np.array([0.0, 0.0, 5e-5]))]
    [1.0, 0.0, 0.0, 0.0, 0.0, 5.0]
    """
    return [*(float(v) for v in displacement * UM), *(float(v) for v in rotation * LEVER)]


def motion_table(deflection: Moved) -> Table:
    """Displacement and rotation of the tool against the work, of every point of every part, and, under a case, of every
    point that has a name.

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
        *motion_heads(),
    )
    tool = six_shown(deflection.tool_displacement, deflection.tool_rotation)
    rows: list[tuple[Cell, ...]] = [("tool against work", None, None, None, *tool)]
    for part in deflection.parts:
        for point, u, r in zip(part.points, part.displacement, part.rotation, strict=True):
            rows.append((part.part, *map(float, point * 1e3), *six_shown(u, r)))
    if isinstance(deflection, CaseResult):
        for own in named_motions(deflection):
            label = own.point if own.point.endswith(f"on {own.part}") else f"{own.point} on {own.part}"
            six = six_shown(np.array(own.displacement), np.array(own.rotation))
            rows.append((label, *(1e3 * v for v in own.at), *six))
    return Table(columns=columns, rows=tuple(rows), title=f"under {deflection.name}")
