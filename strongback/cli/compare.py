"""``strongback compare``"""

from __future__ import annotations

from pathlib import Path

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
    project_argument,
    say,
    subcommand,
    width,
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
    from strongback.cli._machine import assembled, note_walls
    from strongback.evidence.compare import compare
    from strongback.views import evidence_text as text
    from strongback.views.parts_text import parts_dict

    read = load(project)
    log = chosen(read, data)
    campaign = campaign_of(log)
    ready = assembled(on_its_machine(read, log).machine, contact=True)
    found = compare(ready.machine, ready.parts, campaign.measured)
    if as_json:
        emit_json("compare", {**text.comparison_dict(found), "parts": parts_dict(ready.reports)})
    else:
        heading(f'{ready.machine.name}: predicted beside measured, readings "{log.name}"')
        say(text.comparison_words(found))
        say()
        say(text.comparison_table(found, width()))
    note_walls(ready)
    say_faults(log, campaign)
    if figures and not as_json:
        from strongback.views import style
        from strongback.views.evidence_plot import comparison_figure

        named = picture_name("comparison", read, log)
        note(f"wrote {style.save(comparison_figure(found), out / named)}")
