"""Joints put in by what one sees: the same machine described in six orientations gives the same answer."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from strongback import assemble, parts_of
from strongback.errors import MachineError
from strongback.machine.compliance import tool_compliance
from strongback.machine.directions import direction, face_axes, slide_axes, word_of
from strongback.machine.joints import library as kinds
from strongback.machine.joints.placed import along_axis, on_face, on_slide, spindle_joints, stood_on
from strongback.machine.joints.words import in_words
from strongback.machine.values import Joint
from strongback.materials import material
from strongback.project import read_text

IRON = material("grey iron GJL-250")


def turns():
    """Six ways to lay a machine: each axis up or down in turn."""
    x, y, z = np.eye(3)
    return {
        "as it stands": np.eye(3),
        "on its side": np.array([y, -x, z]),
        "on its back": np.array([x, z, -y]),
        "upside down": np.array([x, -y, -z]),
        "round the corner": np.array([y, z, x]),
        "on its other side": np.array([-z, y, x]),
    }


class Turned:
    """Writes points, directions and sizes of faces as someone would who sees the machine turned."""

    def __init__(self, turn):
        self.turn = turn

    def point(self, *mm):
        return ", ".join(f"{v + 0.0:.17g}" for v in self.turn @ np.array(mm)) + " mm"

    def way(self, word):
        return word_of(self.turn @ np.array(direction(word)))

    def face(self, looks, **size):
        """Sizes along x, y, z of the machine as it stands, in the order in which a face is measured as it lies now."""
        words = {self.way("+" + axis)[1]: value for axis, value in size.items()}
        order = {"z": "xy", "y": "xz", "x": "yz"}[self.way(looks)[1]]
        return ", ".join(f"{words[axis]:g}" for axis in order) + " mm"


def text(t, spindle):
    """A column mill by kinds of joints; sizes invented."""
    return f'''
format = 2
[machine]
name = "mill"
[[section]]
name = "column"
material = "aluminium"
shape = "rectangle"
width = "80 mm"
depth = "110 mm"
[[section]]
name = "round"
material = "steel"
shape = "rectangle"
width = "30 mm"
depth = "30 mm"
[[member]]
name = "column"
section = "column"
start = "{t.point(0, 0, 0)}"
end = "{t.point(0, 0, 480)}"
x_axis = "{t.way("+x")}"
[[member]]
name = "arm"
section = "column"
start = "{t.point(0, -95, 340)}"
end = "{t.point(0, -190, 340)}"
x_axis = "{t.way("+x")}"
[[block]]
name = "carriage"
at = "{t.point(0, -60, 340)}"
[[support]]
name = "base"
part = "column"
at = "{t.point(0, 0, 0)}"
[support.flange_on_bolts]
face_looks = "{t.way("+z")}"
size = "{t.face("+z", x=110, y=90)}"
bolts = "4 x M8"
bolt_spacing = "{t.face("+z", x=84, y=66)}"
torque = "22 N*m"
thickness = "12 mm"
wall_to_bolt = "15 mm"
base_material = "grey iron GJL-250"
[[joint]]
name = "carriage"
parts = ["column", "carriage"]
at = "{t.point(0, -55, 340)}"
[joint.profile_rail_carriage]
slides = "{t.way("+z")}"
size = "15 mm"
spacing = "100, 70 mm"
preload = "light"
held_by = "lock"
[[joint]]
name = "arm bolts"
parts = ["carriage", "arm"]
at = "{t.point(0, -95, 340)}"
[joint.flange_on_bolts]
size = "{t.face("-y", x=70, z=50)}"
bolts = "4 x M6"
thickness = "12 mm"
base_material = "steel"
{spindle}
[tool]
part = "spindle"
at = "{t.point(0, -190, 240)}"
[work]
part = "ground"
at = "{t.point(0, -190, 240)}"
'''


def lumped(t):
    return f'''
[[block]]
name = "spindle"
at = "{t.point(0, -190, 300)}"
[[joint]]
name = "bearings"
parts = ["arm", "spindle"]
[joint.spindle_bearings]
nose = "{t.way("-z")}"
front_bearing = "{t.point(0, -190, 310)}"
bearing_span = "80 mm"
front = {{ kind = "angular pair", bore = "25 mm", preload = "100 N" }}
rear = {{ kind = "deep groove", bore = "25 mm", fit = "sliding" }}
overhang = "30 mm"
diameter = "25 mm"
'''


def as_member(t):
    text = lumped(t).replace('overhang = "30 mm"\ndiameter = "25 mm"\n', "")
    block = text[text.index("[[block]]") : text.index("[[joint]]")]
    member = f'''[[member]]
name = "spindle"
section = "round"
start = "{t.point(0, -190, 400)}"
end = "{t.point(0, -190, 280)}"
x_axis = "{t.way("+x")}"
'''
    return text.replace(block, member)


@pytest.mark.parametrize("spindle", [lumped, as_member], ids=["block", "member"])
def test_the_same_machine_in_six_orientations(spindle, tmp_path):
    found = {}
    for name, turn in turns().items():
        t = Turned(turn)
        machine = read_text(text(t, spindle(t)), tmp_path / "project.toml").machine
        loop = assemble(machine, parts_of(machine))
        six = np.kron(np.eye(2), turn)
        found[name] = six.T @ tool_compliance(loop) @ six
    due = found["as it stands"]
    for name, compliance in found.items():
        assert np.abs(compliance - due).max() < 1e-9 * np.abs(due).max(), name
    assert np.ptp(np.diag(due)[:3]) > 0.1 * due[0, 0]  # not a machine that looks alike from all sides


def test_a_nose_the_other_way_round_is_another_machine(tmp_path):
    t = Turned(np.eye(3))
    gives = []
    for nose in ("-z", "+z"):
        there = text(t, lumped(t)).replace('nose = "-z"', f'nose = "{nose}"')
        machine = read_text(there, tmp_path / "project.toml").machine
        gives.append(tool_compliance(assemble(machine, parts_of(machine)))[0, 0])
    assert gives[1] < 0.9 * gives[0]  # its bearings then stand on either side of the tool


def test_python_says_it_in_the_same_words(tmp_path):
    """The file and the calls of Python make the same joints."""
    t = Turned(np.eye(3))
    machine = read_text(text(t, as_member(t)), tmp_path / "project.toml").machine
    front = kinds.Bearing(kind="angular pair", bore=0.025, preload=100.0)
    rear = kinds.Bearing(kind="deep groove", bore=0.025, fit="sliding")
    made = spindle_joints(
        front,
        rear,
        0.08,
        name="bearings",
        parts=("arm", "spindle"),
        nose="-z",
        front_bearing=(0.0, -0.19, 0.31),
    )
    lock = kinds.lock()
    rails = kinds.profile_rail_carriage(
        0.015,
        preload="light",
        places=list(itertools.product((-0.05, 0.05), (-0.035, 0.035))),
        along=(lock.low[1], lock.high[1]),
    )
    carriage = on_slide(
        rails,
        name="carriage",
        parts=("column", "carriage"),
        at=(0.0, -0.055, 0.34),
        slides="+z",
        face_looks="-y",
    )
    assert machine.joints[0] == carriage
    for own, due in zip(machine.joints[2:], made, strict=True):
        assert own.name == due.name
        assert own.at == pytest.approx(due.at, abs=1e-15)
        assert (own.stiffness, own.low, own.high, own.axes) == (due.stiffness, due.low, due.high, due.axes)


def test_axes_follow_from_what_one_sees():
    assert face_axes("+z") == ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    for looks in ("+x", "-x", "+y", "-y"):
        x, y, z = face_axes(looks)
        assert word_of(z) == looks
        assert word_of(y) == "+z"  # an upright face has its second size upwards
        assert np.cross(x, y) == pytest.approx(z)
    x, y, z = slide_axes("+z", "-y")
    assert (word_of(y), word_of(z)) == ("+z", "-y")
    assert np.cross(x, y) == pytest.approx(z)
    with pytest.raises(MachineError, match="cannot look along it"):
        slide_axes("+z", "-z")
    with pytest.raises(MachineError, match='"down" is not a direction'):
        direction("down")


def test_stiffness_in_the_words_of_the_operator():
    """A face looking at the operator: out of it is in and out, its upright size turns about sideways: the nod."""
    made = kinds.flange_on_bolts((0.1, 0.05), kinds.corner_bolts((0.1, 0.05), 6e-3, 7e3), 0.012, (IRON, IRON))
    joint = on_face(made, name="bolts", parts=("a", "b"), at=(0.0, 0.0, 0.0), face_looks="-y")
    words = in_words(joint)
    assert list(words) == ["sideways", "in and out", "up", "nod", "side tilt", "yaw"]
    assert words["in and out"] == (made.low[2], made.best[2], made.high[2])
    assert words["up"] == (made.low[1], made.best[1], made.high[1])
    assert words["nod"][1] == made.best[3]
    assert words["side tilt"][1] == made.best[5]
    assert words["yaw"][1] == made.best[4]
    # the same joint for somebody who stands at +x: what was in and out is now sideways
    assert in_words(joint, "+x")["sideways"] == words["in and out"]
    askew = Joint(
        name="askew",
        parts=("a", "b"),
        at=(0.0, 0.0, 0.0),
        stiffness=made.best,
        axes=face_axes((1.0, -1.0, 0.0)),
    )
    assert set(in_words(askew)) == {"up", "yaw", "along x", "along z", "about x", "about z"}


def test_a_lumped_spindle_acts_behind_its_front_bearing():
    angular = kinds.Bearing(kind="angular pair", bore=0.025)
    made = kinds.spindle_bearings(angular, angular, 0.1)
    joint = along_axis(made, name="s", parts=("a", "b"), at=(0.0, 0.0, 0.5), axis="-z")
    assert joint.at == pytest.approx((0.0, 0.0, 0.55))  # two alike: the middle, away from the nose
    foot = stood_on(kinds.rubber_foot(0.03, 0.015), name="f", part="a", at=(0.0, 0.0, 0.0))
    assert foot.axes[2] == (0.0, 0.0, 1.0)
