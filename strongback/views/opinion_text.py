"""Both opinions on a section, side by side, as a table."""

from __future__ import annotations

from strongback.section.second_opinion import AGREE, Opinion, SecondOpinion
from strongback.views.sheet import Block
from strongback.views.table import Head, Table
from strongback.views.tables import number, signed

__all__ = ["opinion_sheet"]

SHOWN = {
    "N": ("MN", 1e-6),
    "N m^2": ("kN m²", 1e-3),
    "N m^4": ("N m⁴", 1.0),
    "m": ("mm", 1e3),
}


def opinion_sheet(found: SecondOpinion) -> list[Block]:
    """Both values of every quantity.

    Parameters
    ----------
    found : SecondOpinion
    """
    reasons = list(dict.fromkeys(row.why for row in found.rows if row.why))
    columns = (
        Head("second opinion"),
        Head("here", show=number),
        Head("there", show=number),
        Head("unit"),
        Head("difference", "%", number),
        Head("theory"),
    )
    verdict = "agree within" if found.agrees else "DIFFER by more than"
    return [
        Table(columns=columns, rows=tuple(tuple(_row(row, reasons)) for row in found.rows)),
        *(f"({i + 1}) its theory is another one here: {why}" for i, why in enumerate(reasons)),
        f"where the theory is the same, both {verdict} {100 * AGREE:g} %",
        f"sectionproperties {found.version} on {found.triangles:,} triangles ({found.mesher} mesher), fills bonded",
    ]


def _row(row: Opinion, reasons: list[str]) -> list[str]:
    unit, factor = SHOWN[row.unit]
    small = abs(row.own) < 1e-9 * row.scale and abs(row.second) < 1e-9 * row.scale
    values = ["0", "0"] if small else [number(v * factor, 5) for v in (row.own, row.second)]
    if row.unit == "m":
        values = [f"{v * factor + 0.0:.3f}" for v in (row.own, row.second)]
    theory = "same" if row.holds else f"({reasons.index(row.why) + 1})"
    return [row.quantity, *values, unit, signed(100 * row.difference, 3), theory]
