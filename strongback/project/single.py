"""An outline from a table alone, without a project file around it."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

from strongback.errors import OutlineError, ProjectError
from strongback.materials import Material
from strongback.project.csvfile import RingRow, ring_rows
from strongback.project.draft import CLOSEST
from strongback.project.source import Faults, read_source
from strongback.section.outline import from_rings, rounded
from strongback.section.values import MAX_POINTS, Outline, Ring

__all__ = ["read_outline"]


def read_outline(
    path: str | Path, material: Material, *, unit: str | None = None, max_points: int = MAX_POINTS
) -> Outline:
    """Read the rings of an outline from a table.

    Parameters
    ----------
    path : str or Path
        Columns ring, x, y and, if wanted, radius; the first ring is the outer edge, the others are hollows.
    material : Material
    unit : str, optional
        Unit of length, where the head of the table gives none.
    max_points : int
        Most points in all rings.

    Returns
    -------
    Outline
        Named after the file.

    Raises
    ------
    ProjectError
        With every fault of the table.
    OutlineError
        If a corner radius does not fit.
    """
    file = Path(path)
    source = read_source(file, file.name)
    faults = Faults()
    rows = ring_rows(source, unit, faults)
    groups: dict[str, list[RingRow]] = {}
    for row in rows:
        groups.setdefault(row.ring, []).append(row)
    faults.raise_if_any()
    rings = {}
    for name, group in groups.items():
        try:
            rings[name] = _ring(group)
        except OutlineError as error:
            faults.add(source, group[0].offset, f'ring "{name}": {error.message}', error.hint)
    faults.raise_if_any()
    if not rings:
        raise ProjectError(
            f'"{source.name}" holds {"a head but " if source.text.strip() else ""}no points',
            hint="columns: ring, x, y and, if wanted, radius",
        )
    outer, *hollows = rings
    made = from_rings(file.stem, material, rings[outer], {name: rings[name] for name in hollows})
    return dataclasses.replace(made, max_points=max_points)


def _ring(group: list[RingRow]) -> Ring:
    if len(group) > 1 and math.dist((group[0].x, group[0].y), (group[-1].x, group[-1].y)) < CLOSEST:
        group = group[:-1]  # closed by its first point once more
    return rounded([(row.x, row.y) for row in group], [row.radius or 0.0 for row in group])
