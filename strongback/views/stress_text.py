"""Stress of a section in words and as plain data: largest values, where they are, how well the mesh holds them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from strongback.section.stress import LOADS, UNITS, SectionStress
from strongback.section.stress_state import PointStress, StressState
from strongback.views.tables import Column, number, table

__all__ = ["peaks_as_dict", "peaks_sheet", "state_as_dict", "state_sheet"]

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


def state_sheet(
    state: StressState, points: Sequence[PointStress], yield_strength: float | None, width: int
) -> str:
    """Stress of a combination of loads: the largest equivalent stress, and the points asked for.

    Parameters
    ----------
    state : StressState
    points : sequence of PointStress
    yield_strength : float or None
        [Pa]
    width : int
        Columns of the terminal.

    Returns
    -------
    str
    """
    loads = [
        f"{key} = {number(getattr(state.loads, key), 4)} {UNITS[key]}"
        for key in LOADS
        if getattr(state.loads, key)
    ]
    rows = [_point("largest", state.largest), *(_point(f"point {i + 1}", p) for i, p in enumerate(points))]
    columns = [
        Column("stress"),
        Column("at", "mm", "right"),
        Column("in"),
        Column("direct", "MPa", "right"),
        Column("shear x", "MPa", "right"),
        Column("shear y", "MPa", "right"),
        Column("equivalent", "MPa", "right"),
        Column("mesh ±", "MPa", "right"),
    ]
    lines = [f"under {', '.join(loads) or 'no load'}", table(columns, rows, width=width)]
    if any(p.sharp for p in points):
        lines.append(
            "* beside a sharp inner corner: the true stress has no bound there, the value hangs on the mesh"
        )
    if yield_strength is not None:
        ratio = number(state.yield_ratio(yield_strength), 3)
        strength = number(yield_strength * 1e-6, 4)
        lines.append(
            f"yield strength {strength} MPa over the largest equivalent stress: {ratio} (information)"
        )
    return "\n".join([*lines, LIMITS])


def _point(name: str, p: PointStress) -> list[str]:
    values = [v if abs(v) > 1e-6 * p.equivalent else 0.0 for v in (p.direct, *p.shear, p.equivalent)]
    kind, _, name_of = p.part.partition(" ")
    mark = "*" if p.sharp else ""
    return [
        name + mark,
        f"({_mm(p.at[0])}, {_mm(p.at[1])})",
        kind if kind == name_of else p.part,
        *(number(v * 1e-6, 4) for v in values),
        number(p.error * 1e-6, 2) if p.error > 1e-6 * p.equivalent else "0",
    ]


def state_as_dict(
    state: StressState, points: Sequence[PointStress], yield_strength: float | None
) -> dict[str, Any]:
    """Plain data of a combination, SI units in the keys."""
    return {
        "loads": {key: getattr(state.loads, key) for key in LOADS},
        "units": {key: UNITS[key].replace("²", "^2") for key in LOADS},
        "largest": point_as_dict(state.largest),
        "points": [point_as_dict(p) for p in points],
        "yield_over_largest": None if yield_strength is None else state.yield_ratio(yield_strength),
        "strength_judged": False,
    }


def point_as_dict(p: PointStress) -> dict[str, Any]:
    """Plain data of the stress at a point."""
    return {
        "at_m": list(p.at),
        "part": p.part,
        "direct_Pa": p.direct,
        "shear_Pa": list(p.shear),
        "equivalent_Pa": p.equivalent,
        "mesh_error_Pa": p.error,
        "beside_sharp_corner": p.sharp,
    }
