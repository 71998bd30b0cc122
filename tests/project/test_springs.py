"""Joints and supports in the file: written springs, kinds of the library, play and opening."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from strongback.errors import ProjectError
from strongback.machine.joints import library as kinds
from strongback.machine.values import FREE, RIGID
from strongback.materials import material
from strongback.project import read_text, with_joint_stiffness

HERE = Path(__file__).parent
GOOD = (HERE / "good.toml").read_text(encoding="utf-8")
JOINT = 'along = "150 N/um"\nabout = "2e5 N*m/rad"'
SUPPORT = 'along = "rigid"\nabout = { value = "3e5 N*m/rad", low = "1e5 N*m/rad", high = "9e5 N*m/rad" }'
IRON, ALUMINIUM = material("grey iron GJL-250"), material("aluminium")

FLANGE = """[joint.flange_on_bolts]
unit = "mm"
size = [60, 80]
bolts = "4 x M8"
bolt_spacing = [40, 60]
preload = "12 kN"
thickness = 12
wall_to_bolt = 10"""


def project(old, new):
    assert old in GOOD
    return read_text(GOOD.replace(old, new), HERE / "project.toml")


def joint(text):
    return project(JOINT, text).machine.joints[0]


def support(text):
    return project(SUPPORT, text).machine.supports[0]


def same(holder, start):
    pairs = ((holder.stiffness, start.best), (holder.low, start.low), (holder.high, start.high))
    return all(found == pytest.approx(due, rel=1e-12) for found, due in pairs)


def test_a_flange_takes_direction_and_materials_from_its_members():
    """The arm begins at the face and runs along +y: the face looks there; across is level, the second size is up."""
    places = ((-0.02, -0.03), (0.02, -0.03), (0.02, 0.03), (-0.02, 0.03))
    bolts = [kinds.FlangeBolt(at=at, diameter=0.008, preload=12e3) for at in places]
    start = kinds.flange_on_bolts((0.06, 0.08), bolts, 0.012, (IRON, ALUMINIUM), wall_to_bolt=0.01)
    found = joint(FLANGE)
    assert same(found, start)
    assert found.source == start.source
    assert found.at == (0.0, 0.06, 0.38)
    assert found.axes == ((-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0))
    assert joint(FLANGE + '\nface_looks = "+y"') == found


def test_bolts_without_a_torque_are_less_sure():
    sure = joint(FLANGE)
    unsure = joint(FLANGE.replace('preload = "12 kN"\n', ""))
    torqued = joint(FLANGE.replace('preload = "12 kN"', 'torque = "19.2 N*m"'))
    assert torqued.stiffness == pytest.approx(sure.stiffness)  # T = 0.2 F d
    for i in range(6):
        assert unsure.stiffness[i] / unsure.low[i] >= 3.0 * (1 - 1e-12)


def test_what_is_written_takes_the_place_of_the_kind():
    found = joint('along_z = "rigid"\nabout_x = "1e5 N*m/rad"\nsource = "pull test"\n' + FLANGE)
    started = joint(FLANGE)
    assert (found.stiffness[2], found.stiffness[3], found.source) == (RIGID, 1e5, "pull test")
    assert found.stiffness[4:] == started.stiffness[4:]
    assert found.low[:2] == started.low[:2]


WAY = '[joint.dovetail_way]\nslides = "+z"\nunit = "mm"\nflat = 25\nlength = 80\napart = 66\nslant = 14'


def test_a_way_is_vertical_when_it_slides_up():
    """The column's axis is the z axis, the joint stands off it along +y: there its faces look."""
    found = joint(WAY)
    assert same(found, kinds.dovetail_way(0.025, 0.08, 0.066, slant=0.014, vertical=True))
    assert found.stiffness[1] == FREE
    assert found.axes[1:] == ((0.0, 0.0, 1.0), (0.0, 1.0, 0.0))
    level = joint(WAY.replace('"+z"', '"+x"'))
    assert same(level, kinds.dovetail_way(0.025, 0.08, 0.066, slant=0.014))
    assert joint(WAY.replace('"+z"', '"-z"')).stiffness == found.stiffness


def test_what_holds_a_way_along():
    locked = joint(WAY + "\nlocked = true")
    assert (locked.low[1], locked.high[1]) == (30e6, 200e6)
    assert locked.stiffness[2] > joint(WAY).stiffness[2]
    screw = joint(
        WAY + '\n[joint.dovetail_way.ball_screw]\ndiameter = "16 mm"\nlead = "5 mm"\nfree = "300 mm"'
    )
    due = kinds.ball_screw(0.016, 0.005, 0.3)
    assert (screw.low[1], screw.high[1]) == pytest.approx((due.low[1], due.high[1]))
    belt = joint(WAY + '\nheld_by = "belt"')
    assert (belt.low[1], belt.high[1]) == pytest.approx((2e6, 20e6))


SPINDLE = """[joint.spindle_bearings]
nose = "-z"
front_bearing = "0, 240, 330 mm"
bearing_span = "80 mm"
front = { kind = "angular pair", bore = "25 mm", preload = "100 N", balls = 11, ball = "8 mm" }
rear = { kind = "deep groove", bore = "25 mm", preload = "100 N", balls = 9, ball = "8 mm", fit = "sliding" }
"""
BLOCK = '\n[[block]]\nname = "quill"\nat = "0, 240, 330 mm"\n[[joint]]\nname = "spindle"\nparts = ["head arm", "quill"]\n'
MEMBER = """
[[member]]
name = "quill"
section = "arm"
start = "0, 240, 450 mm"
end = "0, 240, 250 mm"
x_axis = "+x"
[[joint]]
name = "spindle"
parts = ["head arm", "quill"]
"""
SHAFT = 'overhang = "30 mm"\ndiameter = "25 mm"\n'
FRONT = kinds.Bearing(kind="angular pair", bore=0.025, preload=100.0, balls=11, ball=0.008)
REAR = kinds.Bearing(kind="deep groove", bore=0.025, preload=100.0, balls=9, ball=0.008, fit="sliding")


def test_a_spindle_that_is_a_block_holds_the_bending_of_its_shaft():
    found = read_text(GOOD + BLOCK + SPINDLE + SHAFT, HERE / "project.toml").machine.joints[1]
    start = kinds.spindle_bearings(FRONT, REAR, 0.08, overhang=0.03, diameter=0.025)
    assert same(found, start)
    assert found.axes[2] == (0.0, 0.0, -1.0)
    # behind the front bearing, away from the nose: above it
    assert found.at == pytest.approx((0.0, 0.24, 0.33 - start.at[2]), abs=1e-12)
    assert start.at[2] < 0.0


def test_a_spindle_that_is_a_member_gets_a_joint_a_bearing():
    found = read_text(GOOD + MEMBER + SPINDLE, HERE / "project.toml").machine.joints[1:]
    assert [j.name for j in found] == ["spindle front", "spindle rear"]
    assert [j.at for j in found] == [(0.0, 0.24, 0.33), pytest.approx((0.0, 0.24, 0.41))]
    assert same(found[0], kinds.one_bearing(FRONT, thrust=True))
    assert same(found[1], kinds.one_bearing(REAR, thrust=False, held=True))


def test_feet():
    rubber = support('[support.rubber_foot]\ndiameter = "40 mm"\nheight = "20 mm"')
    assert same(rubber, kinds.rubber_foot(0.04, 0.02))
    foot = '[support.levelling_foot_steel]\nthread = "M10"\nfree = "30 mm"\nstands_on = "steel"\n'
    given = support(foot + 'weight = "100 N"')
    assert same(given, kinds.levelling_foot_steel(8.5e-3, 0.03, 0.01, 100.0))
    bench = support(
        foot + 'weight = "100 N"\n[support.bench]\nthickness = "40 mm"\ndepth = "600 mm"\nspan = "1.2 m"'
    )
    top = kinds.bench(0.04, 0.6, 1.2)
    assert 1.0 / bench.low[2] == pytest.approx(1.0 / given.low[2] + 1.0 / top.low[2])


def test_the_weight_on_a_foot_follows_from_the_masses():
    """A column of 80 x 120 mm, 4 mm walls, and an arm of 60 x 80 mm iron, by hand."""
    foot = '[support.levelling_foot_steel]\nthread = "M10"\nfree = "30 mm"\nstands_on = "steel"'
    hollow = 0.08 * 0.12 - 0.072 * 0.112
    kilos = hollow * 0.42 * ALUMINIUM.density + 0.06 * 0.08 * 0.18 * IRON.density
    found, due = support(foot), kinds.levelling_foot_steel(8.5e-3, 0.03, 0.01, kilos * 9.80665)
    assert same(found, due)


CARRIAGE = """
[[block]]
name = "carriage"
at = "40, 0, 300 mm"
[[pad]]
name = "pad"
part = "column"
at = "0, 60, 300 mm"
normal = "+y"
size = "70, 80 mm"
[[joint]]
name = "way"
parts = ["column", "carriage"]
at = "0, 60, 300 mm"
pad = "pad"
along_y = "40 N/um"
"""


def test_the_contact_under_a_pad_counts_once():
    """Pad and joint in series on a body give what the joint gives on a beam."""
    text = GOOD + CARRIAGE + WAY.replace("locked = true", "")
    beam = read_text(text, HERE / "project.toml").machine
    body = read_text(
        text.replace('x_axis = "+x"', 'x_axis = "+x"\nmodel = "body"', 1), HERE / "project.toml"
    ).machine
    start = kinds.dovetail_way(0.025, 0.08, 0.066, slant=0.014, vertical=True)
    pad = body.pads[0]
    assert pad == beam.pads[0]
    assert pad.stiffness == pytest.approx(start.best[2] / (0.07 * 0.08))
    assert pad.tangential == pytest.approx(start.best[0] / start.best[2])
    assert beam.joints[1].stiffness == pytest.approx((start.best[0], 40e6, *start.best[2:]))
    kn, kt = pad.stiffness * 0.07 * 0.08, pad.tangential * pad.stiffness * 0.07 * 0.08
    own = np.array([kt, kt, kn, kn * 0.08**2 / 12, kn * 0.07**2 / 12, kt * (0.07**2 + 0.08**2) / 12])
    left = np.array(body.joints[1].stiffness)
    assert list(left[[0, 2, 3]]) == [RIGID] * 3  # nothing but the contact was there
    assert left[1] == 40e6  # written in the file: stays
    whole = 1.0 / (1.0 / own + 1.0 / left)
    assert whole[[0, 2, 3]] == pytest.approx(np.array(start.best)[[0, 2, 3]])
    assert whole[4] <= start.best[4] * (1 + 1e-12)
    low, high = {name: (a, b) for name, a, b in body.members[0].factor_ranges}["contact"]
    assert (low, high) == pytest.approx((start.low[2] / start.best[2], start.high[2] / start.best[2]))


def test_a_pad_that_nothing_gives_a_stiffness():
    text = GOOD + CARRIAGE + 'along = "100 N/um"\nabout = "1e5 N*m/rad"'
    with pytest.raises(ProjectError, match=r"no stiffness, and no joint of a kind") as caught:
        read_text(text, HERE / "project.toml")
    assert 'write stiffness = "150 N/mm^3"' in str(caught.value)


def test_play_and_opening_stand_beside_the_linear_machine():
    text = (
        JOINT
        + '\n[[joint.play]]\ncomponent = "about z"\ngap = "40 urad"\n[[joint.play]]\ncomponent = "sideways"\ngap = "5 um"\n'
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


def test_words_of_the_room_find_the_component_of_a_joint():
    """A face that looks at +y has z there: "in and out" is its z; one that looks at -y has it the other way round."""
    opens = '[[joint.opens]]\ncomponent = "in and out"\npreload = "2 kN"\nopening = "+"\n'
    laws = [project(JOINT, opens + FLANGE + f'\nface_looks = "{looks}"').laws[0] for looks in ("+y", "-y")]
    assert [(law.component, law.sign) for law in laws] == [("along z", 1), ("along z", -1)]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (FLANGE.replace("[40, 60]", "[400, 60]"), "outside the face"),
        (FLANGE.replace("4 x M8", "4 of them"), "must be bolts"),
        (
            FLANGE.replace("4 x M8", "3 x M8").replace("bolt_spacing = [40, 60]\n", ""),
            'write bolt_circle = "165 mm"',
        ),
        (FLANGE.replace("thickness = 12", 'finish = "filed"'), "thickness is missing"),
        (FLANGE + "\n" + WAY, "gives its stiffness already"),
        ('x_axis = "+x"\n' + FLANGE, "x_axis follows from flange_on_bolts"),
        (FLANGE + '\nbase_material = "cheese"', "cheese"),
        (WAY.replace('"+z"', '"+y"'), 'write face_looks = "-y"'),
        (WAY + '\nface_looks = "+z"', "cannot look along it"),
        (WAY + '\nheld_by = "belt"\n[joint.dovetail_way.trapezoidal_screw]', "is missing"),
        ('[joint.rubber_foot]\ndiameter = "9 mm"', 'unknown key "rubber_foot"'),
        (
            '[joint.quill_in_bore]\nnose = "-z"\ndiameter = "60 mm"\nlength = "60 mm"\nclamped = false',
            'held_by = "rack"',
        ),
        (JOINT + '\n[[joint.play]]\ncomponent = "along x"\ngap = "5 urad"', "not of length"),
        (JOINT + '\n[[joint.play]]\ncomponent = "along x"\ngap = "-5 um"', "must be above 0"),
        (JOINT + '\n[[joint.play]]\ncomponent = "along w"\ngap = "5 um"', "must be"),
        (
            JOINT
            + '\n[[joint.play]]\ncomponent = "along x"\ngap = "5 um"\n[[joint.opens]]\ncomponent = "sideways"',
            "is there twice",
        ),
        (
            JOINT.replace('"150 N/um"', '"free"') + '\n[[joint.opens]]\ncomponent = "along x"',
            "must be a component that holds",
        ),
        ('along = "rigid"', "about_x, about_y, about_z not given"),
    ],
)
def test_faults_of_joints(text, words):
    with pytest.raises(ProjectError) as caught:
        project(JOINT, text)
    assert words in str(caught.value)
    assert "project.toml:" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (BLOCK + SPINDLE, 'write overhang = "30 mm" and diameter = "30 mm", or make it a member'),
        (BLOCK + 'at = "0, 0, 0 mm"\n' + SPINDLE + SHAFT, "drop at"),
        (MEMBER + SPINDLE.replace('"-z"', '"-x"'), 'it runs along z: write nose = "+z" or "-z"'),
        (BLOCK.replace('"head arm", "quill"', '"quill", "column"') + FLANGE, "at is missing"),
        (
            BLOCK.replace('"head arm", "quill"', '"column", "quill"') + 'at = "0, 60, 300 mm"\n' + FLANGE,
            'write flange_material = "steel"',
        ),
        (
            BLOCK.replace('"head arm", "quill"', '"column", "quill"')
            + 'at = "0, 60, 300 mm"\n'
            + FLANGE
            + '\nflange_material = "steel"',
            'write face_looks = "+z"',
        ),
    ],
)
def test_what_cannot_be_derived_is_refused_with_the_line_to_write(text, words):
    with pytest.raises(ProjectError) as caught:
        read_text(GOOD + text, HERE / "project.toml")
    assert words in str(caught.value)


def test_fitted_springs_of_a_kind_are_written_before_its_table():
    """Behind the heading of a kind a new key would be the kind's."""
    text = GOOD.replace(JOINT, FLANGE)
    written = with_joint_stiffness(text, {("head", "about x"): (1.3e5, 1.1e5, 1.6e5)}, source="pull test")
    found = read_text(written, HERE / "project.toml").machine.joints[0]
    assert (found.stiffness[3], found.source) == (1.3e5, "pull test")
    assert found.stiffness[4] == joint(FLANGE).stiffness[4]


@pytest.mark.parametrize("inline", [True, False])
def test_fitted_springs_of_a_bearing_are_written_into_it(inline):
    text = GOOD + MEMBER + SPINDLE
    if not inline:
        head, rear = SPINDLE.split("front = {")
        keys = '[joint.spindle_bearings.front]\nkind = "angular pair"\nbore = "25 mm"\n'
        text = GOOD + MEMBER + head + rear[rear.index("rear = {") :] + keys
    written = with_joint_stiffness(text, {("spindle front", "along x"): (5e7, 4e7, 6e7)})
    found = read_text(written, HERE / "project.toml").machine.joints[1]
    assert found.name == "spindle front"
    assert (found.low[0], found.stiffness[0], found.high[0]) == (4e7, 5e7, 6e7)


def test_a_calibrated_body_reads_back_as_it_was():
    """What is written stays as it is, whatever the pad under it holds."""
    text = GOOD.replace('x_axis = "+x"', 'x_axis = "+x"\nmodel = "body"', 1) + CARRIAGE + WAY
    before = read_text(text, HERE / "project.toml").machine.joints[1]
    values = {("way", "about z"): (5e5, 4e5, 6e5)}
    after = read_text(with_joint_stiffness(text, values), HERE / "project.toml").machine.joints[1]
    assert (after.low[5], after.stiffness[5], after.high[5]) == (4e5, 5e5, 6e5)
    assert after.stiffness[:5] == before.stiffness[:5]
