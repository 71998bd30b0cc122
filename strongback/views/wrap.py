"""Lines that fit: wrapped at words, never between a number and its unit."""

from __future__ import annotations

import re
import textwrap

__all__ = ["fill", "fitted", "lines"]

TIE = "\N{NO-BREAK SPACE}"
_STYLE = re.compile(r"\x1b\[[0-9;]*m")  # bold, in a terminal
_UNIT = r"(?:%|µm|mm|cm|thou|in|N|kN|lbf|kg|lb|g|MPa|GPa|ksi|Msi|Hz|s|min|h|°C|K|µrad|mrad|rad)\b"
# A number and its unit, two ends of a range, and a unit with a couple or an angle below its bar.
_TIES = (
    re.compile(rf"(?<=\d) (?={_UNIT}|%|°C)"),
    re.compile(r"(?<=\bN) (?=m\b)"),
    re.compile(r"(?<=±) (?=\d)"),
    re.compile(r"(?<=/)(?P<a>\d+) (?=mm\b)"),
)


def fill(text: str, width: int, *, indent: str = "", hang: str | None = None) -> str:
    """Text as lines of a width.

    Parameters
    ----------
    text : str
    width : int
        Columns.
    indent : str
        Before the first line.
    hang : str, optional
        Before the others; `indent` by default.

    Examples
    --------
    >>> print(fill("the tool gives 115 µm sideways", 18))
    the tool gives
    115 µm sideways
    """
    return "\n".join(lines(text, width, indent=indent, hang=hang))


def fitted(text: str, width: int) -> str:
    """Text whose lines of words are wrapped where they are too long; rows of tables, pictures and paths stay whole.

    Parameters
    ----------
    text : str
        Of any number of lines.
    width : int
        Columns.

    Examples
    --------
    >>> print(fitted("note: the tool gives 115 µm\\npart    share", 20))
    note: the tool gives
      115 µm
    part    share
    """
    return "\n".join(_fitted(line, width) for line in text.split("\n"))


def _fitted(line: str, width: int) -> str:
    words = line.lstrip(" ")
    if len(_STYLE.sub("", line)) <= width or "  " in words:
        return line
    indent = line[: len(line) - len(words)]
    return fill(words, width, indent=indent, hang=indent + "  ")


def lines(
    text: str, width: int, *, indent: str = "", hang: str | None = None, broken: bool = False
) -> list[str]:
    """The same as a list; `broken` allows words longer than the width to be broken, as cells of a table must be.

    Examples
    --------
    >>> lines("column top fore-aft", 15)
    ['column top', 'fore-aft']
    """
    for tie in _TIES:
        text = tie.sub(lambda found: found.group(0).replace(" ", TIE), text)
    wrapped = textwrap.wrap(
        text,
        width,
        initial_indent=indent,
        subsequent_indent=indent if hang is None else hang,
        break_on_hyphens=False,
        break_long_words=broken,
    )
    return [line.replace(TIE, " ") for line in wrapped]
