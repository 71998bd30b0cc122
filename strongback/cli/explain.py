"""``strongback explain``"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from strongback.cli._evidence import campaign_of, data_sets, say_faults
from strongback.cli.common import (
    emit_json,
    figures_option,
    heading,
    json_option,
    load,
    note,
    out_option,
    pick,
    progress,
    project_argument,
    say,
    subcommand,
    width,
)

if TYPE_CHECKING:
    from strongback.evidence.change import Case
    from strongback.machine.values import Machine
    from strongback.project.readings import DataSet


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
    from strongback.cli._machine import say_walls
    from strongback.errors import ReadingsError
    from strongback.evidence.explain import explain
    from strongback.evidence.model import default_parameters, prior_uncertainty
    from strongback.machine.part.report import part_reports
    from strongback.views import evidence_text as text

    read = load(project)
    sets = {d.name: d for d in data_sets(read)}
    names = list(sets)
    if len(names) < 2:
        raise ReadingsError(
            "one data set only: nothing to explain", hint="add the [[readings]] after the change"
        )
    first = sets[pick(before, names, "data set") if before else names[0]]
    second = sets[pick(after, names, "data set") if after else names[1]]
    case = _case(read.machine, second)
    parameters = default_parameters(read.machine)
    logs = campaign_of(first), campaign_of(second)
    found = explain(
        case,
        *logs,
        parameters=parameters,
        prior_u=prior_uncertainty(read.machine, parameters),
        u_load=first.instrument.u_load,
        same_load=not other_weights,
    )
    if as_json:
        emit_json("explain", {**text.explanation_dict(found), **_states(case)})
        return
    heading(f'{read.machine.name}: from "{first.name}" to "{second.name}"')
    say(text.gains_words(found, width()))
    say()
    heading("What the readings say of each cause")
    say(text.causes_table(found, width()))
    say()
    say(text.bullets([*map(str, found.state), *found.findings], width()))
    say()
    heading("ln(after/before) split over its causes")
    say(text.splits_table(found, width()))
    say_walls(part_reports(case.machine, case.parts, case.machine.pulls))
    for log, campaign in zip((first, second), logs, strict=True):
        say_faults(log, campaign)
    if figures:
        from strongback.views import style
        from strongback.views.evidence_plot import waterfall_figure

        note(f"wrote {style.save(waterfall_figure(found), out / 'explanation.png')}")


def _case(machine: Machine, after: DataSet) -> Case:
    """The change that was meant: sections put in place of others, filled or not."""
    from strongback.change.values import Change, applied
    from strongback.evidence.change import Case, causes_of, changed_members
    from strongback.machine.part.make import parts_of
    from strongback.machine.surrogate import filled_parts

    meant = applied(machine, Change(sections=after.sections))
    with progress("walls before") as step:
        parts = parts_of(machine, contact=True, progress=lambda fraction, what: step(fraction))
    with progress("walls after") as step:
        filled = filled_parts(
            machine, meant, parts, contact=True, progress=lambda fraction, what: step(fraction)
        )
    causes = causes_of(machine, changed_members(machine, meant), filled=filled)
    return Case(machine=machine, meant=meant, parts=parts, filled=filled, causes=causes)


def _states(case: Case) -> dict[str, object]:
    """The tool along every pull before the change and after it as meant, stiffnesses as the project has them."""
    from strongback.change.effect import state_of
    from strongback.machine.part.report import part_reports
    from strongback.views.parts_text import parts_dict

    before = state_of("before", case.machine, case.parts)
    after = state_of("after", case.meant, case.filled.at(case.meant, {}), case.machine.pulls)
    return {
        "before": dict(before.along_pull),
        "after_as_meant": dict(after.along_pull),
        "parts": parts_dict(part_reports(case.machine, case.parts, case.machine.pulls)),
    }
