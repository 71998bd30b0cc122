"""`strongback vibrate`: the same from Python, honest where there are no masses, no feet, thin walls."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

import strongback as sb
from strongback.cli.frame import main
from strongback.machine.parameters import scaled
from strongback.machine.part.kinds import as_beams
from strongback.machine.part.make import parts_of
from strongback.machine.spread import joint_spreads
from strongback.machine.values import GROUND, Machine, Member, Place, Span
from strongback.materials import material
from strongback.section.outline import filled
from strongback.section.shapes import rectangular_tube, round_tube
from strongback.section.values import Fill
from strongback.vibration.model import dynamics
from strongback.vibration.modes import modes
from strongback.vibration.vibrated import vibrated
from strongback.vibration.walls import wall_frequency

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")


# The beam of the router is a body without motions of its walls of their own: its modes may be off by more, as they say.
@pytest.mark.parametrize(
    ("name", "error"), [("demo", 1e-3), ("tapping-stand", 1e-3), ("portal-router", 2e-3)]
)
def test_command_and_python_tell_the_same(name, error, capsys):
    path = name if name == "demo" else str(EXAMPLES / name)
    assert main(["vibrate", path, "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said.pop("schema") == "strongback.vibrate.2"
    found = sb.vibrate(path)
    assert json.loads(json.dumps(found.to_dict())) == said
    assert len(said["modes"]) == 6
    for mode in said["modes"]:
        assert (
            mode["error"] < 2e-3
        )  # of lines of sections below 1e-3; with bodies that of their mesh comes on top
        assert mode["damping_ratio_range"][0] < mode["damping_ratio"] < mode["damping_ratio_range"][1]
        assert sum(row["share"] for row in mode["energy"]) == pytest.approx(1.0)
        assert mode["frequency_95_Hz"][0] < mode["frequency_Hz"] < mode["frequency_95_Hz"][1]
    assert main(["vibrate", path, "--no-figures"]) == 0
    assert capsys.readouterr().out == f"{found}\n"
    assert found.figure()._repr_png_().startswith(b"\x89PNG")


def test_a_project_without_masses_names_no_frequency():
    machine = replace(as_beams(sb.read("demo").machine), masses=())
    with pytest.raises(
        sb.StrongbackError, match=r"the project has no \[\[mass\]\], and .* no frequency can be named"
    ):
        sb.vibrate(machine)


def test_what_has_no_mass_is_said():
    found = sb.vibrate(EXAMPLES / "portal-router")
    assert found.without_mass == ("frame",)
    assert "Without a mass: frame" in str(found)


def test_the_interval_is_that_of_the_joints():
    """Against the finite difference: all ranged springs 1 % stiffer raise ln f by half of their shares."""
    machine = as_beams(sb.read("demo").machine)
    parts = parts_of(machine)
    found = vibrated(dynamics(machine, parts), 2)
    spreads = joint_spreads(machine)
    total = [0.0, 0.0]
    for parameter, spread in spreads.items():
        stiffer = modes(scaled(machine, {parameter: 1.001}), parts, 2)
        for k, (one, two) in enumerate(zip(found.modes, stiffer, strict=True)):
            total[k] += ((two.frequency / one.frequency - 1.0) / 1e-3 * spread) ** 2
    for ring, square in zip(found.modes, total, strict=True):
        wide = ring.frequency_95[1] / ring.frequency
        assert wide == pytest.approx(2.718281828 ** (1.959964 * square**0.5), rel=1e-3)


def column(outline):
    top = (0.0, 0.0, 0.52)
    post = Member(
        name="post", start=(0, 0, 0), end=top, x_axis=(1, 0, 0), spans=(Span(section="tube", length=0.52),)
    )
    return Machine(
        name="column",
        sections=(("tube", outline),),
        members=(post,),
        tool=Place(part="post", at=top),
        work=Place(part=GROUND, at=top),
    )


def test_a_thin_empty_column_is_no_beam_when_free():
    """As a 3D body this tube rings from 613 Hz; its beam says 1739 Hz, and that is said."""
    tube = rectangular_tube(material("aluminium"), 0.08, 0.12, 0.004)
    assert wall_frequency(tube) == pytest.approx(724.0, rel=0.02)  # the formula; 613 Hz as a body
    machine = column(tube)
    found = sb.vibrate(machine, modes=2)
    assert [bool(mode.rigid) for mode in found.modes] == [True] * 6 + [False] * 2
    first = found.modes[6]
    assert first.frequency == pytest.approx(1739.0, rel=0.02)
    assert first.walls[0][0] == "post"
    assert first.walls[0][1] == pytest.approx(2.4, rel=0.03)
    assert "its walls bend" in str(found)
    assert "one of 6 motions that nothing holds" in found.modes[0].rigid
    assert found.modes[0].frequency == 0.0
    with pytest.raises(sb.QuestionError, match="no picture"):
        found.figure()


def test_walls_that_are_held_or_round_are_not_judged():
    tube = rectangular_tube(material("aluminium"), 0.08, 0.12, 0.004)
    full = filled(tube, {tube.cells[0].name: Fill(material=material("epoxy mineral"))})
    assert wall_frequency(full) == float("inf")
    assert wall_frequency(round_tube(material("aluminium"), 0.1, 0.004)) > 1e4


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["vibrate", "demo", "--modes", "0"], 2, "0 modes asked for"),
        (["vibrate", "demo", "--joint-loss", "-0.1"], 2, "the loss factor of joints is -0.1"),
        (["vibrate", "demo", "--joint-loss", "nan"], 2, "the loss factor of joints is nan"),
    ],
)
def test_what_makes_no_sense_is_refused(words, code, said, capsys):
    assert main(words) == code
    assert said in capsys.readouterr().err
