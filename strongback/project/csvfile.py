"""Tables of numbers as spreadsheets write them: comma, semicolon or tab; decimal point or decimal comma."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from strongback import units
from strongback.errors import UnitError
from strongback.project.source import Faults, Source, nearest

__all__ = ["Cell", "RingRow", "cells", "number", "ring_rows", "separator"]

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
MAX_NUMBER = 40


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell of a table: its text and where it stands in the source."""

    text: str
    offset: int

    @property
    def width(self) -> int:
        """Characters to mark."""
        return max(1, len(self.text))


@dataclass(frozen=True, slots=True)
class RingRow:
    """A point of a ring [m], with its corner radius [m] and its place in the source."""

    ring: str
    x: float
    y: float
    radius: float
    offset: int
    width: int


def separator(source: Source) -> str:
    """The separator of a table: what its first line that is not a comment holds.

    Examples
    --------
    >>> separator(Source(name="a.csv", text="ring;x;y\\nouter;0,5;1"))
    ';'
    """
    first = next((text for _, text in _lines(source)), "")
    return next((mark for mark in ("\t", ";", ",") if mark in first), ",")


def _lines(source: Source) -> Iterator[tuple[int, str]]:
    for number, start in enumerate(source.starts, start=1):
        text = source.line(number)
        if text.strip() and not text.lstrip().startswith("#"):
            yield start, text


def cells(source: Source) -> Iterator[list[Cell]]:
    """Rows of a table, without comments and empty lines.

    Parameters
    ----------
    source : Source

    Yields
    ------
    list of Cell
        Trimmed and without quotes.

    Examples
    --------
    >>> [[c.text for c in row] for row in cells(Source(name="a.csv", text='ring,x\\n"left, low", 2.5'))]
    [['ring', 'x'], ['left, low', '2.5']]
    """
    mark = separator(source)
    pattern = re.compile(rf'\s*"((?:[^"]|"")*)"[^{mark}]*|([^{mark}]*)')
    for start, text in _lines(source):
        row, at = [], 0
        while True:
            found = pattern.match(text, at)
            quoted = found is not None and found.group(1) is not None
            raw = "" if found is None else found.group(1 if quoted else 2)
            first = at if found is None else found.start(1 if quoted else 2)
            stripped = raw.replace('""', '"').strip()
            row.append(Cell(stripped, start + first + len(raw) - len(raw.lstrip())))
            at = len(text) if found is None else found.end()
            if at >= len(text):
                break
            at += 1
        yield row


def number(text: str, mark: str) -> float | None:
    """A number with a decimal point or, where the separator allows it, a decimal comma.

    Parameters
    ----------
    text : str
    mark : str
        Separator of the table.

    Returns
    -------
    float or None
        None if it is no finite number.

    Examples
    --------
    >>> number("1,5", ";"), number("1.5", ","), number("nan", ",")
    (1.5, 1.5, None)
    """
    plain = text.replace(",", ".") if mark != "," else text
    if len(plain) > MAX_NUMBER or not _NUMBER.fullmatch(plain):
        return None
    value = float(plain)
    return value if math.isfinite(value) else None


def ring_rows(source: Source, unit: str | None, faults: Faults) -> list[RingRow]:
    """Points of a table of rings.

    Parameters
    ----------
    source : Source
        Columns ring, x, y and, if wanted, radius, in any order if the first line names them. A head such as
        ``x [mm]`` gives the unit.
    unit : str or None
        Unit of length that the project file gives.
    faults : Faults
        Takes what is wrong.

    Returns
    -------
    list of RingRow
        In the order of the table; an empty ring name repeats the one above.
    """
    mark = separator(source)
    rows = list(cells(source))
    if not rows:
        faults.add(source, None, "holds no points", "columns: ring, x, y and, if wanted, radius")
        return []
    columns: dict[str, tuple[int, str | None]] = {
        key: (i, unit) for i, key in enumerate(("ring", "x", "y", "radius"))
    }
    if _is_head(rows[0], mark):
        before = len(faults)
        columns = _columns(source, rows.pop(0), unit, faults)
        if len(faults) > before:
            return []
    if any(given is None for key, (_, given) in columns.items() if key != "ring"):
        faults.add(
            source,
            0,
            "the coordinates have no unit",
            'write the head as x [mm], or unit = "mm" in the section; for a table alone --unit mm',
        )
        return []
    found, ring = [], ""
    for row in rows:
        point = _point(source, row, columns, mark, faults)
        ring = row[columns["ring"][0]].text or ring if columns["ring"][0] < len(row) else ring
        if point is not None:
            x, y, radius = point
            last = row[-1]
            found.append(
                RingRow(ring, x, y, radius, row[0].offset, last.offset + len(last.text) - row[0].offset)
            )
    return found


def _is_head(row: Sequence[Cell], mark: str) -> bool:
    return all(number(cell.text, mark) is None for cell in row[1:3])


def _columns(
    source: Source, head: Sequence[Cell], unit: str | None, faults: Faults
) -> dict[str, tuple[int, str | None]]:
    columns: dict[str, tuple[int, str | None]] = {}
    for i, cell in enumerate(head):
        found = re.fullmatch(r"(\w+?)(?:\s*[\[(]\s*(.+?)\s*[\])]|_(mm|m|cm|in|um))?", cell.text.lower())
        key = found.group(1) if found else cell.text
        if key not in ("ring", "x", "y", "radius"):
            hint = nearest(key, ("ring", "x", "y", "radius"), "columns")
            faults.add(source, cell.offset, f'unknown column "{cell.text[:40]}"', hint, width=cell.width)
            continue
        given = (found.group(2) or found.group(3)) if found else None
        columns[key] = (i, given or unit)
        try:
            if given and units.dimension_of(given) != "length":
                faults.add(source, cell.offset, f'"{given}" is not a unit of length', width=cell.width)
        except UnitError as error:
            faults.add(source, cell.offset, error.message, error.hint, width=cell.width)
    missing = [key for key in ("ring", "x", "y") if key not in columns]
    if missing:
        hint = "columns: ring, x, y and, if wanted, radius"
        faults.add(source, head[0].offset, f"column {' and '.join(missing)} is missing", hint)
    return columns


def _point(
    source: Source, row: Sequence[Cell], columns: dict[str, tuple[int, str | None]], mark: str, faults: Faults
) -> tuple[float, float, float] | None:
    values = []
    width = max(i for i, _ in columns.values()) + 1
    if len(row) > width:
        hint = "a decimal comma needs semicolons or tabs between the columns" if mark == "," else ""
        extra = row[width]
        faults.add(source, extra.offset, f"{len(row)} columns, {width} are due", hint, width=extra.width)
        return None
    for key in ("x", "y", "radius"):
        index, unit = columns.get(key, (len(row), "m"))
        cell = row[index] if index < len(row) else None
        if key == "radius" and (cell is None or not cell.text):
            values.append(0.0)
            continue
        value = number(cell.text, mark) if cell is not None else None
        if cell is None or value is None:
            at = row[-1] if cell is None else cell
            what = f'{key} = "{at.text[:40]}" is not a number' if cell is not None else f"{key} is missing"
            faults.add(source, at.offset, what, "columns: ring, x, y and, if wanted, radius", width=at.width)
            return None
        if key == "radius" and value < 0.0:
            faults.add(source, cell.offset, f"radius = {cell.text} must not be below 0", width=cell.width)
            return None
        values.append(units.to_si(value, unit or "m", "length"))
    return values[0], values[1], values[2]
