"""``strongback new``"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from strongback.cli.common import DEMO, emit_json, json_option, say, subcommand


@subcommand("new", "strongback new my-machine", "strongback check my-machine")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Replace a project that is there.")
@click.option("--demo", is_flag=True, help="Copy the built-in demo instead, with its readings and fill.")
@click.option(
    "--kind", metavar="KIND", help="Kind of machine: column-mill, stand, round-column, portal or lathe."
)
@click.option(
    "--answers",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Answers of an interview, instead of asking.",
)
@click.option(
    "--units",
    type=click.Choice(["mm", "inch"]),
    default="mm",
    help="Unit of a length that is typed without one.",
)
@json_option
def command(
    folder: Path, force: bool, demo: bool, kind: str | None, answers: Path | None, units: str, as_json: bool
) -> None:
    """On a terminal it asks for the kind of machine and then for 15 to 19 things in the order in which one walks around it;
    no coordinate, no axis, no stiffness. With --answers it does the same from a file. Otherwise it writes a commented
    project with invented figures to be replaced.
    """
    if str(folder) in ("", ".") or not folder.name:
        raise click.UsageError("name a folder for the project, such as my-machine.")
    if str(folder) == DEMO:
        raise click.UsageError(
            "the word demo means the built-in machine; name another folder, such as my-machine."
        )
    from strongback.project.starter import copy_demo, new_from_answers, new_project

    unknown: tuple[str, ...] = ()
    asks = answers is None and not demo and not as_json and sys.stdin.isatty() and sys.stdout.isatty()
    if answers is not None:
        from strongback.project.source import read_source

        made, unknown = new_from_answers(
            folder, kind or "", read_source(answers, answers.name).text, force=force
        )
    elif asks or kind is not None:
        if not asks:
            raise click.UsageError("--kind asks on a terminal; without one give --answers FILE.")
        made, unknown = _asked(folder, kind, "in" if units == "inch" else "mm", force)
    else:
        made = copy_demo(folder, force=force) if demo else new_project(folder, force=force)
    if as_json:
        emit_json("new", {"folder": str(folder), "project": str(made), "not_measured": list(unknown)})
        return
    say(f"wrote {made}")
    if unknown:
        say(f"not measured, guessed and marked in it: {', '.join(unknown)}")
    say(f"next: change it to your machine, then strongback check {folder}")


def _asked(folder: Path, kind: str | None, bare: str, force: bool) -> tuple[Path, tuple[str, ...]]:
    """Ask, and write what was answered."""
    from strongback.project.interview import KINDS, answers_file, ask_all, kind_of
    from strongback.project.starter import new_from_answers

    def ask(prompt: str) -> str:
        return str(click.prompt(prompt, default="", show_default=False, prompt_suffix=""))

    if kind is None:
        for name, each in KINDS.items():
            say(f"  {name:<14}{each.words}")
        kind = ask("Which kind of machine? ").strip()
    chosen = kind_of(kind)
    told = ask_all(chosen.questions, ask, say, bare=bare)
    return new_from_answers(folder, kind, answers_file(kind, told), force=force)
