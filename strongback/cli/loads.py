"""``strongback loads``"""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import click

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
    from strongback.machine.assembled import Assembled
    from strongback.machine.cases import CaseResult
    from strongback.machine.loads import Combination, LoadCase

WEIGHT = "own weight"


@subcommand("loads", "strongback loads demo", 'strongback loads demo --case "own weight" --json')
@project_argument
@click.option(
    "--case",
    "names",
    multiple=True,
    metavar="NAME",
    help="Only this case, combination or pull; may be repeated.",
)
@json_option
@out_option
@figures_option
def command(project: str, names: tuple[str, ...], as_json: bool, out: Path, figures: bool) -> None:
    """Prints what the machine does under everything that acts at once: the cases and combinations of the project, and its
    own weight, which is always there: motion of the tool, forces of the ground and in the members. A single pull is a case
    that is there by its name.
    """
    from strongback.cli._machine import assembled
    from strongback.machine.loads import GRAVITY, LoadCase
    from strongback.project.out_names import out_names
    from strongback.views import style
    from strongback.views.forces_plot import forces_figure
    from strongback.views.forces_table import case_table, cases_dict, largest_forces, reactions_table
    from strongback.views.machine_plot import machine_figure

    read = load(project)
    cases: list[LoadCase] = list(read.extras["case"])
    if WEIGHT not in {case.name for case in cases}:
        cases.insert(0, LoadCase(name=WEIGHT, gravity=GRAVITY))
    combinations = list(read.extras["combination"])
    every = [*(case.name for case in cases), *(one.name for one in combinations)]
    pulls = {pull.name: pull for pull in read.machine.pulls if pull.name not in every}
    wanted = [pick(name, [*every, *pulls], "case") for name in names] or every
    cases += [LoadCase(name=name, pulls=(pulls[name],)) for name in wanted if name in pulls]
    ready = assembled(read.machine)
    results, as_beams = _solved(ready, cases, combinations, wanted)
    if as_json:
        emit_json("loads", {"machine": read.machine.name, "as_beams": as_beams, **cases_dict(results)})
        return
    heading(f"{read.machine.name}: tool against work")
    say(case_table(results, read.machine.operator).text(width()))
    say()
    heading("Forces of the ground on the machine")
    say(reactions_table(results).text(width()))
    say()
    heading("Largest forces in the members")
    say(largest_forces(results).text(width()))
    say()
    say("Bending is about the centroid, torque about the shear centre, in the axes of the")
    say("section. Linear: joints hold both ways. The tool counts as true before all this.")
    if as_beams:
        listed = ", ".join(as_beams)
        say(
            textwrap.fill(
                f"Bodies count as beams where weight acts, since it is known along beams alone: {listed}.", 80
            )
        )
    if figures:
        note("")
        wholes, diagrams = (out_names(kind, [*every, *pulls], ".png") for kind in ("case", "forces"))
        for one in results:
            note(f"wrote {style.save(machine_figure(one.loop, one), out / wholes[one.name])}")
            if one.members:
                note(f"wrote {style.save(forces_figure(one), out / diagrams[one.name])}")


def _solved(
    ready: Assembled, cases: list[LoadCase], combinations: list[Combination], wanted: list[str]
) -> tuple[list[CaseResult], list[str]]:
    """What is wanted, and what of it was solved with bodies as beams: where their own weight acts."""
    from strongback.machine.cases import solve_cases

    heavy = {case.name for case in cases if any(case.gravity)}
    heavy |= {one.name for one in combinations if heavy & {name for name, _ in one.terms}}
    found: dict[str, CaseResult] = {}
    for as_beams in (False, True):
        chosen = [name for name in wanted if (name in heavy and ready.has_bodies) == as_beams]
        if not chosen:
            continue
        sums = [one for one in combinations if one.name in chosen]
        needed = {*chosen, *(name for one in sums for name, _ in one.terms)}
        loop = ready.beams if as_beams else ready.loop
        solved = solve_cases(loop, [case for case in cases if case.name in needed], sums)
        found |= {one.name: one for one in solved if one.name in chosen}
    return [found[name] for name in dict.fromkeys(wanted)], [
        n for n in wanted if n in heavy and ready.has_bodies
    ]
