"""Forces of cases in tables, plain data, diagrams and mesh files: the numbers of closed forms, everywhere the same."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import meshio
import numpy as np
import pytest
from machines import cantilever, isotropic, tube_machine

import strongback as sb
from strongback.cli.frame import main
from strongback.machine.cases import solve_cases
from strongback.machine.loaded import Loaded
from strongback.machine.loads import LineLoad, LoadCase, Warming
from strongback.machine.loop import assemble
from strongback.machine.mass import total_mass
from strongback.machine.part.kinds import as_beams
from strongback.machine.part.make import parts_of
from strongback.machine.sample import post
from strongback.machine.values import Pull
from strongback.project import demo_folder
from strongback.views import show, style
from strongback.views.forces_plot import forces_figure
from strongback.views.forces_table import (
    case_table,
    largest_forces,
    member_table,
    reactions_table,
)

Q, P, L = 300.0, 50.0, 0.8


@pytest.fixture(scope="module")
def found():
    """A cantilever along Z, an even load along X, a pull at its tip: V = Q (L - s) + P, M = Q (L - s)²/2 + P (L - s)."""
    section = isotropic(210e9, 81e9, 1e-3, 1e-6, 1e-6, 2e-6)
    machine = cantilever(section, L)
    loop = sb.assemble(machine, parts_of(machine))
    pull = Pull(name="tip", part="column", at=(0.0, 0.0, L), force=(P, 0.0, 0.0))
    case = LoadCase(name="both", lines=(LineLoad(part="column", force=(Q, 0.0, 0.0)),), pulls=(pull,))
    return loop, solve_cases(loop, [case])[0]


def test_tables_have_the_numbers_of_statics(found):
    _, one = found
    frame = reactions_table([one]).frame()
    assert frame["X [N]"].tolist() == pytest.approx([-(Q * L + P)])
    assert frame["about Y [N m]"].tolist() == pytest.approx([-(Q * L**2 / 2 + P * L)])
    top = largest_forces([one]).frame().iloc[0]
    assert top["Vx [N]"] == pytest.approx(Q * L + P)
    assert top["My [N m]"] == pytest.approx(Q * L**2 / 2 + P * L)
    along = member_table(one.members[0]).frame()
    s = along["from the start [mm]"].to_numpy() / 1e3
    assert along["Vx [N]"].to_numpy() == pytest.approx(Q * (L - s) + P, rel=1e-9)
    moved = case_table([one]).frame().iloc[0]
    assert moved["along X [µm]"] == pytest.approx(1e6 * one.tool_displacement[0])
    for made in (
        reactions_table([one]),
        largest_forces([one]),
        case_table([one]),
        member_table(one.members[0]),
    ):
        assert max(map(len, made.text(80).splitlines())) <= 80


def test_plain_data_is_json_with_units_in_its_keys(found):
    _, one = found
    data = json.loads(json.dumps(Loaded(machine=one.loop.machine, cases=(one,)).to_dict()))
    assert data["reactions"][0]["force_N"][0] == pytest.approx(-(Q * L + P))
    (member,) = data["members"]
    assert member["name"] == "column"
    assert member["forces"][0]["along"][0]["My_N_m"] == pytest.approx(Q * L**2 / 2 + P * L)
    assert data["cases"][0]["motions"][0]["part"] == "column"


@pytest.mark.parametrize("width", [80.0, 160.0])
def test_diagrams_show_what_acts_and_only_that(found, width):
    _, one = found
    figure = forces_figure(one, width_mm=width)
    style.png(figure)
    drawn = {axes.get_ylabel(): axes for axes in figure.axes if axes.axison}
    assert set(drawn) == {"Vx, Vy [N]", "Mx, My [N m]"}  # no tension, torque or bimoment
    line = drawn["Mx, My [N m]"].lines[1]
    s = np.asarray(line.get_xdata()) / 1e3
    assert np.asarray(line.get_ydata()) == pytest.approx(Q * (L - s) ** 2 / 2 + P * (L - s), abs=1e-6)
    for axes in drawn.values():
        assert axes.get_xlabel() == "along [mm]"
        for label in (axes.xaxis.label, axes.yaxis.label, axes.title):
            box = label.get_window_extent()
            assert box.x0 >= 0.0
            assert box.x1 <= figure.bbox.x1


def test_a_picture_of_a_case_shows_its_pulls_and_its_name(found):
    loop, one = found
    figure = show.plot(loop, one)
    said = " ".join(text.get_text() for text in figure.texts)
    assert "both" in said


def test_mesh_files_carry_forces_and_reactions(found, tmp_path):
    loop, one = found
    path = show.write(loop, one, tmp_path / "case.vtu")
    back = meshio.read(path)
    axis = next(i for i, block in enumerate(back.cells) if block.type == "line")
    shear = np.ravel(back.cell_data["section_Vx"][axis])
    middles = back.points[back.cells[axis].data].mean(axis=1)[:, 2]
    known = np.isfinite(shear)
    assert known.sum() == len(loop.stations["column"].s) - 1
    assert shear[known] == pytest.approx(Q * (L - middles[known]) + P, rel=1e-9)
    assert np.ravel(back.field_data["reaction base: force [N]"])[0] == pytest.approx(-(Q * L + P))
    for ending in (".vtk", ".xdmf"):
        again = meshio.read(show.write(loop, one, tmp_path / f"case{ending}"))
        assert np.ravel(again.cell_data["section_Vx"][axis])[known] == pytest.approx(shear[known], rel=1e-15)


def test_a_case_of_warmth_alone_has_a_picture(found):
    loop, _ = found
    warm = LoadCase(name="warm", warmings=(Warming(part="column", rise=10.0, expansion=1e-5),))
    (one,) = solve_cases(loop, [warm])
    assert show.plot(loop, one)._repr_png_().startswith(b"\x89PNG")


def printed(capsys, *words):
    assert main(list(words)) == 0, capsys.readouterr().err
    return capsys.readouterr().out


def test_the_command_says_own_weight_and_json_has_all(capsys, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    out = printed(capsys, "loads", "demo", "--no-figures")
    assert "own weight" in out
    assert max(map(len, out.splitlines())) <= 80
    data = json.loads(printed(capsys, "loads", "demo", "--json"))
    assert [case["name"] for case in data["cases"]] == ["own weight"]
    weight = sum(r["force_N"][2] for r in data["reactions"])
    machine = sb.read(demo_folder()).machine
    mass, _ = total_mass(machine, parts_of(machine))
    assert weight == pytest.approx(9.80665 * mass, rel=1e-3)  # arcs of bodies are chords


def test_own_weight_and_pulls_act_on_the_same_bodies(capsys, monkeypatch, tmp_path):
    """A pull as a case is what deflect says, and the ground carries walls, arm and masses: all of the machine."""
    monkeypatch.chdir(tmp_path)
    tube = Path(__file__).parents[2] / "examples" / "tube-mill"
    both = json.loads(
        printed(capsys, "loads", str(tube), "--case", "own weight", "--case", "sideways", "--json")
    )
    pulled = next(case for case in both["cases"] if case["name"] == "sideways")
    deflected = json.loads(printed(capsys, "deflect", str(tube), "--pull", "sideways", "--json"))
    tool = deflected["pulls"][0]["tool"]["displacement_m"]
    assert pulled["tool"]["displacement_m"] == pytest.approx(tool, rel=1e-7, abs=1e-12)
    weight = sum(r["force_N"][2] for r in both["reactions"] if r["under"] == "own weight")
    machine = as_beams(sb.read(tube).machine)
    assert weight == pytest.approx(9.80665 * total_mass(machine, parts_of(machine))[0], rel=1e-3)  # fillets


def test_plates_that_are_left_out_of_the_weight_are_named():
    machine = tube_machine()
    loop = assemble(machine, parts_of(machine))
    (one,) = solve_cases(loop, [LoadCase(name="own weight", gravity="-z")])
    assert one.weightless == ()
    found = Loaded(machine=machine, cases=(replace(one, weightless=("column",)),))
    assert "caps, feet and diaphragms is left out: column" in str(found)
    assert found.to_dict()["weight_left_out"] == ["column"]


def test_deflect_has_reactions_and_forces_of_every_member(capsys, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    data = json.loads(printed(capsys, "deflect", "demo", "--pull", "sideways", "--json"))
    assert sum(r["force_N"][0] for r in data["reactions"]) == pytest.approx(-200.0, rel=1e-9)
    bodies = {part["name"] for part in data["parts"] if part["model"] == "body"}
    assert {member["name"] for member in data["members"]} | bodies == {"column", "arm", "bed"}
    for member in data["members"]:
        if member["name"] in bodies:  # which has no one force of its section
            assert not member["forces"]
            continue
        (one,) = member["forces"]
        assert one["under"] == "sideways"
        assert {"s_m", "N_N", "Vx_N", "Vy_N", "Mx_N_m", "My_N_m", "T_N_m", "B_N_m2"} == set(one["along"][0])


def test_named_points_move_as_closed_forms_say():
    """A post of 0.6 m under P at its top: P L³/3EI + P L/kGA + P L²/k there, nothing at its foot; a gauge half way up by
    P a² (3L - a)/6EI + P a/kGA + P L a/k. In the data of the answer and as rows of its table."""
    machine = post()
    half = sb.Gauge(name="half", part="post", at=(0.03, 0.0, 0.3), direction=(1.0, 0.0, 0.0))
    loop = assemble(replace(machine, gauges=(*machine.gauges, half)), parts_of(machine))
    (one,) = solve_cases(loop, [LoadCase(name="sideways", pulls=machine.pulls)])
    data = Loaded(machine=loop.machine, cases=(one,)).to_dict()["points"]
    assert [row["under"] for row in data] == ["sideways"]
    rows = {row["point"]: row for row in data[0]["motions"]}
    assert {"tool", 'support "foot"', 'gauge "top"', 'gauge "half"', 'pull "sideways"'} == set(rows)
    EI, kGA, k, P, L, a = 1e5, 3e7, 9e6, 100.0, 0.6, 0.3
    exact = P * a**2 * (3 * L - a) / (6 * EI) + P * a / kGA + P * L * a / k
    assert rows['gauge "half"']["displacement_m"][0] == pytest.approx(exact, rel=1e-9)
    turn = P * a * (2 * L - a) / (2 * EI) + P * L / k
    assert rows['gauge "half"']["displacement_m"][2] == pytest.approx(-0.03 * turn, rel=1e-9)
    assert rows['gauge "half"']["rotation_rad"][1] == pytest.approx(turn, rel=1e-9)
    assert rows['support "foot"']["displacement_m"] == pytest.approx([0.0, 0.0, 0.0], abs=1e-15)
    frame = show.table(one).frame().set_index("part")
    assert frame.loc['gauge "half" on post'].iloc[3] == pytest.approx(1e6 * exact, rel=1e-9)


def test_deflect_takes_pulls_that_the_machine_does_not_have():
    """P a² (3L - a)/6EI + P a/kGA + P L a/k at the top for a pull half way up; by reciprocity the same."""
    pull = sb.Pull(name="half", part="post", at=(0.0, 0.0, 0.3), force=(100.0, 0.0, 0.0))
    found = sb.deflect(post(), [pull])
    assert [one.pull.name for one in found.pulls] == ["half"]
    assert found["half"].deflection.tool_displacement[0] == pytest.approx(25.5e-6, rel=1e-9)
    both = sb.deflect(post(), ["sideways", pull])
    assert [one.pull.name for one in both.pulls] == ["sideways", "half"]
    with pytest.raises(sb.QuestionError, match="there is no pull"):
        sb.deflect(post(), "sidewards")
