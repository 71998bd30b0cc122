"""Ends of a body: open unless something holds on to them; what only reads or pulls there changes nothing else."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from body_columns import HEIGHT, TOP, both, capped, with_head
from numpy.testing import assert_allclose

from strongback.machine.compliance import tool_compliance
from strongback.machine.solve import solve_all
from strongback.machine.values import Gauge, Machine, Pull

WALL = (0.03, 0.0, HEIGHT)
AT_END = Gauge(name="end", part="column", at=WALL, direction=(1.0, 0.0, 0.0))
BESIDE = Gauge(name="bar", part="column", at=(0.2, 0.0, HEIGHT), direction=(0.0, 1.0, 0.0))
BELOW = replace(AT_END, name="below", at=(0.03, 0.0, HEIGHT - 2e-4))
ABOVE = replace(BESIDE, name="above", at=(0.2, 0.0, HEIGHT + 0.05))
PULL = Pull(name="top", part="column", at=TOP, force=(100.0, 0.0, 0.0))


def body_of(machine: Machine):
    return both(machine)[1]


@pytest.mark.slow
def test_gauges_and_pulls_on_an_open_end_change_only_what_they_read():
    """The compliance at the tool is the same to the last digits with gauges, and to the mesh with a pull."""
    machine = with_head()
    plain = tool_compliance(body_of(machine))
    read = tool_compliance(body_of(replace(machine, gauges=(*machine.gauges, AT_END, BESIDE, ABOVE))))
    assert_allclose(read, plain, rtol=1e-9, atol=1e-12 * np.abs(plain).max())
    pulled = tool_compliance(body_of(replace(machine, pulls=(*machine.pulls, PULL))))
    assert_allclose(np.diag(pulled), np.diag(plain), rtol=5e-3)
    column, *others = machine.members
    held = replace(machine, members=(replace(column, ends=("held", "held")), *others))
    assert np.diag(tool_compliance(body_of(held)))[0] < 0.97 * np.diag(plain)[0]


@pytest.mark.slow
def test_what_is_read_on_an_open_end_goes_on_from_below_it():
    """A point on the rim and one 0.2 mm below it move alike; a bar carried beyond the end turns with it."""
    machine = replace(with_head(), gauges=(AT_END, BELOW, BESIDE, ABOVE))
    machine = replace(machine, pulls=(*machine.pulls, PULL))
    for result in solve_all(body_of(machine), machine.pulls):
        found = dict(result.gauges)
        assert found["end"] == pytest.approx(found["below"], rel=5e-3, abs=1e-9)
        assert np.isfinite(found["above"])
        assert result.imbalance < 1e-9


@pytest.mark.slow
def test_a_pull_on_an_open_end_is_a_clamped_beam():
    """Base held, end open, no pad on a wall: the mean of the end moves as the seven-motion beam's, within 3 %."""
    machine = capped()
    column = replace(machine.members[0], ends=("held", "free"))
    tool = replace(machine.tool, at=(0.0, 0.0, 0.0))
    machine = replace(
        machine, members=(column,), tool=tool, work=replace(machine.work, at=tool.at), gauges=(BESIDE,)
    )
    for pull, way in zip(machine.pulls[:2], np.eye(3), strict=False):
        read = replace(BESIDE, at=(0.0, 0.0, HEIGHT), direction=tuple(way))
        there = replace(machine, pulls=(pull,), gauges=(read,))
        (beam,), (body,) = (solve_all(loop, there.pulls) for loop in both(there))
        assert dict(body.gauges)["bar"] == pytest.approx(dict(beam.gauges)["bar"], rel=0.03)
