"""Bodies against exact three-dimensional solutions: what one more length of column adds is free of its ends."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from strongback.machine.body import body_stiffness
from strongback.materials import Material
from strongback.section.coupling import exact_stiffness
from strongback.section.mesh import mesh
from strongback.section.outline import filled, from_rings
from strongback.section.shapes import rectangle
from strongback.section.values import Fill, SectionMesh

# EN 1993-1-1, 3.2.6 and EN 1999-1-1, 3.2.5; mineral fill: typical, common practice, no source.
STEEL = Material(name="steel", E=210e9, nu=0.3, density=7850.0, source="EN 1993-1-1, 3.2.6")
ALUMINIUM = Material(name="aluminium", E=70e9, nu=0.3, density=2700.0, source="EN 1999-1-1, 3.2.5")
MINERAL = Material(name="mineral", E=30e9, nu=0.2, density=2300.0, source="common practice, no source")


def added_flexibility(section: SectionMesh, lengths: tuple[float, float]) -> np.ndarray:
    """What a longer column between rigid ends has more than a shorter one, per metre, about the far end, (6, 6)."""
    bodies = (body_stiffness([(section, length)], end="rigid", tolerance=1e-5) for length in lengths)
    short, long = (np.linalg.inv(body.stiffness[6:, 6:]) for body in bodies)
    return np.asarray((long - short) / (lengths[1] - lengths[0]))


def rectangle_torsion(a: float, b: float) -> float:
    """J of a rectangle a >= b [m⁴]; Timoshenko & Goodier, Theory of Elasticity, 3rd ed., art. 109."""
    odd = np.arange(1, 200, 2)
    series = np.sum(np.tanh(odd * math.pi * a / (2.0 * b)) / odd**5)
    return float(a * b**3 / 3.0 * (1.0 - 192.0 * b / (math.pi**5 * a) * series))


@pytest.fixture(scope="module")
def bar() -> np.ndarray:
    return added_flexibility(mesh(rectangle(STEEL, 0.04, 0.02), size=0.004), (0.16, 0.24))


def test_bar_extends_by_length_over_EA(bar: np.ndarray) -> None:
    assert_allclose(1.0 / bar[2, 2], STEEL.E * 0.04 * 0.02, rtol=1e-3)


def test_bar_bends_by_length_over_EI(bar: np.ndarray) -> None:
    assert_allclose(1.0 / bar[3, 3], STEEL.E * 0.04 * 0.02**3 / 12.0, rtol=1e-3)
    assert_allclose(1.0 / bar[4, 4], STEEL.E * 0.02 * 0.04**3 / 12.0, rtol=1e-3)


def test_bar_twists_by_length_over_GJ(bar: np.ndarray) -> None:
    assert_allclose(1.0 / bar[5, 5], STEEL.G * rectangle_torsion(0.04, 0.02), rtol=1e-3)


def two_cells(with_fill: bool) -> SectionMesh:
    """An invented profile 60 x 40 with a web off its middle, one cell filled."""
    box = [(0.0, 0.0), (0.06, 0.0), (0.06, 0.04), (0.0, 0.04)]
    left = [(0.004, 0.004), (0.024, 0.004), (0.024, 0.036), (0.004, 0.036)]
    right = [(0.028, 0.004), (0.056, 0.004), (0.056, 0.036), (0.028, 0.036)]
    outline = from_rings("two cells", ALUMINIUM, box, {"left": left, "right": right})
    return mesh(filled(outline, {"left": Fill(material=MINERAL)}) if with_fill else outline, size=0.008)


@pytest.mark.slow
@pytest.mark.parametrize("with_fill", [False, True])
def test_column_repeats_the_section_engine(with_fill: bool) -> None:
    """Extension, both bendings, torsion and their coupling, on the same mesh by two unlike theories."""
    section = two_cells(with_fill)
    added = added_flexibility(section, (0.24, 0.36))[2:, 2:]
    expected = np.linalg.inv(np.array(exact_stiffness(section).matrix))[2:6, 2:6]
    scale = np.sqrt(np.diag(expected))
    assert_allclose(added / np.outer(scale, scale), expected / np.outer(scale, scale), atol=1e-3, rtol=0.0)
