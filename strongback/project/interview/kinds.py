"""The five kinds of machine that can be asked for, and the files that are written of their answers."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from strongback.errors import InputError
from strongback.project.interview import column_mill, lathe, portal, round_column, stand
from strongback.project.interview.answers import Answers, read_answers
from strongback.project.interview.draft import quoted
from strongback.project.interview.question import Question

__all__ = ["KINDS", "Kind", "answers_file", "kind_of", "project_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of machine.

    Parameters
    ----------
    words : str
    questions : tuple of Question
    write : callable
        From answers and a name to the text of a project.
    """

    words: str
    questions: tuple[Question, ...]
    write: Callable[[Answers, str], str]


KINDS: Mapping[str, Kind] = {
    "column-mill": Kind(
        words="mill with a carriage on a column", questions=column_mill.QUESTIONS, write=column_mill.write
    ),
    "stand": Kind(words="drill or tapping stand", questions=stand.QUESTIONS, write=stand.write),
    "round-column": Kind(
        words="drill mill on a round column", questions=round_column.QUESTIONS, write=round_column.write
    ),
    "portal": Kind(
        words="portal or router with two uprights", questions=portal.QUESTIONS, write=portal.write
    ),
    "lathe": Kind(words="bench lathe", questions=lathe.QUESTIONS, write=lathe.write),
}


def kind_of(name: str) -> Kind:
    """A kind by its name.

    Raises
    ------
    InputError
        With the nearest, if there is none.

    Examples
    --------
    >>> kind_of("stand").words
    'drill or tapping stand'
    """
    if name in KINDS:
        return KINDS[name]
    near = difflib.get_close_matches(name, KINDS, n=1)
    hint = f'did you mean "{near[0]}"?' if near else f"kinds: {', '.join(KINDS)}"
    raise InputError(f'there is no kind of machine "{name[:40]}"', hint=hint)


def project_of(kind: str, text: str, name: str, units: str = "") -> tuple[str, Answers]:
    """The project file of an answers file, and the answers.

    Parameters
    ----------
    kind : str
        Empty where the file says it.
    text : str
        Of the answers file.
    name : str
        Of the machine.
    units : {"", "mm", "inch"}
        Of lengths without a unit; what the answers say, by default.

    Raises
    ------
    InputError
        With every answer that cannot be used.
    """
    try:
        told = str(tomllib.loads(text).get("kind", ""))
    except tomllib.TOMLDecodeError:
        told = ""  # the reader of the answers says it better
    if kind and told and kind != told:
        raise InputError(
            f'the answers are of a "{told[:40]}", not of a "{kind}"', hint=f"use --kind {told[:40]}"
        )
    if not (kind or told):
        raise InputError(
            "the answers do not say of which kind of machine",
            hint=f'write kind = "..." first: {", ".join(KINDS)}',
        )
    chosen = kind_of(kind or told)
    answers = read_answers(text, chosen.questions, units)
    return chosen.write(answers, name), answers


def answers_file(kind: str, told: Sequence[tuple[str, str]], units: str = "mm") -> str:
    """The answers as a file that can be corrected and read again.

    Parameters
    ----------
    kind : str
    told : sequence of (str, str)
        Key and answer as it was typed.
    units : {"mm", "inch"}
        Of what the project shows.
    """
    lines = [
        "# Answers of an interview; correct a number and write the project again:",
        f"# strongback new FOLDER --kind {kind} --answers answers.toml --force",
        f"kind = {quoted(kind)}",
        *([f"units = {quoted(units)}"] if units != "mm" else []),
    ]
    lines += [f"{key} = {quoted(answer)}" for key, answer in told]
    return "\n".join(lines) + "\n"
