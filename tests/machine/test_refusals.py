"""Machines that cannot be solved: the message names the part, the motion and the mend."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from strongback.errors import MachineError, MechanismError
from strongback.machine.loop import assemble
from strongback.machine.part.make import parts_of
from strongback.machine.solve import solve
from strongback.machine.values import FREE, GROUND, RIGID, Pull, Span


def build(machine):
    return assemble(machine, parts_of(machine))


@pytest.mark.parametrize(
    ("component", "motion"),
    [
        (0, "move along x"),
        (1, "move along y"),
        (2, "move along z"),
        (3, "turn about x"),
        (4, "turn about y"),
        (5, "turn about z"),
    ],
)
def test_a_free_component_is_named(mill, component, motion):
    stiffness = list(mill.joints[1].stiffness)
    stiffness[component] = FREE
    loose = replace(mill, joints=(mill.joints[0], replace(mill.joints[1], stiffness=tuple(stiffness))))
    with pytest.raises(MechanismError, match=f'"arm" is free to {motion}') as caught:
        build(loose)
    assert (caught.value.part, caught.value.motion) == ("arm", motion)
    assert "joint or a support" in caught.value.hint


def test_a_machine_on_nothing(mill):
    with pytest.raises(MechanismError, match=r"is free to .* \(with it"):
        build(replace(mill, supports=()))


def test_a_part_that_nothing_holds(mill):
    with pytest.raises(MechanismError, match='"arm" is free to'):
        build(replace(mill, joints=mill.joints[:1]))


def test_two_feet_let_the_bed_tip(mill):
    with pytest.raises(MechanismError, match="turn about x"):
        build(replace(mill, supports=mill.supports[:2]))


def test_rigid_joints_that_hold_each_other(mill):
    """Motions are those of one clamp; how the two share the force is not known, and said so."""
    twice = replace(mill.supports[0], name="clamp", stiffness=(RIGID,) * 6)
    again = replace(twice, name="second clamp", at=twice.at)
    once = build(replace(mill, supports=(*mill.supports, twice)))
    both = build(replace(mill, supports=(*mill.supports, twice, again)))
    assert {c.owner for c in both.not_unique()} == {"clamp", "second clamp"}
    assert once.not_unique() == ()
    assert both.indeterminacy == once.indeterminacy + 6
    for pull in mill.pulls:
        one, two = solve(once, pull), solve(both, pull)
        assert two.tool_displacement == pytest.approx(one.tool_displacement, rel=1e-9)
        assert two.not_unique == ("clamp", "second clamp")
        shared, alone = dict(two.reactions), dict(one.reactions)["clamp"]
        # The smallest forces: each takes half.
        assert shared["clamp"] == pytest.approx(0.5 * alone, rel=1e-9, abs=1e-9 * np.abs(alone).max())
        assert two.imbalance < 1e-9


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda m: {"tool": replace(m.tool, part="quill")}, 'tool: no part is called "quill"'),
        (lambda m: {"tool": replace(m.tool, part=GROUND)}, "the tool is on the ground"),
        (lambda m: {"joints": (replace(m.joints[0], parts=("bed", "colum")),)}, 'did you mean "column"'),
        (lambda m: {"joints": (replace(m.joints[0], parts=("bed", "bed")),)}, "to itself"),
        (lambda m: {"joints": (m.joints[0], m.joints[0])}, "is there 2 times"),
        (lambda m: {"pulls": (replace(m.pulls[0], force=(0.0, 0.0, 0.0)),)}, "neither force nor couple"),
        (lambda m: {"gauges": (replace(m.gauges[0], direction=(0.0, 0.0, 0.0)),)}, "has no direction"),
        (lambda m: {"gauges": (replace(m.gauges[0], reference="table"),)}, 'no part is called "table"'),
        (
            lambda m: {"members": (replace(m.members[0], end=m.members[0].start), m.members[1])},
            "long, its spans",
        ),
        (lambda m: {"members": (replace(m.members[0], spans=()), m.members[1])}, "has no section"),
        (
            lambda m: {
                "members": (replace(m.members[0], spans=(Span(section="tube", length=0.46),)), m.members[1])
            },
            'no section is called "tube"',
        ),
        (
            lambda m: {
                "members": (replace(m.members[0], spans=(Span(section="profile", length=0.5),)), m.members[1])
            },
            "spans add to 500 mm",
        ),
        (
            lambda m: {"members": (replace(m.members[0], x_axis=(0.0, 0.0, 1.0)), m.members[1])},
            "runs along the member",
        ),
        (
            lambda m: {"members": (replace(m.members[0], factors=(("bending", -1.0),)), m.members[1])},
            "must be above 0",
        ),
        (
            lambda m: {"members": (replace(m.members[0], ends=("held", "joined")), m.members[1])},
            'its end is "joined", but to no other member',
        ),
        (
            lambda m: {
                "members": (replace(m.members[0], ends=("joined", "free"), model="body"), m.members[1])
            },
            "is a body: its end cannot be joined",
        ),
        (
            lambda m: {"joints": (replace(m.joints[0], stiffness=(-1.0,) * 6), m.joints[1])},
            "must not be below 0",
        ),
        (
            lambda m: {"joints": (replace(m.joints[0], axes=((1, 0, 0), (1, 1, 0), (0, 0, 1))), m.joints[1])},
            "not at right angles",
        ),
    ],
)
def test_parts_that_do_not_fit(mill, change, message):
    with pytest.raises(MachineError, match=message):
        build(replace(mill, **change(mill)))


def test_a_pull_at_nothing(mill):
    loop = build(mill)
    pull = Pull(name="wall", part=GROUND, at=(0.0, 0.0, 0.0), force=(1.0, 0.0, 0.0))
    with pytest.raises(MachineError, match='pull "wall" pulls at no part'):
        solve(loop, pull)
