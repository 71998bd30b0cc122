"""Laws that hold for any machine: reciprocity, balance, shares, indifference to position and turning."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from machines import small_mill

from strongback.machine.budget import budget
from strongback.machine.compliance import principal_compliances, tool_compliance
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter, parameters_of, responses, scaled, sensitivities
from strongback.machine.part.make import parts_of
from strongback.machine.solve import gauge_row, pull_load, solve_all
from strongback.machine.values import RIGID, Gauge, Machine, Place, Pull
from strongback.section.values import stiffness_from_constants


def loop_of(machine: Machine):
    return assemble(machine, parts_of(machine))


def random_mill(seed: int) -> Machine:
    """The small mill with every stiffness drawn anew over two decades."""
    rng = np.random.default_rng(seed)

    def spread(values):
        return tuple(v * 10 ** rng.uniform(-1, 1) if 0 < v < RIGID else v for v in values)

    machine = small_mill()
    return replace(
        machine,
        joints=tuple(replace(j, stiffness=spread(j.stiffness)) for j in machine.joints),
        supports=tuple(replace(s, stiffness=spread(s.stiffness)) for s in machine.supports),
        members=tuple(
            replace(
                m,
                factors=tuple(
                    (n, 10 ** rng.uniform(-1, 1)) for n in ("bending", "torsion", "shear", "warping")
                ),
            )
            for m in machine.members
        ),
    )


@pytest.mark.parametrize("seed", range(200))
def test_reciprocity_and_balance(seed):
    loop = loop_of(random_mill(seed))
    compliance = tool_compliance(loop)
    scale = np.sqrt(np.outer(np.diag(compliance), np.diag(compliance)))
    assert np.abs((compliance - compliance.T) / scale).max() <= 1e-9
    assert max(d.imbalance for d in solve_all(loop, loop.machine.pulls)) <= 1e-9


@pytest.mark.parametrize("direction", [None, (1.0, 0.0, 0.0), (0.3, -0.4, 0.5)])
@pytest.mark.parametrize("name", ["sideways", "jack", "couple"])
def test_budget_adds_to_the_whole(mill, name, direction):
    loop = loop_of(mill)
    pull = next(p for p in mill.pulls if p.name == name)
    found = budget(loop, pull, direction)
    moved = np.dot(found.direction, solve_all(loop, [pull])[0].tool_displacement)
    assert sum(row.contribution for row in found.rows) == pytest.approx(moved, rel=1e-9, abs=1e-18)
    if abs(moved) > 1e-12:
        assert sum(row.share for row in found.rows) == pytest.approx(1.0, abs=1e-9)


def test_shares_of_a_direct_compliance_are_not_negative(mill):
    rows = budget(loop_of(mill), mill.pulls[0]).rows
    # The feet share nothing here: real force times a virtual one that is zero to rounding, at most 1e-10 of the whole.
    assert min(row.share for row in rows) >= -1e-10


def test_energy_balance(mill):
    """Work of the pull equals the energy stored: the direct budget is a sum of energies."""
    loop = loop_of(mill)
    pull = mill.pulls[0]
    load = pull_load(loop, pull)
    motions, forces = loop.solve(load[:, None])
    stored = motions[:, 0] @ loop.stiffness_matrix() @ motions[:, 0]
    stored += sum(c.compliance * q**2 for c, q in zip(loop.components, forces[:, 0], strict=True))
    assert stored == pytest.approx(load @ motions[:, 0], rel=1e-9)


def turned_machine(machine: Machine, turn: np.ndarray, shift: np.ndarray) -> Machine:
    """The whole machine with its loads and gauges, carried somewhere else."""

    def point(p):
        return tuple(turn @ np.asarray(p) + shift)

    def vector(v):
        return tuple(turn @ np.asarray(v))

    def axes(a):
        return tuple(vector(row) for row in a)

    def pull(p: Pull) -> Pull:
        return replace(p, at=point(p.at), force=vector(p.force), couple=vector(p.couple))

    def gauge(g: Gauge) -> Gauge:
        return replace(g, at=point(g.at), direction=vector(g.direction))

    return replace(
        machine,
        members=tuple(
            replace(m, start=point(m.start), end=point(m.end), x_axis=vector(m.x_axis))
            for m in machine.members
        ),
        blocks=tuple(replace(b, at=point(b.at)) for b in machine.blocks),
        joints=tuple(replace(j, at=point(j.at), axes=axes(j.axes)) for j in machine.joints),
        supports=tuple(replace(s, at=point(s.at), axes=axes(s.axes)) for s in machine.supports),
        pulls=tuple(pull(p) for p in machine.pulls),
        gauges=tuple(gauge(g) for g in machine.gauges),
        tool=Place(part=machine.tool.part, at=point(machine.tool.at)),
        work=Place(part=machine.work.part, at=point(machine.work.at)),
    )


@pytest.mark.parametrize("seed", range(10))
def test_nothing_changes_when_the_machine_is_turned(seed):
    rng = np.random.default_rng(seed)
    turn, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    turn *= np.sign(np.linalg.det(turn))
    machine = small_mill()
    there = turned_machine(machine, turn, rng.normal(size=3))
    here, moved = loop_of(machine), loop_of(there)
    for a, b in zip(solve_all(here, machine.pulls), solve_all(moved, there.pulls), strict=True):
        size = np.abs(a.tool_displacement).max()
        assert np.abs(turn @ a.tool_displacement - b.tool_displacement).max() <= 1e-8 * size
        for (_, first), (_, second) in zip(a.gauges, b.gauges, strict=True):
            assert abs(first - second) <= 1e-8 * size
    assert principal_compliances(moved)[0] == pytest.approx(principal_compliances(here)[0], rel=1e-8)


def test_a_member_may_be_given_from_either_end(mill):
    """Swapping start and end turns y; the section's mirror image is its stiffness with EIxy and y reversed."""
    column = mill.members[0]
    section = dict(mill.sections)["profile"]
    shear = np.array([[5e-8, -1e-9, -1e-7], [-1e-9, 3.3e-8, 2e-7], [-1e-7, 2e-7, 1e-5]])
    mirrored = stiffness_from_constants(
        name="mirrored",
        EA=section.EA,
        EIx=section.EIx,
        EIy=section.EIy,
        EIxy=-section.EIxy,
        GJ=section.GJ,
        EGamma=section.EGamma,
        kGAx=section.kGAx,
        kGAy=section.kGAy,
        centroid=(0.01, -0.02),
        shear_centre=(-0.02, -0.03),
        shear_compliance=shear,
    )
    other = replace(
        column,
        start=column.end,
        end=column.start,
        ends=("free", "held"),
        spans=(replace(column.spans[0], section="mirrored"),),
    )
    swapped = replace(
        mill, sections=(*mill.sections, ("mirrored", mirrored)), members=(other, mill.members[1])
    )
    first, second = tool_compliance(loop_of(mill)), tool_compliance(loop_of(swapped))
    assert second == pytest.approx(first, rel=1e-8, abs=1e-9 * np.abs(first).max())


def test_reference_body_takes_the_rigid_motion_out(mill):
    """Gauge on the bench minus gauge on the bed is the rigid motion of the bed at that point."""
    loop = loop_of(mill)
    pull = mill.pulls[0]
    on_bed, on_bench = mill.gauges
    motions, _ = loop.solve(pull_load(loop, pull)[:, None])
    rigid = loop.motion_of("bed", on_bed.at)[0] @ motions[:, 0]
    difference = (gauge_row(loop, on_bench) - gauge_row(loop, on_bed)) @ motions[:, 0]
    assert abs(difference - rigid) < 1e-12


def test_where_the_stand_sits_on_a_rigid_body_does_not_matter(mill):
    loop = loop_of(mill)
    moved = replace(mill.gauges[0], stand=(0.3, -0.2, 0.1))
    pairs = [(mill.pulls[0], mill.gauges[0]), (mill.pulls[0], moved)]
    first, second = responses(loop, pairs)
    assert second == pytest.approx(first, rel=1e-10)


def test_sensitivities_are_derivatives(mill):
    """Against central differences over a step of the logarithm; their own error is of the order of the step squared."""
    pairs = [(pull, gauge) for pull in mill.pulls for gauge in mill.gauges]
    parameters = parameters_of(mill)
    slopes = sensitivities(loop_of(mill), pairs, parameters)
    step = 1e-3
    size = np.abs(responses(loop_of(mill), pairs)).max()
    for i, parameter in enumerate(parameters):
        up = responses(loop_of(scaled(mill, {parameter: np.exp(step)})), pairs)
        down = responses(loop_of(scaled(mill, {parameter: np.exp(-step)})), pairs)
        assert np.abs((up - down) / (2 * step) - slopes[:, i]).max() < 2e-6 * size, parameter


def test_stiffer_is_never_softer_at_the_tool(mill):
    """Rayleigh: adding stiffness anywhere cannot raise a direct compliance."""
    base = principal_compliances(loop_of(mill))[0]
    for parameter in parameters_of(mill):
        stiffer = principal_compliances(loop_of(scaled(mill, {parameter: 3.0})))[0]
        assert np.all(stiffer <= base * (1 + 1e-9)), parameter


def test_a_rigid_joint_is_the_limit_of_a_stiff_one(mill):
    nod = Parameter(kind="joint", part="head joint", mechanism="about x")
    rigid = replace(
        mill.joints[1], stiffness=(*mill.joints[1].stiffness[:3], RIGID, *mill.joints[1].stiffness[4:])
    )
    limit = tool_compliance(loop_of(replace(mill, joints=(mill.joints[0], rigid))))
    gaps = []
    for factor in (1e2, 1e4, 1e6):
        stiff = tool_compliance(loop_of(scaled(mill, {nod: factor})))
        gaps.append(np.abs(stiff - limit).max())
    assert gaps[0] > gaps[1] > gaps[2]
    assert gaps[2] < 1e-5 * np.abs(limit).max()
