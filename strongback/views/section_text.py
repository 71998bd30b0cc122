"""The sheet of a section in words and tables: solved values with bounds, handbook values beside."""

from __future__ import annotations

from collections.abc import Sequence

from strongback.section.handbook import HandbookValue
from strongback.section.store import SolvedSection
from strongback.section.values import Outline, SectionStiffness
from strongback.views.quantity import retold, unit_of
from strongback.views.sheet import Block
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import number, signed

__all__ = ["section_blocks", "values_table"]

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


def _five(value: float) -> str:
    return number(value, 5)


def _four(value: float) -> str:
    return number(value, 4)


def section_blocks(solved: SolvedSection, formulas: Sequence[HandbookValue], outline: Outline) -> list[Block]:
    """Stiffnesses with bounds, centres, handbook values, limits of the bond, and what it took.

    Parameters
    ----------
    solved : SolvedSection
    formulas : sequence of HandbookValue
    outline : Outline
    """
    blocks: list[Block] = [_values(solved), "", _centres(solved.stiffness), ""]
    blocks.append(_handbook(solved.stiffness, formulas))
    if solved.limits:
        blocks += ["", _limits(solved)]
    if solved.exact is not None:
        bonded = dict(solved.limits).get("bonded", solved.stiffness)
        blocks += ["", _held_sideways(bonded, solved.exact)]
    return [*blocks, "", _effort(solved, outline)]


def _values(solved: SolvedSection) -> Table:
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
    columns = (Head("quantity"), Head("value", "", number), Head("unit"), Head("known to"))
    return Table(columns=columns, rows=tuple(map(tuple, rows)))


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


def _handbook(section: SectionStiffness, formulas: Sequence[HandbookValue]) -> Table:
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
    columns = (
        Head("handbook"),
        Head("formula"),
        Head("value", "", number),
        Head("unit"),
        Head("against solved", "%", number),
    )
    return Table(columns=columns, rows=tuple(map(tuple, rows)))


def _limits(solved: SolvedSection) -> Table:
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
    columns = (
        Head("fill"),
        Head("bonded", "", number),
        Head("sliding", "", number),
        Head("unit"),
        Head("difference", "%", number),
    )
    return Table(columns=columns, rows=tuple(map(tuple, rows)))


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
