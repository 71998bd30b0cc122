"""Draw the figures of the README from the demo and an example: ``python docs/draw.py``."""

from __future__ import annotations

from pathlib import Path

from strongback import read
from strongback.machine.loop import assemble
from strongback.machine.part.kinds import as_beams
from strongback.machine.part.make import parts_of
from strongback.machine.solve import solve
from strongback.machine.spread import budget_spread
from strongback.machine.wall_flex import budget_with_walls
from strongback.views import style
from strongback.views.budget_plot import budget_figure
from strongback.views.machine_plot import machine_figure
from strongback.views.section_plot import profile_figure
from strongback.views.wall_plot import wall_figure

HERE = Path(__file__).parent
DEMO = HERE.parent / "strongback" / "project" / "demo"
TUBE = HERE.parent / "examples" / "tube-mill"


def main() -> None:
    """Write machine.png, budget.png, section.png and walls.png beside this file."""
    machine = read(DEMO).machine
    parts = parts_of(machine)
    loop = assemble(machine, parts)
    sideways = next(pull for pull in machine.pulls if pull.name == "sideways")
    style.save(machine_figure(loop, solve(loop, sideways), width_mm=130.0), HERE / "machine.png")
    beams = assemble(as_beams(machine), parts)
    budgets = [budget_with_walls(beams, loop, pull) for pull in machine.pulls]
    spreads = [budget_spread(machine, parts, pull) for pull in machine.pulls]
    intervals = {one.pull: (one.total[0], one.total[2]) for one in spreads}
    style.save(budget_figure(machine, budgets, intervals=intervals, width_mm=130.0), HERE / "budget.png")
    outline = dict(machine.sections)["column"]
    style.save(profile_figure(outline, parts.sections["column"], width_mm=100.0), HERE / "section.png")
    walls()


def walls() -> None:
    """The column of an example as a body, under a sideways pull."""
    machine = read(TUBE).machine
    loop = assemble(machine, parts_of(machine))
    sideways = next(pull for pull in machine.pulls if pull.name == "sideways")
    style.save(wall_figure(loop, solve(loop, sideways), "column"), HERE / "walls.png")


if __name__ == "__main__":
    main()
