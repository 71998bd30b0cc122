"""``strongback deflect --map``: the compliance of the tool over the work space."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from strongback.cli.common import emit_json, heading, note, progress, say, width

if TYPE_CHECKING:
    from strongback.machine.values import Machine

__all__ = ["show_map"]

POSITIONS = (5, 3)  # on the first travel, and on the second where there is one


def show_map(machine: Machine, *, as_json: bool, out: Path, figures: bool) -> None:
    """Print the map, and draw it.

    Parameters
    ----------
    machine : Machine
    as_json : bool
    out : Path
    figures : bool
    """
    from strongback.errors import MachineError
    from strongback.machine.part.values import Parts
    from strongback.machine.sections import section_stiffness
    from strongback.machine.workspace import compliance_map
    from strongback.views import style
    from strongback.views.map_plot import as_rows, map_figure, map_text

    travels = machine.travels[: len(POSITIONS)]
    if not travels:
        raise MachineError(
            "the machine has no travel to map", hint="add a [[travel]] with parts, direction, low and high"
        )
    counts = POSITIONS[: len(travels)]
    parts = Parts(sections=section_stiffness(machine))
    with progress("map") as step:
        points = compliance_map(
            machine, parts, travels, counts, progress=lambda fraction, what: step(fraction)
        )
    if as_json:
        emit_json("map", {"machine": machine.name, "points": as_rows(points)})
        return
    heading(f"{machine.name}: compliance of the tool over the work space")
    say(map_text(points, width()))
    if figures:
        note("")
        note(f"wrote {style.save(map_figure(machine, points), out / 'map.png')}")
