"""``strongback check``"""

from __future__ import annotations

from strongback.cli.common import (
    emit_json,
    heading,
    json_option,
    load,
    project_argument,
    say,
    subcommand,
    width,
)


@subcommand("check", "strongback check demo")
@project_argument
@json_option
def command(project: str, as_json: bool) -> None:
    """Names, references, units, outlines and whether any part is free to move. Every fault is printed with file, line,
    column and a hint.
    """
    from strongback.machine.mechanism import refuse_mechanism
    from strongback.section.check import check
    from strongback.section.values import Outline

    read = load(project)
    machine = read.machine
    for _, section in machine.sections:
        if isinstance(section, Outline):
            check(section)
    refuse_mechanism(machine)
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
    }
    if as_json:
        emit_json(
            "check", {"project": str(read.path), "machine": machine.name, "faults": [], "counts": counts}
        )
        return
    from strongback.views.tables import Column, table

    heading(f"{machine.name}: no fault found")
    if read.note:
        say(read.note)
    say()
    rows = [[name, str(count)] for name, count in counts.items() if count]
    say(table([Column("what"), Column("number", "", "right")], rows, width=width()))
