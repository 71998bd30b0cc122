"""Steel bars in the corners of the largest hollow of the column, poured in with epoxy mineral."""

from __future__ import annotations

import numpy as np
from shapely.geometry import Polygon

from strongback.change.values import Change
from strongback.errors import MachineError
from strongback.machine.values import Machine
from strongback.materials import material
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.catalogue.sections import fills, outline_of, resectioned, with_cells
from strongback.remedies.options.values import Option
from strongback.section.values import Fill, Insert

__all__ = ["fill_with_bars"]

SQUARE = ((-1, -1), (1, -1), (1, 1), (-1, 1))


def fill_with_bars(machine: Machine) -> Option | None:
    """Steel bars in the corners of the largest hollow of the column, poured in with epoxy mineral.

    Square bars of up to 16 mm; bonded. Epoxy and steel grow apart by some 1e-5 per kelvin.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    Option or None
        None where the column has no hollow.
    """
    roles = roles_of(machine)
    if (
        roles.main is None
        or roles.outline is None
        or not any(c.fill is None for c in with_cells(roles.outline).cells)
    ):
        return None
    column = roles.main.name

    def make(there: Machine) -> Change:
        outline = with_cells(outline_of(there, column))
        cell = max(
            (c for c in outline.cells if c.fill is None), key=lambda c: Polygon(c.ring).area, default=None
        )
        if cell is None:
            raise MachineError(f'"{column}" has no empty hollow to fill')
        low, high = np.min(cell.ring, axis=0), np.max(cell.ring, axis=0)
        size = min(0.016, 0.2 * float((high - low).min()))
        inserts = []
        for i, (x, y) in enumerate(((0, 0), (1, 0), (1, 1), (0, 1))):
            at = low + (high - low) * np.array([x, y]) + size * (0.5 - np.array([x, y])) * 2.2
            ring = tuple((float(at[0] + a * size / 2), float(at[1] + b * size / 2)) for a, b in SQUARE)
            if Polygon(cell.ring).buffer(-2e-4).contains(Polygon(ring)):
                inserts.append(Insert(name=f"bar {i + 1}", ring=ring, material=material("steel")))
        if not inserts:
            raise MachineError(f'"{column}" has no room for bars in its corners')
        poured = Fill(material=material("epoxy mineral"), inserts=tuple(inserts))
        return resectioned(there, column, fills(outline, poured, (cell.name,)), "fill with bars")

    return Option(
        name="fill with bars",
        make=make,
        changes="section of the column",
        cost=120.0,
        hours=14.0,
        reversible=False,
        excludes=("epoxy mineral fill", "cement grout", "fill below the head", "fill of outer cells"),
        blocks=("the hollow of the column", "machining the column again"),
        hazard="respirable quartz and epoxy: wet methods, mask, gloves, air; the safety data sheets come first",
    )
