"""``strongback compare``"""

from __future__ import annotations

from pathlib import Path

from strongback.cli.common import (
    answer,
    data_option,
    figures_option,
    json_option,
    load,
    out_option,
    progress,
    project_argument,
    subcommand,
)


@subcommand("compare", "strongback compare demo")
@project_argument
@data_option
@json_option
@out_option
@figures_option
def command(project: str, data: str | None, as_json: bool, out: Path, figures: bool) -> None:
    """The machine as the project file has it, with joint stiffnesses as they stand there: starting values before a
    calibration show how far off the handbook is.
    """
    from strongback.ask.compare import compare

    with progress() as step:
        found = compare(load(project), data=data, progress=step)
    answer("compare", found, as_json, out if figures else None)
