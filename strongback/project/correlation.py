"""The table of correlations between stiffnesses: what a calibration knows of them together."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from strongback.project.csvfile import Cell, cells, number, separator
from strongback.project.source import Faults, Source, nearest

__all__ = ["FILE_NAME", "correlation_text", "read_correlation"]

FILE_NAME = "correlation.csv"
HEAD = ("first", "second", "correlation")
Triple = tuple[str, str, float]


def correlation_text(rows: Iterable[Triple]) -> str:
    """Table of correlations.

    Examples
    --------
    >>> print(correlation_text([("base, about x", "column, bending", -0.61234)]), end="")
    # Correlation between logarithms of stiffnesses, found by a calibration; pairs that are not here are independent.
    first;second;correlation
    "base, about x";"column, bending";-0.6123
    """
    lines = [
        "# Correlation between logarithms of stiffnesses, found by a calibration; pairs that are not here are independent.",
        ";".join(HEAD),
    ]
    lines += [f"{_quoted(first)};{_quoted(second)};{value:.4f}" for first, second, value in rows]
    return "\n".join(lines) + "\n"


def _quoted(name: str) -> str:
    doubled = name.replace('"', '""')
    return f'"{doubled}"'


def read_correlation(source: Source, names: Collection[str], faults: Faults) -> tuple[Triple, ...]:
    """Rows of a table of correlations; what is wrong is reported.

    Parameters
    ----------
    source : Source
    names : collection of str
        Stiffnesses of the machine.
    faults : Faults
    """
    mark = separator(source)
    rows = list(cells(source))
    if not rows or tuple(c.text.lower() for c in rows[0]) != HEAD:
        at = rows[0][0].offset if rows and rows[0] else 0
        faults.add(source, at, "the first line must name the columns", f"columns: {', '.join(HEAD)}")
        return ()
    found = (_row(source, row, names, mark, faults) for row in rows[1:])
    return tuple(row for row in found if row is not None)


def _row(
    source: Source, row: Sequence[Cell], names: Collection[str], mark: str, faults: Faults
) -> Triple | None:
    if len(row) != len(HEAD):
        faults.add(
            source, row[0].offset, f"{len(row)} columns, {len(HEAD)} are due", f"columns: {', '.join(HEAD)}"
        )
        return None
    for cell in row[:2]:
        if cell.text not in names:
            hint = nearest(cell.text, list(names), "the machine has")
            faults.add(source, cell.offset, f'no stiffness is called "{cell.text}"', hint, width=cell.width)
            return None
    value = number(row[2].text, mark)
    if value is None or not -1.0 <= value <= 1.0:
        hint = "a number from -1 to 1"
        faults.add(source, row[2].offset, f'"{row[2].text}" is no correlation', hint, width=row[2].width)
        return None
    return row[0].text, row[1].text, value
