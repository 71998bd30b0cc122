"""Fields of a body: rigid motion, Saint-Venant stress, equilibrium, cross-sections, mesh cells."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from strongback.errors import MachineError
from strongback.machine.body import BodyStiffness, PadSpec, body_stiffness
from strongback.machine.body.recover import STRESSES, field, section_cut
from strongback.materials import Material
from strongback.section.mesh import mesh
from strongback.section.shapes import rectangle, rectangular_tube

STEEL = Material(name="steel", E=210e9, nu=0.3, density=7850.0, source="EN 1993-1-1, 3.2.6")
WIDE, DEEP, LENGTH = 0.04, 0.02, 0.2


@pytest.fixture(scope="module")
def bar() -> BodyStiffness:
    section = mesh(rectangle(STEEL, WIDE, DEEP), size=0.005)
    return body_stiffness([(section, LENGTH)], end="rigid", tolerance=1e-5, growth=0.4)


@pytest.fixture(scope="module")
def tube() -> BodyStiffness:
    section = mesh(rectangular_tube(STEEL, 0.06, 0.05, 0.005), size=0.02)
    pad = PadSpec(name="head", centre=(0.0, 0.025, 0.15), normal=(0.0, 1.0), size=(0.03, 0.04))
    return body_stiffness([(section, LENGTH)], pads=[pad], growth=0.8)


def under(bar: BodyStiffness, load: np.ndarray) -> np.ndarray:
    """Motions of base and far end under a load on the far end."""
    return np.concatenate([np.zeros(6), np.linalg.solve(bar.stiffness[6:, 6:], load)])


def test_motion_as_a_whole_strains_nothing(tube: BodyStiffness) -> None:
    six = np.array([1e-3, 2e-3, -1e-3, 3e-3, -2e-3, 1e-3])
    motions = np.concatenate([[*(six[:3] + np.cross(six[3:], p)), *six[3:]] for p in tube.points])
    found = field(tube, motions)
    expected = six[:3] + np.cross(six[3:], found.points)
    assert_allclose(found.displacement, expected, atol=1e-12)
    assert found.von_mises.max() < 1e-9 * STEEL.E


def test_pull_gives_force_over_area(bar: BodyStiffness) -> None:
    found = field(bar, under(bar, np.array([0.0, 0.0, 1000.0, 0.0, 0.0, 0.0])))
    middle = np.abs(found.points[found.cells[:, 12], 2] - LENGTH / 2) < 0.02
    assert np.any(middle)
    stress = dict(zip(STRESSES, found.stress[middle].T, strict=True))
    assert_allclose(stress["ss"], 1000.0 / (WIDE * DEEP), rtol=1e-3)
    for name in ("xx", "yy", "xy", "xs", "ys"):
        assert np.abs(stress[name]).max() < 1e-3 * 1000.0 / (WIDE * DEEP)


def test_couple_gives_moment_times_distance_over_I(bar: BodyStiffness) -> None:
    found = field(bar, under(bar, np.array([0.0, 0.0, 0.0, 50.0, 0.0, 0.0])))
    corners = found.points[found.cells[:, :3]].mean(axis=1)
    middle = np.abs(found.points[found.cells[:, 12], 2] - LENGTH / 2) < 0.02
    expected = 50.0 * corners[:, 1] / (WIDE * DEEP**3 / 12.0)
    assert_allclose(found.stress[middle, 2], expected[middle], atol=2e-3 * np.abs(expected).max())


def rectangle_shear(x: np.ndarray, y: np.ndarray, torque: float) -> np.ndarray:
    """Shear stress (xs, ys) of a twisted rectangle; Timoshenko & Goodier, Theory of Elasticity, 3rd ed., art. 109."""
    a, b = WIDE / 2.0, DEEP / 2.0
    odd = np.arange(1, 120, 2)
    J = (
        16.0
        * a
        * b**3
        * (1 / 3 - 64 * b / (np.pi**5 * a) * np.sum(np.tanh(odd * np.pi * a / (2 * b)) / odd**5))
    )
    n = odd[:, None] * np.pi / (2.0 * a)
    sign = (-1.0) ** ((odd - 1) // 2)[:, None]
    grown = np.exp(n * (np.abs(y) - b)) / (1.0 + np.exp(-2.0 * n * b))  # of cosh(n y) / cosh(n b), half of it
    cosh, sinh = (
        grown * (1 + np.exp(-2 * n * np.abs(y))),
        np.sign(y) * grown * (1 - np.exp(-2 * n * np.abs(y))),
    )
    scale = 32.0 * torque / J * a**2 / np.pi**3 * sign / odd[:, None] ** 3
    by_y = np.sum(-scale * n * sinh * np.cos(n * x), axis=0)
    by_x = np.sum(-scale * n * (1.0 - cosh) * np.sin(n * x), axis=0)
    return np.column_stack([by_y, -by_x])


def test_twist_gives_the_shear_stress_of_the_series(bar: BodyStiffness) -> None:
    found = field(bar, under(bar, np.array([0.0, 0.0, 0.0, 0.0, 0.0, 20.0])))
    middle = np.abs(found.points[found.cells[:, 12], 2] - LENGTH / 2) < 0.02
    x, y, _ = found.points[found.cells[middle, :3]].mean(axis=1).T
    expected = rectangle_shear(x, y, 20.0)
    assert_allclose(found.stress[middle][:, [4, 3]], expected, atol=0.04 * np.abs(expected).max())


def test_cells_are_wedges_that_fill_the_body(bar: BodyStiffness) -> None:
    found = field(bar, np.zeros(12))
    p = found.points[found.cells]
    base = np.cross(p[:, 1] - p[:, 0], p[:, 2] - p[:, 0])
    volume = 0.5 * np.einsum("ij,ij->i", base, p[:, 3] - p[:, 0])
    assert np.all(volume > 0.0)
    assert_allclose(volume.sum(), WIDE * DEEP * LENGTH, rtol=1e-9)
    below, above = [(0, 1), (1, 2), (2, 0)], [(3, 4), (4, 5), (5, 3)]
    for node, (a, b) in zip(range(6, 15), [*below, *above, (0, 3), (1, 4), (2, 5)], strict=True):
        assert_allclose(p[:, node], 0.5 * (p[:, a] + p[:, b]), atol=1e-12)
    for node, (a, b) in zip(range(15, 18), [(0, 4), (1, 5), (2, 3)], strict=True):
        assert_allclose(p[:, node], 0.5 * (p[:, a] + p[:, b]), atol=1e-12)


def test_cut_at_the_pad_shows_walls_giving(tube: BodyStiffness) -> None:
    at = tube.columns("head")
    load = np.array([0.0, 0.0, 0.0, 0.0, 0.0, 10.0])
    motions = np.concatenate([np.zeros(6), np.linalg.solve(tube.stiffness[at, at], load)])
    near, far = section_cut(tube, motions, 0.15), section_cut(tube, motions, 0.03)
    assert len(near.lines) == 2
    assert all(line[0] == line[-1] for line in near.lines)
    assert np.abs(near.giving).max() > 5.0 * np.abs(far.giving).max()
    assert near.rigid[5] > far.rigid[5] > 0.0


def test_gauges_read_what_the_field_says(tube: BodyStiffness) -> None:
    """A gauge on a node of the mesh against the recovered displacement of that node."""
    node = int(np.argmax(tube.nodes[:, 0]))
    height = float(tube.planes[2 * (len(tube.planes) // 4)])
    point = (*map(float, tube.nodes[node]), height)
    section = mesh(rectangular_tube(STEEL, 0.06, 0.05, 0.005), size=0.02)
    pad = PadSpec(name="head", centre=(0.0, 0.025, 0.15), normal=(0.0, 1.0), size=(0.03, 0.04))
    body = body_stiffness([(section, LENGTH)], pads=[pad], growth=0.8, points=[point])
    motions = np.arange(1.0, 13.0) * 1e-6
    found = field(body, motions)
    here = np.argmin(np.linalg.norm(found.points - point, axis=1))
    assert_allclose(body.gauges @ motions, found.displacement[here], rtol=1e-6)


def test_wrong_number_of_motions_is_refused(bar: BodyStiffness) -> None:
    with pytest.raises(MachineError, match="7 motions for a body with 12"):
        field(bar, np.zeros(7))
    with pytest.raises(MachineError, match="height 300 mm is not on the body of 200 mm"):
        section_cut(bar, np.zeros(12), 0.3)
