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
    from collections.abc import Sequence

    from strongback.evidence.change import Change
    from strongback.evidence.filled_body import FilledBody
    from strongback.machine.body.family import BodyFamily
    from strongback.machine.part.values import Parts
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
    from strongback.errors import ReadingsError
    from strongback.evidence.explain import explain
    from strongback.evidence.model import default_parameters, prior_uncertainty
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
    change = _change(read.machine, second)
    parameters = default_parameters(read.machine)
    logs = campaign_of(first), campaign_of(second)
    found = explain(
        change,
        *logs,
        parameters=parameters,
        prior_u=prior_uncertainty(read.machine, parameters),
        u_load=first.instrument.u_load,
        same_load=not other_weights,
    )
    if as_json:
        emit_json("explain", text.explanation_dict(found))
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
    for log, campaign in zip((first, second), logs, strict=True):
        say_faults(log, campaign)
    if figures:
        from strongback.views import style
        from strongback.views.evidence_plot import waterfall_figure

        note(f"wrote {style.save(waterfall_figure(found), out / 'explanation.png')}")


def _change(machine: Machine, after: DataSet) -> Change:
    """The change that was meant: sections put in place of others, filled or not."""
    from strongback.evidence.change import Change, causes_of, with_sections
    from strongback.evidence.sections import fill_family
    from strongback.machine.part.make import parts_of
    from strongback.section.bond import fills_of
    from strongback.section.store import solved_section
    from strongback.section.values import Outline

    meant = with_sections(machine, after.sections)
    sections = dict(machine.sections)
    family, filled = None, set[str]()
    for _, new in after.sections:
        outline = sections[new]
        if isinstance(outline, Outline) and fills_of(outline):
            filled.add(new)
            family = fill_family(new, outline, lambda o: dict(solved_section(o).limits))
    old = {a for a, _ in after.sections}
    changed = [m.name for m in machine.members if any(s.section in old for s in m.spans)]
    with progress("walls before") as step:
        parts = parts_of(machine, contact=True, progress=lambda fraction, what: step(fraction))
    return Change(
        machine=machine,
        parts=parts,
        sections=after.sections,
        family=family,
        causes=causes_of(machine, changed, filled=family is not None),
        bodies_after=_bodies_after((machine, meant), changed, filled, parts),
    )


def _bodies_after(
    machines: tuple[Machine, Machine], changed: Sequence[str], filled: set[str], parts: Parts
) -> dict[str, BodyFamily | FilledBody]:
    """Members that are bodies after the change as meant."""
    from strongback.evidence.filled_body import filled_body
    from strongback.machine.contact_families import body_families

    before, meant = machines
    after: dict[str, BodyFamily | FilledBody] = dict(parts.bodies)
    if not after:
        return after
    with progress("walls after") as step:
        for member in (m for m in meant.members if m.name in changed and m.name in after):
            if filled & {span.section for span in member.spans}:
                after[member.name] = filled_body(before, meant, member, parts, step)
            else:
                after[member.name] = body_families(meant)[member.name]
    return after
