"""``strongback calibrate``"""

from __future__ import annotations

from pathlib import Path

import click

from strongback.cli.common import (
    answer,
    data_option,
    figures_option,
    json_option,
    load,
    note,
    out_option,
    progress,
    project_argument,
    subcommand,
)


@subcommand(
    "calibrate",
    "strongback calibrate demo",
    'strongback calibrate demo --fit base --fit "column, wall" --json',
    "strongback calibrate demo --write calibrated-mill --no-figures",
)
@project_argument
@data_option
@click.option(
    "--fit",
    "names",
    multiple=True,
    metavar="NAME",
    help='Fit only this joint or member, or "part, mechanism"; may be repeated. Default: all with a range.',
)
@click.option(
    "--write", type=click.Path(path_type=Path), metavar="FOLDER", help="Write the calibrated project there."
)
@click.option("--force", is_flag=True, help="Replace a project that is there.")
@json_option
@out_option
@figures_option
def command(
    project: str,
    data: str | None,
    names: tuple[str, ...],
    write: Path | None,
    force: bool,
    as_json: bool,
    out: Path,
    figures: bool,
) -> None:
    """Fits joints and factors of members in the logarithm, with their ranges as priors. What the readings cannot tell gets
    no number but words, and the reading that would tell it.
    """
    from strongback.ask.calibrate import calibrate

    with progress() as step:
        found = calibrate(load(project), data=data, fit=names, progress=step)
    answer("calibrate", found, as_json, out if figures else None)
    if write is not None:
        note(f"wrote {found.write(write, force=force)}")
