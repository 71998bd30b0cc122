"""The calls that commands about the whole machine share: sections, bodies, loop, results of every pull."""

from __future__ import annotations

import dataclasses
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from strongback.cli.common import note, pick, progress, width

if TYPE_CHECKING:
    from strongback.machine.loop import Loop
    from strongback.machine.part.report import PartReport
    from strongback.machine.part.values import Parts
    from strongback.machine.values import Machine, Pull
    from strongback.views.deflection_text import PullResult

__all__ = ["Assembled", "assembled", "chosen_pulls", "note_walls", "pull_results", "say_walls"]


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Assembled:
    """A machine ready for pulls: as beams, and with its bodies where it has any."""

    machine: Machine
    parts: Parts
    beams: Loop
    loop: Loop
    reports: tuple[PartReport, ...]

    @property
    def has_bodies(self) -> bool:
        """Whether any member is a body."""
        return bool(self.loop.bodies)


def assembled(machine: Machine, *, contact: bool = False) -> Assembled:
    """Make the parts, the contact under pads as a variable where it is asked for, and assemble the loop."""
    from strongback.machine.loop import assemble
    from strongback.machine.part.kinds import as_beams, body_names
    from strongback.machine.part.make import parts_of
    from strongback.machine.part.report import part_reports

    with progress("walls") as step:
        parts = parts_of(machine, contact=contact, progress=lambda fraction, what: step(fraction))
    loop = assemble(machine, parts)
    beams = assemble(as_beams(machine), parts) if body_names(machine) else loop
    with progress("walls left out") as step:
        reports = part_reports(machine, parts, machine.pulls, progress=lambda fraction, what: step(fraction))
    return Assembled(machine=machine, parts=parts, beams=beams, loop=loop, reports=reports)


def note_walls(ready: Assembled) -> None:
    """Say on stderr which walls are left out, and by how much they would change the tool."""
    say_walls(ready.reports)


def say_walls(reports: Sequence[PartReport]) -> None:
    """The same of members as they are reported."""
    from strongback.views.parts_text import walls_words

    for words in walls_words(reports):
        note(textwrap.fill(f"note: {words}", width(), subsequent_indent="  "))


def chosen_pulls(machine: Machine, names: Sequence[str]) -> list[Pull]:
    """The pulls of some names, or all."""
    from strongback.errors import MachineError

    if not machine.pulls:
        raise MachineError("the project has no pull", hint="add a [[pull]] with part, at and force")
    every = {pull.name: pull for pull in machine.pulls}
    return [every[pick(name, list(every), "pull")] for name in names] or list(machine.pulls)


def pull_results(ready: Assembled, pulls: Sequence[Pull], *, intervals: bool = True) -> list[PullResult]:
    """Deflection, budget, ceilings and intervals of some pulls."""
    from strongback.machine.budget import budget
    from strongback.machine.ceiling import ceilings_of_pulls
    from strongback.machine.solve import solve_all
    from strongback.machine.spread import budget_spread, known_spreads
    from strongback.machine.wall_flex import budget_with_walls, compare_models
    from strongback.views.deflection_text import PullResult

    ranged = intervals and bool(known_spreads(ready.machine))
    bodies = ready.has_bodies
    limits = ceilings_of_pulls(ready.machine, ready.parts, pulls)
    found = []
    for pull, deflection, ceilings in zip(pulls, solve_all(ready.loop, pulls), limits, strict=True):
        found.append(
            PullResult(
                deflection=deflection,
                budget=budget_with_walls(ready.beams, ready.loop, pull)
                if bodies
                else budget(ready.loop, pull),
                ceilings=ceilings,
                spread=budget_spread(ready.machine, ready.parts, pull) if ranged else None,
                models=compare_models(ready.beams, ready.loop, pull) if bodies else None,
            )
        )
    return _with_bounds(ready.loop, found)


def _with_bounds(loop: Loop, results: list[PullResult]) -> list[PullResult]:
    """Results with the error of the meshes of bodies, and with what feet bedded all over would make of them."""
    from strongback.machine.feet import bedded_feet
    from strongback.machine.mesh_error import mesh_errors

    pulls = [result.pull for result in results]
    found = []
    for result, error, bedded in zip(
        results, mesh_errors(loop, pulls), bedded_feet(loop, pulls), strict=True
    ):
        way = result.budget.direction
        found.append(
            dataclasses.replace(
                result,
                mesh_error=None
                if error is None
                else float(sum(abs(w) * e for w, e in zip(way, error, strict=True))),
                bedded=None
                if bedded is None
                else float(sum(w * u for w, u in zip(way, bedded, strict=True))),
            )
        )
    return found
