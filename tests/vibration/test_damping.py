"""Loss factors: shares of energy, against closed forms."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from machines import cantilever, small_mill

from strongback.errors import MachineError
from strongback.machine.part.make import parts_of
from strongback.machine.values import RIGID, PointMass
from strongback.materials import material
from strongback.section.loss import section_loss
from strongback.section.outline import filled
from strongback.section.shapes import rectangular_tube
from strongback.section.values import Fill, stiffness_from_constants
from strongback.vibration.damping import loss_matrices, mode_damping
from strongback.vibration.model import dynamics
from strongback.vibration.modes import modes_of

LIGHT = stiffness_from_constants(name="bar", EA=1e12, EIx=2e5, EIy=1e9, GJ=1e9, kGAx=1e12, kGAy=1e12)
MINERAL = replace(material("epoxy mineral"), loss_factor=0.02)


def swing(loss, base=5e5):
    """A mass on a bar that turns on a spring: two springs in series, the bar 3 EI / L³, the base k / L²."""
    machine = cantilever(LIGHT, 0.4, stiffness=(RIGID, RIGID, RIGID, base, RIGID, RIGID))
    tip = PointMass(name="head", part="column", at=(0.0, 0.0, 0.4), mass=10.0)
    support = replace(machine.supports[0], loss_factor=loss)
    machine = replace(machine, masses=(tip,), supports=(support,))
    return dynamics(machine, parts_of(machine))


def test_a_joint_damps_by_its_share_of_the_energy():
    """eta = eta_joint s_joint; s = (1/k_joint) / (1/k_joint + 1/k_bar) of springs in series, elementary."""
    model = swing(0.04)
    found = mode_damping(model, modes_of(model, 1))[0]
    joint, bar = 0.4**2 / 5e5, 0.4**3 / (3.0 * 2e5)
    assert found.ratio == pytest.approx(0.5 * 0.04 * joint / (joint + bar), rel=1e-6)
    assert (found.low, found.high, found.guessed) == (found.ratio, found.ratio, 0.0)


def test_a_guessed_joint_is_known_to_a_factor_of_two():
    model = swing(0.0)
    found = mode_damping(model, modes_of(model, 1), joints=0.04)[0]
    assert found.ratio == mode_damping(swing(0.04), modes_of(swing(0.04), 1))[0].ratio
    assert found.high == pytest.approx(4.0 * found.low)
    assert found.guessed == 1.0


def test_loss_of_a_filled_tube():
    """Bending: E I of tube and core weigh their losses, by formulas of rectangles."""
    steel = material("steel")
    tube = rectangular_tube(steel, 0.06, 0.08, 0.004)
    full = filled(tube, {tube.cells[0].name: Fill(material=MINERAL)})
    inner = 0.052 * 0.072**3 / 12.0
    wall = 0.06 * 0.08**3 / 12.0 - inner
    expected = (steel.loss_factor * steel.E * wall + 0.02 * MINERAL.E * inner) / (
        steel.E * wall + MINERAL.E * inner
    )
    assert section_loss(full)[3] == pytest.approx(expected, rel=1e-9)
    assert section_loss(tube) == pytest.approx([steel.loss_factor] * 8)


def test_loss_of_one_material_is_that_of_every_mode():
    """With lossless joints all in one material, K_loss = eta K: every mode has half of eta."""
    tube = replace(rectangular_tube(material("steel"), 0.06, 0.08, 0.004), name="bar")
    machine = replace(cantilever(LIGHT, 0.5), sections=(("bar", tube),))
    model = dynamics(machine, parts_of(machine))
    stated, guessed, held = loss_matrices(model, 0.0)
    assert stated == pytest.approx(
        2.5e-4 * model.stiffness, rel=1e-9, abs=1e-9 * np.abs(model.stiffness).max()
    )
    assert not guessed.any()
    assert held == pytest.approx(2.5e-4 * model.squares, rel=1e-12)
    for found in mode_damping(model, modes_of(model, 4), 0.0):
        assert found.ratio == pytest.approx(1.25e-4, rel=1e-9)


def test_a_negative_loss_is_refused():
    machine = small_mill()
    with pytest.raises(MachineError, match="loss_factor = "):
        replace(machine.joints[0], loss_factor=-0.1)
    with pytest.raises(MachineError, match="loss factor of joints"):
        loss_matrices(dynamics(machine, parts_of(machine)), -0.1)
