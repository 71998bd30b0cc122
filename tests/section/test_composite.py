"""Sections of several materials: rule of mixtures, Poisson's ratios one by one, partly filled profiles."""

from __future__ import annotations

import math

import numpy as np
import pytest
from sections import ALUMINIUM, MINERAL, box, made_of, two_cells

from strongback.materials import Material
from strongback.section import shapes
from strongback.section.analyse import analyse
from strongback.section.coupling import exact_stiffness, poisson_ratios_differ
from strongback.section.mesh import mesh
from strongback.section.outline import area_of, filled, from_rings
from strongback.section.stiffness import stiffness
from strongback.section.values import Fill, Outline


def concentric(core: Material, shell: Material, inner: float = 0.06, count: int = 160) -> Outline:
    tube = shapes.round_tube(shell, 0.1, (0.1 - inner) / 2, count=count)
    return filled(tube, {"inside": Fill(material=core)})


def hill(core: Material, shell: Material, share: float) -> float:
    """Axial modulus of two concentric cylinders, free outside: Hill, J. Mech. Phys. Solids 12 (1964) 199."""

    def bulk(m: Material) -> float:  # plane strain
        return m.E / (2 * (1 + m.nu) * (1 - 2 * m.nu))

    other = 1 - share
    held = share / bulk(shell) + other / bulk(core) + 1 / shell.G
    return share * core.E + other * shell.E + 4 * share * other * (core.nu - shell.nu) ** 2 / held


@pytest.mark.parametrize(("core", "shell"), [(0.2, 0.33), (0.0, 0.45), (0.45, 0.0), (0.1, 0.1)])
def test_concentric_cylinders_of_hill(core: float, shell: float) -> None:
    inner, outer = made_of(30e9, core), made_of(70e9, shell)
    outline = concentric(inner, outer)
    s = exact_stiffness(mesh(outline, size=0.006))
    assert s.EA == pytest.approx(hill(inner, outer, 0.36) * area_of(outline), rel=1e-6)


@pytest.mark.parametrize("nu", [0.0, 0.33, 0.45])
def test_equal_ratios_give_the_rule_of_mixtures(nu: float) -> None:
    outline = filled(two_cells(made_of(70e9, nu)), {"a": Fill(material=made_of(20e9, nu))})
    made = mesh(outline)
    plain, exact = np.array(stiffness(made).matrix), np.array(exact_stiffness(made).matrix)
    scale = np.sqrt(np.outer(np.diag(plain), np.diag(plain)))
    assert np.abs((exact - plain)[:5, :5] / scale[:5, :5]).max() < 1e-12
    assert np.abs((exact - plain) / scale).max() < 1e-10


def test_unlike_ratios_stiffen() -> None:
    made = mesh(filled(two_cells(), {"a": Fill(material=MINERAL), "b": Fill(material=MINERAL)}))
    assert poisson_ratios_differ(made)
    plain, exact = stiffness(made), exact_stiffness(made)
    for key in ("EA", "EIx", "EIy"):
        assert 1.001 < getattr(exact, key) / getattr(plain, key) < 1.006
    assert exact.GJ == pytest.approx(plain.GJ, rel=1e-12)


def test_unlike_ratios_couple_axial_force_and_moment() -> None:
    # Same E, unlike nu, side by side: by the rule of mixtures the centroid is the middle.
    walls = from_rings("a", made_of(70e9, 0.1), box(0, 0, 0.02, 0.04)).walls
    others = from_rings("b", made_of(70e9, 0.45), box(0.02, 0, 0.06, 0.04)).walls
    made = mesh(Outline(name="pair", walls=(*walls, *(_named(w, "other") for w in others))))
    plain, exact = stiffness(made), exact_stiffness(made)
    assert plain.centroid[0] == pytest.approx(0.03, rel=1e-9)
    assert abs(exact.centroid[0] - 0.03) > 1e-6
    assert exact.EA > plain.EA


def _named(wall: object, name: str) -> object:
    import dataclasses

    return dataclasses.replace(wall, name=name)  # type: ignore[type-var]


def test_mirrored_section_has_a_mirrored_answer() -> None:
    outline = filled(two_cells(), {"a": Fill(material=MINERAL)})
    made = mesh(outline)
    turned = type(made)(
        nodes=made.nodes * np.array([-1.0, 1.0]),
        triangles=made.triangles[:, [0, 2, 1, 5, 4, 3]].copy(),
        region=made.region.copy(),
        materials=made.materials,
        parts=made.parts,
        mesher=made.mesher,
    )
    a, b = exact_stiffness(made), exact_stiffness(turned)
    assert b.EA == pytest.approx(a.EA, rel=1e-10)
    assert b.EIxy == pytest.approx(-a.EIxy, rel=1e-8)
    assert b.shear_centre == pytest.approx((-a.shear_centre[0], a.shear_centre[1]), abs=1e-9)
    assert b.kGAx == pytest.approx(a.kGAx, rel=1e-8)


def test_filled_round_tube() -> None:
    # do 100, t 5: EI of the transformed section, exact in equal-curvature theory; what the materials do to each other
    # sideways adds 0.5 % here, and less to EA by Hill's formula.
    result = analyse(concentric(MINERAL, ALUMINIUM, 0.09, 200))
    assert result.stiffness.EIx == pytest.approx(2.14786763e5, rel=5e-5)
    assert result.exact is not None
    assert 1.0 < result.exact.EIx / result.stiffness.EIx < 1.006
    modulus = hill(MINERAL, ALUMINIUM, 0.81)
    area = area_of(concentric(MINERAL, ALUMINIUM, 0.09, 200))
    assert result.exact.EA == pytest.approx(modulus * area, rel=1e-5)


def test_filled_square_tube() -> None:
    # Transformed section, elementary: 100x100x5 with 30 GPa inside. Fill gain in torsion 2.08 (warping problem).
    tube = shapes.rectangular_tube(ALUMINIUM, 0.1, 0.1, 0.005)
    full = filled(tube, {"inside": Fill(material=MINERAL)})
    assert analyse(full).stiffness.EIx == pytest.approx(3.64633333e5, rel=1e-6)
    gain = analyse(full).stiffness.GJ / analyse(tube).stiffness.GJ
    assert gain == pytest.approx(2.08, abs=0.005)


def test_two_layer_beam() -> None:
    # Transformed section, elementary: 50 wide, 10 of 70 GPa on 40 of 30 GPa, from the aluminium face.
    low = from_rings("layers", made_of(70e9, 0.3), box(0, 0, 0.05, 0.01)).walls
    high = from_rings("layers", made_of(30e9, 0.3), box(0, 0.01, 0.05, 0.05)).walls
    s = stiffness(mesh(Outline(name="layers", walls=(*low, _named(high[0], "core")))))  # type: ignore[arg-type]
    assert s.centroid[1] == pytest.approx(0.0207894737, rel=1e-8)
    assert s.EIx == pytest.approx(22107.4561, rel=1e-8)


def test_bore_and_insert() -> None:
    # A steel bar in the middle of the fill of a round tube, and the same as a bore: concentric circles again.
    steel = made_of(210e9, 0.3)
    from strongback.section.shapes import circle_ring
    from strongback.section.values import Insert

    tube = shapes.round_tube(ALUMINIUM, 0.1, 0.005, count=160)
    ring = circle_ring(0.03, 120)
    bar = filled(
        tube, {"inside": Fill(material=MINERAL, inserts=(Insert(name="bar", ring=ring, material=steel),))}
    )
    bore = filled(tube, {"inside": Fill(material=MINERAL, bores=(ring,))})
    J = [math.pi * d**4 / 32 for d in (0.1, 0.09, 0.03)]
    shell = ALUMINIUM.G * (J[0] - J[1]) + MINERAL.G * (J[1] - J[2])
    assert analyse(bar).stiffness.GJ == pytest.approx(shell + steel.G * J[2], rel=2e-4)
    assert analyse(bore).stiffness.GJ == pytest.approx(shell, rel=2e-4)
