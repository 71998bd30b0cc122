"""The interview on a terminal; what asks and what says is handed in, so that a test can speak for a person."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from strongback.errors import InputError
from strongback.project.interview.answers import echo, parse, unusual
from strongback.project.interview.question import Field, Question
from strongback.project.interview.sketches import SKETCHES

__all__ = ["ask_all"]

HELP = "Enter takes what stands in brackets; - I do not know; ? explains; b goes back."
Ask = Callable[[str], str]
Say = Callable[[str], None]
Review = Callable[[list[tuple[str, str]]], str]


def _nothing(name: str) -> None:
    """Shows no sketch."""


def _content(told: list[tuple[str, str]]) -> str:
    """Finds nothing wrong."""
    return ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Talk:
    """How one talks with the person."""

    ask: Ask
    say: Say
    show: Say
    bare: str


class _Back(Exception):
    """The person wants the question before once more."""


def ask_all(
    questions: Sequence[Question],
    ask: Ask,
    say: Say,
    *,
    bare: str = "mm",
    show: Say = _nothing,
    review: Review = _content,
) -> list[tuple[str, str]]:
    """Ask everything, allow to go back and to change, until it is right.

    Parameters
    ----------
    questions : sequence of Question
    ask : callable
        Shows a prompt and returns what was typed.
    say : callable
        Shows a line.
    bare : {"mm", "in"}
        Unit of a length that is typed without one.
    show : callable
        Shows the sketch of a name beside the one in the terminal, such as by writing its picture.
    review : callable
        Shows the machine of all answers before they are confirmed; returns what contradicts itself in them, or nothing.

    Returns
    -------
    list of (str, str)
        Key and answer, to be written to a file; what was not known as ``"unknown"``.
    """
    told: dict[str, str] = {}
    say(HELP)
    talk = _Talk(ask=ask, say=say, show=show, bare=bare)
    _walk(questions, told, talk)
    while True:
        _summary(questions, told, say)
        wrong = review(list(told.items()))
        if wrong:
            say(wrong)
        wanted = "the number of the question to change"
        answer = ask(f"Which is wrong? [{wanted}] " if wrong else f"Right? [y, or {wanted}] ").strip().lower()
        if answer in ("", "y", "yes") and not wrong:
            return list(told.items())
        if answer.isdigit() and 1 <= int(answer) <= len(questions):
            _walk(questions[int(answer) - 1 : int(answer)], told, talk)
        else:
            say(f"say {'' if wrong else 'y, or '}a number from 1 to {len(questions)}")


def _walk(questions: Sequence[Question], told: dict[str, str], talk: _Talk) -> None:
    at = 0
    while at < len(questions):
        try:
            _question(questions[at], at + 1, len(questions), told, talk)
            at += 1
        except _Back:
            at = max(0, at - 1)


def _question(q: Question, number: int, of: int, told: dict[str, str], talk: _Talk) -> None:
    talk.say("")
    talk.say(f"{number} of {of}: {q.title}")
    if q.sketch in SKETCHES:
        talk.say(SKETCHES[q.sketch].strip("\n"))
        talk.show(q.sketch)
    for field in q.fields:
        told[field.key] = _field(field, q, talk)


def _field(field: Field, q: Question, talk: _Talk) -> str:
    ask, say, bare = talk.ask, talk.say, talk.bare
    while True:
        typed = ask(f"  {field.words}{_range(field)} [{echo(field, field.default)}]: ").strip()
        if typed.lower() == "b":
            raise _Back
        if typed == "?":
            say(
                textwrap.indent(textwrap.fill(q.explain or "Measure it, or say - if you cannot.", 76), "    ")
            )
            continue
        if not typed:
            return _written(field, field.default)
        try:
            value = parse(field, typed, bare=bare)
        except InputError as error:
            say(f"    {error.message}; {error.hint}")
            continue
        if value is None:
            say(f"    taken as {echo(field, field.default)}, marked as not measured")
            return "unknown"
        say(f"    {echo(field, value)}")
        if _kept(field, value, ask):
            return _written(field, value)


def _kept(field: Field, value: Any, ask: Ask) -> bool:
    odd = unusual(field, value) if isinstance(value, float | int) and not isinstance(value, bool) else ""
    return not odd or ask(f"    {odd} Keep it? [y/n] ").strip().lower() in ("y", "yes", "keep")


def _range(field: Field) -> str:
    if field.kind == "choice":
        return f" ({', '.join(field.choices)})"
    if field.usual is None:
        return ""
    low, high = (echo(field, v).split(" (")[0] for v in field.usual)
    return f" ({low} to {high})"


def _written(field: Field, value: Any) -> str:
    return echo(field, value).split(" (")[0].replace("·", "*")


def _summary(questions: Sequence[Question], told: dict[str, str], say: Say) -> None:
    say("")
    for number, q in enumerate(questions, 1):
        sizes = "; ".join(f"{f.words} {told.get(f.key, 'unknown')}" for f in q.fields)
        say(textwrap.fill(f"{number:>3}  {q.title}: {sizes}", 79, subsequent_indent="     "))
