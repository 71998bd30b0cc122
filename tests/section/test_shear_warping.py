"""Bending, shear centre, warping and shear stiffness against closed forms and published values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from sections import UNIT, made_of

from strongback.section import shapes
from strongback.section.analyse import analyse
from strongback.section.mesh import mesh
from strongback.section.outline import area_of, from_rings
from strongback.section.stiffness import stiffness
from strongback.section.values import SectionStiffness

pytestmark = pytest.mark.filterwarnings("ignore::strongback.plausible.UnlikelySize")  # sizes of textbooks

E = UNIT.E
U = 0.1  # metres for one unit of length of a textbook, so that its sections stay below 20 m


def principal(s: SectionStiffness) -> tuple[float, float]:
    middle, half = (s.EIx + s.EIy) / 2.0, math.hypot((s.EIx - s.EIy) / 2.0, s.EIxy)
    return (middle + half) / E, (middle - half) / E


def test_thin_channel() -> None:
    # e = 3 b² tf/(h tw + 6 b tf), Iw = (tf b³ h²/12)(3 b tf + 2 h tw)/(6 b tf + h tw); Vlasov, Thin-Walled Elastic Beams.
    # The formulas are for thin walls: flange 50, web 100 on the mid-lines, t = 0.5 here, error of order (t/b)².
    t = 0.5
    s = stiffness(mesh(shapes.channel(UNIT, (100 + t) * U, (50 + t / 2) * U, t * U, t * U)))
    assert t / 2 - s.shear_centre[0] / U == pytest.approx(18.75, rel=2e-3)
    assert s.EGamma / E / U**6 == pytest.approx(182291667.0 * t / 2, rel=0.01)


def test_thin_z() -> None:
    # Iw = (t b³ h²/12)(b + 2h)/(2b + h), Vlasov; AISC Design Guide 9 App. C. |Ixy| = b² h t/2, elementary.
    t = 0.5
    s = stiffness(mesh(shapes.z_section(UNIT, 100 * U, 50 * U, t * U)))
    assert s.EGamma / E / U**6 == pytest.approx(260416667.0 * t / 2, rel=0.01)
    assert abs(s.EIxy) / E / U**4 == pytest.approx(250000.0 * t / 2, rel=0.01)
    assert np.allclose(s.shear_centre, 0.0, atol=0.05 * U)


def test_i_section_with_unequal_flanges() -> None:
    # e2 = h I1/(I1 + I2) from the small flange, Iw = h² I1 I2/(I1 + I2); Vlasov; background of EN 1993. t = 1 for 4.
    t = 1.0
    ring = [(-40, 0), (40, 0), (40, t), (t / 2, t), (t / 2, 100), (20, 100), (20, 100 + t), (-20, 100 + t)]
    ring += [(-20, 100), (-t / 2, 100), (-t / 2, t), (-40, t)]
    s = stiffness(mesh(from_rings("I", UNIT, [(x * U, y * U) for x, y in ring])))
    assert 100 + t / 2 - s.shear_centre[1] / U == pytest.approx(88.8888889, rel=2e-3)
    assert s.EGamma / E / U**6 == pytest.approx(189629630.0 / 4, rel=0.01)


def test_channel_of_pilkey() -> None:
    # Pilkey, Analysis and Design of Elastic Beams, Wiley 2002, Example B.2, p. 437: nu = 1/3. Energies of displacement
    # elements under given loads come from below, his coarse mesh more so: the shear factors printed are 0.15 % low.
    material = made_of(2.0, 1 / 3)
    outline = from_rings("channel", material, _shifted_channel())
    s = analyse(outline).stiffness
    assert s.EGamma / E == pytest.approx(12763.1518, rel=1e-3)
    assert s.shear_centre[0] == pytest.approx(-2.86769, rel=1e-3)
    GA = material.G * area_of(outline)
    for value, printed in ((GA / s.kGAx, 3.40789), (GA / s.kGAy, 2.15337)):
        assert printed < value < 1.002 * printed


def _shifted_channel() -> list[tuple[float, float]]:
    return [(-0.5, -9.5), (8, -9.5), (8, -8.5), (0.5, -8.5), (0.5, 8.5), (8, 8.5), (8, 9.5), (-0.5, 9.5)]


def test_unequal_angle_of_pilkey() -> None:
    # Pilkey 2002, Example B.3, p. 441: principal second moments and product of inertia.
    ring = [
        (-0.375, -0.375),
        (5.625, -0.375),
        (5.625, 0.375),
        (0.375, 0.375),
        (0.375, 7.625),
        (-0.375, 7.625),
    ]
    s = stiffness(mesh(from_rings("angle", UNIT, ring)))
    assert principal(s) == pytest.approx((77.66369, 16.48228), rel=1e-5)
    assert s.EIxy / E == pytest.approx(-25.85377, rel=1e-5)


def test_rectangle_of_pilkey() -> None:
    # Pilkey 2002, Example 6.5, p. 264: A/As of 2 x 1, nu = 0.3, along the long and the short side.
    material = made_of(2.6, 0.3)
    s = analyse(shapes.rectangle(material, 2.0, 1.0)).stiffness
    assert (2 * material.G / s.kGAx, 2 * material.G / s.kGAy) == pytest.approx((1.20056, 1.27479), rel=1e-3)


def test_z_section_of_peery() -> None:
    # Peery, Aircraft Structures, McGraw-Hill 1950, Sec. 7.2 Example 1.
    ring = [(4, 0), (10, 0), (10, 2), (6, 2), (6, 12), (0, 12), (0, 10), (4, 10)]
    s = stiffness(mesh(from_rings("Z", UNIT, ring)))
    assert (s.EIx / E, s.EIy / E, s.EIxy / E) == pytest.approx((693.3, 173.3, -240.0), rel=1e-3)
    assert principal(s) == pytest.approx((787.0, 79.5), rel=1e-3)


@pytest.mark.parametrize(
    ("shape", "kappa"),
    [
        (shapes.rectangle(UNIT, 1.0, 2.0), 10 / 12),
        (shapes.circle(UNIT, 1.0, count=200), 6 / 7),
        (shapes.round_tube(UNIT, 1.0, 0.005, count=300), 2 / 4),
        (shapes.rectangular_tube(UNIT, 1.0, 1.0, 0.004), 20 / 48),
    ],
    ids=["rectangle", "circle", "thin tube", "thin square tube"],
)
def test_cowper_without_poisson(shape: object, kappa: float) -> None:
    # Cowper, The shear coefficient in Timoshenko beam theory, J. Appl. Mech. 33 (1966) 335. With nu = 0 his definition
    # and the energy agree; above zero they do not, and only the energy adds up in a budget.
    outline = shape
    s = analyse(outline).stiffness  # type: ignore[arg-type]
    area = area_of(outline)  # type: ignore[arg-type]
    assert s.kGAy / (UNIT.G * area) == pytest.approx(kappa, rel=5e-3)
    assert s.kGAx / (UNIT.G * area) == pytest.approx(kappa, rel=5e-3)


# A, I major [cm², cm⁴]: EN 10219-2 (outer corner radius 2 t) and EN 10210-2 (1.5 t); inner radius t.
@pytest.mark.parametrize(
    ("b", "h", "t", "outer", "area", "inertia", "rel"),
    [
        (100, 100, 5, 2.0, 18.36, 271.1, 0.002),
        (80, 80, 4, 2.0, 11.75, 111.04, 0.002),
        (40, 60, 3, 2.0, 5.41, 25.38, 0.002),
        (30, 50, 3, 2.0, 4.21, 12.83, 0.002),
        (100, 100, 5, 1.5, 18.7, 279.0, 0.003),
        (50, 50, 5, 1.5, 8.73, 28.9, 0.003),
    ],
)
def test_hollow_sections(
    b: float, h: float, t: float, outer: float, area: float, inertia: float, rel: float
) -> None:
    tube = shapes.rectangular_tube(
        UNIT, b / 1e3, h / 1e3, t / 1e3, outer_radius=outer * t / 1e3, inner_radius=t / 1e3
    )
    s = stiffness(mesh(tube))
    assert s.EA / E * 1e4 == pytest.approx(area, rel=rel)
    assert s.EIx / E * 1e8 == pytest.approx(inertia, rel=rel)


# EN 10365 / Euronorm 19-57, 53-62: A [cm²], Iy, Iz [cm⁴]; Iw = tf b³ (h - tf)²/24 [cm⁶], finite elements lie below.
@pytest.mark.parametrize(
    ("size", "table", "iw"),
    [
        ((200, 100, 8.5, 5.6, 12), (28.48, 1943, 142.4), 12988.0885),
        ((300, 150, 10.7, 7.1, 15), (53.81, 8356, 603.8), 125934.053),
        ((190, 200, 10, 6.5, 18), (53.8, 3692, 1336), 108000.0),
        ((200, 200, 15, 9, 18), (78.1, 5696, 2003), 171125.0),
    ],
    ids=["IPE 200", "IPE 300", "HE 200 A", "HE 200 B"],
)
def test_rolled_sections(size: tuple[float, ...], table: tuple[float, float, float], iw: float) -> None:
    s = stiffness(mesh(shapes.i_section(UNIT, *(v / 1e3 for v in size))))
    assert (s.EA / E * 1e4, s.EIx / E * 1e8, s.EIy / E * 1e8) == pytest.approx(table, rel=1e-3)
    assert 0.97 < s.EGamma / E * 1e12 / iw < 1.0


@pytest.mark.parametrize(
    ("size", "table", "rel"),
    [
        ((200, 75, 8.5, 11.5, 11.5, 6.0), (32.2, 1910, 148, 2.01), 4e-3),
        ((100, 50, 6, 8.5, 8.5, 4.5), (13.5, 206, 29.3, 1.55), 6e-3),
    ],
    ids=["UPN 200", "UPN 100"],
)
def test_tapered_channels(
    size: tuple[float, ...], table: tuple[float, float, float, float], rel: float
) -> None:
    # EN 10365 / DIN 1026-1: A [cm²], Iy, Iz [cm⁴], centroid from the back of the web [cm].
    s = stiffness(mesh(shapes.tapered_channel(UNIT, *(v / 1e3 for v in size))))
    found = (s.EA / E * 1e4, s.EIx / E * 1e8, s.EIy / E * 1e8, s.centroid[0] * 1e2)
    assert found == pytest.approx(table, rel=rel)


def test_secondary_torsion_of_a_thin_i_section() -> None:
    # Each flange takes the secondary torque as a shear force T2/h over 5/6 of its area (parabola, Cowper at nu = 0):
    # GD = G (5/6) 2 b tf (h/2)². Thin walls; the web is left out, as its warping is small.
    h, b, t = 100.0 * U, 60.0 * U, 0.5 * U
    s = stiffness(mesh(shapes.i_section(UNIT, h + t, b, t, t)))
    rows = (0, 1, 6)
    compliance = np.linalg.inv(np.array(s.matrix)[np.ix_(rows, rows)])
    assert 1.0 / compliance[2, 2] == pytest.approx(UNIT.G * 5 / 6 * 2 * b * t * (h / 2) ** 2, rel=0.03)
    assert abs(compliance[0, 2]) < 1e-6 * math.sqrt(compliance[0, 0] * compliance[2, 2])


def test_shear_of_an_angle_couples_with_secondary_torsion() -> None:
    # In an unsymmetric open section the three shear states are not orthogonal, and their energy is positive.
    s = stiffness(mesh(shapes.channel(UNIT, 0.1, 0.05, 0.006, 0.003)))
    compliance = np.linalg.inv(np.array(s.matrix)[np.ix_((0, 1, 6), (0, 1, 6))])
    share = compliance[1, 2] / math.sqrt(compliance[1, 1] * compliance[2, 2])
    assert 0.05 < abs(share) < 1.0
    assert np.all(np.linalg.eigvalsh(compliance) > 0.0)
