"""One value for every table: text for a terminal, CSV, HTML, Markdown, and a frame of pandas where that is installed.

The rows hold numbers, not their text: what is rounded for the eye is whole in a file. Heads carry the unit of the
millimetre workshop; where inches are shown (`strongback.views.quantity.shown_in`), numbers and heads are converted.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from html import escape
from typing import TYPE_CHECKING, Literal, TypeAlias

from strongback.errors import EnvironmentFault
from strongback.views.quantity import factor_of, retold, unit_of
from strongback.views.tables import Column, number, table

if TYPE_CHECKING:
    import pandas

__all__ = ["Cell", "Head", "Table", "words"]

Cell: TypeAlias = str | float | tuple[float, float] | None
"""A word, a number, an interval, or nothing."""
Show: TypeAlias = Callable[[float], str]


@dataclass(frozen=True, slots=True)
class Head:
    """Head of a column: its name, its unit, and how a number in it is written.

    Parameters
    ----------
    name : str
    unit : str
    show : callable, optional
        Text of a number; None for a column of words.
    pair : bool
        Whether its cells are intervals: ``low..high`` to the eye, two columns in a file.
    """

    name: str
    unit: str = ""
    show: Show | None = None
    pair: bool = False

    @property
    def side(self) -> Literal["left", "right"]:
        """Numbers stand to the right."""
        return "left" if self.show is None else "right"

    @property
    def label(self) -> str:
        """Name with unit, as files have it.

        Examples
        --------
        >>> Head("reading", "µm").label, Head("part").label
        ('reading [µm]', 'part')
        """
        return self._with_unit(self.name)

    def labels(self) -> list[str]:
        """Heads of its columns in a file, two for intervals.

        Examples
        --------
        >>> Head("95 %", "µm", number, pair=True).labels()
        ['95 % low [µm]', '95 % high [µm]']
        """
        return (
            [self._with_unit(f"{self.name} {end}") for end in ("low", "high")] if self.pair else [self.label]
        )

    def _with_unit(self, name: str) -> str:
        return f"{name} [{unit_of(self.unit)}]" if self.unit else name


def words(name: str) -> Head:
    """Head of a column of words."""
    return Head(name)


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Table:
    """A table that shows itself wherever it is looked at.

    Parameters
    ----------
    columns : tuple of Head
    rows : tuple of tuple of (str, float or None)
        Numbers in the unit of their column.
    title : str

    Examples
    --------
    >>> shares = Table(
    ...     columns=(Head("part"), Head("share", "%", lambda v: f"{v:.1f}")),
    ...     rows=(("column", 62.04), ("base joint", 37.96)),
    ... )
    >>> print(shares)
    part        share
                    %
    ----------  -----
    column       62.0
    base joint   38.0
    >>> print(shares.csv(), end="")
    part,share [%]
    column,62.04
    base joint,37.96
    """

    columns: tuple[Head, ...]
    rows: tuple[tuple[Cell, ...], ...]
    title: str = field(default="")

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.columns):
                raise ValueError(f"a row of {len(row)} cells in a table of {len(self.columns)} columns")
            for head, cell in zip(self.columns, row, strict=True):
                if isinstance(cell, tuple) != head.pair and not (cell is None or isinstance(cell, str)):
                    raise ValueError(f'the cell {cell!r} does not fit the column "{head.name}"')

    def shown(self) -> list[list[str]]:
        """Every cell as text."""
        return [
            [_text(head, cell) for head, cell in zip(self.columns, row, strict=True)] for row in self.rows
        ]

    def text(self, width: int = 80) -> str:
        """For a terminal.

        Parameters
        ----------
        width : int
            Columns; words are wrapped to keep within, numbers never are.
        """
        heads = [Column(head.name, unit_of(head.unit), head.side) for head in self.columns]
        return table(heads, self.shown(), width=width)

    def csv(self) -> str:
        """Comma-separated values (RFC 4180 but for line ends): numbers in full, an empty cell for what is not there."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(self._labels())
        writer.writerows([[_plain(cell) for cell in row] for row in self._apart()])
        return out.getvalue()

    def _labels(self) -> list[str]:
        return [label for head in self.columns for label in head.labels()]

    def _apart(self) -> list[list[str | float | None]]:
        """Rows with an interval in two cells."""
        found = []
        for row in self.rows:
            flat: list[str | float | None] = []
            for head, cell in zip(self.columns, row, strict=True):
                if isinstance(cell, tuple):
                    flat += [_converted(head, end) for end in cell]
                elif isinstance(cell, float | int):
                    flat.append(_converted(head, cell))
                else:
                    flat += [cell] * (2 if head.pair else 1)
            found.append(flat)
        return found

    def markdown(self) -> str:
        """A table in the pipes of GitHub Flavored Markdown."""
        lines = [[_piped(head.label) for head in self.columns]]
        lines += [["---:" if head.side == "right" else "---" for head in self.columns]]
        lines += [[_piped(text) for text in row] for row in self.shown()]
        return "\n".join("| " + " | ".join(line) + " |" for line in lines) + "\n"

    def html(self) -> str:
        """A table that takes the colours of the page it stands in, light or dark."""
        look = (
            "border-collapse:collapse;color:inherit;background:transparent;font-variant-numeric:tabular-nums"
        )
        head = "".join(_cell("th", h.side, h.name, unit_of(h.unit)) for h in self.columns)
        body = "".join(
            "<tr>"
            + "".join(_cell("td", h.side, text) for h, text in zip(self.columns, row, strict=True))
            + "</tr>"
            for row in self.shown()
        )
        title = (
            f'<caption style="text-align:left;color:inherit">{escape(self.title)}</caption>'
            if self.title
            else ""
        )
        return f'<table style="{look}">{title}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>\n'

    def titled(self, title: str) -> Table:
        """The same under a title."""
        return replace(self, title=title)

    def frame(self) -> pandas.DataFrame:
        """A frame of pandas, a column for each column.

        Raises
        ------
        EnvironmentFault
            If pandas is not installed.
        """
        try:
            import pandas
        except ImportError as error:
            raise EnvironmentFault(
                "a frame needs pandas", hint="python -m pip install pandas, or take csv()"
            ) from error
        numeric = [head.show is not None for head in self.columns for _ in head.labels()]
        rows = [
            [math.nan if cell is None and real else cell for cell, real in zip(row, numeric, strict=True)]
            for row in self._apart()
        ]
        return pandas.DataFrame(rows, columns=self._labels())

    def __str__(self) -> str:
        return self.text()

    def __repr__(self) -> str:
        heads = ", ".join(head.label for head in self.columns)
        return f"Table({len(self.rows)} rows: {heads})"

    def _repr_html_(self) -> str:
        return self.html()

    def _repr_markdown_(self) -> str:
        return self.markdown()


def _text(head: Head, cell: Cell) -> str:
    if isinstance(cell, str):
        return cell
    if cell is None:
        return "-"
    ends = cell if isinstance(cell, tuple) else (cell,)
    return "..".join(retold(end, head.unit, head.show or number) for end in ends)


def _converted(head: Head, value: float) -> float:
    """A number of a file in the units that are shown."""
    return value * factor_of(head.unit) if head.unit else value


def _plain(cell: str | float | None) -> str:
    """A cell of a file: the shortest figures that give the same number again."""
    if cell is None or (isinstance(cell, float) and math.isnan(cell)):
        return ""
    return cell if isinstance(cell, str) else repr(float(cell)) if isinstance(cell, float) else str(cell)


def _piped(text: str) -> str:
    return text.replace("\\", "\\\\").replace("|", "\\|").replace("\n", " ")


def _cell(tag: str, side: str, text: str, unit: str = "") -> str:
    line = f"text-align:{side};padding:0.15em 0.7em;border-bottom:1px solid rgba(128,128,128,0.4)"
    below = f'<br><span style="font-weight:normal;opacity:0.7">{escape(unit)}</span>' if unit else ""
    return f'<{tag} style="{line}">{escape(text)}{below}</{tag}>'
