"""``strongback deflect``"""

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
    from strongback.ask.map import compliance_map

    if over_travel:
        with progress() as step:
            answer("map", compliance_map(load(project), progress=step), as_json, out if figures else None)
        return
    with progress() as step:
        found = deflect(load(project), pull=names, progress=step)
    answer("deflect", found, as_json, out if figures else None, magnify=magnify)
