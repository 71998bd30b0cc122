"""``strongback new``"""

from __future__ import annotations

import sys
import warnings
from pathlib import Path

import click

from strongback.cli.common import (
    DEMO,
    emit_json,
    figures_option,
    json_option,
    note,
    out_option,
    say,
    subcommand,
    width,
)


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
    help="Unit of a length that is typed without one, and units of what the project shows.",
)
@json_option
@out_option
@figures_option
def command(
    folder: Path,
    force: bool,
    demo: bool,
    kind: str | None,
    answers: Path | None,
    units: str | None,
    as_json: bool,
    out: Path,
    figures: bool,
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
            folder, kind or "", read_source(answers, answers.name).text, force=force, units=units or ""
        )
    elif asks or kind is not None:
        if not asks:
            raise click.UsageError("--kind asks on a terminal; without one give --answers FILE.")
        made, unknown = _asked(folder, kind, units or "mm", force, out if figures else None)
    else:
        made = copy_demo(folder, force=force) if demo else new_project(folder, force=force)
    if as_json:
        emit_json("new", {"folder": str(folder), "project": str(made), "not_measured": list(unknown)})
        return
    say(f"wrote {made}")
    if unknown:
        say(f"not measured, guessed and marked in it: {', '.join(unknown)}")
    say(f"next: change it to your machine, then strongback check {folder}")


def _asked(
    folder: Path, kind: str | None, units: str, force: bool, out: Path | None
) -> tuple[Path, tuple[str, ...]]:
    """Ask, show what was understood, and write it."""
    from strongback.project.interview import KINDS, answers_file, ask_all, kind_of
    from strongback.project.starter import new_from_answers, refuse_taken

    refuse_taken(folder, force)  # refused before anybody answers nineteen questions

    def ask(prompt: str) -> str:
        return str(click.prompt(prompt, default="", show_default=False, prompt_suffix=""))

    def show(sketch: str) -> None:
        if out is not None:
            from strongback.views import style
            from strongback.views.sketch_plot import sketch_picture

            path = out / "sketches" / f"{sketch.replace(' ', '-')}.png"
            note(f"  as a picture: {path if path.exists() else style.save(sketch_picture(sketch), path)}")

    if kind is None:
        for name, each in KINDS.items():
            say(f"  {name:<14}{each.words}")
        kind = ask("Which kind of machine? ").strip()
    chosen = kind_of(kind)

    def review(told: list[tuple[str, str]]) -> str:
        return _reviewed(answers_file(kind, told, units), folder, out)

    bare = "in" if units == "inch" else "mm"
    told = ask_all(chosen.questions, ask, say, bare=bare, show=show, review=review)
    return new_from_answers(folder, kind, answers_file(kind, told, units), force=force)


def _reviewed(text: str, folder: Path, out: Path | None) -> str:
    """Show the machine of some answers, with its sizes and masses; what contradicts itself in them."""
    from strongback.errors import InputError, ProjectError
    from strongback.machine.sizes import sizes_of
    from strongback.plausible import UnlikelySize
    from strongback.project import read_text
    from strongback.project.interview import project_of
    from strongback.views.sheet import Sheet
    from strongback.views.sizes_text import sizes_blocks

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UnlikelySize)  # each was asked about as it was typed
            machine = read_text(project_of("", text, folder.name)[0], folder / "project.toml").machine
    except (InputError, ProjectError) as error:
        return str(error)
    say()
    say(Sheet(tuple(sizes_blocks(sizes_of(machine)))).text(width()))
    if out is not None:
        from strongback.views import style
        from strongback.views.check_plot import sketch_figure

        say(f"the machine as typed: {style.save(sketch_figure(machine), out / 'as-typed.png')}")
    return ""
