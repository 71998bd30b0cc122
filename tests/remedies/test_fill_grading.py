"""Grading curves and the fit of bags to them."""

import itertools

import numpy as np
import pytest

from strongback.errors import MixError
from strongback.remedies.fill.grading import Bag, andreasen, blend, dinger_funk, fuller, mean_size, passing_of

MM = 1e-3


def narrow(name, low, high, **kw):
    return Bag(name=name, sizes=(low * MM, high * MM), passing=(0.0, 1.0), **kw)


def test_dinger_funk_worked_by_hand():
    """D 4 mm, d_min 0.063 mm, q 0.37: 0.71, 0.49, 0.32, 0.18, 0.08; worked by hand from the stated formula."""
    curve = dinger_funk(0.063 * MM, 4 * MM, 0.37)
    wanted = [0.71, 0.49, 0.32, 0.18, 0.08]
    assert curve(np.array([2, 1, 0.5, 0.25, 0.125]) * MM) == pytest.approx(wanted, abs=0.005)
    assert curve(4 * MM) == pytest.approx(1.0)
    assert curve(0.063 * MM) == pytest.approx(0.0, abs=1e-12)
    assert curve(0.01 * MM) == 0.0


def test_fuller_is_andreasen_of_one_half_and_dinger_funk_of_no_smallest_grain():
    d = np.geomspace(0.05, 4, 20) * MM
    assert fuller(4 * MM)(d) == pytest.approx(andreasen(4 * MM, 0.5)(d))
    assert dinger_funk(1e-12, 4 * MM, 0.5)(d) == pytest.approx(fuller(4 * MM)(d), abs=1e-4)


def test_bags_made_from_the_curve_give_their_shares_back():
    """Bags cut out of the target itself: the exact shares are the steps of the curve between the cuts."""
    target = dinger_funk(0.063 * MM, 4 * MM)
    cuts = np.array([0.063, 0.25, 1.0, 4.0]) * MM
    bags = []
    for low, high in itertools.pairwise(cuts):
        d = np.geomspace(low, high, 60)
        own = (target(d) - target(low)) / (target(high) - target(low))
        bags.append(Bag(name=f"{low}", sizes=tuple(d), passing=tuple(np.clip(own, 0, 1))))
    found = blend(bags, target)
    wanted = np.diff(target(cuts))
    assert [share for _, share in found.volume_shares] == pytest.approx(wanted, abs=2e-3)
    assert found.rms < 1e-3
    assert found.warnings == ()


def test_three_suitable_bags_stay_within_three_per_cent():
    bags = [narrow("coarse", 1.0, 4.0), narrow("middle", 0.25, 1.0), narrow("fine", 0.063, 0.25)]
    found = blend(bags, dinger_funk(0.063 * MM, 4 * MM))
    assert found.rms <= 0.03
    assert sum(share for _, share in found.volume_shares) == pytest.approx(1.0, abs=1e-12)


def test_an_unneeded_bag_is_left_out_and_a_missing_size_is_named():
    bags = [narrow("coarse", 1.0, 4.0), narrow("gravel", 8.0, 16.0)]
    found = blend(bags, dinger_funk(0.063 * MM, 4 * MM))
    assert dict(found.volume_shares)["gravel"] == pytest.approx(0.0, abs=1e-9)
    assert any("gravel" in w for w in found.warnings)
    assert any("more grains below" in w for w in found.warnings)


def test_denser_grains_weigh_more():
    bags = [narrow("coarse", 1.0, 4.0, density=3900.0), narrow("fine", 0.063, 1.0, density=2650.0)]
    found = blend(bags, dinger_funk(0.063 * MM, 4 * MM))
    volume, mass = dict(found.volume_shares)["coarse"], dict(found.mass_shares)["coarse"]
    assert mass == pytest.approx(volume * 3900 / (volume * 3900 + (1 - volume) * 2650))


def test_mean_size_and_passing():
    bag = narrow("b", 1.0, 4.0)
    assert mean_size(bag) == pytest.approx(2 * MM)
    assert passing_of(bag, np.array([0.5, 2.0, 8.0]) * MM) == pytest.approx([0.0, 0.5, 1.0])


@pytest.mark.parametrize(
    ("kw", "message"),
    [
        ({"sizes": (1e-3,), "passing": (1.0,)}, "at least two sieve sizes"),
        ({"sizes": (1e-3, 1e-3), "passing": (0.0, 1.0)}, "must rise"),
        ({"sizes": (1e-3, 2e-3), "passing": (1.0, 0.0)}, "rise from 0 or more to 1"),
        ({"sizes": (1e-3, 2e-3), "passing": (0.0, 0.9)}, "rise from 0 or more to 1"),
        ({"sizes": (1e-3, 2e-3), "passing": (0.0, 1.0), "void_fraction": 0.8}, "void fraction"),
        ({"sizes": (1e-3, 2e-3), "passing": (0.0, 1.0), "density": -1.0}, "density"),
    ],
)
def test_bag_refusals(kw, message):
    with pytest.raises(MixError, match=message):
        Bag(name="b", **kw)


def test_curve_and_blend_refusals():
    with pytest.raises(MixError, match="not below the largest"):
        dinger_funk(4e-3, 1e-3)
    with pytest.raises(MixError, match="exponent q"):
        andreasen(4e-3, 3.0)
    with pytest.raises(MixError, match="no bags"):
        blend([], fuller(4e-3))
