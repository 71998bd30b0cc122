"""Budgets with intervals, and ceilings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from machines import braced

from strongback.errors import MachineError
from strongback.machine.budget import budget
from strongback.machine.ceiling import ceilings, remaining
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter, scaled
from strongback.machine.part.make import parts_of
from strongback.machine.spread import _all_budgets, budget_spread, joint_spreads, known_spreads
from strongback.machine.values import COMPONENTS, RIGID


def with_ranges(machine, factor=3.0):
    joints = tuple(
        replace(j, low=tuple(k / factor for k in j.stiffness), high=tuple(k * factor for k in j.stiffness))
        for j in machine.joints
    )
    return replace(machine, joints=joints)


@pytest.mark.parametrize("change", [lambda m: m, braced], ids=["determinate", "braced"])
@pytest.mark.parametrize("pull", range(3))
def test_every_draw_is_the_budget_of_that_machine(mill, change, pull):
    machine = with_ranges(change(mill))
    sections = parts_of(machine)
    parameters = list(joint_spreads(machine))
    factors = 10 ** np.random.default_rng(3).uniform(-1, 1, (8, len(parameters)))
    loop = assemble(machine, sections)
    rows, names = _all_budgets(loop, machine.pulls[pull], (1.0, 0.5, -0.2), parameters, factors, None)
    for row, factor in zip(rows, factors, strict=True):
        again = assemble(scaled(machine, dict(zip(parameters, factor, strict=True))), sections)
        expected = budget(again, machine.pulls[pull], (1.0, 0.5, -0.2))
        by_name = {(r.kind, r.part, r.mechanism): r.contribution for r in expected.rows}
        size = max(abs(v) for v in by_name.values())
        assert np.abs(row - [by_name[name] for name in names]).max() <= 1e-9 * size


def test_interval_of_one_joint_is_its_own_range(mill):
    """With one uncertain joint that forces cannot avoid its contribution has exactly the spread of its compliance."""
    nod = Parameter(kind="joint", part="base joint", mechanism="about y")
    found = budget_spread(mill, parts_of(mill), mill.pulls[0], spreads={nod: 0.5}, draws=4096)
    row = next(r for r in found.rows if (r.part, r.mechanism) == ("base joint", "about y"))
    low, middle, high = row.contribution
    assert high / middle == pytest.approx(np.exp(0.5 * 1.959963984540054), rel=0.01)
    assert middle / low == pytest.approx(np.exp(0.5 * 1.959963984540054), rel=0.01)


def test_ranges_of_factors_on_members_count(mill):
    """Where forces have one way only, the machine with the factor at either end of its range is the end of the interval."""
    column = replace(mill.members[0], factor_ranges=(("bending", 0.5, 2.0),))
    machine = replace(mill, members=(column, *mill.members[1:]))
    sections = parts_of(mill)
    bending = Parameter(kind="member", part=column.name, mechanism="bending")
    assert known_spreads(machine) == {bending: pytest.approx(np.log(4.0) / (2 * 1.959963984540054))}
    found = budget_spread(machine, sections, mill.pulls[0], draws=4096)
    ends = [
        budget(assemble(scaled(mill, {bending: f}), sections), mill.pulls[0]).total for f in (2.0, 1.0, 0.5)
    ]
    assert found.total == pytest.approx(ends, rel=2e-3)
    assert ends[2] > 1.04 * ends[0]


def test_joints_that_are_known_together_are_known_better_in_their_sum(mill):
    """Two joints of which readings know the sum of what they give: each may be either, the tool hardly moves."""
    machine = with_ranges(mill)
    sections = parts_of(machine)
    pull = machine.pulls[0]
    rows = budget(assemble(machine, sections), pull).rows
    first, second = [r for r in rows if r.kind == "joint"][:2]
    names = [f"{r.part}, {r.mechanism}" for r in (first, second)]
    sharp = with_only(
        machine,
        {names[0]: 0.05 / first.contribution, names[1]: 0.05 / second.contribution},
        first.contribution,
    )
    found = budget_spread(replace(sharp, correlation=((*names, -1.0),)), sections, pull)
    alone = budget_spread(replace(sharp, correlation=((*names, 0.0),)), sections, pull)
    total = budget(assemble(machine, sections), pull).total
    assert found.draws == alone.draws == 0
    assert found.total == pytest.approx((total, total, total), rel=1e-6)
    # Two independent ones add in squares: u = sqrt(2) 0.05 times the first contribution.
    expected = total * np.exp(1.959963984540054 * np.sqrt(2.0) * 0.05 * abs(first.contribution) / total)
    assert alone.total[2] == pytest.approx(expected, rel=1e-6)
    # Without correlation the draws say the same as the first order, as far as that goes.
    drawn = budget_spread(sharp, sections, pull, draws=4096)
    assert drawn.total == pytest.approx(alone.total, rel=0.005)


def with_only(machine, spreads, size):
    """The machine with ranges on some joint components alone, u of the logarithm = spread times size."""

    def end(joint, sign):
        return tuple(
            k * np.exp(sign * 1.959963984540054 * abs(spreads.get(f"{joint.name}, {c}", 0.0) * size))
            for c, k in zip(COMPONENTS, joint.stiffness, strict=True)
        )

    return replace(
        machine, joints=tuple(replace(j, low=end(j, -1.0), high=end(j, 1.0)) for j in machine.joints)
    )


def test_shares_of_parts_and_ranges(mill):
    machine = with_ranges(mill)
    found = budget_spread(machine, parts_of(mill), mill.pulls[0])
    assert found.total[0] < budget(assemble(mill, parts_of(mill)), mill.pulls[0]).total < found.total[2]
    assert found.parts[0][0] == "base joint"
    assert all(low <= middle <= high for _, (low, middle, high) in found.parts)
    with pytest.raises(MachineError, match="nothing has a range"):
        budget_spread(mill, parts_of(mill), mill.pulls[0])


def test_remaining():
    """R = 1 - s (1 - r): elementary; 0.60, 0.70, 0.75, 0.85 for a halved compliance (common practice, no source)."""
    assert [remaining(s, 0.5) for s in (1.0, 0.8, 0.6, 0.5, 0.3)] == pytest.approx(
        [0.5, 0.6, 0.7, 0.75, 0.85]
    )


def test_ceiling_of_parts_in_a_row_is_one_minus_the_share(mill):
    pull = mill.pulls[0]
    found = {c.part: c for c in ceilings(mill, parts_of(mill), pull)}
    for part in ("base joint", "head joint", "column", "arm"):
        assert found[part].remains == pytest.approx(1.0 - found[part].share, abs=2e-6)


def test_ceiling_of_a_rigid_joint(mill):
    """Against the joint made truly rigid, in a machine in which forces can choose their way."""
    machine = braced(mill)
    pull = machine.pulls[0]
    sections = parts_of(machine)
    found = {c.part: c for c in ceilings(machine, sections, pull)}
    rigid = replace(machine.joints[0], stiffness=(RIGID,) * 6)
    stiff = budget(assemble(replace(machine, joints=(rigid, *machine.joints[1:])), sections), pull)
    today = budget(assemble(machine, sections), pull)
    assert found["base joint"].remains == pytest.approx(stiff.total / today.total, rel=1e-5)
