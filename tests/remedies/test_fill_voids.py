"""Void tests, their uncertainty and their refusals."""

import math

import pytest

from strongback.errors import MixError
from strongback.remedies.fill.interval import coverage_factor, interval_of
from strongback.remedies.fill.voids import VoidTest, by_volumes, void_fraction, void_ratio


def test_water_and_weight_of_a_litre_worked_by_hand():
    """1690 g and 352 g in 1 L, quartz 2650 kg/m³: worked by hand from the mass balance."""
    found = void_fraction([VoidTest(volume=1e-3, grains=1.690, water=0.352)], 2650.0, water_density=1000.0)
    assert found.by_weight.value == pytest.approx(1 - 1.690 / 2.650, rel=1e-12)
    assert found.by_weight.value == pytest.approx(0.362, abs=5e-4)
    assert found.by_water.value == pytest.approx(0.352, rel=1e-12)
    assert found.trapped_air == pytest.approx(0.010, abs=5e-4)
    assert found.void_fraction == found.by_weight
    assert not any("2 %" in w for w in found.warnings)


@pytest.mark.parametrize(("bulk", "water", "expected"), [(185, 68, 0.3675675676), (175, 55, 0.3142857143)])
def test_poured_water_readings_of_mortar_sand(bulk, water, expected):
    """Volumes from a published note on mortar proportioning (loose and stirred sand)."""
    assert by_volumes(bulk, water) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("e", "n"), [(0.91, 0.4764397905759163), (0.54, 0.35064935064935066)])
def test_void_ratio_of_a_natural_sand(e, n):
    """e_max and e_min published for a uniform sand, Gs 2.65; n = e / (1 + e)."""
    assert void_ratio(e) == pytest.approx(n, rel=1e-12)


def test_packed_sand_takes_two_fifths():
    """Common practice, no source: a packed sand takes about two fifths of its bulk volume of resin."""
    found = void_fraction([VoidTest(volume=1e-3, grains=1.59, water=0.39)], 2650.0)
    assert 0.35 < found.void_fraction.value < 0.45


def test_difference_above_two_per_cent_is_warned_of():
    found = void_fraction([VoidTest(volume=1e-3, grains=1.60, water=0.34)], 2650.0)
    assert any("more than 2 %" in w and "repeat" in w for w in found.warnings)
    other = void_fraction([VoidTest(volume=1e-3, grains=1.75, water=0.40)], 2650.0)
    assert any("ran beside" in w for w in other.warnings)


def test_repeats_by_the_gum():
    """Type A of the mean with n - 1 degrees of freedom (JCGM 100:2008, 4.2 and G.4)."""
    masses = [1.68, 1.70, 1.69]
    found = void_fraction([VoidTest(volume=1e-3, grains=m) for m in masses], 2650.0).by_weight
    scatter = 0.01 / math.sqrt(3) / 2.65
    volume = (1.69 / 2.65) * 0.005 / math.sqrt(3)
    scale = 1e-3 / math.sqrt(12) / 2.65
    assert found.u == pytest.approx(math.sqrt(scatter**2 + volume**2 + scale**2), rel=1e-9)
    assert found.dof == pytest.approx(2 * (found.u / scatter) ** 4, rel=1e-9)
    low, high = interval_of(found)
    assert low < found.value < high
    assert not any(
        "no repeats" in w
        for w in void_fraction([VoidTest(volume=1e-3, grains=m) for m in masses], 2650.0).warnings
    )


def test_one_filling_says_no_repeats():
    assert any("no repeats" in w for w in void_fraction([VoidTest(volume=1e-3, water=0.4)], 2650.0).warnings)


@pytest.mark.parametrize(
    ("tests", "message"),
    [
        ([], "no void test"),
        ([VoidTest(volume=1e-3)], "neither grains nor water"),
        ([VoidTest(volume=-1e-3, water=0.1)], "must be above 0"),
        ([VoidTest(volume=1e-3, grains=2.8)], "do not fit into 1 L"),
        ([VoidTest(volume=1e-3, water=1.2)], "more than the 1 L vessel holds"),
        ([VoidTest(volume=1e-3, grains=2.60)], "outside 0.05 to 0.7"),
        ([VoidTest(volume=1e-3, water=0.8)], "outside 0.05 to 0.7"),
        ([VoidTest(volume=1e-3, water=-0.1)], "must not be negative"),
    ],
)
def test_refusals(tests, message):
    with pytest.raises(MixError, match=message):
        void_fraction(tests, 2650.0)


@pytest.mark.parametrize(
    ("dof", "k"),
    [(2, 4.302652729749462), (4, 2.7764451051977934), (9, 2.262157162798205), (19, 2.0930240544083087)],
)
def test_coverage_factors_of_the_gum(dof, k):
    """JCGM 100:2008 (GUM) Table G.2."""
    assert coverage_factor(dof) == pytest.approx(k, rel=1e-9)
    assert coverage_factor(math.inf) == pytest.approx(1.959963984540054, rel=1e-12)
