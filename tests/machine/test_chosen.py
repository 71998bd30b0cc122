"""Budgets, ceilings, intervals and forces are of the state that equilibrium chooses: closed forms, and all states."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from oracle import measure
from oracle.package import loop_of

from strongback.machine.assembled import assembled
from strongback.machine.budget import budget
from strongback.machine.chosen import ceilings_in_state, choose
from strongback.machine.contact import OneSided, Play
from strongback.machine.deflected import deflected
from strongback.machine.parameters import Parameter
from strongback.machine.values import GROUND, RIGID, Block, Machine, Place, Pull, Support

FORCE, ARM, BASE, TURN, FOOT = 100.0, 0.5, 1e8, 1e5, 1e7  # N, m, N/m, N m/rad, N/m: invented
HEAD = Parameter(kind="support", part="foot", mechanism="along z")


def on_two_supports(force: float) -> Machine:
    """A block that a base holds at one end, springs up and about y, and a foot below the other, pulled up or down there."""
    at = (ARM, 0.0, 0.0)
    return Machine(
        name="two supports",
        sections=(),
        members=(),
        blocks=(Block(name="bed", at=(0.0, 0.0, 0.0)),),
        supports=(
            Support(
                name="base",
                part="bed",
                at=(0.0, 0.0, 0.0),
                stiffness=(RIGID, RIGID, BASE, RIGID, TURN, RIGID),
            ),
            Support(name="foot", part="bed", at=at, stiffness=(0.0, 0.0, FOOT, 0.0, 0.0, 0.0)),
        ),
        tool=Place(part="bed", at=at),
        work=Place(part=GROUND, at=at),
        pulls=(Pull(name="p", part="bed", at=at, force=(0.0, 0.0, force)),),
    )


ALONE = 1.0 / BASE + ARM**2 / TURN  # compliance of the base at the foot
TOGETHER = 1.0 / (1.0 / ALONE + FOOT)


@pytest.mark.parametrize(
    ("force", "law", "moved", "word"),
    [
        (FORCE, OneSided(), FORCE * ALONE, "open"),  # pulled up it leaves its foot
        (-FORCE, OneSided(), -FORCE * TOGETHER, "holds"),  # pressed down it does not
        (FORCE, OneSided(sign=-1), FORCE * TOGETHER, "holds"),
        (-FORCE, OneSided(sign=-1), -FORCE * ALONE, "open"),
        (FORCE, OneSided(preload=20.0), (FORCE - 20.0) * ALONE, "open"),  # with its preload used up
        (FORCE, OneSided(preload=1e3), FORCE * TOGETHER, "holds"),
        (FORCE, Play(gap=1e-6), (FORCE + FOOT * 0.5e-6) * TOGETHER, "bears"),
        (FORCE, Play(gap=1.0), FORCE * ALONE, "free"),
    ],
)
def test_deflection_budget_and_forces_are_of_one_state(force, law, moved, word):
    """A positive opening of a support is its part moving along the axis, away from the ground."""
    machine = on_two_supports(force)
    state = choose(loop_of(machine), machine.pulls[0], {HEAD: law})
    assert state.states == ((HEAD, word),)
    assert state.deflection.tool_displacement[2] == pytest.approx(moved, rel=1e-12)
    assert state.holding.tool_displacement[2] == pytest.approx(force * TOGETHER, rel=1e-12)
    found = budget(state.before.loop, machine.pulls[0], before=state.before)
    assert found.total == pytest.approx(abs(moved), rel=1e-12)
    assert sum(row.contribution for row in found.rows) == pytest.approx(abs(moved), rel=1e-12)
    on_ground = sum(wrench[2] for _, wrench in state.deflection.reactions)
    assert on_ground == pytest.approx(-force, rel=1e-12)


def test_who_causes_it_when_the_foot_has_gone():
    """All from the base; a rigid foot changes nothing, since it opens all the same."""
    machine = on_two_supports(FORCE)
    laws = {HEAD: OneSided()}
    state = choose(loop_of(machine), machine.pulls[0], laws)
    found = budget(state.before.loop, machine.pulls[0], before=state.before)
    rows = {(row.part, row.mechanism): row.contribution for row in found.rows}
    assert rows["base", "about y"] == pytest.approx(FORCE * ARM**2 / TURN, rel=1e-12)
    assert rows["base", "along z"] == pytest.approx(FORCE / BASE, rel=1e-12)
    assert dict(found.by_part()).get("foot", 0.0) == 0.0
    left = {c.part: c.remains for c in ceilings_in_state(state, laws, found)}
    assert left == {"base": pytest.approx(0.0, abs=1e-12)}


def test_a_ceiling_finds_its_state_anew():
    """Preload holds while the base is rigid: then the foot carries nothing more and stays closed."""
    machine = on_two_supports(FORCE)
    laws = {HEAD: OneSided(preload=20.0)}
    state = choose(loop_of(machine), machine.pulls[0], laws)
    found = budget(state.before.loop, machine.pulls[0], before=state.before)
    (base,) = ceilings_in_state(state, laws, found)
    assert base.remains == pytest.approx(0.0, abs=1e-12)
    assert base.state == "all hold"


def test_what_is_lost_in_a_gap_is_a_row_of_the_budget():
    """Half of the gap times the share of the force that the foot takes."""
    machine = on_two_supports(FORCE)
    state = choose(loop_of(machine), machine.pulls[0], {HEAD: Play(gap=1e-6)})
    found = budget(state.before.loop, machine.pulls[0], before=state.before)
    (lost,) = [row for row in found.rows if row.mechanism == "play along z"]
    assert lost.contribution == pytest.approx(0.5e-6 * FOOT * TOGETHER, rel=1e-12)
    assert lost.words == "up, play"


def test_play_across_the_pull_stays_where_it_is():
    """Nothing else holds the bed along x, and no force asks it to move there."""
    machine = on_two_supports(FORCE)
    across = Parameter(kind="support", part="base", mechanism="along x")
    springs = replace(machine.supports[0], stiffness=(1e7, RIGID, BASE, RIGID, TURN, RIGID))
    machine = replace(machine, supports=(springs, machine.supports[1]))
    state = choose(loop_of(machine), machine.pulls[0], {across: Play(gap=1e-5)})
    assert state.deflection.tool_displacement == pytest.approx([0.0, 0.0, FORCE * TOGETHER], abs=1e-18)
    found = budget(state.before.loop, machine.pulls[0], before=state.before)
    assert found.total == pytest.approx(FORCE * TOGETHER, rel=1e-12)


def test_all_of_an_answer_is_of_the_chosen_state():
    """Forces of the ground, total, interval and ceilings of `deflected`, and the linear answer beside them."""
    machine = on_two_supports(FORCE)
    ranged = replace(
        machine.supports[0], low=(0, 0, BASE / 2, 0, TURN / 2, 0), high=(0, 0, BASE * 2, 0, TURN * 2, 0)
    )
    machine = replace(machine, supports=(ranged, machine.supports[1]))
    found = deflected(assembled(machine), machine.pulls, {HEAD: OneSided()})
    one = found["p"]
    assert one.total == pytest.approx(FORCE * ALONE, rel=1e-12)
    assert one.deflection.along_pull == pytest.approx(FORCE * ALONE, rel=1e-12)
    assert one.holding.along_pull == pytest.approx(FORCE * TOGETHER, rel=1e-12)
    assert one.interval[0] == pytest.approx(FORCE * ALONE / 2, rel=0.05)
    assert one.interval[1] == pytest.approx(FORCE * ALONE * 2, rel=0.05)
    forces = {r.name: r.force[2] for r in found.reactions}
    assert forces == {"base": pytest.approx(-FORCE, rel=1e-12), "foot": pytest.approx(0.0, abs=1e-10)}


def test_without_such_joints_nothing_is_said_of_them():
    machine = on_two_supports(FORCE)
    one = deflected(assembled(machine), machine.pulls)["p"]
    assert one.chosen is None
    assert one.holding is None
    assert one.total == pytest.approx(FORCE * TOGETHER, rel=1e-12)


@pytest.mark.slow
def test_budgets_add_to_the_deflection_in_any_state():
    assert [v for v in measure.budgets_in_state(range(60)) if not v.error <= 1e-9] == []


@pytest.mark.slow
def test_what_is_left_with_a_rigid_part_is_what_all_states_allow():
    found = measure.ceilings_in_state(range(15))
    assert len(found) > 20
    assert [v for v in found if not v.error <= 1e-9] == []


def test_a_few_budgets_and_ceilings_in_their_states():
    found = [*measure.budgets_in_state(range(8)), *measure.ceilings_in_state(range(3))]
    assert np.max([v.error for v in found]) < 1e-9
