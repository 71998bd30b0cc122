"""``strongback explain``"""

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


@subcommand("explain", "strongback explain demo", "strongback explain demo --json")
@project_argument
@click.option("--before", metavar="NAME", help="Data set before the change; default: the first.")
@click.option("--after", metavar="NAME", help="Data set after it; default: the second.")
@click.option("--other-weights", is_flag=True, help="The two data sets used different weights.")
@json_option
@out_option
@figures_option
def command(
    project: str,
    before: str | None,
    after: str | None,
    other_weights: bool,
    as_json: bool,
    out: Path,
    figures: bool,
) -> None:
    """Prints the arithmetic first, R = 1 - s (1 - r) and the ceiling; then the change split over its possible causes, with
    standard uncertainties, and the explanations that the readings exclude.
    """
    from strongback.ask.explain import explain

    with progress() as step:
        found = explain(load(project), before=before, after=after, other_weights=other_weights, progress=step)
    answer("explain", found, as_json, out if figures else None)
