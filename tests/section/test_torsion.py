"""Torsion of sections against closed forms and published values."""

from __future__ import annotations

import math

import pytest
from sections import ALUMINIUM, MINERAL, UNIT, box, made_of

from strongback.materials import Material
from strongback.section import shapes
from strongback.section.analyse import SectionResult, analyse
from strongback.section.outline import filled, from_rings
from strongback.section.values import Fill, Outline

pytestmark = pytest.mark.filterwarnings("ignore::strongback.plausible.UnlikelySize")  # sizes of textbooks


def solved(outline: Outline, tolerance: float = 1e-4) -> SectionResult:
    return analyse(outline, tolerance=tolerance)


# Saint-Venant's series for J/(a b³); Timoshenko & Goodier, Theory of Elasticity, 3rd ed. 1970, Art. 109.
@pytest.mark.parametrize(
    ("ratio", "k1"),
    [
        (1.0, 0.140577015),
        (1.5, 0.195760709),
        (2.0, 0.228681677),
        (3.0, 0.263316931),
        (5.0, 0.291316754),
        (10.0, 0.312325037),
    ],
)
def test_bounds_enclose_the_rectangle(ratio: float, k1: float) -> None:
    result = solved(shapes.rectangle(UNIT, ratio, 1.0))
    assert result.GJ_lower <= k1 * ratio * (1 + 1e-8)
    assert result.GJ_upper >= k1 * ratio * (1 - 1e-8)
    assert result.stiffness.GJ == pytest.approx(k1 * ratio, rel=1e-4)


def polygon_ellipse(a: float, b: float, count: int) -> Outline:
    """An ellipse as a polygon of the same area."""
    step = 2.0 * math.pi / count
    grown = math.sqrt(step / math.sin(step))
    ring = [(grown * a * math.cos(step * i), grown * b * math.sin(step * i)) for i in range(count)]
    return from_rings("ellipse", UNIT, ring)


def test_ellipse() -> None:
    # J = pi a³ b³/(a² + b²), Saint-Venant; Timoshenko & Goodier Art. 107. The polygon leaves 3e-6.
    assert solved(polygon_ellipse(2.0, 1.0, 400)).stiffness.GJ == pytest.approx(5.02654825, rel=2e-5)


def test_equilateral_triangle() -> None:
    # J = sqrt(3) s⁴/80, Saint-Venant; Pilkey, Analysis and Design of Elastic Beams, 2002, Example 5.6.
    ring = [(0.0, 0.0), (1.0, 0.0), (0.5, math.sqrt(3.0) / 2.0)]
    result = solved(from_rings("triangle", UNIT, ring))
    assert result.GJ_lower <= 0.0216506351 <= result.GJ_upper
    assert result.stiffness.GJ == pytest.approx(0.0216506351, rel=1e-4)


def test_round_tube() -> None:
    # J = pi (do⁴ - di⁴)/32; Pilkey 2002, Example 5.7 prints 91.49.
    tube = shapes.round_tube(UNIT, 8.0, 0.25, count=240)
    assert solved(tube).stiffness.GJ == pytest.approx(91.4927501, rel=5e-5)


def test_a_slit_makes_the_tube_700_times_softer() -> None:
    # J = 2 pi rm t³/3, thin open section; Pilkey 2002, Example 5.7 prints 0.13.
    slit = solved(shapes.slit_tube(UNIT, 8.0, 0.25, 0.002))
    assert slit.stiffness.GJ == pytest.approx(0.126809078, rel=0.02)


# It of EN tables [cm⁴]. The tables of hot-finished sections use an annex formula that is 1.7 to 3.3 % low.
@pytest.mark.parametrize(
    ("b", "h", "t", "outer", "it", "low", "high", "source"),
    [
        (100, 100, 5, 2.0, 440.52, 0.005, 0.005, "EN 10219-2, cold-formed"),
        (80, 80, 4, 2.0, 180.44, 0.005, 0.005, "EN 10219-2, cold-formed"),
        (40, 60, 3, 2.0, 29.28, 0.005, 0.005, "EN 10219-2, cold-formed"),
        (30, 50, 3, 2.0, 13.53, 0.005, 0.005, "EN 10219-2, cold-formed"),
        (100, 100, 5, 1.5, 439.0, 0.0, 0.04, "EN 10210-2, hot-finished"),
        (50, 50, 5, 1.5, 47.6, 0.0, 0.04, "EN 10210-2, hot-finished"),
    ],
)
def test_hollow_sections(
    b: float, h: float, t: float, outer: float, it: float, low: float, high: float, source: str
) -> None:
    tube = shapes.rectangular_tube(
        UNIT, b / 1e3, h / 1e3, t / 1e3, outer_radius=outer * t / 1e3, inner_radius=t / 1e3
    )
    ratio = solved(tube).stiffness.GJ / (it * 1e-8)
    assert 1 - low <= ratio <= 1 + high, source


# EN 10365 / Euronorm 19-57, 53-62: It [cm⁴]; tables of I sections are approximate, up to 2.5 % high.
@pytest.mark.parametrize(
    ("size", "it"),
    [
        ((200, 100, 8.5, 5.6, 12), 6.98),
        ((300, 150, 10.7, 7.1, 15), 20.12),
        ((190, 200, 10, 6.5, 18), 20.98),
        ((200, 200, 15, 9, 18), 59.28),
    ],
    ids=["IPE 200", "IPE 300", "HE 200 A", "HE 200 B"],
)
def test_rolled_sections(size: tuple[float, ...], it: float) -> None:
    section = shapes.i_section(UNIT, *(v / 1e3 for v in size))
    assert solved(section, 1e-3).stiffness.GJ == pytest.approx(it * 1e-8, rel=0.03)


@pytest.mark.parametrize(
    ("size", "it"),
    [((200, 75, 8.5, 11.5, 11.5, 6.0), 11.9), ((100, 50, 6, 8.5, 8.5, 4.5), 2.81)],
    ids=["UPN 200", "UPN 100"],
)
def test_tapered_channels(size: tuple[float, ...], it: float) -> None:
    # EN 10365 / DIN 1026-1: It [cm⁴].
    channel = shapes.tapered_channel(UNIT, *(v / 1e3 for v in size))
    assert solved(channel, 1e-3).stiffness.GJ == pytest.approx(it * 1e-8, rel=0.02)


def test_wide_flange_section() -> None:
    # W10x49: J = 1.39 in⁴, Cw = 2070 in⁶; AISC Manual Table 1-1, Design Guide 9 (1997) Example 5.1. The fillet is not
    # in the table; without it J is lower, so it is drawn with k - tf = 0.5 in.
    inch = 0.0254
    section = shapes.i_section(UNIT, 9.98 * inch, 10 * inch, 0.56 * inch, 0.34 * inch, 0.5 * inch)
    result = solved(section, 1e-3)
    assert result.stiffness.EGamma / 2.0 == pytest.approx(2070 * inch**6, rel=0.01)
    assert result.stiffness.GJ == pytest.approx(1.39 * inch**4, rel=0.03)


def test_channel_of_pilkey_lies_above_the_bounds() -> None:
    # Pilkey 2002, Example B.2, p. 437 prints J = 11.28862 from warping elements, which come from above: 0.18 %.
    result = solved(shapes.channel(UNIT, 19.0, 8.5, 1.0, 1.0))
    assert result.GJ_upper < 11.28862 < 1.002 * result.GJ_lower


def test_unequal_angle_of_pilkey_lies_above_the_bounds() -> None:
    # Pilkey 2002, Example 6.7, p. 268 prints J = 8.211705 from warping elements, which come from above: 0.15 %.
    result = solved(shapes.angle(UNIT, 15.5, 10.5, 1.0))
    assert result.GJ_upper < 8.211705 < 1.002 * result.GJ_lower


def test_square_tube_with_sharp_corners() -> None:
    # Saint-Venant's warping problem for 100x100x5, E 70 GPa, nu 0.33: 1.15657e11 N mm², computed once elsewhere.
    assert solved(shapes.rectangular_tube(ALUMINIUM, 0.1, 0.1, 0.005)).stiffness.GJ == pytest.approx(
        1.15657e5, rel=1e-3
    )


def test_two_strips_of_pilkey() -> None:
    # Pilkey 2002, Example 5.13, p. 220: aluminium and copper 15 x 2 side by side, equal nu: J* = 106.22 (E-weighted).
    aluminium, copper = made_of(10.4e6, 0.3), made_of(18.5e6, 0.3)
    result = solved(strips(aluminium, copper))
    assert result.stiffness.GJ / aluminium.G / 0.1**4 == pytest.approx(106.22, rel=1.5e-3)
    assert result.stiffness.EA / aluminium.E / 0.1**2 == pytest.approx(83.36, rel=1e-3)


def strips(first: Material, second: Material) -> Outline:
    """Two strips 15 x 2, end to end, one unit of length 0.1 m."""
    low = from_rings("strips", first, box(0, 0, 1.5, 0.2))
    high = from_rings("high", second, box(1.5, 0, 3.0, 0.2))
    return Outline(name="strips", walls=(*low.walls, high.walls[0]))


def test_filled_round_tube_is_exact() -> None:
    # Concentric circles do not warp: GJ = sum of G J. do 100, t 5; 70 GPa and 0.33, 30 GPa and 0.20.
    tube = filled(shapes.round_tube(ALUMINIUM, 0.1, 0.005, count=200), {"inside": Fill(material=MINERAL)})
    result = solved(tube)
    assert result.stiffness.GJ == pytest.approx(1.69363751e5, rel=5e-5)
    assert result.stiffness.EGamma == pytest.approx(0.0, abs=1e-9 * result.stiffness.EIx * 0.1**2)


def test_weighting_torsion_by_E_would_be_wrong() -> None:
    # The same tube with torsion weighted by E and one Poisson's ratio for the whole (mean by E A) misses by over 1 %.
    tube, core = 70e9 * math.pi * (0.1**4 - 0.09**4) / 32, 30e9 * math.pi * 0.09**4 / 32
    weight = 70e9 * (0.1**2 - 0.09**2), 30e9 * 0.09**2
    nu = (0.33 * weight[0] + 0.2 * weight[1]) / sum(weight)
    e_weighted = (tube + core) / (2 * (1 + nu))
    ours = solved(
        filled(shapes.round_tube(ALUMINIUM, 0.1, 0.005, count=200), {"inside": Fill(material=MINERAL)})
    )
    assert abs(e_weighted / ours.stiffness.GJ - 1.0) > 0.01
