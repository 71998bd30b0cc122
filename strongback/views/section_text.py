"""The sheet of a section as text and as plain data: solved values with bounds, handbook values beside."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from strongback.section.handbook import HandbookValue
from strongback.section.store import SolvedSection
from strongback.section.values import Outline, SectionStiffness
from strongback.views.quantity import retold, unit_of
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import Column, number, signed, table

__all__ = ["as_dict", "sheet", "values_table"]

ROWS = (
    ("EA", "axial stiffness EA", "MN", 1e-6),
    ("EIx", "bending stiffness EIx", "kN m²", 1e-3),
    ("EIy", "bending stiffness EIy", "kN m²", 1e-3),
    ("EIxy", "bending coupling EIxy", "kN m²", 1e-3),
    ("GJ", "torsion stiffness GJ", "kN m²", 1e-3),
    ("EGamma", "warping stiffness EGamma", "N m⁴", 1.0),
    ("kGAx", "shear stiffness kGAx", "MN", 1e-6),
    ("kGAy", "shear stiffness kGAy", "MN", 1e-6),
)
SCALE = {key: (unit, factor) for key, _, unit, factor in ROWS}
LIMIT_KEYS = ("EA", "EIx", "EIy", "GJ", "EGamma", "kGAx", "kGAy")


def sheet(solved: SolvedSection, formulas: Sequence[HandbookValue], outline: Outline, width: int) -> str:
    """The sheet of a section.

    Parameters
    ----------
    solved : SolvedSection
    formulas : sequence of HandbookValue
    outline : Outline
    width : int
        Columns of the terminal.

    Returns
    -------
    str
    """
    blocks = [
        _values(solved, width),
        _centres(solved.stiffness),
        _handbook(solved.stiffness, formulas, width),
    ]
    if solved.limits:
        blocks.append(_limits(solved, width))
    if solved.exact is not None:
        blocks.append(_held_sideways(dict(solved.limits).get("bonded", solved.stiffness), solved.exact))
    blocks.append(_effort(solved, outline))
    return "\n\n".join(blocks)


def _five(value: float) -> str:
    return number(value, 5)


def _four(value: float) -> str:
    return number(value, 4)


def _values(solved: SolvedSection, width: int) -> str:
    section, errors = solved.stiffness, dict(solved.errors)
    rows = []
    for key, words, unit, factor in ROWS:
        known = "exact for the outline"
        if key == "GJ":
            low, high = (retold(v * factor, unit, _five) for v in (solved.GJ_lower, solved.GJ_upper))
            known = f"between {low} and {high}"
        elif key in errors:
            known = f"± {number(100 * errors[key], 2)} % (estimate)"
        value = getattr(section, key)
        if key == "EIxy" and abs(value) < 1e-9 * (section.EIx + section.EIy):
            value = 0.0  # rounding of a symmetric section
        rows.append([words, retold(value * factor, unit, _five), unit_of(unit), known])
    mass = retold(section.mass_per_length, "kg/m", _five)
    rows.append(["mass per length", mass, unit_of("kg/m"), "by area and density"])
    columns = [Column("quantity"), Column("value", "", "right"), Column("unit"), Column("known to")]
    return table(columns, rows, width=width)


def values_table(section: SectionStiffness) -> Table:
    """Stiffnesses and mass of a section.

    Parameters
    ----------
    section : SectionStiffness
    """
    rows: list[tuple[Cell, ...]] = [
        (words, getattr(section, key) * factor, unit) for key, words, unit, factor in ROWS
    ]
    rows.append(("mass per length", section.mass_per_length, "kg/m"))
    columns = (Head("quantity"), Head("value", show=lambda v: number(v, 5)), Head("unit"))
    return Table(columns=columns, rows=tuple(rows), title=section.name)


def _centres(section: SectionStiffness) -> str:
    (x, y), (sx, sy) = section.centroid, section.shear_centre
    return (
        f"centroid ({_mm(x)}, {_mm(y)}) {unit_of('mm')}, shear centre ({_mm(sx)}, {_mm(sy)}) {unit_of('mm')}\n"
        "in the axes of the drawing"
    )


def _mm(length: float) -> str:
    text = retold(length * 1e3, "mm", lambda v: f"{v:.2f}")
    return text.lstrip("-") if float(text) == 0.0 else text


def _handbook(section: SectionStiffness, formulas: Sequence[HandbookValue], width: int) -> str:
    rows = []
    for value in formulas:
        unit, factor = SCALE[value.quantity]
        solved = getattr(section, value.quantity)
        rows.append(
            [
                value.quantity,
                value.formula,
                retold(value.value * factor, unit, _four),
                unit_of(unit),
                signed(100 * (value.value / solved - 1.0)),
            ]
        )
    columns = [
        Column("handbook"),
        Column("formula"),
        Column("value", "", "right"),
        Column("unit"),
        Column("against solved", "%", "right"),
    ]
    return table(columns, rows, width=width)


def _limits(solved: SolvedSection, width: int) -> str:
    """The section with its fills bonded and sliding, beside each other."""
    limits = dict(solved.limits)
    bonded, sliding = limits["bonded"], limits["sliding"]
    rows = []
    for key in LIMIT_KEYS:
        unit, factor = SCALE[key]
        a, b = getattr(bonded, key), getattr(sliding, key)
        rows.append(
            [
                key,
                retold(a * factor, unit, _four),
                retold(b * factor, unit, _four),
                unit_of(unit),
                signed(100 * (b / a - 1.0)) if a else "-",
            ]
        )
    columns = [
        Column("fill"),
        Column("bonded", "", "right"),
        Column("sliding", "", "right"),
        Column("unit"),
        Column("difference", "%", "right"),
    ]
    return table(columns, rows, width=width)


def _held_sideways(bonded: SectionStiffness, exact: SectionStiffness) -> str:
    """What unlike Poisson's ratios add to the transformed section."""
    more = [
        f"{key} {100 * (getattr(exact, key) / getattr(bonded, key) - 1.0):+.2f} %"
        for key in ("EA", "EIx", "EIy")
    ]
    return "bonded materials hold each other sideways (Poisson's ratios):\n" + ", ".join(more)


def _effort(solved: SolvedSection, outline: Outline) -> str:
    filled = [f"{cell.name}: {_bond(cell.fill.bond)}" for cell in outline.cells if cell.fill is not None]
    fills = f"; fill {', '.join(filled)}" if filled else ""
    source = "from the cache" if solved.cached else f"solved in {solved.seconds:.2f} s"
    return f"{solved.elements:,} triangles, bounds of GJ {100 * solved.gap:.3f} % apart, {source}{fills}"


def _bond(bond: str | float) -> str:
    return bond if isinstance(bond, str) else f"slips at {bond / 1e9:g} N/mm³"


def as_dict(solved: SolvedSection, formulas: Sequence[HandbookValue]) -> dict[str, Any]:
    """Plain data of a section, SI units in the keys."""
    return {
        **_constants(solved.stiffness),
        "GJ_lower_N_m2": solved.GJ_lower,
        "GJ_upper_N_m2": solved.GJ_upper,
        "error_estimates": dict(solved.errors),
        "elements": solved.elements,
        "handbook": {
            f"{value.quantity}: {value.formula}": {
                "value": value.value,
                "unit": "N" if value.quantity == "EA" else "N m^2",
                "difference": value.value / getattr(solved.stiffness, value.quantity) - 1.0,
            }
            for value in formulas
        },
        "bond": {kind: _constants(section) for kind, section in solved.limits},
        **({} if solved.exact is None else {"exact": _constants(solved.exact)}),
    }


def run_dict(solved: SolvedSection) -> dict[str, Any]:
    """What differs from run to run while the numbers stay: time, and whether it was found now."""
    return {"seconds": solved.seconds, "cached": solved.cached}


def _constants(section: SectionStiffness) -> dict[str, Any]:
    return {
        "name": section.name,
        "EA_N": section.EA,
        "EIx_N_m2": section.EIx,
        "EIy_N_m2": section.EIy,
        "EIxy_N_m2": section.EIxy,
        "GJ_N_m2": section.GJ,
        "EGamma_N_m4": section.EGamma,
        "kGAx_N": section.kGAx,
        "kGAy_N": section.kGAy,
        "centroid_m": list(section.centroid),
        "shear_centre_m": list(section.shear_centre),
        "mass_per_length_kg_per_m": section.mass_per_length,
    }


def given(section: SectionStiffness) -> dict[str, Any]:
    """Plain data of a section that was given by its stiffness."""
    return {**_constants(section), "handbook": {}, "bond": {}, "given": True}
