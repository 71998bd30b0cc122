"""Gap at the wall and the knee that shows it."""

import numpy as np
import pytest

from strongback.errors import MixError
from strongback.materials import material
from strongback.remedies.fill.gap import find_knee, gap_at_wall


@pytest.mark.parametrize(
    ("wall", "shrinkage", "gap"),
    [
        ("aluminium", 3e-4, -2.4),
        ("steel", 3e-4, 15.2),
        ("grey iron GJL-250", 3e-4, 15.7),
        ("aluminium", 1e-3, 25.6),
        ("steel", 1e-3, 43.2),
    ],
)
def test_gap_worked_by_hand(wall, shrinkage, gap):
    """Half-width 40 mm, fill 14e-6/K, cure 40 K above room: worked by hand from the stated formula."""
    found = gap_at_wall(0.04, shrinkage, 14e-6, material(wall), 40.0)
    assert found.gap * 1e6 == pytest.approx(gap, abs=0.05)
    assert found.gap == pytest.approx(found.from_shrinkage + found.from_cooling, rel=1e-12)
    assert found.closed is (gap < 0)


def staircase(gap, rng, noise=0.7e-6, soft=0.15e-6, stiff=0.09e-6, top=250.0):
    """Invented: a wall of 0.15 µm/N that meets its core when the gauge has moved by the gap."""
    F = np.tile(np.linspace(25, top, 10), 3)
    knee = gap / soft
    y = soft * np.minimum(F, knee) + stiff * np.maximum(F - knee, 0.0)
    return F, y + noise * rng.standard_normal(len(F))


def test_a_gap_of_ten_micrometres_is_found_within_three():
    rng = np.random.default_rng(11)
    found = [find_knee(*staircase(10e-6, rng)) for _ in range(200)]
    errors = np.array([abs(k.gap - 10e-6) for k in found])
    assert all(k.found for k in found)
    assert np.mean(errors < 3e-6) >= 0.95
    covered = np.mean([k.gap_interval[0] <= 10e-6 <= k.gap_interval[1] for k in found])
    assert 0.90 <= covered <= 0.99


def test_no_gap_no_knee():
    rng = np.random.default_rng(12)
    found = [find_knee(*staircase(1.0, rng)) for _ in range(200)]  # contact far beyond the loads
    assert np.mean([k.found for k in found]) <= 0.05
    straight = next(k for k in found if not k.found)
    assert "no knee" in str(straight)


def test_exact_knee():
    F = np.linspace(20, 200, 10)
    y = 0.2e-6 * np.minimum(F, 90.0) + 0.1e-6 * np.maximum(F - 90.0, 0.0)
    found = find_knee(F, y, wall_to_gauge=0.5)
    assert found.found
    assert found.force == pytest.approx(90.0, rel=1e-4)
    assert found.motion == pytest.approx(18e-6, rel=1e-4)
    assert found.gap == pytest.approx(9e-6, rel=1e-4)
    assert (found.soft, found.stiff) == pytest.approx((0.2e-6, 0.1e-6), rel=1e-4)
    assert "knee at 90 N" in str(found)


def test_a_softening_joint_is_not_a_gap():
    F = np.linspace(20, 200, 10)
    y = 0.1e-6 * np.minimum(F, 90.0) + 0.2e-6 * np.maximum(F - 90.0, 0.0)
    assert not find_knee(F, y).found


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: find_knee([1, 2], [1, 2]), "at least six"),
        (lambda: find_knee([-1, 2, 3, 4, 5, 6], [1] * 6), "must not be negative"),
        (lambda: gap_at_wall(0.0, 1e-4, 1e-5, material("steel"), 10.0), "half-width"),
        (lambda: gap_at_wall(0.04, -1e-4, 1e-5, material("steel"), 10.0), "shrinkage"),
        (lambda: gap_at_wall(0.04, 0.3, 1e-5, material("steel"), 10.0), "more than any resin"),
    ],
)
def test_refusals(call, message):
    with pytest.raises(MixError, match=message):
        call()
