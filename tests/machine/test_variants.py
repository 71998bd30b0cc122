"""Joint variants from the condensed form, against the machine assembled anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from machines import braced

from strongback.errors import MachineError, MechanismError
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter, scaled
from strongback.machine.part.make import parts_of
from strongback.machine.solve import gauge_row, pull_load, tool_rows
from strongback.machine.values import COMPONENTS
from strongback.machine.variants import joint_variants

TWELVE = tuple(
    Parameter(kind="joint", part=joint, mechanism=name)
    for joint in ("base joint", "head joint")
    for name in ("along x", "along z", "about x", "about y", "about z")
) + tuple(Parameter(kind="support", part="rear foot", mechanism=name) for name in ("along x", "along z"))


def with_stiffness(machine, parameter, k):
    """The machine with one joint or support component as stiff as said."""

    def changed(holder):
        if holder.name != parameter.part:
            return holder
        pairs = zip(COMPONENTS, holder.stiffness, strict=True)
        return replace(
            holder, stiffness=tuple(k if name == parameter.mechanism else old for name, old in pairs)
        )

    return replace(
        machine,
        joints=tuple(changed(j) for j in machine.joints),
        supports=tuple(changed(s) for s in machine.supports),
    )


def prepared(machine):
    sections = parts_of(machine)
    loop = assemble(machine, sections)
    loads = [pull_load(loop, pull) for pull in machine.pulls]
    virtual = [tool_rows(loop)[0], gauge_row(loop, machine.gauges[0]), tool_rows(loop)[2]]
    return joint_variants(machine, sections, TWELVE, loads, virtual), loads, virtual


@pytest.mark.parametrize("change", [lambda m: m, braced], ids=["determinate", "braced"])
def test_equal_to_assembling_anew(mill, change):
    machine = change(mill)
    variants, loads, virtual = prepared(machine)
    rng = np.random.default_rng(1)
    factors = 10 ** rng.uniform(-2, 2, (20, len(TWELVE)))
    nominal = variants.nominal
    found = variants(nominal * factors)
    for row, factor in zip(found, factors, strict=True):
        again = assemble(scaled(machine, dict(zip(TWELVE, factor, strict=True))), parts_of(machine))
        motions, _ = again.solve(np.column_stack(loads))
        expected = np.einsum("ru,ur->r", np.array(virtual), motions)
        assert np.abs(row - expected).max() <= 1e-9 * np.abs(expected).max()


def test_rank_is_the_indeterminacy(mill):
    """Three feet of nine springs hold six motions: three to spare; the stay adds six unknown forces."""
    assert prepared(mill)[0].indeterminacy == 3
    assert prepared(braced(mill))[0].indeterminacy == 9


@pytest.mark.parametrize("change", [lambda m: m, braced], ids=["determinate", "braced"])
def test_rigid_is_the_limit_of_stiff(mill, change):
    machine = change(mill)
    variants, _, _ = prepared(machine)
    stiff = variants.nominal[None, :] * np.array([[1.0] * len(TWELVE)] * 3)
    stiff[1, 3], stiff[2, 3] = variants.nominal[3] * 1e12, np.inf
    _, almost, rigid = variants(stiff)
    assert np.abs(almost - rigid).max() <= 1e-9 * np.abs(rigid).max()


def test_a_brace_may_be_absent(mill):
    """Stiffness 0 of the stay is the machine without it."""
    machine = braced(mill)
    stay = next(j for j in machine.joints if j.name not in {k.name for k in mill.joints})
    braces = [
        Parameter(kind="joint", part=stay.name, mechanism=name)
        for name, k in zip(COMPONENTS, stay.stiffness, strict=True)
        if k > 0.0
    ]
    loop = assemble(machine, parts_of(machine))
    loads = [pull_load(loop, pull) for pull in machine.pulls]
    virtual = [tool_rows(loop)[0], gauge_row(loop, machine.gauges[0]), tool_rows(loop)[2]]
    every = [*TWELVE, *braces]
    variants = joint_variants(machine, parts_of(machine), every, loads, virtual, removable=braces)
    rng = np.random.default_rng(3)
    values = variants.nominal * 10 ** rng.uniform(-1, 1, (20, len(every)))
    values[:, len(TWELVE) :] *= rng.random((20, len(braces))) < 0.5
    for row, there in zip(variants(values), values, strict=True):
        again = machine
        for parameter, k in zip(every, there, strict=True):
            again = with_stiffness(again, parameter, float(k))
        built = assemble(again, parts_of(again))
        expected = np.diag(built.read(np.array(virtual), np.column_stack(loads)))
        assert np.abs(row - expected).max() <= 1e-9 * np.abs(expected).max()
    with pytest.raises(MachineError, match="cannot be rigid"):
        variants(np.full((1, len(every)), np.inf))


def test_what_must_hold_is_not_removable(mill):
    loop = assemble(mill, parts_of(mill))
    head = TWELVE[5]
    with pytest.raises(MechanismError, match='without "head joint"'):
        joint_variants(
            mill,
            parts_of(mill),
            TWELVE,
            [pull_load(loop, mill.pulls[0])],
            [tool_rows(loop)[0]],
            removable=[head],
        )


@pytest.mark.parametrize("bad", [0.0, -1.0, np.nan])
def test_impossible_stiffness(mill, bad):
    variants, _, _ = prepared(mill)
    with pytest.raises(MachineError, match="not above 0"):
        variants(np.full((1, len(TWELVE)), bad))
    with pytest.raises(MachineError, match="12 columns"):
        variants(np.ones((1, 3)))


def test_a_member_is_no_joint(mill):
    with pytest.raises(MachineError, match="no joint stiffness that can vary"):
        joint_variants(
            mill,
            parts_of(mill),
            [Parameter(kind="member", part="column", mechanism="bending")],
            [np.ones(1)],
            [np.ones(1)],
        )
