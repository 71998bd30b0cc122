"""Stress under unit loads: resultants, closed forms, nothing across free edges."""

from __future__ import annotations

import numpy as np
import pytest
from sections import ALUMINIUM, MINERAL, UNIT, two_cells

from strongback.section import shapes
from strongback.section.mesh import mesh
from strongback.section.outline import filled
from strongback.section.stress import stress
from strongback.section.values import Fill, SectionMesh


def areas_of(made: SectionMesh) -> np.ndarray:
    p = made.nodes[made.triangles[:, :3]]
    u, v = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    return np.asarray(0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]))


def test_resultants_are_the_unit_loads() -> None:
    made = mesh(filled(two_cells(), {"a": Fill(material=MINERAL)}), size=0.004)
    found, areas = stress(made), areas_of(made)
    x, y = found.centres.T
    assert areas @ found.axial == pytest.approx(1.0, rel=1e-12)
    assert areas @ (found.bending_x * y) == pytest.approx(1.0, rel=0.01)  # one point a triangle
    assert areas @ (found.bending_x * -x) == pytest.approx(0.0, abs=0.01)
    assert areas @ (found.bending_y * -x) == pytest.approx(1.0, rel=0.01)
    assert areas @ (x * found.torque[:, 1] - y * found.torque[:, 0]) == pytest.approx(1.0, rel=0.01)
    assert areas @ found.shear_x == pytest.approx([1.0, 0.0], abs=0.01)
    assert areas @ found.shear_y == pytest.approx([0.0, 1.0], abs=0.01)


def test_shear_flow_of_a_thin_tube() -> None:
    # Bredt: tau = T/(2 A t) on the mid-line; a round tube is within (t/d)².
    made = mesh(shapes.round_tube(UNIT, 0.1, 0.002, count=200), size=0.0008)
    found = stress(made)
    middle = np.abs(np.hypot(*found.centres.T) - 0.049) < 2e-4
    size = np.hypot(*found.torque[middle].T)
    assert size.mean() == pytest.approx(1.0 / (2.0 * np.pi * 0.049**2 * 0.002), rel=0.01)


def test_flexure_formula() -> None:
    made = mesh(shapes.rectangle(UNIT, 0.02, 0.04))
    found = stress(made)
    assert np.allclose(found.bending_x, 12.0 * found.centres[:, 1] / (0.02 * 0.04**3))
    # Shear stress is a parabola over the depth for nu = 0 (Zhuravskii): 1.5 V/A on the axis.
    on_axis = np.abs(found.centres[:, 1]) < 1.5e-3
    assert found.shear_y[on_axis, 1].max() == pytest.approx(1.5 / (0.02 * 0.04), rel=0.01)


def test_warping_stress_of_an_i_section() -> None:
    # sigma = B omega/Iw with omega = (b/2)(h/2) at the flange tips (Vlasov); IPE 200 without fillets.
    made = mesh(shapes.i_section(ALUMINIUM, 0.2, 0.1, 0.0085, 0.0056), size=0.004)
    found = stress(made)
    iw = 0.0085 * 0.1**3 * 0.1915**2 / 24
    assert np.abs(found.warping).max() == pytest.approx(0.05 * 0.1915 / 2 / iw, rel=0.05)
    assert areas_of(made) @ found.warping == pytest.approx(0.0, abs=1e-3 * np.abs(found.warping).max())
