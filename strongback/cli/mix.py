"""``strongback mix``"""

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
    progress,
    project_argument,
    say,
    subcommand,
    width,
)

if TYPE_CHECKING:
    from strongback.machine.values import Machine
    from strongback.remedies.fill.before_after import BeforeAfter
    from strongback.remedies.fill.plan import FillPlan


@subcommand("mix", "strongback mix demo", "strongback mix demo --no-walls --json")
@project_argument
@click.option(
    "--draws",
    type=click.Choice(["16", "32", "64", "128", "256", "512", "1024"]),
    default="128",
    show_default=True,
    help="Samples of what is not known.",
)
@click.option(
    "--walls/--no-walls",
    default=None,
    help="Count the walls of the member or leave them out; default: as the project has it.",
)
@json_option
@out_option
@figures_option
def command(project: str, draws: str, walls: bool | None, as_json: bool, out: Path, figures: bool) -> None:
    """Takes the project's [mix] table from void test and bags to grams, modulus, pour and cautions, and ends with the
    deflection of the tool before and after, its interval, and the chance of reaching the goal. Writes figures and a
    sheet to print.
    """
    from strongback.errors import MixError
    from strongback.remedies.fill.plan import plan_fill
    from strongback.views import fill_text as text

    read = load(project)
    mix = read.extras.get("mix")
    if mix is None:
        raise MixError(
            "the project has no [mix] table",
            hint="write [mix] with member, cells and bags; the demo holds an example",
        )
    plan = plan_fill(mix, read.machine)
    machine = _chosen(read.machine, plan.mix.member, walls)
    found = _effect(machine, plan, int(draws))
    if as_json:
        emit_json("mix", text.as_dict(plan, found, read.machine))
        return
    show(read.machine, plan, found)
    note("")
    for path in write(read.machine, plan, found, out, figures):
        note(f"wrote {path}")


def _effect(machine: Machine, plan: FillPlan, draws: int) -> BeforeAfter | None:
    """What the fill does at the tool; None for one that adds mass only, or without a pull."""
    from strongback.machine.part.make import parts_of
    from strongback.remedies.fill.before_after import before_after
    from strongback.remedies.fill.plan import fill_job

    job = fill_job(plan)
    if job is None or not machine.pulls:
        return None
    with progress("walls") as step:
        parts = parts_of(machine, progress=lambda fraction, what: step(fraction))
    with progress("fill") as step:
        return before_after(
            machine,
            parts,
            job,
            targets=dict(plan.mix.goals),
            draws=draws,
            progress=lambda fraction, what: step(fraction),
        )


def _chosen(machine: Machine, member: str, walls: bool | None) -> Machine:
    """The machine with the filled member as the project has it, or with its walls counted or left out as asked."""
    from strongback.machine.part.kinds import as_beams, as_body

    if walls is None:
        return machine
    return as_body(machine, member) if walls else as_beams(machine, only=member)


def show(machine: Machine, plan: FillPlan, found: BeforeAfter | None) -> None:
    """Print the plan, the answer first."""
    from strongback.views import fill_text as text

    wide = width()
    heading(f"{machine.name}: {plan.mix.member} filled with {plan.kind.name}")
    say(text.answer(plan, found))
    if found is not None:
        say()
        heading("At the tool")
        say(text.gain_table(plan, found, wide))
    say()
    for head, block in (
        ("Look at this first", text.warnings_text(plan, wide)),
        ("Mass and standing", text.stand_text(plan, found, machine, wide)),
        ("What to expect of the fill", text.expect_text(plan, wide)),
        ("Mix", text.mix_text(plan, wide)),
        ("Pour", text.pour_text(plan, wide)),
        ("Cautions", text.cautions_text(plan, wide)),
    ):
        heading(head)
        say(block)
        say()


def write(
    machine: Machine, plan: FillPlan, found: BeforeAfter | None, out: Path, figures: bool
) -> list[Path]:
    """Write the sheet, and the figures where they are wanted; the files."""
    from strongback.project.atomic import write_bytes
    from strongback.views.fill_sheet import sheet

    out.mkdir(parents=True, exist_ok=True)
    page = out / "mix-and-pour-sheet.html"
    write_bytes(page, sheet(plan, machine.name).encode("utf-8"))
    made = [page]
    if figures:
        from strongback.views import style
        from strongback.views.fill_plot import fill_figures

        made += [style.save(figure, out / f"{name}.png") for name, figure in fill_figures(plan, found)]
    return made
