"""Thermal stress and bow of a bonded pair."""

import numpy as np
import pytest

from strongback.errors import MixError
from strongback.remedies.fill.thermal import (
    bimetal_curvature,
    bow,
    bow_per_kelvin,
    curvature_per_kelvin,
    interface_pressure,
    over_range,
    two_bars,
)
from strongback.section.values import stiffness_from_constants


def test_timoshenko_strip():
    """Timoshenko, J. Opt. Soc. Am. 11 (1925) 233: kappa = 3 dalpha dT/(2 h) for equal thickness and modulus."""
    found = bimetal_curvature((0.01, 0.01), (70e9, 70e9), 1.1e-5, 10.0)
    assert found * 1e-3 == pytest.approx(8.25e-06, rel=1e-9)


def test_unequal_strips_by_a_second_route():
    """Force and moment balance of two layers, solved here as a linear system."""
    t, E, mismatch, rise = (3e-3, 40e-3), (70e9, 12e9), 9e-6, 15.0
    # Unknown strain at the interface e0 and curvature k; strain e0 + k y, layer 1 below (y < 0).
    A = E[0] * t[0] + E[1] * t[1]
    S = -E[0] * t[0] ** 2 / 2 + E[1] * t[1] ** 2 / 2
    I = E[0] * t[0] ** 3 / 3 + E[1] * t[1] ** 3 / 3
    free = mismatch * rise
    k = np.linalg.solve([[A, S], [S, I]], [E[1] * t[1] * free, E[1] * t[1] ** 2 / 2 * free])[1]
    assert bimetal_curvature(t, E, mismatch, rise) == pytest.approx(abs(k), rel=1e-9)


def strip(E, t, middle, width=0.03):
    A = width * t
    return {"EA": E * A, "EI": E * width * t**3 / 12, "y": middle}


def section(name, *strips):
    EA = sum(s["EA"] for s in strips)
    yc = sum(s["EA"] * s["y"] for s in strips) / EA
    EI = sum(s["EI"] + s["EA"] * (s["y"] - yc) ** 2 for s in strips)
    return stiffness_from_constants(
        name=name, EA=EA, EIx=EI, EIy=10 * EI, GJ=EI, kGAx=EA, kGAy=EA, centroid=(0.0, yc)
    )


@pytest.mark.parametrize(("t", "E"), [((0.01, 0.01), (70e9, 70e9)), ((3e-3, 40e-3), (70e9, 12e9))])
def test_bow_of_a_section_is_timoshenkos_for_two_strips(t, E):
    """Strip 1 as the wall, strip 2 on top of it as the fill that expands more: it bends towards the wall."""
    wall, fill = strip(E[0], t[0], -t[0] / 2), strip(E[1], t[1], t[1] / 2)
    u, v = curvature_per_kelvin(section("bare", wall), section("whole", wall, fill), 9e-6)
    assert u == pytest.approx(0.0, abs=1e-15)
    assert v == pytest.approx(-bimetal_curvature(t, E, 9e-6, 1.0), rel=1e-9)


def test_a_fill_in_the_middle_does_not_bow():
    wall, fill = strip(70e9, 0.01, 0.0), strip(12e9, 0.04, 0.0)
    assert curvature_per_kelvin(section("b", wall), section("w", wall, fill), 9e-6) == pytest.approx(
        (0.0, 0.0), abs=1e-15
    )


def test_lever_of_a_partial_fill():
    """Bent over its whole length a cantilever's end moves kappa L²/2; bent below, the rest goes on straight."""
    assert bow_per_kelvin((1e-4, 0.0), 0.4, 0.0, 0.4)[0] == pytest.approx(bow(1e-4, 0.4))
    assert bow_per_kelvin((0.0, 1e-4), 0.4, 0.0, 0.2)[1] == pytest.approx(1e-4 * 0.2 * 0.3)


def test_two_bars_in_parallel():
    """Filled square tube 100 x 100 x 5: -3.619 and 0.849 MPa (two bars in parallel)."""
    found = two_bars((70e9, 30e9), (1900e-6, 8100e-6), 8e-6, 10.0)
    assert [found.wall / 1e6, found.fill / 1e6] == pytest.approx(
        [-3.619148936170213, 0.8489361702127659], rel=1e-9
    )
    assert found.wall * 1900 + found.fill * 8100 == pytest.approx(0.0, abs=1e-3)


def test_cure_shrinkage_pulls_the_core():
    """0.02 % linear shrinkage: 2.12234043 MPa (two bars in parallel)."""
    assert two_bars((70e9, 30e9), (1900e-6, 8100e-6), 2e-4).fill / 1e6 == pytest.approx(2.12234043, rel=1e-8)


def test_lame_pressure():
    """Round tube 100 x 5 on a solid core: 0.477694138 MPa (Lamé, plane stress)."""
    found = interface_pressure(0.09, 0.1, (70e9, 0.33), (30e9, 0.2), 8e-6, 10.0)
    assert found / 1e6 == pytest.approx(0.477694138, rel=1e-8)
    assert interface_pressure(0.09, 0.1, (70e9, 0.33), (30e9, 0.2), -8e-6, 10.0) < 0.0


def test_range_of_a_workshop():
    assert over_range(1e5, (283.15, 303.15), 293.15) == pytest.approx((-1e6, 1e6))
    assert bow(1e-4, 0.4) == pytest.approx(8e-6)


def test_refusals():
    with pytest.raises(MixError, match="inside a tube"):
        interface_pressure(0.1, 0.09, (70e9, 0.33), (30e9, 0.2), 8e-6)
    with pytest.raises(MixError, match="stiffness and area"):
        two_bars((0.0, 1.0), (1.0, 1.0), 1e-6)
