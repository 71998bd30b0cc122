"""The ``[[readings]]`` tables: logs of dial readings beside the project file, row by row into values.

A row with a fault is set aside with its line and column and the rest is read: half an afternoon of good readings is not
lost to a slip of the pen. Nothing is dropped silently; whoever uses a data set shows its faults.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import Field

from strongback import units
from strongback.errors import UnitError
from strongback.evidence.readings import Instrument, Reading, State
from strongback.machine.values import GROUND, Machine
from strongback.project.csvfile import Cell, cells, number, separator
from strongback.project.quantities import FilePath, Name, quantity
from strongback.project.source import Fault, Faults, Source, nearest
from strongback.project.tables import Extra, Reader, Row, Table

__all__ = ["COLUMNS", "READINGS", "DataSet", "ReadingsTable", "read_table"]

GRAVITY = 9.80665  # standard acceleration of free fall [m/s²], ISO 80000-3


# Standard uncertainty of all loads together, by how they were made: a kitchen scale and the friction of a pulley, the scale
# of a spring balance, a hand; common practice, no source.
LOAD_BY = {"weighed": 0.005, "spring balance": 0.02, "guessed": 0.10}


class ReadingsTable(Table):
    """``[[readings]]``: a log of dial readings."""

    name: Annotated[Name, Field(description="of the data set, such as before or after")]
    file: Annotated[FilePath, Field(description="table of readings, a path under the folder")]
    sections: Annotated[
        dict[str, str],
        Field(
            default_factory=dict,
            description="sections that others had replaced when it was logged: { old = new }",
        ),
    ]
    load_by: Annotated[
        Literal["weighed", "spring balance", "guessed"],
        Field(description="how the loads were made: weighed (0.5 %), spring balance (2 %) or guessed (10 %)"),
    ] = "weighed"
    load_uncertainty: Annotated[
        float | None,
        quantity("number", least=0.0),
        Field(description='standard uncertainty of all loads together, such as "0.5 %", in place of that'),
    ] = None
    angle_uncertainty: Annotated[
        float,
        quantity("angle", least=0.0),
        Field(description="standard uncertainty of the direction of a cord"),
    ] = math.radians(1.0)
    point_uncertainty: Annotated[
        float,
        quantity("length", least=0.0),
        Field(description="standard uncertainty of the point of a pull along each axis"),
    ] = 0.002
    set_up_scatter: Annotated[
        float,
        quantity("length", above=0.0),
        Field(description="scatter between set-ups, taken where nothing was set up twice"),
    ] = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class DataSet:
    """A log of readings.

    Parameters
    ----------
    name : str
    file : str
    readings : tuple of Reading
        Rows without a fault.
    faults : tuple of Fault
        Of the other rows and of the head.
    instrument : Instrument
    sections : tuple of (str, str)
        Section before and section in its place when the log was kept.
    unread : int
        Rows in which nothing has been read yet.
    """

    name: str
    file: str
    readings: tuple[Reading, ...]
    faults: tuple[Fault, ...]
    instrument: Instrument
    sections: tuple[tuple[str, str], ...]
    unread: int = 0


@dataclass(frozen=True, slots=True)
class _Kind:
    """What a column holds."""

    dimension: str  # a dimension of `units`, or "text", "count", "load"
    needed: bool = False


COLUMNS: Mapping[str, _Kind] = {
    "pull": _Kind("text", True),
    "gauge": _Kind("text", True),
    "load": _Kind("load", True),
    "loaded": _Kind("length", True),
    "zero before": _Kind("length"),
    "zero after": _Kind("length"),
    "reference": _Kind("text"),
    "angle": _Kind("angle"),
    "set-up": _Kind("text"),
    "repeat": _Kind("count"),
    "branch": _Kind("text"),
    "date": _Kind("text"),
    "time": _Kind("text"),
    "temperature": _Kind("text"),
    "note": _Kind("text"),
}
_SPELLINGS = {"setup": "set-up", "set up": "set-up", "load case": "pull", "zero_before": "zero before"}
_SPELLINGS |= {"zero_after": "zero after", "set_up": "set-up", "zero": "zero before", "reading": "loaded"}
_HEAD = re.compile(r"(.*?)\s*(?:[\[(]\s*(.*?)\s*[\])])?\s*")
_QUANTITY = re.compile(r"([+-]?[\d.,]+(?:[eE][+-]?\d+)?)\s*(\D.*)?")


@dataclass(frozen=True, slots=True)
class _Column:
    index: int
    key: str
    unit: str | None
    state: str = ""


def read_table(source: Source, machine: Machine) -> tuple[tuple[Reading, ...], tuple[Fault, ...], int]:
    """Readings of a table, what is wrong with its other rows, and how many rows wait to be read.

    Parameters
    ----------
    source : Source
        With a head; comma, semicolon or tab; decimal point or decimal comma.
    machine : Machine
        Whose pulls and gauges are named.

    Returns
    -------
    readings : tuple of Reading
    faults : tuple of Fault
    unread : int
        Rows without a figure, as the table to fill in has them.
    """
    faults = Faults()
    rows = list(cells(source))
    if not rows:
        faults.add(source, None, "holds no readings", f"columns: {', '.join(COLUMNS)}")
        return (), faults.sorted(), 0
    columns = _head(source, rows[0], faults)
    missing = [key for key, kind in COLUMNS.items() if kind.needed and key not in {c.key for c in columns}]
    if missing:
        hint = "columns: " + ", ".join(COLUMNS)
        faults.add(source, rows[0][0].offset, f"column {' and '.join(missing)} is missing", hint)
        return (), faults.sorted(), 0
    if len(rows) == 1:
        faults.add(source, None, "holds a head but no reading")
    table = _Rows(source, columns, machine, faults)
    read = [row for row in rows[1:] if not _waits(row, columns)]
    readings = [found for row in read if (found := table.reading(row)) is not None]
    return tuple(readings), faults.sorted(), len(rows) - 1 - len(read)


FIGURES = ("zero before", "loaded", "zero after")


def _waits(row: Sequence[Cell], columns: Sequence[_Column]) -> bool:
    """Whether a row says what to read and holds no figure yet."""
    figures = [row[c.index].text for c in columns if c.key in FIGURES and c.index < len(row)]
    return any(cell.text for cell in row) and not any(figures)


def _head(source: Source, row: Sequence[Cell], faults: Faults) -> list[_Column]:
    found: list[_Column] = []
    for index, cell in enumerate(row):
        match = _HEAD.fullmatch(cell.text)
        name, unit = (match.group(1).lower(), match.group(2)) if match else (cell.text.lower(), None)
        if name == "state" or name.startswith(("state ", "state:")):
            found.append(_Column(index, "state", None, cell.text[5:].strip(" :") or "state"))
            continue
        key = _SPELLINGS.get(name, name)
        if key not in COLUMNS:
            hint = nearest(key, [*COLUMNS, "state"], "columns")
            faults.add(source, cell.offset, f'unknown column "{cell.text[:40]}"', hint, width=cell.width)
        elif key in {c.key for c in found}:
            faults.add(source, cell.offset, f'column "{key}" is there twice', width=cell.width)
        else:
            found.append(_Column(index, key, _unit(source, cell, key, unit, faults)))
    return found


def _unit(source: Source, cell: Cell, key: str, unit: str | None, faults: Faults) -> str | None:
    if not unit or COLUMNS[key].dimension in ("text", "count"):
        return None
    try:
        dimension = units.dimension_of(unit)
    except UnitError as error:
        faults.add(source, cell.offset, error.message, error.hint, width=cell.width)
        return None
    wanted = ("force", "couple", "mass") if key == "load" else (COLUMNS[key].dimension,)
    if dimension not in wanted:
        hint = f"give {key} in {units.examples(wanted[0])}"
        faults.add(
            source,
            cell.offset,
            f'"{unit}" is a unit of {dimension}, not of {wanted[0]}',
            hint,
            width=cell.width,
        )
        return None
    return unit


class _Fault(Exception):
    """A cell that cannot be used."""

    def __init__(self, cell: Cell, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.cell, self.message, self.hint = cell, message, hint


class _Rows:
    """Rows of a table on their way to readings."""

    def __init__(self, source: Source, columns: Sequence[_Column], machine: Machine, faults: Faults) -> None:
        self.source, self.columns, self.faults = source, columns, faults
        self.mark = separator(source)
        self.machine = machine
        self.pulls = {p.name: bool(np.any(p.force)) for p in machine.pulls}
        self.gauges = [g.name for g in machine.gauges]
        self.bodies = [GROUND, *(m.name for m in machine.members), *(b.name for b in machine.blocks)]

    def reading(self, row: Sequence[Cell]) -> Reading | None:
        """A row as a reading; None where a fault was noted."""
        if not any(cell.text for cell in row):
            return None
        end = row[-1]
        values: dict[str, Any] = {}
        state: list[tuple[str, str]] = []
        whole = True
        for column in self.columns:
            cell = row[column.index] if column.index < len(row) else Cell("", end.offset + len(end.text))
            try:
                if column.key == "state":
                    state += [(column.state, cell.text)] if cell.text else []
                else:
                    values[column.key] = self._value(column, cell)
            except _Fault as fault:
                self.faults.add(
                    self.source, fault.cell.offset, fault.message, fault.hint, width=fault.cell.width
                )
                whole = False
        if len(row) > len(self.columns) and any(c.text for c in row[self._width() :]):
            extra = row[self._width()]
            hint = "a decimal comma needs semicolons or tabs between the columns" if self.mark == "," else ""
            self.faults.add(
                self.source,
                extra.offset,
                f"{len(row)} cells, {self._width()} are due",
                hint,
                width=extra.width,
            )
            whole = False
        return self._made(values, tuple(state), row) if whole and self._load_fits(values, row) else None

    def _load_fits(self, values: Mapping[str, Any], row: Sequence[Cell]) -> bool:
        """A couple for a pull that is a couple, a force for one that is a force."""
        _, couple = values["load"]
        if couple != self.pulls[values["pull"]]:
            return True
        cell = row[next(c.index for c in self.columns if c.key == "load")]
        given, due = ("a couple", "a force") if couple else ("a force", "a couple")
        hint = "give the load in N*m" if not couple else "give the load in N or kg"
        message = f'load is {given}, the pull "{values["pull"]}" is {due}'
        self.faults.add(self.source, cell.offset, message, hint, width=cell.width)
        return False

    def _width(self) -> int:
        return max(c.index for c in self.columns) + 1

    def _made(self, values: Mapping[str, Any], state: State, row: Sequence[Cell]) -> Reading:
        given = {k: v for k, v in values.items() if v is not None}
        return Reading(
            pull=given["pull"],
            gauge=given["gauge"],
            load=given["load"][0],
            loaded=given["loaded"],
            zero_before=given.get("zero before", 0.0),
            zero_after=given.get("zero after"),
            reference=given.get("reference", ""),
            angle=given.get("angle", 0.0),
            state=state,
            set_up=given.get("set-up", "1"),
            repeat=given.get("repeat", 1),
            branch=given.get("branch", ""),
            row=self.source.place(row[0].offset)[0],
        )

    def _value(self, column: _Column, cell: Cell) -> Any:
        kind = COLUMNS[column.key]
        if not cell.text:
            if kind.needed:
                raise _Fault(cell, f"{column.key} is missing")
            return None
        if kind.dimension == "text":
            return self._text(column.key, cell)
        if kind.dimension == "count":
            value = number(cell.text, self.mark)
            if value is None or value != int(value):
                raise _Fault(cell, f'{column.key} = "{cell.text[:40]}" is not a whole number')
            return int(value)
        return self._quantity(column, cell)

    def _text(self, key: str, cell: Cell) -> str:
        known = {"pull": list(self.pulls), "gauge": self.gauges, "reference": self.bodies}.get(key)
        if known is not None and cell.text not in known:
            what = "part" if key == "reference" else key
            raise _Fault(
                cell, f'there is no {what} "{cell.text[:40]}"', nearest(cell.text, known, f"{what}s")
            )
        if key == "branch" and cell.text.lower() not in ("up", "down"):
            raise _Fault(cell, f'branch = "{cell.text[:40]}" must be up or down')
        return cell.text.lower() if key == "branch" else cell.text

    def _quantity(self, column: _Column, cell: Cell) -> float | tuple[float, bool]:
        match = _QUANTITY.fullmatch(cell.text)
        value = number(match.group(1), self.mark) if match else None
        if match is None or value is None:
            raise _Fault(cell, f'{column.key} = "{cell.text[:40]}" is not a number')
        unit = match.group(2) or column.unit
        if unit is None:
            example = "N" if column.key == "load" else "um" if column.key != "angle" else "deg"
            raise _Fault(
                cell,
                f"{column.key} = {cell.text[:40]} has no unit",
                f"write the head as {column.key} [{example}]",
            )
        try:
            if column.key == "load":
                return _load(value, unit)
            return units.to_si(value, unit, COLUMNS[column.key].dimension)
        except UnitError as error:
            raise _Fault(cell, error.message, error.hint) from None


def _load(value: float, unit: str) -> tuple[float, bool]:
    """A load [N or N m] and whether it is a couple; a mass weighs."""
    dimension = units.dimension_of(unit)
    if dimension == "mass":
        return units.to_si(value, unit, "mass") * GRAVITY, False
    couple = dimension == "couple"
    return units.to_si(value, unit, "couple" if couple else "force"), couple


def _build(reader: Reader, rows: Sequence[Row[ReadingsTable]], machine: Machine) -> tuple[DataSet, ...]:
    found: list[DataSet] = []
    known = [name for name, _ in machine.sections]
    for row in rows:
        table = row.table
        if table.name in {d.name for d in found}:
            reader.fault((*row.path, "name"), "is there twice", "give each data set a name of its own")
        for old, new in table.sections.items():
            for name in (old, new):
                if name not in known:
                    message = f'no section is called "{name[:40]}"'
                    reader.fault((*row.path, "sections"), message, nearest(name, known, "sections"))
        source = reader.open((*row.path, "file"), table.file)
        if source is None:
            continue
        readings, faults, unread = read_table(source, machine)
        found.append(
            DataSet(
                name=table.name,
                file=table.file,
                readings=readings,
                faults=faults,
                instrument=Instrument(
                    resolutions={g.name: g.resolution for g in machine.gauges},
                    u_load=LOAD_BY[table.load_by]
                    if table.load_uncertainty is None
                    else table.load_uncertainty,
                    u_angle=table.angle_uncertainty,
                    u_point=table.point_uncertainty,
                    set_up=table.set_up_scatter,
                ),
                sections=tuple(table.sections.items()),
                unread=unread,
            )
        )
    return tuple(found)


READINGS = Extra(key="readings", model=ReadingsTable, many=True, build=_build)
