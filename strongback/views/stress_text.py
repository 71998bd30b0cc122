"""Stress of a section in words and as plain data: largest values, where they are, how well the mesh holds them."""

from __future__ import annotations

from typing import Any

from strongback.section.stress import UNITS, SectionStress
from strongback.views.tables import Column, number, table

__all__ = ["peaks_as_dict", "peaks_sheet"]

WORDS = {
    "N": "axial force",
    "Vx": "shear force along x",
    "Vy": "shear force along y",
    "Mx": "moment about x",
    "My": "moment about y",
    "T": "torque, warping free",
    "T2": "torque of held warping",
    "B": "bimoment",
}
LIMITS = (
    "Stress is told to show where a load runs. Strength is not judged: notches, welds,\n"
    "buckling and fatigue are not in these figures."
)


def peaks_sheet(found: SectionStress, width: int) -> str:
    """Largest stress of each unit load as a table.

    Parameters
    ----------
    found : SectionStress
    width : int
        Columns of the terminal.

    Returns
    -------
    str
    """
    rows = [
        [
            WORDS[p.load],
            p.kind,
            number(p.value * 1e-6, 4),
            f"MPa per {UNITS[p.load]}",
            f"({_mm(p.at[0])}, {_mm(p.at[1])})",
            "-" if p.moved is None else f"{100 * p.moved:.2f}",
        ]
        for p in found.peaks
    ]
    columns = [
        Column("load"),
        Column("stress"),
        Column("largest", "", "right"),
        Column("unit"),
        Column("at", "mm", "right"),
        Column("moved", "%", "right"),
    ]
    return f"{table(columns, rows, width=width)}\n{_held(found)}\n{LIMITS}"


def _held(found: SectionStress) -> str:
    words = f"moved: at most, in the last two refinements, to {len(found.mesh.triangles):,} triangles"
    if not found.converged:
        words += "; some still move by more than asked for,\ntake them for orders of magnitude"
    sharp = sum(radius > 0.0 for *_, radius in found.corners)
    if sharp:
        words += (
            f"\n{sharp} re-entrant corners: no largest value is taken within a quarter of wall and side around\n"
            "them, where the stress of a sharp corner has no bound"
        )
    return words


def _mm(length: float) -> str:
    text = f"{length * 1e3:.1f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def peaks_as_dict(found: SectionStress) -> dict[str, Any]:
    """Plain data of the largest stresses, SI units in the keys."""
    return {
        "converged": found.converged,
        "triangles": len(found.mesh.triangles),
        "reentrant_corners": len(found.corners),
        "peaks": [
            {
                "load": p.load,
                "stress": p.kind,
                "largest_Pa_per_unit": p.value,
                "unit": UNITS[p.load].replace("²", "^2"),
                "at_m": list(p.at),
                "moved": p.moved,
            }
            for p in found.peaks
        ],
    }
