"""Mass of bodies: motions as a whole by the drawing, natural frequencies against their beams."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from body_columns import ALUMINIUM, LENGTH, MINERAL, both, capped, column, full_tube, tube, with_head
from numpy.testing import assert_allclose

from strongback.machine.values import PointMass
from strongback.section.outline import area_of
from strongback.vibration.modes import modes


@pytest.mark.parametrize("kind", ["empty", "filled"])
def test_a_motion_as_a_whole_carries_the_mass_of_the_drawing(kind: str) -> None:
    """Mass, first moment and inertia about the foot of a prism: rho A L, rho A L²/2, rho A L³/3 + rho I L."""
    body = column([tube() if kind == "empty" else full_tube()], [LENGTH], cuts=(0.2,))
    whole = np.vstack(
        [
            np.hstack(
                [np.vstack([np.eye(3), np.zeros((3, 3))]), np.vstack([np.cross(np.eye(3), p).T, np.eye(3)])]
            )
            for p in body.points
        ]
    )
    M = whole.T @ body.mass @ whole
    area, inside = area_of(tube()), 0.068 * 0.048
    per_length = area * ALUMINIUM.density + (inside * MINERAL.density if kind == "filled" else 0.0)
    about_x = (0.08 * 0.06**3 - 0.068 * 0.048**3) / 12.0 * ALUMINIUM.density
    about_x += 0.068 * 0.048**3 / 12.0 * MINERAL.density if kind == "filled" else 0.0
    mass = per_length * LENGTH
    assert_allclose(np.diag(M)[:3], mass, rtol=1e-9)
    assert_allclose(M[1, 3], -mass * LENGTH / 2.0, rtol=1e-9)
    assert_allclose(M[3, 3], per_length * LENGTH**3 / 3.0 + about_x * LENGTH, rtol=1e-9)
    assert np.linalg.eigvalsh(body.mass).min() > -1e-12 * np.abs(body.mass).max()


@pytest.mark.slow
def test_a_capped_column_swings_as_its_beam() -> None:
    """With a weight on its end, bending both ways and twist: 2 % (a beam cut in six pieces, a body by its end alone)."""
    machine = capped()
    weight = PointMass(name="head", part="column", at=machine.tool.at, mass=20.0, inertia=(0.1, 0.1, 0.1))
    beam, body = both(replace(machine, masses=(weight,)))
    found = [[mode.frequency for mode in modes(loop.machine, loop.parts, 3)] for loop in (beam, body)]
    assert_allclose(found[1], found[0], rtol=0.02)


@pytest.mark.slow
def test_walls_that_give_let_the_head_swing_slower() -> None:
    machine = with_head()
    weight = PointMass(name="spindle", part="arm", at=machine.tool.at, mass=15.0)
    beam, body = both(replace(machine, masses=(weight,)))
    slower = modes(body.machine, body.parts, 1)[0].frequency / modes(beam.machine, beam.parts, 1)[0].frequency
    assert 0.6 < slower < 0.98
