"""A project file as it is written: tables with a remark behind what was not measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

__all__ = ["Draft", "Row", "bare", "mm", "point", "quoted"]


@dataclass(frozen=True, slots=True)
class Row:
    """A line of a table: key, value as TOML, remark."""

    key: str
    value: str
    remark: str = ""


@dataclass(slots=True)
class Draft:
    """Text that grows table by table."""

    lines: list[str] = field(default_factory=list)

    def remark(self, *texts: str) -> None:
        """Lines of comment."""
        self.lines += [f"# {text}".rstrip() for text in texts]

    def heading(self, text: str) -> None:
        """A line that opens a block."""
        self.lines += ["", f"# ---- {text} " + "-" * max(0, 110 - len(text))]

    def table(self, head: str, *rows: Row | tuple[str, str] | tuple[str, str, str]) -> None:
        """A table with its rows."""
        self.lines += ["", head]
        self.add(*rows)

    def add(self, *rows: Row | tuple[str, str] | tuple[str, str, str]) -> None:
        """Rows of the table in hand."""
        for given in rows:
            row = given if isinstance(given, Row) else Row(*given)
            line = f"{row.key} = {row.value}"
            self.lines.append(f"{line:<40}# {row.remark}" if row.remark else line)

    def text(self) -> str:
        """The file."""
        return "\n".join(self.lines).lstrip("\n") + "\n"


def quoted(text: str) -> str:
    """Text in TOML.

    Examples
    --------
    >>> quoted('a "b"')
    '"a \\\\"b\\\\""'
    """
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def bare(value: float) -> str:
    """A number without needless digits."""
    return f"{round(value, 9) + 0.0:.7g}"


def mm(*values: float) -> str:
    """Lengths in millimetres.

    Examples
    --------
    >>> mm(0.12), mm(0.09, 0.08)
    ('"120 mm"', '"90, 80 mm"')
    """
    return f'"{", ".join(bare(1e3 * v) for v in values)} mm"'


def point(at: Sequence[float]) -> str:
    """A point.

    Examples
    --------
    >>> point((0.0, -0.19, 0.3))
    '"0, -190, 300 mm"'
    """
    return mm(*at)
