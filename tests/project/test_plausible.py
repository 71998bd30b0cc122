"""Slips that `check` warns of: each with its figure and what was likely meant; nothing is refused, nothing rescaled."""

from __future__ import annotations

import json
import math
import warnings
from pathlib import Path

import pytest

from strongback.cli.frame import main
from strongback.plausible import UnlikelySize
from strongback.project import demo_folder, read, read_text
from strongback.project.plausible import SLIPS, limits, unlikely_of
from strongback.units import UNITS

ROOT = Path(__file__).parents[2]
DEMO = (demo_folder() / "project.toml").read_text(encoding="utf-8")
STARTER = (demo_folder().parent / "starter.toml").read_text(encoding="utf-8")
SHAPE = STARTER[
    STARTER.index('shape = "rectangular tube"\nwidth = "80 mm" ') : STARTER.index("\n# The same tube filled")
]


def told(text):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UnlikelySize)
        return unlikely_of(read_text(text, demo_folder() / "project.toml"))


def changed(old, new, text=STARTER, count=1):
    assert text.count(old) >= count
    return text.replace(old, new, count)


# What is typed, what is said, and the figure that was likely meant.
SLIPPED = {
    "column 1.2 m wide, from cm": (
        ('width = "80 mm"                 # along X', 'width = "1200 mm"'),
        "is 1200 mm across",
        "did you mean 120 mm",
    ),
    "a section in cm": (
        (SHAPE, 'shape = "rectangular tube"\nwidth = "8 mm"\ndepth = "12 mm"\nthickness = "0.25 mm"\n'),
        "has a wall of 0.25 mm",
        "did you mean",
    ),
    "a member shorter than its section": (
        ('end = "0, -180, 350 mm"', 'end = "0, -100, 350 mm"'),
        "0.5 times as long as its section is wide",
        "",
    ),
    "a joint metres from its parts": (
        (
            'at = "0, -60, 350 mm"\n[joint.flange_on_bolts]',
            'at = "0, -3, 0.35 m"\n[joint.flange_on_bolts]\nface_looks = "-y"',
        ),
        'joint "head" of "column" lies 2930 mm beside the part',
        "",
    ),
    "a bolt torque in the wrong unit": (
        ('# torque = "22 N*m"             #', 'torque = "220 N*m"  #'),
        "torque 10 of the usual one",
        "",
    ),
    "a foot thinner than from wall to bolt": (
        ('wall_to_bolt = "8 mm"', 'wall_to_bolt = "25 mm"'),
        "1.67 times the thickness of the flange, which bends first",
        "",
    ),
    "a way in cm": (('flat = "30 mm"', 'flat = "3 mm"'), "flats 3 mm wide", "did you mean 30 mm"),
    "a pull in kg": (('force = "200 N"', 'force = "9000 N"'), "9000 N", "did you mean 918 N (kg and N mixed up)?"),
    "a dial of a millimetre": (
        ('resolution = "1 um"', 'resolution = "1 mm"'),
        "a step of 1000 um",
        "did you mean",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", SLIPPED)
def test_a_slip_is_told_with_its_figure(name):
    (old, new), words, likely = SLIPPED[name]
    found = [w for w in told(changed(old, new)) if words in w.text]
    assert found, [w.text for w in told(changed(old, new))]
    assert likely in found[0].text
    assert found[0].source
    assert "project.toml:" in found[0].text
    before = told(STARTER)
    assert not [w for w in before if words in w.text]


def test_the_starter_is_usual():
    assert told(STARTER) == ()


def test_one_slip_changes_no_other_figure():
    """A column in centimetres: the machine is built as typed, all else is as it was."""
    old, new = 'width = "80 mm"                 # along X', 'width = "1200 mm"'
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UnlikelySize)
        before, after = (
            read_text(t, demo_folder() / "project.toml").machine for t in (STARTER, changed(old, new))
        )
    assert after.members == before.members
    assert after.pulls == before.pulls
    assert [g.at for g in after.gauges] == [g.at for g in before.gauges]


def test_a_tool_that_is_not_near_its_spindle():
    """The tool on the other side of the bearings, and one beside their axis."""
    behind = told(changed('nose = "-z"', 'nose = "+z"', DEMO))
    assert any("-110 mm before the front bearing" in w.text for w in behind)
    beside = DEMO.replace('at = "0, -190, 200 mm"', 'at = "19, -190, 200 mm"')
    assert any("the tool lies 19 mm beside the axis" in w.text for w in told(beside))


def test_springs_at_the_corner_of_an_outline():
    """An outline drawn from its corner: the line of the member, and all joints at its ends, run along that corner."""
    points = 'unit = "mm"\npoints = [[0, 0], [80, 0], [80, 120], [0, 120]]\n'
    text = changed(SHAPE, points)
    text = text.replace(
        '[[section.cell]]\nname = "inside"\nfill = "epoxy mineral"\nbond = "bonded"', ""
    ).replace('[[section]]\nname = "column filled"\nlike = "column"\n', "")
    assert any("its line runs 0.5 of the width beside the middle" in w.text for w in told(text))


def test_a_head_that_floats():
    """An arm that begins 100 mm in front of the only joint that holds it."""
    text = (
        changed('start = "0, -60, 350 mm"', 'start = "0, -160, 350 mm"')
        .replace('end = "0, -180, 350 mm"', 'end = "0, -280, 350 mm"')
        .replace('thickness = "12 mm"', 'thickness = "12 mm"\nface_looks = "-y"')
    )
    found = [w.text for w in told(text) if "floats" in w.text]
    assert len(found) == 1
    assert 'member "arm" floats: the nearest joint lies 100 mm off' in found[0]


CLAMPED = """
[[block]]
name = "collar"
at = "0, 0, 200 mm"
[[joint]]
name = "collar"
parts = ["column", "collar"]
at = "0, 0, 200 mm"
[joint.clamp_on_round_column]
diameter = "80 mm"
height = "60 mm"
bolts = "2 x M6"
torque = "9 N*m"
hub_material = "grey iron GJL-200"
[[pull]]
name = "twist"
part = "collar"
at = "200, 0, 200 mm"
force = "900 N"
direction = "+y"
"""


def test_a_clamp_above_a_third_of_its_slip():
    """0.12 pi n F D / 2 with two M6 at 7.5 kN on 80 mm is 226 N m, by hand; 900 N on 200 mm are 180 N m."""
    found = [w for w in told(STARTER + CLAMPED) if w.of.startswith("torque over the slip")]
    share = 180.0 / (0.12 * math.pi * 2 * 7500.0 * 0.04)
    assert [w.value for w in found] == [pytest.approx(share)]
    gentle = (STARTER + CLAMPED).replace('"900 N"', '"300 N"')
    assert not [w for w in told(gentle) if w.of.startswith("torque over the slip")]


def test_readings_below_five_steps_are_counted():
    found = [w for w in unlikely_of(read(demo_folder())) if w.of.startswith("reading")]
    assert [w.what for w in found] == ['readings "before"', 'readings "after"']
    assert "of 21 are short" in found[0].text


@pytest.mark.parametrize(
    "name", ["demo", *sorted(p.parent.name for p in ROOT.glob("examples/*/project.toml"))]
)
def test_the_examples_hold_no_slip_of_a_unit(name):
    folder = demo_folder() if name == "demo" else ROOT / "examples" / name
    assert [w.text for w in unlikely_of(read(folder)) if w.likely] == []


def test_check_tells_and_goes_on(tmp_path, capsys):
    (tmp_path / "project.toml").write_text(changed('flat = "30 mm"', 'flat = "3 mm"'), encoding="utf-8")
    assert main(["check", str(tmp_path)]) == 0
    assert "did you mean 30 mm" in capsys.readouterr().err
    assert main(["check", str(tmp_path), "--json"]) == 0
    (warning,) = json.loads(capsys.readouterr().out)["warnings"]
    assert warning["value"] == pytest.approx(3.0)
    assert warning["unit"] == "mm"
    assert warning["likely"].startswith("did you mean 30 mm")
    assert warning["source"]


def test_every_limit_has_a_source_and_a_unit():
    for limit in limits().values():
        assert limit.source
        assert limit.low <= limit.usual <= limit.high
        assert limit.low < limit.high
        assert limit.unit == "1" or limit.unit in UNITS
        assert "{what}" in limit.say
        assert "{v}" in limit.say
    assert set(SLIPS) <= {limit.unit for limit in limits().values()}
