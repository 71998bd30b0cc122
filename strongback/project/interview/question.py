"""What is asked: one thing a question, with its unit, its usual range and a default that is marked where it is taken."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

__all__ = ["Field", "FieldKind", "Question"]

FieldKind: TypeAlias = Literal[
    "length", "mass", "force", "couple", "count", "bolts", "choice", "yes", "place"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One answer.

    Parameters
    ----------
    key : str
        In the trade's words, as the answers file has it: ``"column.width"``.
    words : str
        What is asked.
    kind : str
        A size with a unit, a number of things, bolts such as ``"4 x M8"``, one of some words, yes or no, or a place along
        an axis, which may be negative.
    default : float or str or bool
        In SI; taken, and marked in the project, where the answer is not known.
    usual : (float, float), optional
        In SI; outside it is asked once again.
    choices : tuple of str
    source : str
        Of the usual range and the default.
    """

    key: str
    words: str
    kind: FieldKind
    default: float | str | bool
    usual: tuple[float, float] | None = None
    choices: tuple[str, ...] = ()
    source: str = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One stop on the way around the machine.

    Parameters
    ----------
    title : str
    fields : tuple of Field
    explain : str
        Two lines for whoever asks.
    sketch : str
        Name of a sketch.
    only_if : (str, str), optional
        Key and answer without which it is not asked.
    """

    title: str
    fields: tuple[Field, ...]
    explain: str = ""
    sketch: str = ""
    only_if: tuple[str, str] | None = None
