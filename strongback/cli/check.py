"""``strongback check``"""

from __future__ import annotations

import dataclasses
import textwrap
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

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

if TYPE_CHECKING:
    from strongback.project import Project

MOST_DRAWN = 5  # outlines at fault


@subcommand("check", "strongback check demo")
@project_argument
@json_option
@figures_option
@out_option
@click.pass_context
def command(ctx: click.Context, project: str, as_json: bool, figures: bool, out: Path) -> None:
    """Names, references, units, outlines, logs of readings, and whether any part is free to move. Every fault is printed
    with file, line, column and a hint, and an outline at fault is drawn. Else a picture shows the machine as typed.
    """
    from strongback.cli._evidence import BAD_ROWS
    from strongback.machine.mechanism import refuse_mechanism
    from strongback.machine.pad_contact import joints_of_beams
    from strongback.machine.part.kinds import body_names, kinds
    from strongback.plausible import UnlikelySize
    from strongback.project.plausible import unlikely_of
    from strongback.section.apart import separated
    from strongback.section.check import check
    from strongback.section.values import Outline

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UnlikelySize)  # they are told below, all of them and once
        read = _read(project, out if figures and not as_json else None)
        machine = read.machine
        for _, section in machine.sections:
            for part in separated(section) if isinstance(section, Outline) else ():
                check(part)
        refuse_mechanism(machine)
        models = kinds(machine)
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
        "rows not yet read": sum(data.unread for data in read.extras["readings"]),
    }
    from strongback.views.joints_text import joints_dict, joints_text, to_ask
    from strongback.views.sizes_text import sizes_dict, sizes_text

    # A joint on a body is shown with the contact that its pad holds.
    whole = dataclasses.replace(machine, joints=joints_of_beams(machine, body_names(machine)))
    faults = [str(fault) for data in read.extras["readings"] for fault in data.faults]
    if as_json:
        found: dict[str, Any] = {"project": str(read.path), "machine": machine.name, "faults": faults}
        told = [dataclasses.asdict(slip) for slip in slips]
        found |= {"warnings": told, "counts": counts, "joints": joints_dict(whole)}
        found["parts"] = [dataclasses.asdict(kind) for kind in models]
        emit_json("check", {**found, "sizes": sizes_dict(machine)})
        ctx.exit(BAD_ROWS if faults else 0)
    from strongback.views.parts_text import kinds_words
    from strongback.views.tables import Column, table

    heading(f"{machine.name}: {_count(len(faults)) if faults else 'no fault found'}")
    if read.note:
        say(read.note)
    say()
    rows = [[name, str(count)] for name, count in counts.items() if count]
    say(table([Column("what"), Column("number", "", "right")], rows, width=width()))
    say()
    say(sizes_text(machine, width()))
    say()
    say(joints_text(whole, width()))
    asked = to_ask(read.starts, {law.part for law in read.laws})
    if asked:
        say()
        say(textwrap.fill("In no range; look, and write it as [[joint.play]] or [[joint.opens]]:", width()))
        for line in asked:
            say(textwrap.fill(line, width(), initial_indent="- ", subsequent_indent="  "))
    if figures:
        from strongback.views import style
        from strongback.views.check_plot import sketch_figure

        note(f"wrote {style.save(sketch_figure(machine), out / 'as-typed.png')}")
    for slip in slips:
        note(f"unlikely: {slip.text}")
    for words in kinds_words(models):
        say(words)
    for fault in faults:
        note(fault)
    if faults:
        ctx.exit(BAD_ROWS)


def _read(project: str, out: Path | None) -> Project:
    """The project; where an outline is at fault, with a picture of it."""
    from strongback.errors import ProjectError
    from strongback.project.source import Fault

    try:
        return load(project)
    except ProjectError as error:
        drawn = [fault for fault in error.faults if isinstance(fault, Fault) and fault.ring]
        if drawn and out is not None:
            from strongback.views import style
            from strongback.views.check_plot import fault_figure

            for i, fault in enumerate(drawn[:MOST_DRAWN], 1):
                picture = fault_figure(fault.message, fault.ring, fault.mark or fault.ring[0])
                note(f"wrote {style.save(picture, out / f'outline-at-fault-{i}.png')}")
        raise


def _count(faults: int) -> str:
    return f"{faults} fault{'s' if faults > 1 else ''} in its readings"
