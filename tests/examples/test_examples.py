"""Every example and the demo: reads clean, is marked as invented, and gives way by what such machines do.

The bands of stiffness are common practice, no source: a hobby router 0.05 to 1 N/µm, a stand 0.1 to 2, bench mills 1 to 15.
"""

from __future__ import annotations

import functools
import runpy
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from strongback.machine.budget import budget
from strongback.machine.loop import assemble
from strongback.machine.part.kinds import as_beams
from strongback.machine.part.make import parts_of
from strongback.machine.solve import solve_all
from strongback.machine.values import GROUND
from strongback.machine.wall_flex import budget_with_walls
from strongback.materials import material
from strongback.project import demo_folder, read
from strongback.section.outline import area_of, filled
from strongback.section.values import Fill, Outline
from strongback.vibration.modes import modes

ROOT = Path(__file__).parents[2]
FOLDERS = {file.parent.name: file.parent for file in sorted(ROOT.glob("examples/*/project.toml"))}
FOLDERS["demo"] = demo_folder()
BANDS = {
    "portal-router": (0.05, 5.0),
    "tapping-stand": (0.1, 2.0),
    "iron-mill": (1.0, 15.0),
    "tube-mill": (1.0, 15.0),
    "demo": (1.0, 15.0),
}


@functools.cache
def project(name):
    return read(FOLDERS[name])


@functools.cache
def loop(name):
    machine = project(name).machine
    parts = parts_of(machine)
    return assemble(machine, parts), parts


@pytest.mark.parametrize("name", FOLDERS)
def test_it_says_that_it_is_invented(name):
    text = project(name).text
    assert "invented" in text.splitlines()[0] + text.splitlines()[2]
    assert "nvented" in project(name).note


@pytest.mark.parametrize("name", [name for name in FOLDERS if name != "demo"])
def test_it_has_a_page_on_its_setting(name):
    page = (FOLDERS[name] / "README.md").read_text(encoding="utf-8")
    assert "(invented)" in page.splitlines()[0]
    assert f"strongback deflect examples/{name}" in page


@pytest.mark.parametrize("name", FOLDERS)
def test_pulls_and_gauges_can_tell_parts_apart(name):
    machine = project(name).machine
    directions = {
        tuple(np.round(np.abs(p.force) / max(np.linalg.norm(p.force), 1e-9), 6))
        for p in machine.pulls
        if any(p.force)
    }
    assert len(machine.pulls) >= 3
    assert len(directions) == 3
    assert any(pull.against != GROUND for pull in machine.pulls)
    assert any(gauge.reference == GROUND for gauge in machine.gauges)
    assert any(
        gauge.part == machine.tool.part and gauge.reference == machine.work.part for gauge in machine.gauges
    )
    assert len(machine.gauges) >= 10


@pytest.mark.parametrize("name", FOLDERS)
def test_every_joint_has_a_range_and_a_source(name):
    for _, holder in project(name).machine.holders():
        assert holder.source
        if holder.low is None:
            assert set(holder.stiffness) <= {0.0, np.inf}, holder.name  # nothing in it has a range
            continue
        for low, value, high in zip(holder.low, holder.stiffness, holder.high, strict=True):
            assert value in (0.0, np.inf) or low < value < high


@pytest.mark.parametrize("name", FOLDERS)
def test_stiffness_at_the_tool_is_that_of_such_machines(name):
    machine = project(name).machine
    low, high = BANDS[name]
    for result in solve_all(loop(name)[0], machine.pulls):
        assert result.imbalance < 1e-9
        if result.pull.part != machine.tool.part:
            continue
        force = np.asarray(result.pull.force)
        give = float(result.tool_displacement @ force) / float(force @ force)  # along the force [m/N]
        assert low < 1e-6 / give < high


@pytest.mark.parametrize("name", FOLDERS)
def test_budgets_add_up(name):
    for pull in project(name).machine.pulls:
        rows = budget(loop(name)[0], pull).rows
        assert sum(row.share for row in rows) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("name", FOLDERS)
def test_first_frequency_is_that_of_such_machines(name):
    """Common practice, no source: 10 to 150 Hz for machines that a person can carry."""
    machine = as_beams(project(name).machine)
    assert 8.0 < modes(machine, loop(name)[1], 1)[0].frequency < 150.0


def share(name, pull, *parts):
    machine = project(name).machine
    found = dict(budget(loop(name)[0], next(p for p in machine.pulls if p.name == pull)).by_part())
    return sum(found.get(part, 0.0) for part in parts)


LINE = ("bending about x", "bending about y", "shear", "torsion", "axial", "warping")


@pytest.mark.slow
def test_walls_own_much_of_the_tube_and_a_fill_stops_them():
    """A beam, whose section is rigid, misses the walls of the empty tube and hardly any of the filled one."""
    empty = project("tube-mill").machine
    tube = dict(empty.sections)["tube"]
    full = filled(tube, {tube.cells[0].name: Fill(material=material("epoxy mineral"))})
    machines = [
        empty,
        replace(empty, sections=(*(s for s in empty.sections if s[0] != "tube"), ("tube", full))),
    ]
    ratios = []
    for machine in machines:
        parts = parts_of(machine)
        loops = [assemble(m, parts) for m in (machine, as_beams(machine))]
        with_walls, beams = (
            np.array([r.tool_displacement @ r.pull.force for r in solve_all(x, machine.pulls[:3])])
            for x in loops
        )
        ratios.append(with_walls / beams)
    assert np.all(ratios[0] > 1.5)
    assert np.all(ratios[1] < 1.15)
    assert np.all(ratios[1] > 1.0)


def test_the_plate_owns_the_thrust_of_the_stand():
    assert share("tapping-stand", "thrust", "plate") > 0.5
    assert share("tapping-stand", "thrust", "column") < 0.2


def test_twist_owns_the_sideways_reading_of_the_open_column():
    machine = project("iron-mill").machine
    beams = assemble(as_beams(machine), loop("iron-mill")[1])
    rows = budget(beams, machine.pulls[0]).rows
    twist = sum(row.share for row in rows if row.part == "column" and row.mechanism in ("torsion", "warping"))
    assert twist > 0.25
    stiffness = loop("iron-mill")[1].sections
    assert stiffness["column closed"].GJ > 50 * stiffness["column"].GJ


def test_the_beam_of_the_router_as_a_line_is_not_the_culprit():
    """Its carriages are, with their contact, and the wall that they press on."""
    machine, (bodies, parts) = project("portal-router").machine, loop("portal-router")
    beams = assemble(as_beams(machine), parts)

    def shares(name):
        rows = budget_with_walls(beams, bodies, next(p for p in machine.pulls if p.name == name)).rows
        found = {}
        for row in rows:
            found[row.part, row.mechanism] = found.get((row.part, row.mechanism), 0.0) + row.share
        return found

    along = shares("along the beam")
    rides = sum(v for (part, what), v in along.items() if part == "carriages" or what == "pad contact")
    assert rides + sum(v for (part, _), v in along.items() if part == "z rails") > 0.5
    across = shares("fore-aft")
    assert across["beam", "pad contact"] > 0.25  # "a third", says its page
    assert across["beam", "wall flex"] > 0.2  # "a quarter"
    assert sum(v for (part, what), v in across.items() if part == "beam" and what in LINE) < 0.15


def test_the_demo_column_is_two_cells_of_about_110_by_90():
    column = dict(project("demo").machine.sections)["column"]
    assert isinstance(column, Outline)
    assert {cell.name for cell in column.cells} == {"left", "right", "boss"}
    size = np.ptp(np.array(column.walls[0].ring), axis=0)
    assert size == pytest.approx([0.110, 0.090], abs=1e-6)


def test_the_five_cell_beam():
    beam = dict(project("portal-router").machine.sections)["five-cell beam"]
    assert len([cell for cell in beam.cells if cell.name != "screw"]) == 5
    kilograms = area_of(beam) * 2700.0
    assert loop("portal-router")[1].sections["five-cell beam"].mass_per_length == pytest.approx(
        kilograms, rel=1e-6
    )


def test_the_five_cell_beam_is_what_its_script_draws(tmp_path):
    folder = FOLDERS["portal-router"]
    script = tmp_path / "draw.py"
    script.write_text((folder / "draw.py").read_text(encoding="utf-8"), encoding="utf-8")
    runpy.run_path(str(script), run_name="__main__")
    assert (tmp_path / "five-cell-beam.csv").read_text() == (folder / "five-cell-beam.csv").read_text()
