"""``strongback loads``"""

from __future__ import annotations

from pathlib import Path

import click

from strongback.cli.common import (
    answer,
    figures_option,
    json_option,
    load,
    out_option,
    progress,
    project_argument,
    subcommand,
)


@subcommand("loads", "strongback loads demo", 'strongback loads demo --case "own weight" --json')
@project_argument
@click.option(
    "--case",
    "names",
    multiple=True,
    metavar="NAME",
    help="Only this case, combination or pull; may be repeated.",
)
@json_option
@out_option
@figures_option
def command(project: str, names: tuple[str, ...], as_json: bool, out: Path, figures: bool) -> None:
    """Prints what the machine does under everything that acts at once: the cases and combinations of the project, and its
    own weight, which is always there: motion of the tool, forces of the ground and in the members. A single pull is a case
    that is there by its name.
    """
    from strongback.ask.loads import loads

    with progress() as step:
        found = loads(load(project), case=names, progress=step)
    answer("loads", found, as_json, out if figures else None)
