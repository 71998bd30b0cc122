"""``strongback calibrate``"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from strongback.cli._evidence import (
    campaign_of,
    chosen,
    data_option,
    on_its_machine,
    picture_name,
    say_faults,
)
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
    from strongback.machine.parameters import Parameter
    from strongback.machine.values import Machine


@subcommand(
    "calibrate",
    "strongback calibrate demo",
    'strongback calibrate demo --fit base --fit "column, bending" --json',
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
    from strongback.cli._machine import assembled, note_walls
    from strongback.evidence.calibrate import calibrate
    from strongback.views import evidence_text as text
    from strongback.views.parts_text import parts_dict

    read = load(project)
    log = chosen(read, data)
    campaign = campaign_of(log)
    ready = assembled(on_its_machine(read, log).machine, contact=True)
    found = calibrate(
        ready.machine,
        ready.parts,
        campaign.measured,
        parameters=_parameters(ready.machine, names),
        instrument=log.instrument,
    )
    if as_json:
        emit_json("calibrate", {**text.calibration_dict(found), "parts": parts_dict(ready.reports)})
    else:
        heading(f'{ready.machine.name}: calibrated on readings "{log.name}"')
        say(text.calibration_table(found, width()))
        say()
        say(text.calibration_words(found))
        if found.findings:
            say()
            heading("What these readings cannot tell")
            say(text.bullets(found.findings, width()))
    note_walls(ready)
    say_faults(log, campaign)
    source = f'calibrated on readings "{log.name}"'
    if any(holder.source == source for _, holder in read.machine.holders()):
        note(
            f'the project was calibrated on "{log.name}" already: to use it twice makes the intervals too narrow'
        )
    if write is not None:
        from strongback.project.calibrated import write_calibrated

        made = write_calibrated(read, found.machine, write, source, force=force)
        note(f"wrote {made}")
    if figures and not as_json:
        from strongback.views import style
        from strongback.views.evidence_plot import comparison_figure, correlation_figure

        named = picture_name("calibrated", read, log)
        note(f"wrote {style.save(comparison_figure(found.after), out / named)}")
        note(f"wrote {style.save(correlation_figure(found), out / 'correlation.png')}")


def _parameters(machine: Machine, names: tuple[str, ...]) -> tuple[Parameter, ...] | None:
    """Stiffnesses of some names, or None for the default."""
    from strongback.evidence.model import default_parameters, in_words
    from strongback.machine.parameters import parameters_of

    if not names:
        return None
    every = tuple(dict.fromkeys((*default_parameters(machine), *parameters_of(machine))))
    known = {p: {p.part, str(p), in_words(p, machine)} for p in every}
    words = sorted({word for mine in known.values() for word in mine})
    wanted = {pick(name, words, "stiffness") for name in names}
    return tuple(p for p, mine in known.items() if mine & wanted)
