"""``strongback deflect``"""

from __future__ import annotations

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
    project_argument,
    say,
    subcommand,
    width,
)

if TYPE_CHECKING:
    from strongback.cli._machine import Assembled
    from strongback.views.deflection_text import PullResult


@subcommand(
    "deflect",
    "strongback deflect demo",
    "strongback deflect demo --pull sideways --json",
    "strongback deflect demo --map",
)
@project_argument
@click.option("--pull", "names", multiple=True, metavar="NAME", help="Only this pull; may be repeated.")
@click.option(
    "--map", "over_travel", is_flag=True, help="Instead: compliance along the travels of the machine."
)
@click.option(
    "--magnify",
    type=float,
    metavar="FACTOR",
    help="On the motion in figures, the same for pictures to be compared.",
)
@json_option
@out_option
@figures_option
def command(
    project: str,
    names: tuple[str, ...],
    over_travel: bool,
    magnify: float | None,
    as_json: bool,
    out: Path,
    figures: bool,
) -> None:
    """Prints the motion of the tool against the work, the expected reading of every gauge, and the budget: how much each
    part gives by each mechanism, and what would be left if that part were rigid.
    """
    from strongback.cli._contact import contact_dict, contact_results, contact_text
    from strongback.cli._machine import assembled, chosen_pulls, note_walls, pull_results
    from strongback.cli._map import show_map
    from strongback.machine.cases import solve_cases
    from strongback.machine.loads import LoadCase
    from strongback.views import deflection_text as text
    from strongback.views.forces_table import forces_dict

    read = load(project)
    if over_travel:
        show_map(read.machine, as_json=as_json, out=out, figures=figures)
        return
    pulls = chosen_pulls(read.machine, names)
    ready = assembled(read.machine)
    results = pull_results(ready, pulls)
    opened = contact_results(read, ready, pulls)
    if as_json:
        found = text.as_dict(read.machine, ready.reports, results)
        forces = forces_dict(solve_cases(ready.loop, [LoadCase(name=p.name, pulls=(p,)) for p in pulls]))
        along = {own["name"]: own["forces"] for own in forces["members"]}
        for own in found["parts"]:
            own["forces"] = along.get(own["name"], [])  # of a body there are none along it
        found["reactions"] = forces["reactions"]
        emit_json("deflect", {**found, "open_or_play": contact_dict(pulls, opened)} if opened else found)
        return
    show(ready, results)
    note_walls(ready)
    if opened:
        say()
        heading("With the joints that open or have play, as stated: tool against work")
        say(contact_text(pulls, opened, width()))
        say("Budgets, ceilings, intervals and readings above are of the machine with every joint")
        say("holding; where one of these opens or is free, they no longer hold.")
    if figures:
        note("")
        for path in draw(ready, results, out, magnify=magnify):
            note(f"wrote {path}")


def show(ready: Assembled, results: list[PullResult]) -> None:
    """Print results, the answer first."""
    from strongback.views import deflection_text as text

    heading(f"{ready.machine.name}: how far the tool gives along the pull, and who causes it")
    say(text.answer(results, width()))
    say("* under a couple µm/(N m); 95 %: what the stated ranges of the joints leave open")
    say()
    heading("Tool against work")
    say(text.tool_table(results, width(), ready.machine.operator))
    for line in text.doubts(results):
        say(line)
    say()
    heading("Share of each part in the deflection")
    say(text.share_table(results, width()))
    for result in results:
        say()
        heading(f"Budget: {result.pull.name}")
        say(text.details(result, width()))
    say()
    heading("Expected readings")
    say(text.gauges_text(ready.machine, results, width()))
    say()
    say("Static, elastic, small motions. Joint stiffnesses are starting values until")
    say("readings have calibrated them.")


def draw(
    ready: Assembled, results: list[PullResult], out: Path, *, magnify: float | None = None
) -> list[Path]:
    """Draw the machine under every pull, and the budget; the files."""
    from strongback.project.out_names import out_names
    from strongback.views import style
    from strongback.views.budget_plot import budget_figure
    from strongback.views.machine_plot import machine_figure
    from strongback.views.wall_plot import wall_figure

    pulls, bodies = [pull.name for pull in ready.machine.pulls], list(ready.loop.bodies)
    wholes = out_names("machine", pulls, ".png")
    walls = out_names("walls", [(body, pull) for body in bodies for pull in pulls], ".png")
    made = [
        style.save(machine_figure(ready.loop, r.deflection, magnify=magnify), out / wholes[r.pull.name])
        for r in results
    ]
    made += [
        style.save(
            wall_figure(ready.loop, r.deflection, member),
            out / walls[member, r.pull.name],
        )
        for member in ready.loop.bodies
        for r in results
    ]
    intervals = {r.pull.name: (r.spread.total[0], r.spread.total[2]) for r in results if r.spread is not None}
    figure = budget_figure(ready.machine, [r.budget for r in results], intervals=intervals)
    made.append(style.save(figure, out / "budget.png"))
    return made
