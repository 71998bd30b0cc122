"""Joints that open or have play, from the project file to the answer."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from strongback.cli.deflect import command

# A slide on a spring along x with 5 µm of play from stop to stop; all invented.
PLAY = """
format = 2

[machine]
name = "slide"

[[section]]
name = "square"
material = "steel"
shape = "rectangle"
width = "50 mm"
depth = "50 mm"

[[member]]
name = "slide"
section = "square"
start = "0, 0, 0 mm"
end = "0, 0, 100 mm"
x_axis = "+x"

[[support]]
name = "nut"
part = "slide"
at = "0, 0, 0 mm"
along_x = "10 N/um"
along_y = "rigid"
along_z = "rigid"
about = "rigid"
source = "invented"

[[support.play]]
component = "along x"
gap = "5 um"

[tool]
part = "slide"
at = "0, 0, 0 mm"

[work]
part = "ground"
at = "0, 0, 0 mm"

[[pull]]
name = "push"
part = "slide"
at = "0, 0, 0 mm"
force = "100 N"
direction = "+x"
"""


@pytest.fixture
def project(tmp_path):
    (tmp_path / "project.toml").write_text(PLAY, encoding="utf-8")
    return str(tmp_path)


def test_half_the_play_is_lost_motion(project):
    """F/k = 10 µm and half of the gap on top, by hand."""
    done = CliRunner().invoke(command, [project, "--json"], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    found = json.loads(done.stdout)
    (pull,) = found["pulls"]
    assert pull["tool"]["displacement_m"][0] == pytest.approx(12.5e-6, rel=1e-9)
    assert pull["total_m"] == pytest.approx(12.5e-6, rel=1e-9)
    assert pull["every_joint_holding"]["displacement_m"][0] == pytest.approx(10e-6, rel=1e-9)
    assert pull["state"] == [{"part": "nut", "component": "along x", "state": "bears"}]
    rows = {row["mechanism"]: row["contribution_m"] for row in pull["budget"]}
    assert rows["play along x"] == pytest.approx(2.5e-6, rel=1e-9)
    assert sum(rows.values()) == pytest.approx(12.5e-6, rel=1e-9)


def test_the_linear_answer_is_printed_beside_it(project):
    done = CliRunner().invoke(command, [project, "--no-figures"], catch_exceptions=False)
    heading = "Joints that open or have play: the state that all of this is of"
    assert heading in done.output
    row = next(line for line in done.output.split(heading)[1].splitlines() if line.strip().startswith("push"))
    assert row.split()[1:3] == ["12.5", "10.0"]
    assert "nut, along x: bears" in row


def test_a_project_without_such_joints_says_nothing_of_them():
    done = CliRunner().invoke(command, ["demo", "--json"], catch_exceptions=False)
    assert all("state" not in pull for pull in json.loads(done.stdout)["pulls"])
