"""A text file from a user: read within its limits, with lines to point at, and the faults found in it.

Nothing here knows what a project file means. `read_source` reads a regular file under a size limit; `Faults` gathers
what is wrong with any number of sources and reports all of it once, in file order, each with line, column and caret.
"""

from __future__ import annotations

import bisect
import os
import stat
from dataclasses import dataclass, field
from pathlib import Path

from strongback.checks import closest, nearest
from strongback.errors import ProjectError

__all__ = [
    "MAX_BYTES",
    "MAX_LINES",
    "Fault",
    "Faults",
    "Source",
    "nearest",
    "read_bytes",
    "read_source",
    "within",
]

MAX_BYTES = 1 << 20
MAX_LINES = 20_000
MAX_SHOWN = 50  # faults printed; the rest are counted
_WIDTH = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """The text of a file.

    Parameters
    ----------
    name : str
        How messages call it.
    text : str
        As it stands in the file, without a byte-order mark.
    """

    name: str
    text: str
    starts: tuple[int, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        starts = [0]
        at = self.text.find("\n")
        while at >= 0:
            starts.append(at + 1)
            at = self.text.find("\n", at + 1)
        object.__setattr__(self, "starts", tuple(starts))

    def place(self, offset: int) -> tuple[int, int]:
        """Line and column of a character, both counted from 1.

        Parameters
        ----------
        offset : int

        Returns
        -------
        line, column : int

        Examples
        --------
        >>> Source(name="a", text="x = 1\\ny = 2").place(10)
        (2, 5)
        """
        line = bisect.bisect_right(self.starts, offset)
        return line, offset - self.starts[line - 1] + 1

    def line(self, number: int) -> str:
        """Text of a line, counted from 1, without its end."""
        if not 1 <= number <= len(self.starts):
            return ""
        stop = self.starts[number] - 1 if number < len(self.starts) else len(self.text)
        return self.text[self.starts[number - 1] : stop].rstrip("\r")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """Something wrong at a place of a source.

    Parameters
    ----------
    source : Source
    line, column : int
        Counted from 1; line 0 stands for the file as a whole.
    width : int
        Characters under the caret.
    message, hint : str
    ring : tuple of (float, float)
        Corners of the outline that is at fault, for a picture of it [m].
    mark : (float, float), optional
        Where on it [m].
    """

    source: Source
    line: int
    column: int
    width: int
    message: str
    hint: str = ""
    ring: tuple[tuple[float, float], ...] = ()
    mark: tuple[float, float] | None = None

    def __str__(self) -> str:
        head = f"{self.source.name}:{self.line}:{self.column}" if self.line else f"{self.source.name}:"
        text = f"{head} {_printable(self.message)}"
        if self.line:
            text += "\n" + _shown(self.source.line(self.line), self.line, self.column, self.width)
        return f"{text}\n   help: {_printable(self.hint)}" if self.hint else text

    def as_dict(self) -> dict[str, object]:
        """As plain data; line and column 0 stand for the file as a whole."""
        return {
            "file": self.source.name,
            "line": self.line,
            "column": self.column if self.line else 0,
            "message": _printable(self.message),
            "help": _printable(self.hint),
        }


def _printable(text: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in text)


def _shown(line: str, number: int, column: int, width: int) -> str:
    """The source line with carets below it; a long line is cut around the place."""
    text = "".join(c if c.isprintable() else " " if c == "\t" else "?" for c in line)
    first = max(0, column - 1 - _WIDTH // 2) if len(text) > _WIDTH else 0
    cut = text[first : first + _WIDTH]
    left = "…" if first else ""
    right = "…" if first + _WIDTH < len(text) else ""
    at = column - 1 - first
    count = max(1, min(width, len(cut) - at))
    gap = " " * 5
    return f"{number:5d} | {left}{cut}{right}\n{gap} | {' ' * (len(left) + at)}{'^' * count}"


class Faults:
    """Gathers faults and reports them at once.

    Examples
    --------
    >>> faults, source = Faults(), Source(name="mill.toml", text='length = "-180 mm"')
    >>> faults.add(source, 9, "must be above 0", width=9)
    >>> faults.raise_if_any()
    Traceback (most recent call last):
        ...
    strongback.errors.ProjectError: mill.toml:1:10 must be above 0
        1 | length = "-180 mm"
          |          ^^^^^^^^^
    """

    def __init__(self) -> None:
        self._found: list[Fault] = []
        self._order: dict[str, int] = {}

    def __len__(self) -> int:
        return len(self._found)

    def add(
        self,
        source: Source,
        offset: int | None,
        message: str,
        hint: str = "",
        *,
        width: int = 1,
        ring: tuple[tuple[float, float], ...] = (),
        mark: tuple[float, float] | None = None,
    ) -> None:
        """Note a fault.

        Parameters
        ----------
        source : Source
        offset : int or None
            Character of the source; None for the file as a whole.
        message, hint : str
        width : int
            Characters to mark.
        ring, mark
            Of an outline at fault, see `Fault`.
        """
        line, column = (0, 0) if offset is None else source.place(offset)
        self._order.setdefault(source.name, len(self._order))
        fault = Fault(
            source=source,
            line=line,
            column=column,
            width=width,
            message=message,
            hint=hint,
            ring=ring,
            mark=mark,
        )
        if str(fault) not in {str(other) for other in self._found[-3:]}:
            self._found.append(fault)

    def sorted(self) -> tuple[Fault, ...]:
        """All faults: sources in the order they were met, then by line and column."""
        return tuple(sorted(self._found, key=lambda f: (self._order[f.source.name], f.line, f.column)))

    def raise_if_any(self) -> None:
        """Report every fault.

        Raises
        ------
        ProjectError
            If there is one; its `faults` hold them all.
        """
        if not self._found:
            return
        faults = self.sorted()
        blocks = [str(fault) for fault in faults[:MAX_SHOWN]]
        if len(faults) > MAX_SHOWN:
            blocks.append(f"and {len(faults) - MAX_SHOWN} more faults")
        raise ProjectError("\n".join(blocks), faults=faults)


def within(folder: Path, relative: str) -> Path:
    """A path that a file names, which must stay under the folder of the project.

    Parameters
    ----------
    folder : Path
    relative : str

    Returns
    -------
    Path
        Resolved.

    Raises
    ------
    ProjectError
        If it is absolute or leads out of the folder, also by a link.
    """
    if not relative or any(not c.isprintable() for c in relative) or len(relative) > 400:
        raise ProjectError("not a file name", hint="give a path under the folder of the project file")
    path = Path(relative)
    if path.is_absolute() or ".." in path.parts or "\\" in relative or ":" in relative:
        raise ProjectError(
            f'"{relative}" leads out of the folder of the project file',
            hint="put the file under that folder and write its path with /",
        )
    root = folder.resolve()
    try:
        found = (root / path).resolve()
    except (OSError, RuntimeError) as error:
        raise ProjectError(f'"{relative}" cannot be followed: {error}') from None
    if not found.is_relative_to(root):
        raise ProjectError(
            f'"{relative}" is a link that leads out of the folder of the project file',
            hint="copy the file there instead",
        )
    return found


def read_source(path: str | Path, name: str) -> Source:
    """Read a text file within the limits.

    Parameters
    ----------
    path : str or Path
    name : str
        How messages call it.

    Returns
    -------
    Source

    Raises
    ------
    ProjectError
        If it is not there, not a regular file, too large or not UTF-8.
    """
    raw = read_bytes(Path(path), name)
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise ProjectError(f'"{name}" is written in UTF-16', hint="save it as UTF-8 text")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise ProjectError(
            f"{name}:{line} is not UTF-8 text (byte {raw[error.start]:#04x})", hint="save it as UTF-8 text"
        ) from None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise ProjectError(f"{name}:{line} holds a NUL character", hint="this is not a text file")
    lines = text.count("\n") + 1
    if lines > MAX_LINES + 1:
        raise ProjectError(f'"{name}" has {lines:,} lines', hint=f"at most {MAX_LINES:,} are read")
    return Source(name=name, text=text)


def read_bytes(path: Path, name: str) -> bytes:
    """Bytes of a regular file within the limit; a pipe or device is refused and not waited for.

    Parameters
    ----------
    path : Path
    name : str
        How messages call it.

    Returns
    -------
    bytes

    Raises
    ------
    ProjectError
        If it is not there, not a regular file, or too large.
    """
    try:
        # A pipe or a terminal would block an ordinary open.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except FileNotFoundError:
        raise ProjectError(f'there is no file "{name}"', hint=_beside(path)) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise ProjectError(f'"{name}" cannot be opened: {reason}') from None
    if not stat.S_ISREG(os.fstat(handle).st_mode):
        os.close(handle)
        raise ProjectError(f'"{name}" is not a regular file', hint="name a text file")
    with os.fdopen(handle, "rb") as stream:
        raw = stream.read(MAX_BYTES + 1)
    if len(raw) > MAX_BYTES:
        raise ProjectError(f'"{name}" is larger than {MAX_BYTES:,} bytes', hint="no more is read")
    return raw


def _beside(path: Path) -> str:
    try:
        names = sorted(entry.name for entry in path.parent.iterdir() if entry.is_file())[:200]
    except OSError:
        return f'there is no folder "{path.parent.name}"'
    near = closest(path.name, names, 0.75)
    return f'did you mean "{near}"?' if near else ""
