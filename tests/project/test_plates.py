"""Caps, feet and diaphragms in a project file."""

from __future__ import annotations

import numpy as np
import pytest

from strongback import project
from strongback.errors import ProjectError

TEXT = """
format = 2
[machine]
name = "column"

[[section]]
name = "tube"
material = "aluminium 6060"
shape = "rectangular tube"
width = "80 mm"
depth = "60 mm"
thickness = "4 mm"

[[member]]
name = "column"
start = "0, 0, 0 mm"
end = "0, 0, 400 mm"
x_axis = "+x"
section = "tube"
model = "body"
{plates}

[[support]]
name = "base"
part = "column"
at = "0, 0, 0 mm"
along = "rigid"
about = "rigid"

[[pull]]
name = "top"
part = "column"
at = "0, 0, 300 mm"
force = "100 N"
direction = "+x"

[tool]
part = "column"
at = "0, 0, 0 mm"
[work]
part = "ground"
at = "0, 0, 0 mm"
"""
FOOT = """
[member.foot]
thickness = "12 mm"
material = "steel"
unit = "mm"
screws = [[-57, -47], [57, -47], [57, 47], [-57, 47]]
pressed = 18
size = [140, 120]
"""


def member(tmp_path, plates):
    return project.read_text(TEXT.format(plates=plates), tmp_path / "project.toml").machine.members[0]


def test_a_cap_is_a_thickness_of_the_walls_own_material(tmp_path):
    cap = member(tmp_path, 'cap = "2 mm"').cap
    assert (cap.thickness, cap.material.name, cap.joint) == (0.002, "aluminium 6060", "welded")


def test_a_cap_is_a_table(tmp_path):
    text = """
    [member.cap]
    thickness = "10 mm"
    material = "steel"
    joint = "screwed"
    screws = ["-34, -24 mm", "34, 24 mm"]
    pressed = "12 mm"
    """
    cap = member(tmp_path, text).cap
    assert cap.material.name == "steel"
    assert cap.screws == ((-0.034, -0.024), (0.034, 0.024))
    assert np.array(cap.squares()[0]) == pytest.approx(
        np.array([[-40, -30], [-28, -30], [-28, -18], [-40, -18]]) * 1e-3
    )


def test_a_foot_and_diaphragms(tmp_path):
    own = member(tmp_path, FOOT + '[[member.diaphragm]]\nat = "250 mm"\nthickness = "4 mm"\n')
    assert own.foot.size == (0.14, 0.12)
    assert len(own.foot.screws) == 4
    assert [(d.at, d.thickness, d.material.name) for d in own.diaphragms] == [(0.25, 0.004, "aluminium 6060")]


@pytest.mark.parametrize(
    ("plates", "message"),
    [
        ('cap = "-2 mm"', "must be above 0"),
        ('[member.cap]\nthickness = "2 mm"\njoint = "glued"', "needs its glue"),
        ('[member.cap]\nthickness = "2 mm"\njoint = "screwed"', "needs its screws"),
        ('[member.cap]\nthickness = "2 mm"\nmaterial = "steal"', "steel"),
        ('[member.foot]\nthickness = "12 mm"', "needs screws"),
        ('[[member.diaphragm]]\nat = "500 mm"\nthickness = "4 mm"', "must lie on the member of 400 mm"),
    ],
)
def test_what_is_no_plate(tmp_path, plates, message):
    with pytest.raises(ProjectError) as caught:
        member(tmp_path, plates)
    assert message in str(caught.value)


def test_a_beam_has_no_plates(tmp_path):
    text = TEXT.format(plates='cap = "2 mm"').replace('model = "body"', 'model = "beam"')
    with pytest.raises(ProjectError, match="a beam leaves it out"):
        project.read_text(text, tmp_path / "project.toml")
