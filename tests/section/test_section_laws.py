"""Laws: nothing changes when a section is moved, turned or drawn in other units."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sections import MINERAL, two_cells

from strongback.section.bounds import torsion_bounds
from strongback.section.coupling import exact_stiffness
from strongback.section.mesh import mesh
from strongback.section.outline import filled
from strongback.section.stiffness import stiffness
from strongback.section.values import Fill, SectionMesh, SectionStiffness

MESH = mesh(filled(two_cells(), {"a": Fill(material=MINERAL)}))
BASE = stiffness(MESH)


def placed(made: SectionMesh, nodes: np.ndarray) -> SectionMesh:
    return dataclasses.replace(made, nodes=nodes, triangles=made.triangles.copy(), region=made.region.copy())


def turned(angle: float, dx: float, dy: float) -> tuple[SectionMesh, np.ndarray]:
    c, s = math.cos(angle), math.sin(angle)
    rotation = np.array([[c, -s], [s, c]])
    return placed(MESH, MESH.nodes @ rotation.T + np.array([dx, dy])), rotation


@settings(max_examples=12, deadline=None)
@given(st.floats(-3.2, 3.2), st.floats(-2.0, 2.0), st.floats(-2.0, 2.0))
def test_moving_and_turning_change_nothing(angle: float, dx: float, dy: float) -> None:
    made, R = turned(angle, dx, dy)
    s = stiffness(made)
    for key in ("EA", "GJ", "EGamma", "mass_per_length"):
        assert getattr(s, key) == pytest.approx(getattr(BASE, key), rel=1e-8)
    assert s.EIx + s.EIy == pytest.approx(BASE.EIx + BASE.EIy, rel=1e-8)
    for key in ("centroid", "shear_centre", "mass_centroid"):
        assert getattr(s, key) == pytest.approx(R @ getattr(BASE, key) + np.array([dx, dy]), abs=1e-9)
    # The whole 8 x 8 matrix turns with the section: strains of the turned one from those of the base.
    T = to_base(R, dx, dy)
    assert np.array(s.matrix) == pytest.approx(
        T.T @ np.array(BASE.matrix) @ T, rel=1e-7, abs=1e-8 * np.abs(np.array(s.matrix)).max()
    )


def to_base(R: np.ndarray, dx: float, dy: float) -> np.ndarray:
    """Strains at the origin of the base from strains at the origin of the turned and moved drawing."""
    T = np.eye(8)
    T[:2, :2] = R.T
    T[:2, 5] = R.T @ np.array([-dy, dx])
    T[3:5, 3:5] = R.T
    T[2, 3], T[2, 4] = dy, -dx
    return T


def test_scaling_has_the_powers_of_length() -> None:
    big = stiffness(placed(MESH, 3.0 * MESH.nodes))
    powers = {"EA": 2, "kGAx": 2, "kGAy": 2, "EIx": 4, "EIy": 4, "EIxy": 4, "GJ": 4, "EGamma": 6}
    for key, power in powers.items():
        assert getattr(big, key) == pytest.approx(getattr(BASE, key) * 3.0**power, rel=1e-9)
    bounds, before = torsion_bounds(big_mesh()), torsion_bounds(MESH)
    assert bounds.lower == pytest.approx(before.lower * 3.0**4, rel=1e-9)


def big_mesh() -> SectionMesh:
    return placed(MESH, 3.0 * MESH.nodes)


@pytest.mark.parametrize("solve", [stiffness, exact_stiffness])
def test_matrix_is_symmetric_and_positive(solve: object) -> None:
    s: SectionStiffness = solve(MESH)  # type: ignore[operator]
    matrix = np.array(s.matrix)
    assert np.array_equal(matrix, matrix.T)
    scale = np.sqrt(np.diag(matrix))
    assert np.linalg.eigvalsh(matrix / np.outer(scale, scale)).min() > 0.0


def test_stiffness_is_proportional_to_modulus() -> None:
    materials = tuple(dataclasses.replace(m, E=2.0 * m.E) for m in MESH.materials)
    double = stiffness(dataclasses.replace(placed(MESH, MESH.nodes.copy()), materials=materials))
    for key in ("EA", "EIx", "EIy", "GJ", "EGamma", "kGAx", "kGAy"):
        assert getattr(double, key) == pytest.approx(2.0 * getattr(BASE, key), rel=1e-10)
    assert double.shear_centre == pytest.approx(BASE.shear_centre, abs=1e-12)


def test_same_input_same_answer_to_the_last_bit() -> None:
    assert stiffness(MESH) == BASE
