"""The solved states are what their names say: unit forces, no torque, no energy shared between bending and twist."""

from __future__ import annotations

import numpy as np
import pytest
from sections import MINERAL, made_of, two_cells

from strongback.section import _triangle6 as t6
from strongback.section import coupling
from strongback.section._problem import Problem, problem, torsion, turned
from strongback.section.mesh import mesh
from strongback.section.outline import filled
from strongback.section.stiffness import fields, flexure_loads, without_torque
from strongback.section.values import Fill


def made(nu: float) -> Problem:
    return problem(mesh(filled(two_cells(), {"a": Fill(material=made_of(30e9, nu))})))


def resultants(p: Problem, strain: np.ndarray, about: tuple[float, float]) -> tuple[float, float, float]:
    """Vx, Vy and torque of a shear strain."""
    V = [t6.integral(p.G[:, None] * strain[..., k], p.areas) for k in range(2)]
    return V[0], V[1], p.energy(strain, turned(p.points - np.asarray(about)))


def test_shear_and_secondary_torsion_are_unit_states() -> None:
    p = problem(mesh(filled(two_cells(), {"a": Fill(material=MINERAL)})))
    solved = fields(p.mesh)
    centre = tuple(np.subtract(solved.stiffness.shear_centre, p.shift))
    size = 0.1  # of the section, to compare torques with forces [m]
    for strain, wanted in (
        (solved.shear_strain[0], (1.0, 0.0, 0.0)),
        (solved.shear_strain[1], (0.0, 1.0, 0.0)),
    ):
        assert resultants(p, strain, centre) == pytest.approx(wanted, abs=1e-9)
    assert solved.secondary_strain is not None
    found = resultants(p, solved.secondary_strain, centre)
    assert found[:2] == pytest.approx((0.0, 0.0), abs=1e-8 / size)
    assert found[2] == pytest.approx(1.0, rel=1e-9)
    # Primary and secondary torsion share no energy either.
    cross = p.energy(solved.secondary_strain, solved.torsion_strain)
    assert abs(cross) < 1e-9 * np.sqrt(
        p.energy(solved.secondary_strain, solved.secondary_strain) * solved.stiffness.GJ
    )


def test_warping_is_free_of_axial_force_and_moments() -> None:
    p = problem(mesh(filled(two_cells(), {"a": Fill(material=MINERAL)})))
    solved = fields(p.mesh)
    stress = p.weighted(solved.omega)
    scale = t6.integral(np.abs(stress), p.areas)
    assert abs(t6.integral(stress, p.areas)) < 1e-10 * scale
    for k in range(2):
        assert abs(t6.integral(stress * p.points[..., k], p.areas)) < 1e-10 * scale * 0.1


@pytest.mark.parametrize("nu", [0.2, 0.45])
def test_exact_states(nu: float) -> None:
    p = made(nu)
    omega, twist = torsion(p)
    GJ = p.energy(twist, twist)
    axial, centroid = coupling._about_centroid(coupling.plane_elasticity(p))
    K = axial.stiffness
    bending = K[1, 1], K[2, 2], -K[1, 2]
    assert K == pytest.approx(K.T, rel=1e-12, abs=1e-9 * K[0, 0] * 0.1**2)
    for k, N in enumerate((K[0, 0], 0.0, 0.0)):
        assert t6.integral(axial.stress[k], p.areas) == pytest.approx(N, abs=1e-9 * K[0, 0])
    y = p.points[..., 1] - centroid[1]
    assert t6.integral(axial.stress[1] * y, p.areas) == pytest.approx(K[1, 1], rel=1e-9)
    centre = coupling._shear_centre(p, omega, axial, bending)
    found = p.solve(np.stack(flexure_loads(p, axial.stress[1:], axial.sideways[1:]), axis=-1))
    rates = np.array([p.slope(found[:, k]) + axial.sideways[1 + k] for k in range(2)])
    EIx, EIy, EIxy = bending
    to_rates = np.linalg.inv(np.array([[EIxy, -EIy], [EIx, -EIxy]]))
    shear = without_torque(p, np.einsum("kv,kmqc->vmqc", to_rates, rates), centre, twist, GJ)
    for v, wanted in enumerate(((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))):
        assert resultants(p, shear[v], centre) == pytest.approx(wanted, abs=1e-9)
        # A force through the shear centre does not twist the section.
        assert abs(p.energy(shear[v], twist)) < 1e-9 * np.sqrt(p.energy(shear[v], shear[v]) * GJ)
