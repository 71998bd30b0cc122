"""Joints started from how they are made, and joints that open or have play."""

from __future__ import annotations

from pathlib import Path

import pytest

from strongback.errors import ProjectError
from strongback.machine.joints import Bolt, bolted_face, rubber_foot, screw_foot, slideway, spindle
from strongback.machine.joints.slideway import SlidePad
from strongback.machine.values import FREE, RIGID
from strongback.project import read_text

HERE = Path(__file__).parent
GOOD = (HERE / "good.toml").read_text(encoding="utf-8")
JOINT = 'along = "150 N/um"\nabout = "2e5 N*m/rad"'
SUPPORT = 'along = "rigid"\nabout = { value = "3e5 N*m/rad", low = "1e5 N*m/rad", high = "9e5 N*m/rad" }'

BOLTED = """[joint.bolted]
unit = "mm"
size = [110, 90]
plate = 12
bolt = [
  { at = [-40, -30], diameter = 8, preload = "12 kN" },
  { at = [40, -30], diameter = 8, preload = "12 kN" },
  { at = [40, 30], diameter = 8, preload = "12 kN" },
  { at = [-40, 30], diameter = 8, preload = "12 kN" },
]"""


def project(old, new):
    assert old in GOOD
    return read_text(GOOD.replace(old, new), HERE / "project.toml")


def joint(text):
    return project(JOINT, text).machine.joints[0]


def support(text):
    return project(SUPPORT, text).machine.supports[0]


def same(holder, start):
    pairs = ((holder.stiffness, start.middle), (holder.low, start.low), (holder.high, start.high))
    return all(found == pytest.approx(due, rel=1e-12) for found, due in pairs)


def test_a_bolted_face():
    bolts = tuple(
        Bolt(at=(x, y), diameter=0.008, preload=12e3)
        for x, y in ((-0.04, -0.03), (0.04, -0.03), (0.04, 0.03), (-0.04, 0.03))
    )
    start = bolted_face(bolts, 0.012, (0.11, 0.09), finish="milled")
    found = joint(BOLTED)
    assert same(found, start)
    assert found.source == start.source
    assert found.at == (0.0, 0.06, 0.38)


def test_what_is_written_takes_the_place_of_what_is_started():
    found = joint('along_z = "rigid"\nabout_x = "1e5 N*m/rad"\nsource = "pull test"\n' + BOLTED)
    started = joint(BOLTED)
    assert (found.stiffness[2], found.stiffness[3], found.source) == (RIGID, 1e5, "pull test")
    assert found.stiffness[4:] == started.stiffness[4:]
    assert found.low[:2] == started.low[:2]


def test_a_slideway():
    found = joint(
        '[joint.slideway]\nvertical = true\nalong = "20, 80 N/um"\npad = [{ at = "0, 0 mm", size = "30, 90 mm" }]'
    )
    assert same(
        found, slideway((SlidePad(at=(0.0, 0.0), size=(0.03, 0.09)),), vertical=True, along=(20e6, 80e6))
    )
    sliding = joint('[joint.slideway]\npad = [{ at = "0, 0 mm", size = "30, 90 mm" }]')
    assert sliding.stiffness[1] == FREE


def test_a_spindle_acts_at_its_centre_of_stiffness():
    axes = 'x_axis = "+x"\ny_axis = "-y"\n'  # z of the joint then points down, to the nose
    found = joint(axes + '[joint.spindle]\nspan = "100 mm"\nfront = "40, 40 N/um"\nrear = "10, 10 N/um"')
    start = spindle(0.1, front=(40e6, 40e6), rear=(10e6, 10e6))
    assert same(found, start)
    # two springs of 4 : 1 on a span of 100 mm: 20 mm from the stiffer one, towards the other (statics)
    assert found.at == pytest.approx((0.0, 0.06, 0.38 + 0.02), abs=1e-12)


def test_the_axes_of_a_spindle_may_point_anywhere():
    axes = 'x_axis = "+y"\ny_axis = "+z"\n'  # z of the joint then points along +x of the machine, to the nose
    found = joint(axes + '[joint.spindle]\nspan = "100 mm"\nfront = "40, 40 N/um"\nrear = "10, 10 N/um"')
    assert found.at == pytest.approx((-0.02, 0.06, 0.38), abs=1e-12)


def test_feet():
    assert same(
        support('[support.rubber_foot]\ndiameter = "40 mm"\nheight = "20 mm"'), rubber_foot(0.04, 0.02)
    )
    assert same(
        support('[support.screw_foot]\ndiameter = "13.8 mm"\nlength = "40 mm"'), screw_foot(0.0138, 0.04)
    )


def test_play_and_opening_stand_beside_the_linear_machine():
    text = (
        JOINT
        + '\n[[joint.play]]\ncomponent = "about z"\ngap = "40 urad"\n[[joint.play]]\ncomponent = "along x"\ngap = "5 um"\n'
    )
    text += '[[joint.opens]]\ncomponent = "along z"\npreload = "2 kN"\nopening = "-"\n'
    found = project(JOINT, text)
    assert found.machine == project(JOINT, JOINT).machine
    laws = [(law.kind, law.part, law.component, law.law, law.size, law.sign) for law in found.laws]
    assert laws == [
        ("joint", "head", "about z", "play", pytest.approx(40e-6), 1),
        ("joint", "head", "along x", "play", pytest.approx(5e-6), 1),
        ("joint", "head", "along z", "opens", 2e3, -1),
    ]
    without = project(SUPPORT, SUPPORT + '\n[[support.opens]]\ncomponent = "about x"')
    assert (without.laws[0].kind, without.laws[0].size) == ("support", 0.0)


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        (BOLTED.replace("[40, 30]", "[400, 30]"), "39:1", "outside the footprint"),
        (BOLTED.replace("diameter = 8", "diameter = 0"), "44:33", "must be above 0"),
        (BOLTED.replace("plate = 12", 'finish = "filed"'), "39:1", "plate is missing"),
        (BOLTED + '\n[joint.spindle]\nspan = "9 mm"', "49:1", "gives starting values already"),
        ('[joint.slideway]\npad = [{ at = "0, 0 mm", size = "3, 9 m" }]', "39:1", "beyond the table"),
        ('[joint.rubber_foot]\ndiameter = "9 mm"', "39:1", 'unknown key "rubber_foot"'),
        (JOINT + '\n[[joint.play]]\ncomponent = "along x"\ngap = "5 urad"', "43:7", "not of length"),
        (JOINT + '\n[[joint.play]]\ncomponent = "along x"\ngap = "-5 um"', "43:7", "must be above 0"),
        (JOINT + '\n[[joint.play]]\ncomponent = "along w"\ngap = "5 um"', "42:13", "must be"),
        (
            JOINT
            + '\n[[joint.play]]\ncomponent = "along x"\ngap = "5 um"\n[[joint.opens]]\ncomponent = "along x"',
            "45:13",
            "is there twice",
        ),
        (
            JOINT.replace('"150 N/um"', '"free"') + '\n[[joint.opens]]\ncomponent = "along x"',
            "42:13",
            "must be a component that holds",
        ),
        ('along = "rigid"', "35:1", "about_x, about_y, about_z not given"),
    ],
)
def test_faults_of_joints(text, place, words):
    with pytest.raises(ProjectError) as caught:
        project(JOINT, text)
    assert words in str(caught.value)
    assert f"project.toml:{place} " in str(caught.value)
