"""Catalogue numbers as a table in mm and as plain data."""

from __future__ import annotations

import math
from typing import Any

from strongback.section.catalogue import Catalogue
from strongback.section.values import Point2
from strongback.views.quantity import retold, unit_of
from strongback.views.table import Head, Table
from strongback.views.tables import Column, number, table
from strongback.views.wrap import fill

__all__ = ["catalogue_as_dict", "catalogue_sheet", "catalogue_table"]

CENTRES = (
    "Trefftz's: where bending and twist exchange no energy; warping constant and all that is computed here "
    "hold about it. Elastic: with Poisson's ratio, as some tables and programs print it."
)
UNITS = {"EA": "N", "EIx": "N_m2", "EIy": "N_m2", "EIxy": "N_m2", "GJ": "N_m2"}
APART = (
    "separate parts that touch nowhere: EA and EI hold if something keeps them in one plane (plates, welded "
    "lugs); torsion is the sum of each by itself. There is no shear centre, warping or shear stiffness of all."
)


def rows_of(found: Catalogue) -> list[tuple[str, str, float, str]]:
    """Key, words, value and unit of every number in mm; what does not exist is left out."""
    rows: list[tuple[str, str, float | None, str]] = [
        ("A", "area", found.A, "mm^2"),
        ("Ix", "second moment about x", found.Ix, "mm^4"),
        ("Iy", "second moment about y", found.Iy, "mm^4"),
        ("Ixy", "product of inertia", found.Ixy, "mm^4"),
        ("I1", "principal, larger", found.I1, "mm^4"),
        ("I2", "principal, smaller", found.I2, "mm^4"),
        ("It", "torsion constant", found.It, "mm^4"),
        ("Iw", "warping constant", found.Iw, "mm^6"),
        ("ix", "radius of gyration about x", found.radius(found.Ix), "mm"),
        ("iy", "radius of gyration about y", found.radius(found.Iy), "mm"),
        ("i1", "radius of gyration about axis 1", found.radius(found.I1), "mm"),
        ("i2", "radius of gyration about axis 2", found.radius(found.I2), "mm"),
        ("ip", "polar, about the shear centre", found.polar_radius, "mm"),
        ("W_top", "modulus about x, highest point", found.W_top, "mm^3"),
        ("W_bottom", "modulus about x, lowest point", found.W_bottom, "mm^3"),
        ("W_right", "modulus about y, point at most x", found.W_right, "mm^3"),
        ("W_left", "modulus about y, point at least x", found.W_left, "mm^3"),
        ("W1", "least modulus about axis 1", found.W1, "mm^3"),
        ("W2", "least modulus about axis 2", found.W2, "mm^3"),
        ("Asx", "shear area, force along x", found.shear_area_x, "mm^2"),
        ("Asy", "shear area, force along y", found.shear_area_y, "mm^2"),
    ]
    scale = {"mm": 1e3, "mm^2": 1e6, "mm^3": 1e9, "mm^4": 1e12, "mm^6": 1e18}
    return [(key, words, v * scale[unit], unit) for key, words, v, unit in rows if v is not None]


def catalogue_sheet(found: Catalogue, width: int) -> str:
    """Catalogue numbers as text.

    Parameters
    ----------
    found : Catalogue
    width : int
        Columns of the terminal.

    Returns
    -------
    str
    """
    rows = [
        [key, words, retold(value, _plain(unit), _five), unit_of(_plain(unit))]
        for key, words, value, unit in rows_of(found)
    ]
    columns = [Column("catalogue"), Column(""), Column("value", "", "right"), Column("unit")]
    lines = [table(columns, rows, width=width), _axes(found)]
    if found.parts > 1:
        told = [
            f"{key} {retold(value * scale, unit, _five)} {unit_of(unit)}"
            for key, value, scale, unit in _together(found)
        ]
        lines.append(fill(f"{', '.join(told)}; centroid {_at(found.centroid)} {unit_of('mm')}", width))
        lines.append(fill(f"{found.parts} {APART}", width))
    else:
        assert found.shear_centre is not None
        assert found.elastic_shear_centre is not None
        lines.append(
            f"shear centre {_at(found.shear_centre)} {unit_of('mm')} by Trefftz, "
            f"{_at(found.elastic_shear_centre)} {unit_of('mm')} elastic\n"
            f"{fill(CENTRES, width)}"
        )
    return "\n".join(lines)


def _five(value: float) -> str:
    return number(value, 5)


def _together(found: Catalogue) -> list[tuple[str, float, float, str]]:
    """Stiffnesses of separate parts together: key, value in SI, factor and unit in which it is printed."""
    E, G = found.material.E, found.material.G
    return [
        ("EA", E * found.A, 1e-6, "MN"),
        ("EIx", E * found.Ix, 1e-3, "kN m²"),
        ("EIy", E * found.Iy, 1e-3, "kN m²"),
        ("EIxy", E * found.Ixy, 1e-3, "kN m²"),
        ("GJ", G * found.It, 1e-3, "kN m²"),
    ]


def _axes(found: Catalogue) -> str:
    """Reference material and principal axes in words."""
    turn = math.degrees(found.angle)
    axes = "x and y are principal axes" if abs(turn) < 0.005 else f"axis 1 is {turn:.2f} degrees from x"
    if found.I1 - found.I2 < 1e-6 * found.I1:
        axes = "every axis through the centroid is a principal one"
    of = f"referred to {found.material.name} (E = {found.material.E * 1e-9:g} GPa)"
    return f"{of}; {axes}"


def _plain(unit: str) -> str:
    return unit.translate(str.maketrans("2346", "²³⁴⁶", "^"))


def _at(point: Point2) -> str:
    shown = (retold(v * 1e3 + 0.0, "mm", lambda v: f"{v:.2f}") for v in point)
    return f"({', '.join(text.replace('-0.00', '0.00') for text in shown)})"


def catalogue_table(found: Catalogue) -> Table:
    """The same numbers as a table value."""
    columns = (Head("number"), Head("meaning"), Head("value", show=lambda v: number(v, 5)), Head("unit"))
    return Table(columns=columns, rows=tuple(rows_of(found)), title=f"catalogue numbers of {found.name}")


def catalogue_as_dict(found: Catalogue) -> dict[str, Any]:
    """Plain data; units in the keys, mm as catalogues have them."""
    centres = {
        "shear_centre_trefftz_mm": found.shear_centre,
        "shear_centre_elastic_mm": found.elastic_shear_centre,
    }
    return {
        "reference_material": found.material.name,
        "reference_E_Pa": found.material.E,
        "separate_parts": found.parts,
        "area_as_drawn_mm2": found.area * 1e6,
        **{f"{key}_{unit.replace('^', '')}": value for key, _, value, unit in rows_of(found)},
        "angle_deg": math.degrees(found.angle),
        "centroid_mm": [v * 1e3 for v in found.centroid],
        **{key: None if c is None else [v * 1e3 for v in c] for key, c in centres.items()},
        **(
            {f"{key}_{UNITS[key]}": value for key, value, _, _ in _together(found)} if found.parts > 1 else {}
        ),
    }
