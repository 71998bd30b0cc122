"""Joints that open or have play, against hand calculation."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from machines import braced, cantilever

from strongback.errors import MachineError, MechanismError
from strongback.machine.contact import OneSided, Play, solve_contact
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter
from strongback.machine.part.make import parts_of
from strongback.machine.solve import solve
from strongback.machine.values import GROUND, RIGID, Block, Gauge, Machine, Place, Pull, Support
from strongback.section.values import stiffness_from_constants

AT = (0.0, 0.0, 0.0)


def two_springs(k1: float, k2: float) -> Machine:
    """A block that moves along x only, on two springs to the ground side by side."""
    guide = (k1, RIGID, RIGID, RIGID, RIGID, RIGID)
    return Machine(
        name="block",
        sections=(),
        members=(),
        blocks=(Block(name="slide", at=AT),),
        supports=(
            Support(name="first", part="slide", at=AT, stiffness=guide),
            Support(name="second", part="slide", at=AT, stiffness=(k2, 0.0, 0.0, 0.0, 0.0, 0.0)),
        ),
        gauges=(Gauge(name="x", part="slide", at=AT, direction=(1.0, 0.0, 0.0)),),
        tool=Place(part="slide", at=AT),
        work=Place(part=GROUND, at=AT),
    )


FIRST = Parameter(kind="support", part="first", mechanism="along x")
SECOND = Parameter(kind="support", part="second", mechanism="along x")


def pushed(force, laws, k1=1e6, k2=3e6):
    machine = two_springs(k1, k2)
    pull = Pull(name="push", part="slide", at=AT, force=(force, 0.0, 0.0))
    return solve_contact(assemble(machine, parts_of(machine)), pull, laws)


@pytest.mark.parametrize(("force", "expected"), [(20.0, 20e-6), (-20.0, -5e-6)])
def test_a_spring_that_only_pushes(force, expected):
    """F/(k1 + k2) in compression, F/k1 in tension: 20 N on 1 and 3 N/µm."""
    found = pushed(force, {SECOND: OneSided()})
    assert found.tool_displacement[0] == pytest.approx(expected, rel=1e-9)
    assert dict(found.gauges)["x"] == pytest.approx(expected, rel=1e-9)
    assert dict(found.states)[SECOND] == ("open" if force > 0 else "holds")


def test_preload_is_used_up_first():
    """With 12 N of preload the second spring lets go at 16 N in all; beyond, the first takes the rest alone."""
    assert pushed(15.0, {SECOND: OneSided(preload=12.0)}).tool_displacement[0] == pytest.approx(
        15 / 4e6, rel=1e-9
    )
    assert pushed(20.0, {SECOND: OneSided(preload=12.0)}).tool_displacement[0] == pytest.approx(
        8 / 1e6, rel=1e-9
    )


@pytest.mark.parametrize(("force", "expected"), [(2.0, 2e-6), (20.0, 6.875e-6), (-20.0, -6.875e-6)])
def test_play_beside_a_spring(force, expected):
    """Within 2.5 µm each way the first spring alone; beyond, F = k1 x + k2 (x - g): x = (20 + 7.5)/4."""
    found = pushed(force, {SECOND: Play(gap=5e-6)})
    assert found.tool_displacement[0] == pytest.approx(expected, rel=1e-9)


def test_play_in_the_only_joint_is_lost_motion():
    """5 µm of play in series: the reading changes by F/k and the gap, so the loop is 5 µm wide."""
    forward, back = (pushed(f, {FIRST: Play(gap=5e-6)}, k2=0.0).tool_displacement[0] for f in (10.0, -10.0))
    assert forward - back == pytest.approx(2 * 10e-6 + 5e-6, rel=1e-9)


def test_nothing_left_to_hold():
    with pytest.raises(MechanismError, match="first, along x has opened and nothing else holds"):
        pushed(10.0, {FIRST: OneSided()}, k2=0.0)


def test_rigid_beside_rigid_cannot_open():
    """Nobody knows how two rigid guides share a push, so nobody knows when one lets go."""
    with pytest.raises(MachineError, match="second, along x opens or has play, and is rigid"):
        pushed(10.0, {SECOND: OneSided()}, k1=RIGID, k2=RIGID)
    assert pushed(10.0, {SECOND: OneSided()}, k1=RIGID).tool_displacement[0] == pytest.approx(0.0, abs=1e-20)


def test_two_one_sided_springs_against_each_other():
    """Both preloaded 10 N, opposite: below 40 N they add; beyond, the first has let go its 10 N and one is left."""
    laws = {FIRST: OneSided(preload=10.0), SECOND: OneSided(preload=10.0, sign=-1)}
    assert pushed(30.0, laws).tool_displacement[0] == pytest.approx(30 / 4e6, rel=1e-9)
    assert pushed(60.0, laws).tool_displacement[0] == pytest.approx(50 / 3e6, rel=1e-9)


def test_a_closed_joint_changes_nothing(mill):
    machine = braced(mill)
    nod = Parameter(kind="joint", part="base joint", mechanism="about x")
    loop = assemble(machine, parts_of(machine))
    for pull in machine.pulls:
        linear = solve(loop, pull)
        found = solve_contact(loop, pull, {nod: OneSided(preload=1e6)})
        assert found.steps == 0
        assert found.tool_displacement == pytest.approx(linear.tool_displacement, rel=1e-9)


def test_a_base_that_opens_is_softer():
    """Column on four corner springs, tension side opening: softer than linear, stiffer than without those springs."""
    section = stiffness_from_constants(name="bar", EA=1e9, EIx=1e6, EIy=1e6, GJ=1e6, kGAx=1e8, kGAy=1e8)
    base = cantilever(section, 0.4, stiffness=(RIGID, RIGID, 1e6, 1e4, 1e4, RIGID))
    corners = tuple(
        Support(name=f"corner {i}", part="column", at=(x, y, 0.0), stiffness=(0.0, 0.0, 2e7, 0.0, 0.0, 0.0))
        for i, (x, y) in enumerate([(-0.05, -0.05), (0.05, -0.05), (0.05, 0.05), (-0.05, 0.05)])
    )
    machine = replace(base, supports=(*base.supports, *corners))
    pull = Pull(name="y", part="column", at=(0.0, 0.0, 0.4), force=(0.0, 200.0, 0.0))
    loop = assemble(machine, parts_of(machine))
    laws = {Parameter(kind="support", part=c.name, mechanism="along z"): OneSided() for c in corners}
    opened = solve_contact(loop, pull, laws)
    linear = solve(loop, pull).tool_displacement[1]
    without = solve(assemble(base, parts_of(base)), pull).tool_displacement[1]
    assert linear < opened.tool_displacement[1] < without
    assert sorted(state for _, state in opened.states) == ["holds", "holds", "open", "open"]
    assert np.all(np.isfinite(opened.tool_rotation))
