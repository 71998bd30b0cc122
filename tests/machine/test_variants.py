"""Joint variants by low-rank update, against the machine assembled anew."""

from __future__ import annotations

import numpy as np
import pytest
from machines import braced

from strongback.errors import MachineError
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter, scaled
from strongback.machine.part.make import parts_of
from strongback.machine.solve import gauge_row, pull_load, tool_rows
from strongback.machine.variants import joint_variants

TWELVE = tuple(
    Parameter(kind="joint", part=joint, mechanism=name)
    for joint in ("base joint", "head joint")
    for name in ("along x", "along z", "about x", "about y", "about z")
) + tuple(Parameter(kind="support", part="rear foot", mechanism=name) for name in ("along x", "along z"))


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
    nominal = np.array([1e-3 / c for c in variants.base])
    found = variants(nominal * factors)
    for row, factor in zip(found, factors, strict=True):
        again = assemble(scaled(machine, dict(zip(TWELVE, factor, strict=True))), parts_of(machine))
        motions, _ = again.solve(np.column_stack(loads))
        expected = np.einsum("ru,ur->r", np.array(virtual), motions)
        assert np.abs(row - expected).max() <= 1e-9 * np.abs(expected).max()


def test_rank_is_the_indeterminacy(mill):
    """A loop of parts in a row has none; the stay adds six unknown forces, as a second connection does."""
    assert prepared(mill)[0].rank.shape[1] <= 3  # three feet of nine springs hold six motions: three to spare
    assert prepared(braced(mill))[0].rank.shape[1] > prepared(mill)[0].rank.shape[1]


def test_stiffer_than_the_base_is_refused(mill):
    variants, _, _ = prepared(mill)
    with pytest.raises(MachineError, match="stiffer than the base"):
        variants(2.0 / variants.base[None, :])


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
