"""Catalogue numbers as a table in mm."""

from __future__ import annotations

import math

from strongback.section.catalogue import Catalogue
from strongback.section.values import Point2
from strongback.views.quantity import retold, unit_of
from strongback.views.sheet import Block, Words
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import number

__all__ = ["catalogue_sheet", "catalogue_table"]

CENTRES = (
    "Trefftz's: where bending and twist exchange no energy; warping constant and all that is computed here "
    "hold about it. Elastic: with Poisson's ratio, as some tables and programs print it."
)
APART = (
    "separate parts that touch nowhere: EA and EI hold if something keeps them in one plane (plates, welded "
    "lugs); torsion is the sum of each by itself. There is no shear centre, warping or shear stiffness of all."
)


def catalogue_sheet(found: Catalogue) -> list[Block]:
    """Catalogue numbers with their axes and centres.

    Parameters
    ----------
    found : Catalogue
    """
    rows: list[tuple[Cell, ...]] = [
        (key, words, retold(value, _plain(unit), _five), unit_of(_plain(unit)))
        for key, words, value, unit in found.numbers
    ]
    columns = (Head("catalogue"), Head(""), Head("value", show=_five), Head("unit"))
    blocks: list[Block] = [Table(columns=columns, rows=tuple(rows)), _axes(found)]
    if found.parts > 1:
        told = [
            f"{key} {retold(value * scale, unit, _five)} {unit_of(unit)}"
            for key, value, scale, unit in found.together
        ]
        return [
            *blocks,
            Words(f"{', '.join(told)}; centroid {_at(found.centroid)} {unit_of('mm')}"),
            Words(f"{found.parts} {APART}"),
        ]
    assert found.shear_centre is not None
    assert found.elastic_shear_centre is not None
    unit = unit_of("mm")
    centres = f"{_at(found.shear_centre)} {unit} by Trefftz, {_at(found.elastic_shear_centre)} {unit} elastic"
    return [*blocks, f"shear centre {centres}", Words(CENTRES)]


def _five(value: float) -> str:
    return number(value, 5)


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
    return Table(columns=columns, rows=found.numbers, title=f"catalogue numbers of {found.name}")
