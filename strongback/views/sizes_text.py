"""Sizes and masses of a machine as tables, to be set beside calipers and a weighed offcut."""

from __future__ import annotations

from strongback.machine.sizes import SectionSize, Sizes
from strongback.views.quantity import scale
from strongback.views.sheet import Block
from strongback.views.table import Cell, Head, Table
from strongback.views.tables import number

__all__ = ["sizes_blocks"]


def sizes_blocks(found: Sizes) -> list[Block]:
    """Sections with their mass per metre, members with length and mass, and the whole.

    Parameters
    ----------
    found : Sizes
    """
    sections: list[tuple[Cell, ...]] = [(s.name, _size(s), s.mass_per_length) for s in found.sections]
    members: list[tuple[Cell, ...]] = [(m.name, 1e3 * m.length, m.mass) for m in found.members]
    members.append(("all, with masses", "", found.total))
    of_sections = (
        Head("section"),
        Head("width x depth", "mm", number),
        Head("weigh an offcut", "kg/m", _three),
    )
    of_members = (Head("member"), Head("length", "mm", number), Head("mass", "kg", _three))
    return [
        Table(columns=of_sections, rows=tuple(sections)),
        "",
        Table(columns=of_members, rows=tuple(members)),
    ]


def _size(section: SectionSize) -> str:
    return "-" if section.size is None else " x ".join(f"{v / scale('mm'):.4g}" for v in section.size)


def _three(value: float) -> str:
    return number(value, 3)
