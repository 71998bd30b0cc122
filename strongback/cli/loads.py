"""``strongback loads``"""

from __future__ import annotations

from pathlib import Path

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

WEIGHT = "own weight"


@subcommand("loads", "strongback loads demo", 'strongback loads demo --case "own weight" --json')
@project_argument
@click.option("--case", "names", multiple=True, metavar="NAME", help="Only this case; may be repeated.")
@json_option
@out_option
@figures_option
def command(project: str, names: tuple[str, ...], as_json: bool, out: Path, figures: bool) -> None:
    """Prints what the machine does under everything that acts at once: the cases and combinations of the project, and its
    own weight, which is always there: motion of the tool, readings, forces of the ground and in the members.
    """
    from strongback.cli._machine import assembled
    from strongback.machine.cases import solve_cases
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
    combinations = read.extras["combination"]
    every = [*(case.name for case in cases), *(one.name for one in combinations)]
    wanted = [pick(name, every, "case") for name in names] or every
    ready = assembled(read.machine)
    as_beams = ready.has_bodies and any(any(case.gravity) for case in cases)
    loop = ready.beams if as_beams else ready.loop
    results = [one for one in solve_cases(loop, cases, combinations) if one.name in wanted]
    if as_json:
        emit_json("loads", {"machine": read.machine.name, "as_beams": as_beams, **cases_dict(results)})
        return
    heading(f"{read.machine.name}: tool against work")
    say(case_table(results).text(width()))
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
        say("Members that are bodies count as beams here: their own weight is known along them.")
    if figures:
        note("")
        wholes, diagrams = (out_names(kind, every, ".png") for kind in ("case", "forces"))
        for one in results:
            note(f"wrote {style.save(machine_figure(one.loop, one), out / wholes[one.name])}")
            if one.members:
                note(f"wrote {style.save(forces_figure(one), out / diagrams[one.name])}")
