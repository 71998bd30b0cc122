"""Packing of one and several sizes."""

import math

import numpy as np
import pytest

from strongback.errors import MixError
from strongback.remedies.fill.packing import (
    best_shares,
    furnas,
    furnas_coarse_share,
    largest_grain,
    linear_packing,
    random_close,
    wall_void_fraction,
)


def test_regular_packings_enclose_what_the_void_test_accepts():
    """Verruijt, Soil Mechanics, ch. 3: simple cubic 0.4764, densest 0.2595."""
    assert 1 - math.pi / 6 == pytest.approx(0.4764012244017012, rel=1e-12)
    assert 1 - math.pi / math.sqrt(18) == pytest.approx(0.25951951030693887, rel=1e-12)
    assert 1 - math.pi / math.sqrt(18) < 1 - random_close < 1 - math.pi / 6


def test_random_close_packing_of_berryman():
    """Berryman, Phys. Rev. A 27 (1983): 0.64 ± 0.02."""
    assert random_close == pytest.approx(0.64, abs=0.02)
    assert linear_packing([1e-3], [random_close], [1.0]).solid_fraction == pytest.approx(0.64, rel=1e-12)


def test_furnas_ideal_worked_by_hand():
    """0.60, 0.84, 0.936; coarse share 1/1.4: worked by hand from the stated formula."""
    assert [furnas(0.6, n) for n in (1, 2, 3)] == pytest.approx([0.6, 0.84, 0.936], rel=1e-12)
    assert furnas_coarse_share(0.6) == pytest.approx(0.714, abs=5e-4)


def test_very_different_sizes_reach_the_ideal():
    y = furnas_coarse_share(0.6)
    found = linear_packing([1.0, 1e-9], [0.6, 0.6], [y, 1 - y])
    assert found.solid_fraction == pytest.approx(furnas(0.6, 2), rel=1e-3)
    assert found.ideal == pytest.approx(0.84, rel=1e-9)


@pytest.mark.parametrize("share", [0.0, 0.2, 0.5, 0.9, 1.0])
def test_equal_sizes_pack_as_one(share):
    assert linear_packing([2e-3, 2e-3], [0.61, 0.61], [share, 1 - share]).solid_fraction == pytest.approx(
        0.61, rel=1e-12
    )


def test_gain_grows_with_the_size_ratio_and_stays_below_the_ideal():
    gains = [best_shares([1.0, 1.0 / r], [0.6, 0.6])[1].solid_fraction for r in (1, 2, 4, 8, 16, 64)]
    assert np.all(np.diff(gains) > 0.0)
    assert gains[0] == pytest.approx(0.6, rel=1e-4)
    assert gains[-1] < 0.84


def test_ratio_of_three_to_four_gives_about_half_the_ideal_gain():
    """Common practice, no source: sizes three to four apart give about half of the ideal gain."""
    gain = best_shares([3.5e-3, 1e-3], [0.6, 0.6])[1].solid_fraction - 0.6
    assert 0.25 < gain / 0.24 < 0.6


def test_mcgeary_steel_shot():
    """R. K. McGeary, J. Am. Ceram. Soc. 44 (1961) 513: shot of one size packs to 0.625; two sizes 7 : 1 to 0.78 and
    very different ones to 0.86 at the most (figures from memory), the linear model within 0.05."""
    seven = best_shares([7.0, 1.0], [0.625, 0.625])[1].solid_fraction
    assert seven == pytest.approx(0.78, abs=0.05)
    far = best_shares([1e4, 1.0], [0.625, 0.625])[1].solid_fraction
    assert far == pytest.approx(0.86, abs=0.02)


def test_order_of_the_bags_does_not_matter():
    a = linear_packing([4e-3, 1e-3, 0.2e-3], [0.6, 0.58, 0.55], [0.5, 0.3, 0.2])
    b = linear_packing([0.2e-3, 4e-3, 1e-3], [0.55, 0.6, 0.58], [0.2, 0.5, 0.3])
    assert a.solid_fraction == pytest.approx(b.solid_fraction, rel=1e-12)
    assert (a.dominant, b.dominant) in {(0, 1), (1, 2), (2, 0)}


def test_best_shares_beat_their_neighbours():
    sizes, betas = [4e-3, 1e-3, 0.15e-3], [0.6, 0.6, 0.58]
    shares, best = best_shares(sizes, betas)
    rng = np.random.default_rng(1)
    for _ in range(200):
        near = np.abs(shares + 0.03 * rng.standard_normal(3))
        assert linear_packing(sizes, betas, near.tolist()).solid_fraction <= best.solid_fraction + 1e-5


def test_largest_grain_against_gap_and_sleeve():
    """A fifth of the gap, a third of the clear space: common practice, no source."""
    assert largest_grain(0.025) == pytest.approx(5e-3)
    assert largest_grain(0.025, 0.009) == pytest.approx(3e-3)


def test_walls_loosen_the_packing():
    free = wall_void_fraction(0.38, 0.0, 1.0, 1.0)
    near = wall_void_fraction(0.38, 4e-3, 0.04 * 0.04 * 0.4, 4 * 0.04 * 0.4)
    assert free == pytest.approx(0.38)
    assert 0.38 < near < 0.5


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (([], [], []), "differ in number"),
        (([1e-3], [0.6, 0.6], [1.0]), "differ in number"),
        (([-1e-3], [0.6], [1.0]), "must be above 0"),
        (([1e-3], [0.1], [1.0]), "must lie between"),
        (([1e-3], [0.6], [0.0]), "all shares are zero"),
    ],
)
def test_refusals(arguments, message):
    with pytest.raises(MixError, match=message):
        linear_packing(*arguments)


def test_a_gap_of_nothing_is_refused():
    with pytest.raises(MixError, match="narrowest gap"):
        largest_grain(0.0)
