"""The machine elsewhere in its work space."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from machines import isotropic

from strongback.errors import MachineError
from strongback.machine.compliance import tool_compliance
from strongback.machine.loop import assemble
from strongback.machine.part.make import parts_of
from strongback.machine.values import RIGID, Joint, Member, Place, Pull, Span, Travel
from strongback.machine.workspace import compliance_map, moved, travel_named

HEAD = Travel(name="head height", parts=("arm",), direction=(0.0, 0.0, 1.0), low=-0.2, high=0.05)


def test_not_moving_changes_nothing(mill):
    here = tool_compliance(assemble(mill, parts_of(mill)))
    there = tool_compliance(assemble(moved(mill, HEAD, 0.0), parts_of(mill)))
    assert there == pytest.approx(here, rel=1e-12)


def test_there_and_back(mill):
    assert moved(moved(mill, HEAD, -0.125), replace(HEAD, high=0.2), 0.125) == mill


def test_what_moves_and_what_stays(mill):
    there = moved(mill, HEAD, -0.1)
    assert there.tool.at == pytest.approx((0.0, 0.25, 0.2))
    assert there.work.at == there.tool.at
    assert there.joints[1].at == pytest.approx((0.0, 0.05, 0.3))
    assert there.joints[0] == mill.joints[0]
    assert there.members[0] == mill.members[0]
    assert [g.at for g in there.gauges] == [g.at for g in mill.gauges]
    assert there.pulls[0].at == there.tool.at


def test_a_lower_head_on_a_rigid_foot_is_stiffer(mill):
    """With only the column giving, fore-aft compliance falls as the head comes down: P H³/3EI and less."""
    stiff = replace(mill, joints=tuple(replace(j, stiffness=(RIGID,) * 6) for j in mill.joints))
    found = compliance_map(stiff, parts_of(mill), [HEAD], [6])
    along_y = [point.compliance[1, 1] for point in found]
    assert np.all(np.diff(along_y) > 0)
    assert all(np.all(np.diff(p.principal) <= 0) for p in found)
    assert dict(found[0].position)["head height"] == -0.2


def test_two_travels_make_a_grid(mill):
    table = Travel(name="table", parts=("bed",), direction=(1.0, 0.0, 0.0), low=-0.05, high=0.05)
    points = compliance_map(mill, parts_of(mill), [HEAD, table], [5, 3])
    assert len(points) == 15
    assert len({p.position for p in points}) == 15


def test_a_quill_that_slides_in_its_bore(mill):
    """The bore stays where it is: a quill that sticks out by L gives P L³/3EI and P L/kGA, elementary."""
    quill = isotropic(210e9, 80e9, 3e-4, 4e-9, 4e-9, 8e-9, shear=0.5, name="quill")
    bore = (0.0, 0.25, 0.4)
    machine = replace(
        mill,
        sections=(*mill.sections, ("quill", quill)),
        members=(
            *mill.members,
            Member(
                name="quill",
                start=(0.0, 0.25, 0.5),
                end=(0.0, 0.25, 0.35),
                x_axis=(1.0, 0.0, 0.0),
                spans=(Span(section="quill", length=0.15),),
            ),
        ),
        joints=(
            *(replace(j, stiffness=(RIGID,) * 6) for j in mill.joints),
            Joint(name="bore", parts=("arm", "quill"), at=bore, stiffness=(RIGID,) * 6),
        ),
        tool=Place(part="quill", at=(0.0, 0.25, 0.35)),
        work=Place(part="arm", at=(0.0, 0.25, 0.35)),
    )
    way = Travel(
        name="quill", parts=("quill",), direction=(0.0, 0.0, -1.0), low=0.0, high=0.08, stays=("bore",)
    )
    for point in compliance_map(machine, parts_of(machine), [way], [3]):
        out = 0.05 + dict(point.position)["quill"]
        assert point.tool[2] == pytest.approx(0.4 - out, abs=1e-12)
        expected = out**3 / (3 * 210e9 * 4e-9) + out / (0.5 * 80e9 * 3e-4)
        assert point.compliance[0, 0] == pytest.approx(expected, rel=1e-9)


def test_principal_directions(mill):
    point = compliance_map(mill, parts_of(mill), [HEAD], [1])[0]
    for value, direction in zip(point.principal, point.directions, strict=True):
        assert point.compliance @ direction == pytest.approx(value * direction, abs=1e-9 * point.principal[0])


def test_beyond_the_end_of_the_way(mill):
    with pytest.raises(MachineError, match="lies outside of -200 to 50 mm"):
        moved(mill, HEAD, 0.06)
    with pytest.raises(MachineError, match='no travel is called "quill"'):
        travel_named(mill, "quill")


def test_pads_ride_along(mill):
    from strongback.machine.values import Pad

    pad = Pad(name="saddle", part="column", at=(0.0, 0.05, 0.4), normal=(0.0, 1.0, 0.0), size=(0.06, 0.04))
    joint = replace(mill.joints[1], pad="saddle")
    assert isinstance(joint, Joint)
    padded = replace(mill, joints=(mill.joints[0], joint), pads=(pad,))
    assert moved(padded, HEAD, -0.1).pads[0].at == pytest.approx((0.0, 0.05, 0.3))
    assert isinstance(padded.pulls[0], Pull)
