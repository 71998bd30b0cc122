"""``strongback readings``"""

from __future__ import annotations

from pathlib import Path

import click

from strongback.cli.common import (
    BAD_ROWS,
    answer,
    data_option,
    figures_option,
    json_option,
    load,
    out_option,
    project_argument,
    subcommand,
)


@subcommand("readings", "strongback readings demo", "strongback readings demo --data after --json")
@project_argument
@data_option
@json_option
@out_option
@figures_option
@click.pass_context
def command(
    ctx: click.Context, project: str, data: str | None, as_json: bool, out: Path, figures: bool
) -> None:
    """Prints one value for each gauge and pull, with its interval of 95 % and what the interval is made of. Rows with
    faults are named and set aside, with exit code 3, and the good rows are shown all the same.
    """
    from strongback.ask.readings import readings

    found = readings(load(project), data=data)
    answer("readings", found, as_json, out if figures else None)
    if found.bad:
        ctx.exit(BAD_ROWS)
