"""Tables for a terminal: units in the column head, numbers to the right, words wrapped, never wider than asked."""

from __future__ import annotations

import math
import textwrap
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from strongback.views.wrap import lines

__all__ = ["Column", "head_lines", "number", "percent", "signed", "table"]

GAP = "  "
HEAD = 12  # heads over numbers are wrapped above this
NARROWEST, LONGEST = (
    6,
    18,
)  # a column of words is not wrapped below its longest word, but that is not above LONGEST


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
    """A number with its sign and a fixed number of decimals; what rounds to nothing is a plain 0, NaN a dash.

    Examples
    --------
    >>> signed(1.25), signed(-0.04), signed(-3.0, 2)
    ('+1.2', '0.0', '-3.00')
    >>> signed(float("nan"))
    '-'
    """
    if math.isnan(value):
        return "-"
    text = f"{value:+.{decimals}f}"
    return text if float(text) != 0.0 else text[1:]


def percent(share: float) -> str:
    """A share in per cent with one decimal; what rounds to nothing is a plain 0.0.

    Examples
    --------
    >>> percent(0.1234), percent(-1e-9)
    ('12.3', '0.0')
    """
    text = f"{100.0 * share:.1f}"
    return text if float(text) != 0.0 else "0.0"


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
    groups = _groups(columns, rows, width)
    return "\n\n".join(
        _drawn([columns[k] for k in chosen], [[row[k] for k in chosen] for row in rows], width)
        for chosen in groups
    )


def _groups(columns: Sequence[Column], rows: Sequence[Sequence[str]], width: int) -> list[list[int]]:
    """Columns that stand side by side: all where they fit, else several tables with the same first columns of words."""
    every = list(range(len(columns)))
    least = _least(columns, rows)
    keys = 1 + (len(columns) > 2 and columns[1].side == "left")
    if _whole(least, every) <= width or len(every) <= keys + 1:
        return [every]
    groups: list[list[int]] = [every[:keys]]
    for k in every[keys:]:
        if len(groups[-1]) > keys and _whole(least, [*groups[-1], k]) > width:
            groups.append(every[:keys])
        groups[-1].append(k)
    return groups


def _whole(widths: Sequence[int], chosen: Sequence[int]) -> int:
    return sum(widths[k] for k in chosen) + len(GAP) * (len(chosen) - 1)


def _drawn(columns: Sequence[Column], rows: Sequence[Sequence[str]], width: int) -> str:
    """One table."""
    heads = [_head(column) for column in columns]
    tall = max(len(lines) for lines in heads)
    above = [[lines[k] if k < len(lines) else "" for lines in heads] for k in range(tall)]
    if any(column.unit for column in columns):
        above.append([column.unit for column in columns])
    widths = _widths(columns, [*above, *rows], width)
    drawn = [_row(columns, row, widths) for row in above]
    drawn.append(GAP.join("-" * w for w in widths))
    drawn += [_row(columns, row, widths) for row in rows]
    return "\n".join(drawn)


def _head(column: Column) -> list[str]:
    """Lines of a column's name: numbers are narrow, their heads are wrapped."""
    return [column.name] if column.side == "left" else head_lines(column.name)


def head_lines(name: str) -> list[str]:
    """A name as it stands over a column of numbers.

    Examples
    --------
    >>> head_lines("column top sideways")
    ['column top', 'sideways']
    """
    return textwrap.wrap(name, HEAD) or [""]


def _least(columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> list[int]:
    """Least width of every column: numbers whole, words at their longest."""
    heads = [[line for line in (*_head(c), c.unit) if line] for c in columns]
    found = []
    for k, column in enumerate(columns):
        texts = [*heads[k], *(row[k] for row in rows)]
        widest = max(map(cells, texts), default=0)
        longest = max((len(word) for text in texts for word in text.split()), default=0)
        found.append(widest if column.side == "right" else min(widest, LONGEST, max(NARROWEST, longest)))
    return found


def _widths(columns: Sequence[Column], rows: Sequence[Sequence[str]], width: int) -> list[int]:
    """Width of every column; columns of words give way, the widest first."""
    widths = [max(cells(row[k]) for row in rows) for k in range(len(columns))]
    least = [
        min(LONGEST, max(NARROWEST, *(len(word) for row in rows for word in row[k].split())), widths[k])
        if any(row[k] for row in rows)
        else 0
        for k in range(len(columns))
    ]
    room = width - len(GAP) * (len(columns) - 1)
    while sum(widths) > room:
        words = [k for k, c in enumerate(columns) if c.side == "left" and widths[k] > least[k]]
        if not words:
            break
        widths[max(words, key=lambda k: widths[k])] -= 1
    return widths


def _row(columns: Sequence[Column], row: Sequence[str], widths: Sequence[int]) -> str:
    """One row, of several lines where words are wrapped."""
    wrapped = [
        [text] if column.side == "right" else (lines(text, wide, broken=True) or [""])
        for column, text, wide in zip(columns, row, widths, strict=True)
    ]
    made = []
    for k in range(max(len(w) for w in wrapped)):
        parts = [
            _padded(w[k] if k < len(w) else "", wide, column.side)
            for w, wide, column in zip(wrapped, widths, columns, strict=True)
        ]
        made.append(GAP.join(parts).rstrip())
    return "\n".join(made)


def _padded(text: str, wide: int, side: str) -> str:
    space = " " * max(0, wide - cells(text))
    return space + text if side == "right" else text + space
