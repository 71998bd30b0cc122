"""``strongback readings``"""

from __future__ import annotations

from pathlib import Path

import click

from strongback.cli._evidence import BAD_ROWS, campaign_of, chosen, data_option, picture_name, say_faults
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
    from strongback.views import evidence_text as text

    read = load(project)
    log = chosen(read, data)
    campaign = campaign_of(log)
    if as_json:
        emit_json("readings", text.readings_dict(log, campaign))
    else:
        heading(f'Readings "{log.name}", {log.file}: {len(campaign.measured)} values')
        say(text.readings_table(campaign, width()))
        say()
        say(text.scatter_words(campaign))
        say()
        heading("Where the uncertainty comes from, standard uncertainties")
        say(text.contributions_table(campaign, width()))
    bad = say_faults(log, campaign)
    if figures and not as_json:
        from strongback.views import style
        from strongback.views.evidence_plot import readings_figure

        named = picture_name("readings", read, log)
        note(f"wrote {style.save(readings_figure(campaign), out / named)}")
    if bad:
        ctx.exit(BAD_ROWS)
