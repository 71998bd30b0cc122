"""Bounds, default, voids and expansion of a mix."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strongback.errors import MixError
from strongback.remedies.fill.modulus import (
    QUARTZ,
    RESIN,
    STONE,
    Elastic,
    dry_density,
    from_bulk_and_shear,
    hashin_shtrikman,
    levin,
    mix_modulus,
    modulus_spread,
    reuss,
    voids_from_density,
    voigt,
    with_bubbles,
)

GPA = 1e9
MATRIX = Elastic(E=3.5e9, nu=0.35)


def test_quartz_from_bulk_and_shear():
    """K 37, G 44 GPa (public rock-physics tutorials); isotropic conversion."""
    assert QUARTZ.E / GPA == pytest.approx(94.52903225806452, rel=1e-9)
    assert QUARTZ.nu == pytest.approx(0.07419354838709677, rel=1e-9)
    assert pytest.approx(37e9) == QUARTZ.K
    assert pytest.approx(44e9) == QUARTZ.G


def test_rule_of_mixtures():
    """Voigt and Reuss at 60 % quartz."""
    assert voigt(MATRIX, QUARTZ, 0.6) / GPA == pytest.approx(58.11741935483871, rel=1e-9)
    assert reuss(MATRIX, QUARTZ, 0.6) / GPA == pytest.approx(8.289607681489743, rel=1e-9)


def test_hashin_shtrikman_of_quartz_in_epoxy():
    """Hashin & Shtrikman, J. Mech. Phys. Solids 11 (1963) 127; Mavko, Mukerji & Dvorkin, The Rock Physics Handbook."""
    lower, upper = hashin_shtrikman(MATRIX, QUARTZ, 0.6)
    found = [lower.K / GPA, lower.G / GPA, lower.E / GPA, lower.nu]
    assert found == pytest.approx(
        [9.80545737516545, 4.91435573118895, 12.632634899195898, 0.2852788432696177], rel=1e-9
    )
    found = [upper.K / GPA, upper.G / GPA, upper.E / GPA]
    assert found == pytest.approx([20.28427636079351, 19.4452893509735, 44.20903848379746], rel=1e-9)


@pytest.mark.parametrize(
    ("c", "E"), [(0.64, 14.121495801438908), (0.58, 11.977371866504003), (0.54, 10.812132924459206)]
)
def test_lower_bound_against_void_fraction(c, E):
    """Same formula at void fractions 0.36, 0.42 and 0.46."""
    assert hashin_shtrikman(MATRIX, QUARTZ, c)[0].E / GPA == pytest.approx(E, rel=1e-9)


@pytest.mark.parametrize(("c", "E"), [(0.60, 11.2), (0.65, 12.8), (0.73, 16.3), (0.80, 21.0)])
def test_lower_bound_of_stone_in_resin(c, E):
    """Resin 3.2 GPa, stone 70 GPa: figures worked from the stated formula, Poisson's ratios not stated with them."""
    assert mix_modulus(RESIN, STONE, c).default.E / GPA == pytest.approx(E, abs=0.12)


def test_five_per_cent_air_takes_about_a_seventh():
    """'5 % air takes 14 % off': worked figure of unstated arrangement; it must lie between our two arrangements."""
    dense, airy = (mix_modulus(RESIN, STONE, 0.65, air) for air in (0.0, 0.05))
    assert airy.small_bubbles.E / dense.default.E < 0.86 < airy.large_bubbles.E / dense.default.E
    assert airy.small_bubbles.E < airy.default.E < airy.large_bubbles.E


def test_hand_poured_sand_has_a_shear_modulus_of_the_order_of_two_gigapascal():
    """Common practice, no source: a plausibility band, not a target."""
    airy = mix_modulus(Elastic(E=2.5e9, nu=0.36), STONE, 0.55, 0.10).default
    assert 2.0 < airy.G / GPA < 4.0


@given(
    E=st.tuples(st.floats(0.1, 100), st.floats(0.1, 100)),
    nu=st.tuples(st.floats(0.0, 0.45), st.floats(0.0, 0.45)),
    c=st.floats(0.0, 1.0),
)
def test_bounds_stand_in_order(E, nu, c):
    a, b = (Elastic(E=e * GPA, nu=n) for e, n in zip(E, nu, strict=True))
    lower, upper = hashin_shtrikman(a, b, c)
    assert lower.K <= upper.K * (1 + 1e-9)
    if (a.K - b.K) * (a.G - b.G) >= 0.0:  # the bounds of this paper are for well-ordered phases
        assert lower.G <= upper.G * (1 + 1e-9)
        assert 1 / ((1 - c) / a.K + c / b.K) <= lower.K * (1 + 1e-9)
        assert upper.K <= ((1 - c) * a.K + c * b.K) * (1 + 1e-9)


def test_limits():
    assert mix_modulus(RESIN, STONE, 0.0).default.E == pytest.approx(RESIN.E, rel=1e-12)
    assert mix_modulus(RESIN, STONE, 1.0).default.E == pytest.approx(STONE.E, rel=1e-12)
    same = mix_modulus(STONE, STONE, 0.4)
    for value in (same.lower.E, same.upper.E, same.voigt, same.reuss, same.default.E):
        assert value == pytest.approx(STONE.E, rel=1e-12)
    air = Elastic(E=0.0, nu=0.25)
    assert hashin_shtrikman(air, STONE, 0.6)[0].E == 0.0
    assert reuss(air, STONE, 0.6) == 0.0
    assert with_bubbles(STONE, 0.0).E == pytest.approx(STONE.E, rel=1e-12)
    assert with_bubbles(STONE, 1.0).E == 0.0


def test_bubbles_of_a_dilute_solid_follow_the_exact_slope():
    """Dilute round holes in a solid of Poisson's ratio 0.2: E/E0 = 1 - 2 phi (Mackenzie 1950, from memory)."""
    slope = (with_bubbles(Elastic(E=1.0, nu=0.2), 1e-6).E - 1.0) / 1e-6
    assert slope == pytest.approx(-2.0, rel=1e-4)


def test_modulus_falls_with_air_and_rises_with_grains():
    E = [mix_modulus(RESIN, STONE, 0.6, air).default.E for air in np.linspace(0, 0.3, 13)]
    assert np.all(np.diff(E) < 0.0)
    E = [mix_modulus(RESIN, STONE, c, 0.03).default.E for c in np.linspace(0, 0.9, 13)]
    assert np.all(np.diff(E) > 0.0)


def test_levin():
    """Levin 1967; Rosen & Hashin 1970, at the lower bulk modulus; and its two ends."""
    K = hashin_shtrikman(MATRIX, QUARTZ, 0.6)[0].K
    assert levin(MATRIX, QUARTZ, (60e-6, 12e-6), K) == pytest.approx(2.76353253e-05, rel=1e-7)
    assert levin(MATRIX, QUARTZ, (60e-6, 12e-6), MATRIX.K) == pytest.approx(60e-6)
    assert levin(MATRIX, QUARTZ, (60e-6, 12e-6), QUARTZ.K) == pytest.approx(12e-6)
    with pytest.raises(MixError, match="same"):
        levin(MATRIX, MATRIX, (60e-6, 12e-6), MATRIX.K)


def test_spread_holds_hand_cast_bars():
    """Hand-cast bars were reported at 9 to 15 GPa (plausibility only, no citable source)."""
    found = modulus_spread(RESIN, STONE, (0.60, 0.02), (0.03, 0.015))
    assert found.low < found.median < found.high
    assert found.low / GPA < 9.5
    assert found.high / GPA > 12.0
    assert 0.05 < found.u_ln < 0.4
    again = modulus_spread(RESIN, STONE, (0.60, 0.02), (0.03, 0.015))
    assert np.array_equal(found.draws, again.draws)


def test_density_gives_the_air():
    whole = dry_density(0.65, 2650.0, 1120.0)
    assert voids_from_density(0.96 * whole, whole) == pytest.approx(0.04, rel=1e-9)
    assert voids_from_density(1.01 * whole, whole) == 0.0
    with pytest.raises(MixError, match="denser than its parts"):
        voids_from_density(1.1 * whole, whole)


def test_refusals():
    with pytest.raises(MixError, match="fraction of grains"):
        mix_modulus(RESIN, STONE, 1.2)
    with pytest.raises(MixError, match="fraction of air"):
        mix_modulus(RESIN, STONE, 0.6, 0.7)
    assert from_bulk_and_shear(0.0, 0.0).E == 0.0
    assert "GPa" in repr(mix_modulus(RESIN, STONE, 0.6))
