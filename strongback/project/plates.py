"""Plates of members as the project file gives them: material named or that of the walls, faults with their place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from strongback.errors import MachineError, MaterialError
from strongback.machine.plates import Diaphragm, EndPlate
from strongback.materials import Material, material
from strongback.project.document import Path
from strongback.project.schema import MemberTable
from strongback.project.schema_plates import FootTable, PlateTable
from strongback.project.tables import Reader, Row
from strongback.section.values import Outline, SectionStiffness

__all__ = ["Made", "plates_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """What plates refer to.

    Parameters
    ----------
    sections : mapping of str to Outline or SectionStiffness
    materials : mapping of str to Material
        Those of the file.
    """

    sections: Mapping[str, Outline | SectionStiffness]
    materials: Mapping[str, Material]


def plates_of(reader: Reader, row: Row[MemberTable], made: Made) -> dict[str, Any]:
    """Cap, foot and diaphragms of a member, as `Member` takes them.

    Parameters
    ----------
    reader : Reader
        Faults are reported to it.
    row : Row
    made : Made
    """
    table = row.table
    found: dict[str, Any] = {}
    for key, given in (("cap", table.cap), ("foot", table.foot)):
        if given is not None:
            found[key] = _end_plate(reader, row, key, given, made)
    length = float(np.linalg.norm(np.subtract(table.end, table.start)))
    rows = []
    for i, own in enumerate(table.diaphragm):
        path: Path = (*row.path, "diaphragm", i)
        solid = _material(reader, row, (*path, "material"), own.material, made)
        if not 0.5 * own.thickness < own.at < length - 0.5 * own.thickness:
            reader.fault((*path, "at"), f"must lie on the member of {length * 1e3:.6g} mm")
        elif solid is not None:
            rows.append(Diaphragm(at=own.at, thickness=own.thickness, material=solid))
    if table.model == "beam" and (found or table.diaphragm):
        key = "cap" if "cap" in found else "foot" if "foot" in found else "diaphragm"
        reader.fault(
            (*row.path, key),
            "is for a member whose walls can give: a beam leaves it out",
            'set model = "body", or take it out',
        )
        return {}
    return {**found, "diaphragms": tuple(rows)}


def _end_plate(
    reader: Reader, row: Row[MemberTable], key: str, given: PlateTable | FootTable, made: Made
) -> EndPlate | None:
    path: Path = (*row.path, key)
    solid = _material(reader, row, (*path, "material"), given.material, made)
    glue = _material(reader, row, (*path, "glue"), given.glue, made) if given.glue else None
    if key == "foot" and not given.screws:
        reader.fault(path, "needs screws", "the bolts on which it stands, as points of the section's drawing")
        return None
    if solid is None:
        return None
    try:
        return EndPlate(
            thickness=given.thickness,
            material=solid,
            joint=given.joint,
            glue=glue,
            layer=given.layer,
            screws=tuple((float(x), float(y)) for x, y in given.screws),
            pressed=given.pressed or 0.0,
            size=given.size,
            centre=given.centre,
        )
    except MachineError as error:
        reader.fault(path, error.message, error.hint)
        return None


def _material(
    reader: Reader, row: Row[MemberTable], path: Path, name: str | None, made: Made
) -> Material | None:
    """A material by name, or that of the first wall of the member."""
    if name is not None:
        try:
            return material(name, dict(made.materials))
        except MaterialError as error:
            reader.fault(path, error.message, error.hint)
            return None
    table = row.table
    named = table.section if table.section is not None else (table.span[0].section if table.span else "")
    section = made.sections.get(named)
    if isinstance(section, Outline):
        return section.walls[0].material
    reader.fault(path[:-1], "material is missing", "give the name of a material: the walls have none to take")
    return None
