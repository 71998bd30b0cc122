"""What a command prints, as a value: headings, words, tables in order, for a terminal and for a notebook."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from typing import TypeAlias

from strongback.views.table import Table
from strongback.views.wrap import fill, fitted

__all__ = ["Block", "Heading", "Sheet", "Words"]


@dataclass(frozen=True, slots=True)
class Heading:
    """A line that opens a block."""

    text: str


@dataclass(frozen=True, slots=True)
class Words:
    """A sentence that is wrapped to the width.

    Parameters
    ----------
    text : str
    first, then : str
        What its first line and the others begin with.
    """

    text: str
    first: str = ""
    then: str = ""


Block: TypeAlias = Heading | Words | Table | str
"""A text is printed as it stands; an empty one is an empty line."""


def _same(text: str) -> str:
    return text


@dataclass(frozen=True, slots=True, repr=False)
class Sheet:
    """Blocks in the order in which they are read.

    Parameters
    ----------
    blocks : tuple of Block
    notes : tuple of str
        What is said beside: a command prints it on stderr, where it is seen although the answer goes into a file.

    Examples
    --------
    >>> print(Sheet((Heading("shares"), Words("two lines of words", then="  "))).text(12))
    shares
    two lines of
      words
    """

    blocks: tuple[Block, ...]
    notes: tuple[str, ...] = ()

    @property
    def tables(self) -> tuple[Table, ...]:
        """Its tables, each with the heading above it as title."""
        found, title = [], ""
        for block in self.blocks:
            title = block.text if isinstance(block, Heading) else title
            if isinstance(block, Table):
                found.append(block.titled(block.title or title))
        return tuple(found)

    def text(self, width: int = 80, bold: Callable[[str], str] = _same) -> str:
        """For a terminal.

        Parameters
        ----------
        width : int
            Columns.
        bold : callable
            What makes a heading of a text.
        """
        return "\n".join(_text(block, width, bold) for block in self.blocks)

    def whole(self, width: int = 80) -> str:
        """`text` with the notes below it."""
        return "\n".join([self.text(width), *(fitted(note, width) for note in self.notes)])

    def html(self) -> str:
        """For a page, in the colours of that page, light or dark."""
        return f'<div style="color:inherit">{"".join(map(_html, (*self.blocks, *self.notes)))}</div>'


def _text(block: Block, width: int, bold: Callable[[str], str]) -> str:
    if isinstance(block, Heading):
        return bold(block.text)
    if isinstance(block, Words):
        return fill(block.text, width, indent=block.first, hang=block.then)
    return fitted(block, width) if isinstance(block, str) else block.text(width)


def _html(block: Block) -> str:
    if isinstance(block, Table):
        return block.html()
    if isinstance(block, Heading):
        return f'<p style="font-weight:bold;margin:1em 0 0.3em">{escape(block.text)}</p>'
    if isinstance(block, Words):
        return f'<p style="margin:0.3em 0">{escape(block.first + block.text)}</p>'
    return f'<div style="white-space:pre-wrap">{escape(block)}</div>' if block else ""
