"""``strongback deflect``"""

from __future__ import annotations

from pathlib import Path

import click

from strongback.cli._map import show_map
from strongback.cli.common import (
    emit_json,
    figures_option,
    json_option,
    load,
    note,
    out_option,
    progress,
    project_argument,
    show,
    subcommand,
    write_figures,
)


@subcommand(
    "deflect",
    "strongback deflect demo",
    "strongback deflect demo --pull sideways --json",
    "strongback deflect demo --map",
)
@project_argument
@click.option("--pull", "names", multiple=True, metavar="NAME", help="Only this pull; may be repeated.")
@click.option(
    "--map", "over_travel", is_flag=True, help="Instead: compliance along the travels of the machine."
)
@click.option(
    "--magnify",
    type=float,
    metavar="FACTOR",
    help="On the motion in figures, the same for pictures to be compared.",
)
@json_option
@out_option
@figures_option
def command(
    project: str,
    names: tuple[str, ...],
    over_travel: bool,
    magnify: float | None,
    as_json: bool,
    out: Path,
    figures: bool,
) -> None:
    """Prints the motion of the tool against the work, the expected reading of every gauge, and the budget: how much each
    part gives by each mechanism, and what would be left if that part were rigid.
    """
    from strongback.ask.deflect import deflect

    if over_travel:
        show_map(load(project).machine, as_json=as_json, out=out, figures=figures)
        return
    with progress() as step:
        found = deflect(project, pull=names, progress=step)
    if as_json:
        emit_json("deflect", found)
        return
    show(found)
    if figures:
        note("")
        write_figures(found, out, magnify=magnify)
