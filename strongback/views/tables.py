"""Tables for a terminal: units in the column head, numbers to the right, words wrapped, never wider than asked."""

from __future__ import annotations

import math
import textwrap
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

__all__ = ["Column", "number", "signed", "table"]

GAP = "  "
NARROWEST = 6  # a column of words is not wrapped below this


@dataclass(frozen=True, slots=True)
class Column:
    """Head of a column.

    Parameters
    ----------
    name : str
    unit : str
        Shown below the name; empty for none.
    side : {"left", "right"}
        Numbers stand to the right.
    """

    name: str
    unit: str = ""
    side: Literal["left", "right"] = "left"


def number(value: float | None, digits: int = 4) -> str:
    """A number with as many significant digits as it is worth, without an exponent where it can be helped.

    Parameters
    ----------
    value : float or None
    digits : int
        Significant digits.

    Returns
    -------
    str
        A dash for None or what is not finite.

    Examples
    --------
    >>> number(1234.56), number(0.0123456, 3), number(1.5e9), number(None), number(-3.0, 3)
    ('1235', '0.0123', '1.500e+09', '-', '-3.00')
    """
    if value is None or not math.isfinite(value):
        return "-"
    if value == 0.0:
        return "0"
    order = math.floor(math.log10(abs(value)))
    if not -5 <= order < 7:
        return f"{value:.{digits - 1}e}"
    return f"{value:.{max(0, digits - 1 - order)}f}"


def signed(value: float, decimals: int = 1) -> str:
    """A number with its sign and a fixed number of decimals; what rounds to nothing is a plain 0.

    Examples
    --------
    >>> signed(1.25), signed(-0.04), signed(-3.0, 2)
    ('+1.2', '0.0', '-3.00')
    """
    text = f"{value:+.{decimals}f}"
    return text if float(text) != 0.0 else text[1:]


def cells(text: str) -> int:
    """Columns of a terminal that a text takes."""
    wide = sum(unicodedata.east_asian_width(c) in "WF" for c in text)
    return len(text) + wide - sum(unicodedata.combining(c) != 0 for c in text)


def table(columns: Sequence[Column], rows: Sequence[Sequence[str]], *, width: int = 80) -> str:
    """A table as text.

    Parameters
    ----------
    columns : sequence of Column
    rows : sequence of sequence of str
    width : int
        Columns of the terminal. Words are wrapped to keep within; numbers never are.

    Returns
    -------
    str

    Examples
    --------
    >>> print(table([Column("part"), Column("share", "%", "right")], [("column", "62"), ("base joint", "38")]))
    part        share
                    %
    ----------  -----
    column         62
    base joint     38
    """
    heads = [(c.name, c.unit) for c in columns]
    widths = _widths(columns, [*([h[k] for h in heads] for k in (0, 1)), *rows], width)
    lines = [_row(columns, [name for name, _ in heads], widths)]
    if any(unit for _, unit in heads):
        lines.append(_row(columns, [unit for _, unit in heads], widths))
    lines.append(GAP.join("-" * w for w in widths))
    lines += [_row(columns, row, widths) for row in rows]
    return "\n".join(lines)


def _widths(columns: Sequence[Column], rows: Sequence[Sequence[str]], width: int) -> list[int]:
    """Width of every column; columns of words give way, the widest first."""
    widths = [max(cells(row[k]) for row in rows) for k in range(len(columns))]
    room = width - len(GAP) * (len(columns) - 1)
    while sum(widths) > room:
        words = [k for k, c in enumerate(columns) if c.side == "left" and widths[k] > NARROWEST]
        if not words:
            break
        widths[max(words, key=lambda k: widths[k])] -= 1
    return widths


def _row(columns: Sequence[Column], row: Sequence[str], widths: Sequence[int]) -> str:
    """One row, of several lines where words are wrapped."""
    wrapped = [
        [text] if column.side == "right" else (textwrap.wrap(text, wide) or [""])
        for column, text, wide in zip(columns, row, widths, strict=True)
    ]
    lines = []
    for k in range(max(len(w) for w in wrapped)):
        parts = [
            _padded(w[k] if k < len(w) else "", wide, column.side)
            for w, wide, column in zip(wrapped, widths, columns, strict=True)
        ]
        lines.append(GAP.join(parts).rstrip())
    return "\n".join(lines)


def _padded(text: str, wide: int, side: str) -> str:
    space = " " * max(0, wide - cells(text))
    return space + text if side == "right" else text + space
