"""The words of the trade as this package uses them."""

from __future__ import annotations

import functools
import textwrap
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import resources

from strongback.errors import InputError
from strongback.views.wrap import fill

__all__ = ["Word", "find", "words", "words_text"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """A word of the trade.

    Parameters
    ----------
    name : str
    text : str
        Two lines.
    sketch : str
        Drawn in plain characters; may be empty.
    """

    name: str
    text: str
    sketch: str = ""


@functools.cache
def words() -> tuple[Word, ...]:
    """Every word, in the order of the job.

    Examples
    --------
    >>> words()[0].name
    'structural loop'
    """
    data = tomllib.loads(
        resources.files("strongback.views").joinpath("words.toml").read_text(encoding="utf-8")
    )
    return tuple(
        Word(name=w["name"], text=" ".join(w["text"].split()), sketch=w.get("sketch", "").strip("\n"))
        for w in data["word"]
    )


def find(name: str) -> tuple[Word, ...]:
    """Words of a name, or whose name holds it.

    Parameters
    ----------
    name : str

    Returns
    -------
    tuple of Word

    Raises
    ------
    InputError
        If there is none.

    Examples
    --------
    >>> [w.name for w in find("Shear")]
    ['shear centre']
    """
    asked = name.strip().lower()
    exact = tuple(w for w in words() if w.name.lower() == asked)
    found = exact or tuple(w for w in words() if asked and asked in w.name.lower())
    if not found:
        raise InputError(f'the word "{name[:40]}" is not explained here', hint="strongback words lists all")
    return found


def words_text(chosen: Sequence[Word], width: int) -> str:
    """Words with their explanation and sketch, wrapped.

    Parameters
    ----------
    chosen : sequence of Word
    width : int
        Columns.
    """
    blocks = []
    for word in chosen:
        body = fill(word.text, width, indent="  ", hang="  ")
        drawn = f"\n\n{textwrap.indent(word.sketch, '    ')}\n" if word.sketch else ""
        blocks.append(f"{word.name}\n{body}{drawn}")
    return "\n\n".join(blocks)
