"""The six springs of joints and supports: as written, or started from bolts, slideways, bearings and feet."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from strongback.errors import InputError, UnitError
from strongback.machine.joints import (
    Bolt,
    StartingStiffness,
    bolted_face,
    rubber_foot,
    screw_foot,
    slideway,
    spindle,
)
from strongback.machine.joints.slideway import SlidePad
from strongback.machine.values import COMPONENTS, Six, Vector
from strongback.project.document import Path
from strongback.project.schema_joints import (
    COMPONENT_KEYS,
    BoltedTable,
    HolderTable,
    OpensTable,
    PlayTable,
    RubberFootTable,
    ScrewFootTable,
    SlidewayTable,
    SpindleTable,
    SpringTable,
)
from strongback.project.tables import Reader, Row
from strongback.units import parse

__all__ = ["JointLaw", "holder_values", "laws_of"]

Axes = tuple[Vector, Vector, Vector]
Three = tuple[float, float, float]
STARTS = ("bolted", "slideway", "spindle", "rubber_foot", "screw_foot")


def holder_values(reader: Reader, row: Row[HolderTable]) -> dict[str, Any] | None:
    """What a joint or support holds by: point, stiffness, range, axes, source; None if a component is missing.

    Parameters
    ----------
    reader : Reader
        Takes what is wrong.
    row : Row

    Returns
    -------
    dict or None
        Fields that `Joint` and `Support` share.
    """
    axes = _axes(reader, row)
    start = _start(reader, row)
    rows = _components(reader, row, start)
    if rows is None:
        return None
    value, low, high = (tuple(part) for part in zip(*rows, strict=True))
    at, source = row.table.at, row.table.source
    if start is not None:
        shift = np.asarray(axes).T @ np.asarray(start.at)
        at = (at[0] + float(shift[0]), at[1] + float(shift[1]), at[2] + float(shift[2]))
        source = source or start.source
    return {
        "name": row.table.name,
        "at": at,
        "stiffness": value,
        "low": low,
        "high": high,
        "axes": axes,
        "loss_factor": row.table.loss_factor,
        "source": source,
    }


def _components(reader: Reader, row: Row[HolderTable], start: StartingStiffness | None) -> list[Three] | None:
    """Value, low and high of each component: its own key, the key for three, or the starting value."""
    found: list[Three] = []
    missing = []
    for i, key in enumerate(COMPONENT_KEYS):
        group = key.split("_", maxsplit=1)[0]
        own: SpringTable | None = getattr(row.table, key)
        spring: SpringTable | None = own if own is not None else getattr(row.table, group)
        if spring is not None:
            found.append(_spring(reader, (*row.path, key if own is not None else group), spring))
        elif start is not None:
            found.append((start.middle[i], start.low[i], start.high[i]))
        else:
            missing.append(key)
    if not missing:
        return found
    kind = "along" if missing[0].startswith("along") else "about"
    hint = f'give a stiffness, "rigid" or "free"; {kind} = ... stands for all three'
    reader.fault_at_table(row.path, f"{reader.label(row.path)}: {', '.join(missing)} not given", hint)
    return None


def _spring(reader: Reader, path: Path, table: SpringTable) -> Three:
    value, low, high = table.value, table.low, table.high
    if (low is None) != (high is None):
        reader.fault(path, "must have both low and high, or neither")
    elif value is None and low is not None and high is not None:
        value = math.sqrt(low * high)
    elif value is None:
        reader.fault(path, "must have a value, or low and high")
    value = 0.0 if value is None else value
    low, high = (value, value) if low is None or high is None else (low, high)
    if not low <= value <= high:
        words = "must not be above" if low > value else "must not be below"
        key = "low" if low > value else "high"
        reader.fault((*path, key), f"{words} the value", "low, value, high in rising order; check the units")
    return value, low, high


def _axes(reader: Reader, row: Row[HolderTable]) -> Axes:
    x, y = np.asarray(row.table.x_axis), np.asarray(row.table.y_axis)
    if abs(float(x @ y)) > 1e-6:
        given = "y_axis" in row.table.model_fields_set
        hint = "" if given else "give both x_axis and y_axis"
        reader.fault(
            (*row.path, "y_axis" if given else "x_axis"),
            "must be at right angles to the other axis of the joint",
            hint,
        )
    y = y - (y @ x) * x
    y = y / max(float(np.linalg.norm(y)), 1e-300)
    return _vector(x), _vector(y), _vector(np.cross(x, y))


def _vector(values: Any) -> Vector:
    x, y, z = (float(v) + 0.0 for v in values)
    return x, y, z


def _start(reader: Reader, row: Row[HolderTable]) -> StartingStiffness | None:
    """Starting stiffness of what the joint is made as."""
    given = [key for key in STARTS if getattr(row.table, key, None) is not None]
    if not given:
        return None
    if len(given) > 1:
        reader.fault((*row.path, given[1]), f"{given[0]} gives starting values already", "keep one of them")
    try:
        return _started(getattr(row.table, given[0]))
    except InputError as error:
        label = reader.label(row.path)
        reader.fault_at_key((*row.path, given[0]), f"{label}: {given[0]}: {error.message}", error.hint)
        return None


def _started(
    table: BoltedTable | SlidewayTable | SpindleTable | RubberFootTable | ScrewFootTable,
) -> StartingStiffness:
    if isinstance(table, BoltedTable):
        bolts = tuple(Bolt(at=b.at, diameter=b.diameter, preload=b.preload) for b in table.bolt)
        return bolted_face(bolts, table.plate, table.size, finish=table.finish)
    if isinstance(table, SlidewayTable):
        pads = tuple(SlidePad(at=pad.at, size=pad.size) for pad in table.pad)
        return slideway(pads, vertical=table.vertical, along=table.along)
    if isinstance(table, SpindleTable):
        return spindle(table.span, front=table.front, rear=table.rear, axial=table.axial, driven=table.held)
    if isinstance(table, RubberFootTable):
        return rubber_foot(table.diameter, table.height)
    return screw_foot(table.diameter, table.length)


@dataclass(frozen=True, slots=True, kw_only=True)
class JointLaw:
    """A component of a joint or support that does not hold both ways at once.

    Parameters
    ----------
    kind : {"joint", "support"}
    part : str
        Name of the joint or support.
    component : str
        One of `strongback.machine.values.COMPONENTS`.
    law : {"play", "opens"}
    size : float
        Gap from stop to stop [m or rad], or preload [N or N m].
    sign : int
        Of the opening that is tension, for a component that opens.
    """

    kind: Literal["joint", "support"]
    part: str
    component: str
    law: Literal["play", "opens"]
    size: float
    sign: int = 1


def laws_of(
    reader: Reader, kind: Literal["joint", "support"], row: Row[HolderTable], stiffness: Six
) -> tuple[JointLaw, ...]:
    """Components of a joint or support that open or have play.

    Parameters
    ----------
    reader : Reader
        Takes what is wrong.
    kind : {"joint", "support"}
    row : Row
    stiffness : Six
        Of the joint; a free component can neither open nor have play.

    Returns
    -------
    tuple of JointLaw
    """
    found: list[JointLaw] = []
    tables: list[tuple[Path, PlayTable | OpensTable]] = []
    tables += [((*row.path, "play", i), table) for i, table in enumerate(row.table.play)]
    tables += [((*row.path, "opens", i), table) for i, table in enumerate(row.table.opens)]
    for path, table in tables:
        if table.component in [law.component for law in found]:
            reader.fault((*path, "component"), "is there twice", "a component opens or has play, once")
        if stiffness[COMPONENTS.index(table.component)] == 0.0:
            reader.fault((*path, "component"), "must be a component that holds", "this one is free")
        found.append(_law(reader, kind, row.table.name, path, table))
    return tuple(found)


def _law(
    reader: Reader, kind: Literal["joint", "support"], part: str, path: Path, table: PlayTable | OpensTable
) -> JointLaw:
    turns = table.component.startswith("about")
    if isinstance(table, PlayTable):
        gap = _size(reader, (*path, "gap"), table.gap, "angle" if turns else "length")
        return JointLaw(kind=kind, part=part, component=table.component, law="play", size=gap)
    dimension = "couple" if turns else "force"
    preload = _size(reader, (*path, "preload"), table.preload, dimension) if table.preload else 0.0
    sign = 1 if table.opening == "+" else -1
    return JointLaw(kind=kind, part=part, component=table.component, law="opens", size=preload, sign=sign)


def _size(reader: Reader, path: Path, text: str, dimension: str) -> float:
    try:
        size = parse(text, dimension)
    except UnitError as error:
        reader.fault(path, error.message, error.hint)
        return 1.0
    if not size > 0.0:
        reader.fault(path, "must be above 0")
    return size
