"""``strongback plan``"""

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
)


@subcommand(
    "plan",
    "strongback plan demo",
    'strongback plan demo --count 6 --learn "base, about x" --json',
    "strongback plan demo --after before --no-figures",
)
@project_argument
@click.option(
    "--count", type=click.IntRange(1, 60), default=12, show_default=True, help="Readings to propose."
)
@click.option("--learn", metavar="NAME", help='Learn about one stiffness, such as "base, about x".')
@click.option("--after", metavar="DATA", help="Go on from the readings of this data set.")
@click.option("--loads", metavar="NEWTONS", help='Loads to choose from for every pull, such as "100, 200".')
@json_option
@out_option
@figures_option
def command(
    project: str,
    count: int,
    learn: str | None,
    after: str | None,
    loads: str | None,
    as_json: bool,
    out: Path,
    figures: bool,
) -> None:
    """Chooses readings one after the other by what each adds to the knowledge of the stiffnesses, with a price for moving
    the stand and for rigging a pull. Writes a test sheet to print and a table to fill in.
    """
    from strongback.ask.plan import plan
    from strongback.views.evidence_sheet import write_sheet

    with progress() as step:
        found = plan(load(project), count=count, learn=learn, after=after, loads=_loads(loads), progress=step)
    answer("plan", found, as_json, None)
    if figures and not as_json:
        for path in write_sheet(found.project, found.machine, found.plan, out):
            note(f"wrote {path}")


def _loads(text: str | None) -> tuple[float, ...] | None:
    """A list of newtons."""
    if text is None:
        return None
    try:
        values = tuple(float(part) for part in text.replace("N", "").split(","))
    except ValueError:
        values = ()
    if not values or min(values) <= 0.0:
        raise click.UsageError(f"--loads '{text}' is no list of newtons above 0, such as \"100, 200\".")
    return values
