"""``strongback mix``"""

from __future__ import annotations

from pathlib import Path

import click

from strongback.cli.common import (
    answer,
    figures_option,
    json_option,
    load,
    note,
    out_option,
    progress,
    project_argument,
    subcommand,
    write_figures,
)


@subcommand("mix", "strongback mix demo", "strongback mix demo --no-walls --json")
@project_argument
@click.option(
    "--draws",
    type=click.Choice(["16", "32", "64", "128", "256", "512", "1024"]),
    default="128",
    show_default=True,
    help="Samples of what is not known.",
)
@click.option(
    "--walls/--no-walls",
    default=None,
    help="Count the walls of the member or leave them out; default: as the project has it.",
)
@json_option
@out_option
@figures_option
def command(project: str, draws: str, walls: bool | None, as_json: bool, out: Path, figures: bool) -> None:
    """Takes the project's [mix] table from void test and bags to grams, modulus, pour and cautions, and ends with the
    deflection of the tool before and after, its interval, and the chance of reaching the goal. Writes figures and a
    sheet to print.
    """
    from strongback.ask.mix import mix
    from strongback.project.atomic import write_bytes
    from strongback.views.fill_sheet import sheet

    read = load(project)
    with progress() as step:
        found = mix(read, draws=int(draws), walls=walls, progress=step)
    answer("mix", found, as_json, None)
    if as_json:
        return
    out.mkdir(parents=True, exist_ok=True)
    page = out / "mix-and-pour-sheet.html"
    write_bytes(page, sheet(found.plan, read.machine.name).encode("utf-8"))
    note("")
    note(f"wrote {page}")
    if figures:
        write_figures(found, out)
