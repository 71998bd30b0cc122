"""``strongback check``"""

from __future__ import annotations

import dataclasses
import textwrap
import warnings

import click

from strongback.cli.common import (
    emit_json,
    heading,
    json_option,
    load,
    note,
    project_argument,
    say,
    subcommand,
    width,
)


@subcommand("check", "strongback check demo")
@project_argument
@json_option
@click.pass_context
def command(ctx: click.Context, project: str, as_json: bool) -> None:
    """Names, references, units, outlines, logs of readings, and whether any part is free to move. Every fault is printed
    with file, line, column and a hint.
    """
    from strongback.cli._evidence import BAD_ROWS
    from strongback.machine.mechanism import refuse_mechanism
    from strongback.machine.pad_contact import joints_of_beams
    from strongback.plausible import UnlikelySize
    from strongback.project.plausible import unlikely_of
    from strongback.section.check import check
    from strongback.section.values import Outline

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UnlikelySize)  # they are told below, all of them and once
        read = load(project)
        machine = read.machine
        for _, section in machine.sections:
            if isinstance(section, Outline):
                check(section)
        refuse_mechanism(machine)
        slips = unlikely_of(read)
    counts = {
        "sections": len(machine.sections),
        "members": len(machine.members),
        "blocks": len(machine.blocks),
        "joints": len(machine.joints),
        "supports": len(machine.supports),
        "pads": len(machine.pads),
        "masses": len(machine.masses),
        "pulls": len(machine.pulls),
        "gauges": len(machine.gauges),
        "readings": sum(len(data.readings) for data in read.extras["readings"]),
    }
    from strongback.views.joints_text import joints_dict, joints_text, to_ask

    # A joint on a body is shown with the contact that its pad holds.
    whole = dataclasses.replace(machine, joints=joints_of_beams(machine))
    faults = [str(fault) for data in read.extras["readings"] for fault in data.faults]
    if as_json:
        found = {"project": str(read.path), "machine": machine.name, "faults": faults}
        told = [dataclasses.asdict(slip) for slip in slips]
        emit_json("check", {**found, "warnings": told, "counts": counts, "joints": joints_dict(whole)})
        ctx.exit(BAD_ROWS if faults else 0)
    from strongback.views.tables import Column, table

    heading(f"{machine.name}: {_count(len(faults)) if faults else 'no fault found'}")
    if read.note:
        say(read.note)
    say()
    rows = [[name, str(count)] for name, count in counts.items() if count]
    say(table([Column("what"), Column("number", "", "right")], rows, width=width()))
    say()
    say(joints_text(whole, width()))
    asked = to_ask(read.starts, {law.part for law in read.laws})
    if asked:
        say()
        say(textwrap.fill("In no range; look, and write it as [[joint.play]] or [[joint.opens]]:", width()))
        for line in asked:
            say(textwrap.fill(line, width(), initial_indent="- ", subsequent_indent="  "))
    for slip in slips:
        note(f"unlikely: {slip.text}")
    for fault in faults:
        note(fault)
    if faults:
        ctx.exit(BAD_ROWS)


def _count(faults: int) -> str:
    return f"{faults} fault{'s' if faults > 1 else ''} in its readings"
