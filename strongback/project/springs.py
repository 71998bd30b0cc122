"""The six springs of joints and supports: as written, or by their kind from the joint library."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

import numpy as np

from strongback.errors import InputError, UnitError
from strongback.machine.joints.estimate import JointStiffness
from strongback.machine.joints.words import own_component
from strongback.machine.room import MOTIONS, Operator
from strongback.machine.values import COMPONENTS, Axes, Six, Vector
from strongback.project.document import Path
from strongback.project.kinds import KindFault, Placed, Surroundings, on_bench, placed
from strongback.project.schema_joints import (
    COMPONENT_KEYS,
    JOINT_KINDS,
    SUPPORT_KINDS,
    HolderTable,
    JointTable,
    OpensTable,
    PlayTable,
)
from strongback.project.springs_schema import SpringTable
from strongback.project.tables import Reader, Row
from strongback.units import parse

__all__ = ["Held", "JointLaw", "holder_values", "laws_of"]

Three = tuple[float, float, float]


class Held(NamedTuple):
    """What a joint or support holds by.

    Parameters
    ----------
    fields : dict
        That `Joint` and `Support` share: name, place, stiffness, range, axes, source.
    start : JointStiffness or None
        Of its kind, where it has one.
    written : tuple of bool
        Which components the file writes itself.
    """

    fields: dict[str, Any]
    start: JointStiffness | None
    written: tuple[bool, ...]


def holder_values(reader: Reader, row: Row[HolderTable], around: Surroundings) -> tuple[Held, ...]:
    """What a joint or support holds by; empty if something is missing, which is then reported.

    Parameters
    ----------
    reader : Reader
        Takes what is wrong.
    row : Row
    around : Surroundings
        The parts that its kind may ask.

    Returns
    -------
    tuple of Held
        Two for a spindle that is a member, each with the name of its bearing.
    """
    kinds = _kinds(reader, row)
    if kinds is None:
        return ()
    if not kinds:
        if row.table.at is None:
            reader.fault_at_table(
                row.path, f"{reader.label(row.path)}: at is missing", "give where the springs act"
            )
            return ()
        held = _held(reader, row, None, _axes(reader, row), row.table.at)
        return () if held is None else (held,)
    for key in ("x_axis", "y_axis"):
        if key in row.table.model_fields_set:
            reader.fault_at_key(
                (*row.path, key), f"{reader.label(row.path)}: {key} follows from {kinds[0]}", "drop it"
            )
    found = _placed(reader, row, kinds, around)
    held_all = [_held(reader, row, one, one.axes, _shifted(one)) for one in found]
    return tuple(held for held in held_all if held is not None)


def _kinds(reader: Reader, row: Row[HolderTable]) -> list[str] | None:
    """Kinds that a table is given, of which there may be one, or a foot on its bench."""
    known = JOINT_KINDS if isinstance(row.table, JointTable) else SUPPORT_KINDS
    given = [key for key in known if getattr(row.table, key) is not None]
    foot_on_bench = len(given) == 2 and given[1] == "bench"
    if len(given) > 1 and not foot_on_bench:
        reader.fault((*row.path, given[1]), f"{given[0]} gives its stiffness already", "keep one of them")
        return None
    return given


def _placed(
    reader: Reader, row: Row[HolderTable], kinds: list[str], around: Surroundings
) -> tuple[Placed, ...]:
    try:
        found = placed(row.table, kinds[0], around)
        if len(kinds) == 2:
            return (on_bench(found[0], placed(row.table, kinds[1], around)[0], around.feet),)
    except InputError as error:
        path = (*row.path, kinds[0])
        label = f"{reader.label(row.path)}: {kinds[0]}: {error.message}"
        if isinstance(error, KindFault) and error.key:
            reader.fault_at_key((*path, error.key), label, error.hint)
        else:
            reader.fault_at_key(path, label, error.hint)
        return ()
    return found


def _shifted(one: Placed) -> Vector:
    """Where the springs of a kind act, in the machine."""
    return _vector(np.asarray(one.at) + np.asarray(one.axes).T @ np.asarray(one.made.at))


def _held(reader: Reader, row: Row[HolderTable], one: Placed | None, axes: Axes, at: Vector) -> Held | None:
    start = None if one is None else one.made
    parts = _components(reader, row, one)
    if parts is None:
        return None
    rows, written = parts
    value, low, high = (tuple(part) for part in zip(*rows, strict=True))
    fields = {
        "name": row.table.name + ("" if one is None else one.suffix),
        "at": at,
        "stiffness": value,
        "low": None if low == value == high else low,
        "high": None if low == value == high else high,
        "axes": axes,
        "loss_factor": row.table.loss_factor,
        "source": row.table.source or ("" if start is None else start.source),
    }
    return Held(fields, start, tuple(written))


def _components(
    reader: Reader, row: Row[HolderTable], one: Placed | None
) -> tuple[list[Three], list[bool]] | None:
    """Value, low and high of each component, and whether the file writes it: its own key, the key for three, the kind."""
    found: list[Three] = []
    written, missing = [], []
    for i, key in enumerate(COMPONENT_KEYS):
        path, spring = _own(row, one, key)
        if spring is not None:
            found.append(_spring(reader, path, spring))
        elif one is not None:
            found.append((one.made.best[i], one.made.low[i], one.made.high[i]))
        else:
            missing.append(key)
        written.append(spring is not None)
    if not missing:
        return found, written
    kind = "along" if missing[0].startswith("along") else "about"
    hint = f'give a stiffness, "rigid" or "free"; {kind} = ... stands for all three'
    reader.fault_at_table(row.path, f"{reader.label(row.path)}: {', '.join(missing)} not given", hint)
    return None


def _own(row: Row[HolderTable], one: Placed | None, key: str) -> tuple[Path, SpringTable | None]:
    """What the file writes for a component, and where."""
    if one is not None and one.table is not None:  # a bearing of two
        path: Path = (*row.path, "spindle_bearings", one.suffix.strip(), key)
        return path, getattr(one.table, key, None)
    own: SpringTable | None = getattr(row.table, key)
    group = key.split("_", maxsplit=1)[0]
    spring: SpringTable | None = own if own is not None else getattr(row.table, group)
    return (*row.path, key if own is not None else group), spring


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
    reader: Reader,
    kind: Literal["joint", "support"],
    row: Row[HolderTable],
    held: Held,
    operator: Operator,
) -> tuple[JointLaw, ...]:
    """Components of a joint or support that open or have play.

    Parameters
    ----------
    reader : Reader
        Takes what is wrong.
    kind : {"joint", "support"}
    row : Row
    held : Held
        Its springs; a free component can neither open nor have play.
    operator : {"-y", "+y", "-x", "+x"}
        From whom "sideways" and "in and out" are said.

    Returns
    -------
    tuple of JointLaw
    """
    found: list[JointLaw] = []
    stiffness: Six = held.fields["stiffness"]
    tables: list[tuple[Path, PlayTable | OpensTable]] = []
    tables += [((*row.path, "play", i), table) for i, table in enumerate(row.table.play)]
    tables += [((*row.path, "opens", i), table) for i, table in enumerate(row.table.opens)]
    for path, table in tables:
        own = _named(table.component, held.fields["axes"], operator)
        if own is None:
            reader.fault(
                (*path, "component"), "must be of the joint", 'it stands askew to the room: say "along z"'
            )
            continue
        component, sense = own
        if component in [law.component for law in found]:
            reader.fault((*path, "component"), "is there twice", "a component opens or has play, once")
        if stiffness[COMPONENTS.index(component)] == 0.0:
            reader.fault((*path, "component"), "must be a component that holds", "this one is free")
        found.append(_law(reader, kind, held.fields["name"], path, table, component, sense))
    return tuple(found)


def _named(word: str, axes: Axes, operator: Operator) -> tuple[str, int] | None:
    """A component of the joint by its own name or by the room's word, and the sign of its axis against the room's."""
    if word not in MOTIONS:
        return word, 1
    own = own_component(word, axes, operator)
    return None if own is None else (COMPONENTS[own[0]], own[1])


def _law(
    reader: Reader,
    kind: Literal["joint", "support"],
    part: str,
    path: Path,
    table: PlayTable | OpensTable,
    component: str,
    sense: int,
) -> JointLaw:
    turns = component.startswith("about")
    if isinstance(table, PlayTable):
        gap = _size(reader, (*path, "gap"), table.gap, "angle" if turns else "length")
        return JointLaw(kind=kind, part=part, component=component, law="play", size=gap)
    dimension = "couple" if turns else "force"
    preload = _size(reader, (*path, "preload"), table.preload, dimension) if table.preload else 0.0
    sign = sense if table.opening == "+" else -sense
    return JointLaw(kind=kind, part=part, component=component, law="opens", size=preload, sign=sign)


def _size(reader: Reader, path: Path, text: str, dimension: str) -> float:
    try:
        size = parse(text, dimension)
    except UnitError as error:
        reader.fault(path, error.message, error.hint)
        return 1.0
    if not size > 0.0:
        reader.fault(path, "must be above 0")
    return size
