"""A section whose outline is a drawing: ``file = "profile.dxf"`` of a ``[[section]]``."""

from __future__ import annotations

import dataclasses
from pathlib import PurePath

from strongback.errors import InputError, MaterialError
from strongback.project.document import Path
from strongback.project.draft import Draft, Given
from strongback.project.drawing import CHORD, SUFFIXES, drawing_outline
from strongback.section.values import Outline

__all__ = ["drawn_section", "is_drawing"]

OF_TABLES = ("outer", "radius", "wall")  # what a table of rings has, and a drawing says by itself


def is_drawing(file: str | None) -> bool:
    """Whether a file is a drawing by its ending.

    Examples
    --------
    >>> is_drawing("profile.DXF"), is_drawing("profile.csv")
    (True, False)
    """
    return file is not None and PurePath(file).suffix.lower() in SUFFIXES


def drawn_section(draft: Draft) -> Outline:
    """The outline in the drawing that a section names; faults go to the reader.

    Parameters
    ----------
    draft : Draft

    Returns
    -------
    Outline
    """
    table = draft.table
    assert table.file is not None
    for key in OF_TABLES:
        if key in table.model_fields_set:
            raise draft.stop((key,), "is for a table of rings", "a drawing has corners and layers of its own")
    source = draft.reader.open((*draft.row.path, "file"), table.file)
    if source is None:
        raise Given
    of = draft.material(table.material, ("material",)) if table.material is not None else None
    if of is None and not table.layers:
        draft.material(None, ("material",))
    try:
        made = drawing_outline(
            source,
            of,
            unit=table.unit,
            chord=CHORD if table.chord is None else table.chord,
            layers=table.layers or None,
            own=draft.materials,
            max_points=table.max_points,
        )
    except InputError as error:
        raise draft.stop(_key(draft, error), error.message, error.hint) from None
    return dataclasses.replace(made, name=table.name)


def _key(draft: Draft, error: InputError) -> Path:
    """The key that a fault is about."""
    if isinstance(error, MaterialError) or "has no layer" in error.message:
        return ("layers",)
    return ("chord",) if error.message.startswith("chord") else ("file",)
