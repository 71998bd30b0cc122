"""``strongback new``"""

from __future__ import annotations

from pathlib import Path

import click

from strongback.cli.common import DEMO, emit_json, json_option, say, subcommand


@subcommand("new", "strongback new my-machine", "strongback check my-machine")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Replace a project that is there.")
@click.option("--demo", is_flag=True, help="Copy the built-in demo instead, with its readings and fill.")
@json_option
def command(folder: Path, force: bool, demo: bool, as_json: bool) -> None:
    """The project is complete and without a fault: a column, an arm and a table, all invented, with a comment beside every
    line. Replace what it says by what you have.
    """
    if str(folder) in ("", ".") or not folder.name:
        raise click.UsageError("name a folder for the project, such as my-machine.")
    if str(folder) == DEMO:
        raise click.UsageError(
            "the word demo means the built-in machine; name another folder, such as my-machine."
        )
    from strongback.project.starter import copy_demo, new_project

    made = copy_demo(folder, force=force) if demo else new_project(folder, force=force)
    if as_json:
        emit_json("new", {"folder": str(folder), "project": str(made)})
        return
    say(f"wrote {made}")
    say(f"next: change it to your machine, then strongback check {folder}")
