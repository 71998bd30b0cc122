"""Both opinions on a section, side by side, as a table and as plain data."""

from __future__ import annotations

from typing import Any

from strongback.section.second_opinion import AGREE, Opinion, SecondOpinion
from strongback.views.tables import Column, number, signed, table

__all__ = ["opinion_as_dict", "opinion_sheet"]

SHOWN = {
    "N": ("MN", 1e-6),
    "N m^2": ("kN m²", 1e-3),
    "N m^4": ("N m⁴", 1.0),
    "m": ("mm", 1e3),
}


def opinion_sheet(found: SecondOpinion, width: int) -> str:
    """Both values of every quantity.

    Parameters
    ----------
    found : SecondOpinion
    width : int
        Columns of the terminal.

    Returns
    -------
    str
    """
    reasons = list(dict.fromkeys(row.why for row in found.rows if row.why))
    rows = [_row(row, reasons) for row in found.rows]
    columns = [
        Column("second opinion"),
        Column("here", "", "right"),
        Column("there", "", "right"),
        Column("unit"),
        Column("difference", "%", "right"),
        Column("theory"),
    ]
    lines = [table(columns, rows, width=width)]
    lines += [f"({i + 1}) its theory is another one here: {why}" for i, why in enumerate(reasons)]
    verdict = "agree within" if found.agrees else "DIFFER by more than"
    lines.append(
        f"where the theory is the same, both {verdict} {100 * AGREE:g} %\n"
        f"sectionproperties {found.version} on {found.triangles:,} triangles ({found.mesher} mesher), fills bonded"
    )
    return "\n".join(lines)


def _row(row: Opinion, reasons: list[str]) -> list[str]:
    unit, factor = SHOWN[row.unit]
    small = abs(row.own) < 1e-9 * row.scale and abs(row.second) < 1e-9 * row.scale
    values = ["0", "0"] if small else [number(v * factor, 5) for v in (row.own, row.second)]
    if row.unit == "m":
        values = [f"{v * factor + 0.0:.3f}" for v in (row.own, row.second)]
    theory = "same" if row.holds else f"({reasons.index(row.why) + 1})"
    return [row.quantity, *values, unit, signed(100 * row.difference, 3), theory]


def opinion_as_dict(found: SecondOpinion) -> dict[str, Any]:
    """Plain data of both opinions, SI."""
    return {
        "agrees": found.agrees,
        "library": "sectionproperties",
        "version": found.version,
        "triangles": found.triangles,
        "mesher": found.mesher,
        "rows": [
            {
                "quantity": row.quantity,
                "unit": row.unit,
                "own": row.own,
                "second": row.second,
                "difference": row.difference,
                "theory_holds": row.holds,
                "why": row.why,
            }
            for row in found.rows
        ],
    }
