"""``strongback calibrate``"""

from __future__ import annotations

from pathlib import Path

import click

from strongback.cli.common import (
    answer,
    data_option,
    figures_option,
    heading,
    json_option,
    load,
    note,
    out_option,
    progress,
    project_argument,
    say,
    subcommand,
    width,
)

MOST_SUSPECTS = 12


@subcommand(
    "calibrate",
    "strongback calibrate demo",
    'strongback calibrate demo --fit base --fit "column, wall" --json',
    "strongback calibrate demo --suspects --no-figures",
    "strongback calibrate demo --write calibrated-mill --no-figures",
)
@project_argument
@data_option
@click.option(
    "--fit",
    "names",
    multiple=True,
    metavar="NAME",
    help='Tell only this joint or member, or "part, mechanism"; may be repeated. Default: all with a range.',
)
@click.option("--suspects", is_flag=True, help="Show what may be wrong, tried one by one.")
@click.option(
    "--exact-rest", is_flag=True, help="Take all that is not fitted as exact: intervals too narrow."
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
    suspects: bool,
    exact_rest: bool,
    write: Path | None,
    force: bool,
    as_json: bool,
    out: Path,
    figures: bool,
) -> None:
    """Fits joints and factors of members in the logarithm, with their ranges as priors, and tries what may be wrong: walls
    that give, slips of the operator, a joint not drawn. What the readings cannot tell gets no number but words, and the
    reading that would tell it; where nothing explains them all numbers are withheld.
    """
    from strongback.ask.calibrate import calibrate

    with progress() as step:
        found = calibrate(load(project), data=data, fit=names, exact_rest=exact_rest, progress=step)
    answer("calibrate", found, as_json, out if figures else None)
    if suspects and not as_json and not exact_rest:
        from strongback.views.readings_text import suspects_table

        say()
        heading("What may be wrong, tried one by one")
        say(suspects_table(found.calibration, MOST_SUSPECTS).text(width()))
    if write is not None:
        note(f"wrote {found.write(write, force=force)}")
