"""A machine that is written as a project reads back as the equal value."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import pytest
from machines import small_mill, tube_machine, welded_tubes
from oracle import drawn

from strongback import project
from strongback.errors import InputError, MachineError
from strongback.machine.values import Machine, Member, Pad
from strongback.materials import Material, material
from strongback.project import read, read_text
from strongback.project.write import project_text, write_project
from strongback.section import shapes
from strongback.section.values import Fill, Insert, Outline

EXAMPLES = sorted(p.parent for p in (Path(__file__).parents[2] / "examples").glob("*/project.toml"))


def back(machine, folder=Path(__file__).parent):
    return read_text(project_text(machine), folder / "project.toml").machine


UNIT = ("x_axis", "direction", "normal")


def drawn_along(machine):
    """The same machine with unit vectors for directions, as a file has them."""

    def unit(value):
        made = {}
        for name in UNIT:
            if hasattr(value, name):
                size = math.hypot(*getattr(value, name))
                made[name] = tuple(v / size for v in getattr(value, name))
        return dataclasses.replace(value, **made)

    lists = {key: tuple(map(unit, getattr(machine, key))) for key in ("members", "pads", "gauges", "travels")}
    sections = tuple((name, dataclasses.replace(s, name=name)) for name, s in machine.sections)
    return dataclasses.replace(machine, sections=sections, **lists)


def same(a, b):
    """Equal to rounding."""
    if dataclasses.is_dataclass(a):
        return type(a) is type(b) and all(
            same(getattr(a, f.name), getattr(b, f.name)) for f in dataclasses.fields(a)
        )
    if isinstance(a, tuple):
        return isinstance(b, tuple) and len(a) == len(b) and all(map(same, a, b))
    if isinstance(a, float):
        return a == b or math.isclose(a, b, rel_tol=1e-13, abs_tol=1e-15)
    return bool(a == b)


@pytest.mark.parametrize("folder", [project.demo_folder(), *EXAMPLES], ids=lambda p: p.name)
def test_projects_read_back_as_the_equal_machine(folder):
    machine = read(folder).machine
    assert back(machine) == machine


@pytest.mark.parametrize("made", [small_mill, tube_machine], ids=["small mill", "tube machine"])
def test_machines_built_in_code(made):
    machine = made()
    assert same(back(machine), drawn_along(machine))


@pytest.mark.filterwarnings("ignore::strongback.plausible.UnlikelySize")
def test_random_machines_with_turned_joints_ranges_and_factors():
    for seed in range(60):
        machine = drawn.machine(seed)
        assert same(back(machine), drawn_along(machine)), seed


def with_section(outline):
    machine = tube_machine()
    name = machine.sections[0][0]
    return dataclasses.replace(machine, sections=((name, outline), *machine.sections[1:]))


def test_walls_fills_bars_and_materials_of_ones_own():
    own = Material(
        name="my alloy",
        E=71.3e9,
        nu=0.33,
        density=2705.0,
        E_range=(69e9, 73e9),
        expansion=23.1e-6,
        source="a guess",
    )
    tube = shapes.rectangular_tube(own, 0.1, 0.1, 0.004, outer_radius=0.006, inner_radius=0.002)
    ring = shapes.circle_ring(0.03)
    bore = shapes.circle_ring(0.02)
    bar = Insert(
        name="bar",
        ring=tuple((x + 0.02, y) for x, y in ring),
        material=material("steel"),
        bore=tuple((x + 0.02, y) for x, y in bore),
    )
    fill = Fill(
        material=material("epoxy mineral"),
        bond=4.5e9,
        bores=(tuple((x - 0.025, y) for x, y in bore),),
        inserts=(bar,),
    )
    filled = dataclasses.replace(tube, cells=tuple(dataclasses.replace(c, fill=fill) for c in tube.cells))
    for outline in (filled, dataclasses.replace(welded_tubes(), name="two")):
        machine = with_section(outline)
        assert same(back(machine), drawn_along(machine))


def test_every_field_of_a_machine_is_written_or_refused():
    """A field that comes to the machine later must be written, or refused by name where it is not at its default."""
    machine = small_mill()
    told = project_text(dataclasses.replace(machine, operator="+x", state=(("gibs", 'locked "hard"'),)))
    found = read_text(told, "project.toml").machine
    assert (found.operator, found.state) == ("+x", (("gibs", 'locked "hard"'),))
    assert {f.name for f in dataclasses.fields(Member)} >= {"ends", "factors", "factor_ranges", "spans"}


def test_what_a_file_cannot_say_is_refused_by_name():
    machine = tube_machine()
    pad = Pad(
        name="hard",
        part=machine.members[0].name,
        at=(0.0, 0.0, 0.1),
        normal=(1.0, 0.0, 0.0),
        size=(0.02, 0.02),
        stiffness=math.inf,
    )
    with pytest.raises(MachineError, match='pad "hard" is rigid'):
        project_text(dataclasses.replace(machine, pads=(pad,)))
    steel = Material(name="steel", E=200e9, nu=0.3, density=7800.0, source="a guess")
    other = Material(name="steel", E=190e9, nu=0.3, density=7800.0, source="a guess")
    two = Outline(
        name="two",
        walls=(*shapes.rectangle(steel, 0.02, 0.02).walls, *shapes.rectangle(other, 0.01, 0.01).walls),
    )
    with pytest.raises(MachineError, match='two materials are called "steel"'):
        project_text(with_section(two))


def test_a_folder_is_written_whole_and_not_replaced(tmp_path):
    machine = small_mill()
    file = write_project(machine, tmp_path / "mine")
    assert same(read(tmp_path / "mine").machine, drawn_along(machine))
    with pytest.raises(InputError, match="already"):
        write_project(machine, tmp_path / "mine")
    assert write_project(dataclasses.replace(machine, name="again"), tmp_path / "mine", force=True) == file
    assert read(file).machine.name == "again"


def test_the_correlation_of_a_calibrated_machine_goes_along(tmp_path):
    machine = small_mill()
    joint = next(
        j for j in machine.joints if 0.0 < j.stiffness[0] < math.inf and 0.0 < j.stiffness[1] < math.inf
    )
    known = dataclasses.replace(
        machine, correlation=((f"{joint.name}, along x", f"{joint.name}, along y", 0.25),)
    )
    write_project(known, tmp_path)
    assert read(tmp_path).machine.correlation == known.correlation


def test_the_word_demo_means_the_built_in_machine(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert read("demo").machine == read(project.demo_folder()).machine
    write_project(small_mill(), "demo")
    assert isinstance(read("demo").machine, Machine)
    assert read("demo").machine.name == small_mill().name


SEAMED = """
[[section]]
name = "closed"
unit = "mm"
material = "aluminium"
[[section.wall]]
name = "channel"
points = [[0, -60], [60, -60], [60, -57], [3, -57], [3, 57], [60, 57], [60, 60], [0, 60]]
[[section.wall]]
name = "plate"
points = [[60, -60], [63, -60], [63, 60], [60, 60], [60, 57], [60, -57]]
[[section.seam]]
name = "flanges"
walls = ["plate"]
stiffness = "200 N/mm^2"
held = [false, true]
source = "guess: M4 at 50 mm on both flanges"
"""


def _with_section(text):
    whole = (Path(__file__).parent / "good.toml").read_text()
    first, rest = whole.split("[[member]]", 1)
    return first + text + "\n[[member]]" + rest


def test_a_seam_is_read_and_written_back():
    machine = read_text(_with_section(SEAMED), Path(__file__).parent / "project.toml").machine
    seam = dict(machine.sections)["closed"].seams[0]
    assert (seam.walls, seam.stiffness, seam.held) == (("plate",), 200e6, (False, True))
    assert same(back(machine), machine)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('walls = ["plat"]', "must be a wall of the section"),
        ('stiffness = "200"', "unit"),
        ('stiffness = "200 mm"', "mm"),
        ("held = [true]", "two of true and false"),
    ],
)
def test_faults_of_seams_are_named(line, words):
    key = line.split(" ")[0] + " "
    text = "\n".join(line if row.startswith(key) else row for row in SEAMED.splitlines())
    with pytest.raises(InputError, match=words):
        read_text(_with_section(text), Path(__file__).parent / "project.toml")
