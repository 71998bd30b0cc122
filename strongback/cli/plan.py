"""``strongback plan``"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from strongback.cli._evidence import campaign_of, data_sets
from strongback.cli.common import (
    emit_json,
    figures_option,
    heading,
    json_option,
    load,
    note,
    out_option,
    pick,
    project_argument,
    say,
    subcommand,
    width,
)

if TYPE_CHECKING:
    from strongback.machine.values import Machine


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
    import numpy as np

    from strongback.cli._machine import assembled, note_walls
    from strongback.evidence.calibrate import calibrate
    from strongback.evidence.model import default_parameters, in_words
    from strongback.evidence.plan import candidates, plan
    from strongback.views import evidence_text as text
    from strongback.views.parts_text import parts_dict

    read = load(project)
    ready = assembled(read.machine, contact=True)
    machine = ready.machine
    parameters = default_parameters(machine)
    covariance = taken = target = None
    if after is not None:
        sets = {d.name: d for d in data_sets(read)}
        log = sets[pick(after, list(sets), "data set")]
        known = calibrate(
            machine,
            ready.parts,
            campaign_of(log).measured,
            instrument=log.instrument,
            advise=False,
        )
        machine, covariance = known.machine, known.covariance
        taken = known.fit.sensitivity[:, : len(parameters)]
    if learn is not None:
        names = {name: i for i, p in enumerate(parameters) for name in (str(p), in_words(p, machine))}
        target = np.zeros(len(parameters))
        target[names[pick(learn, list(names), "stiffness")]] = 1.0
    found = plan(
        machine,
        ready.parts,
        count,
        choices=candidates(machine, _loads(machine, loads)),
        parameters=parameters,
        covariance=covariance,
        taken=taken,
        target=target,
    )
    if as_json:
        emit_json("plan", {**text.plan_dict(found), "parts": parts_dict(ready.reports)})
        return
    heading(f"{machine.name}: the next {len(found.steps)} readings, in this order")
    say(text.plan_table(found, width()))
    say()
    say(text.plan_words(found, width()))
    say()
    say(text.cautions(width()))
    note_walls(ready)
    if figures:
        from strongback.views.evidence_sheet import write_sheet

        for path in write_sheet(read, machine, found, out):
            note(f"wrote {path}")


def _loads(machine: Machine, text: str | None) -> dict[str, tuple[float, ...]] | None:
    """Loads for every pull, from a list of newtons."""
    if text is None:
        return None
    try:
        values = tuple(float(part) for part in text.replace("N", "").split(","))
    except ValueError:
        values = ()
    if not values or min(values) <= 0.0:
        raise click.UsageError(f"--loads '{text}' is no list of newtons above 0, such as \"100, 200\".")
    return {p.name: values for p in machine.pulls if any(p.force)}
