"""A column on a foot with bolts in the loop of its machine: bounds, and what is read beside."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from body_columns import with_head
from numpy.testing import assert_allclose

from strongback.errors import MachineError
from strongback.machine.feet import bedded_feet
from strongback.machine.loop import assemble
from strongback.machine.part.make import parts_of
from strongback.machine.plates import Diaphragm, EndPlate
from strongback.machine.solve import solve_all
from strongback.materials import material

FOOT = EndPlate(
    thickness=0.008,
    material=material("aluminium"),
    screws=tuple((x, y) for x in (-0.045, 0.045) for y in (-0.04, 0.04)),
    pressed=0.016,
    size=(0.115, 0.105),
)


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory, monkeypatch):
    monkeypatch.setenv("STRONGBACK_CACHE", str(tmp_path_factory.getbasetemp() / "feet"))


def plated(**plates):
    machine = with_head()
    column, *others = machine.members
    return replace(machine, members=(replace(column, ends=("free", "free"), **plates), *others))


def moved(machine):
    loop = assemble(machine, parts_of(machine))
    return loop, np.array([r.tool_displacement for r in solve_all(loop, machine.pulls)])


@pytest.mark.slow
def test_bolts_only_and_bedded_all_over_are_bounds():
    """The bedded bound from coarse grids is the machine without the foot, on a rigid base, to half a percent."""
    machine = plated(foot=FOOT)
    loop, bolts = moved(machine)
    bedded = np.array(bedded_feet(loop, machine.pulls))
    _, firm = moved(plated())
    assert_allclose(bedded, firm, rtol=5e-3, atol=5e-3 * np.abs(firm).max())
    for k in range(2):
        assert bolts[k, k] > 1.02 * firm[k, k]
    assert bedded_feet(assemble(plated(), parts_of(plated())), machine.pulls) == (None, None)


@pytest.mark.slow
def test_caps_and_diaphragms_stiffen_and_reach_the_loop():
    _, bare = moved(plated())
    _, capped = moved(plated(cap=EndPlate(thickness=0.003, material=material("aluminium"))))
    under = Diaphragm(at=0.172, thickness=0.004, material=material("aluminium"))
    _, stiffened = moved(plated(diaphragms=(under,)))
    assert 0.9 * bare[0, 0] < capped[0, 0] < bare[0, 0]
    assert stiffened[0, 0] < 0.95 * bare[0, 0]


def test_a_cap_on_an_end_that_is_held():
    machine = plated(cap=EndPlate(thickness=0.003, material=material("aluminium")))
    column, *others = machine.members
    held = replace(machine, members=(replace(column, ends=("free", "held")), *others))
    with pytest.raises(MachineError, match="has a cap and is held as well"):
        parts_of(held)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"joint": "glued"}, "needs its glue"),
        ({"joint": "screwed"}, "needs its screws"),
        ({"screws": ((0.0, 0.0),)}, "pressed must be above 0"),
        ({"thickness": 0.0}, "thickness must be above 0"),
    ],
)
def test_what_is_no_plate(changes, message):
    with pytest.raises(MachineError, match=message):
        EndPlate(**{"thickness": 0.002, "material": material("aluminium"), **changes})


def test_a_foot_without_bolts():
    with pytest.raises(MachineError, match="its foot needs screws"):
        plated(foot=EndPlate(thickness=0.01, material=material("steel")))
