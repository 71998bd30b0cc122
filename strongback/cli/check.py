"""``strongback check``"""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import TYPE_CHECKING

import click

from strongback.cli.common import (
    BAD_ROWS,
    answer,
    figures_option,
    json_option,
    load,
    note,
    out_option,
    project_argument,
    subcommand,
)

if TYPE_CHECKING:
    from strongback.project import Project

MOST_DRAWN = 5  # outlines at fault


@subcommand("check", "strongback check demo")
@project_argument
@json_option
@figures_option
@out_option
@click.pass_context
def command(ctx: click.Context, project: str, as_json: bool, figures: bool, out: Path) -> None:
    """Names, references, units, outlines, logs of readings, and whether any part is free to move. Every fault is printed
    with file, line, column and a hint, and an outline at fault is drawn. Else a picture shows the machine as typed.
    """
    from strongback.ask.check import check

    found = check(_read(project, out if figures and not as_json else None))
    answer("check", found, as_json, out if figures else None)
    if found.faults:
        ctx.exit(BAD_ROWS)


def _read(project: str, out: Path | None) -> Project:
    """The project; where an outline is at fault, with a picture of it."""
    from strongback.errors import ProjectError
    from strongback.plausible import UnlikelySize
    from strongback.project.source import Fault

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UnlikelySize)  # `check` tells them, all of them and once
            return load(project)
    except ProjectError as error:
        drawn = [fault for fault in error.faults if isinstance(fault, Fault) and fault.ring]
        if drawn and out is not None:
            from strongback.views import style
            from strongback.views.check_plot import fault_figure

            for i, fault in enumerate(drawn[:MOST_DRAWN], 1):
                picture = fault_figure(fault.message, fault.ring, fault.mark or fault.ring[0])
                note(f"wrote {style.save(picture, out / f'outline-at-fault-{i}.png')}")
        raise
