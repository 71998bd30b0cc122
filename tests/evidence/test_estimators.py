"""Estimators without a model: laws, and a published interval for a ratio. Machine and readings invented."""

import math
from dataclasses import replace

import numpy as np
import pytest
from campaigns import FULL, NAMES, log, mill, truth_of

from strongback.errors import ReadingsError
from strongback.evidence.estimators import chord, foot_ratio, ratio, twist_pair
from strongback.evidence.readings import Instrument, Reading
from strongback.evidence.reduce import reduce
from strongback.evidence.uncertainty import Contribution, combine
from strongback.machine.part.make import parts_of

UM = 1e-6


def measured(*, base=1.0):
    """Values of the full plan on the mill with its base joint made `base` times as stiff."""
    machine = mill()
    x = np.where([p.part == "base joint" for p in NAMES], math.log(base), 0.0)
    exact = truth_of(machine, parts_of(machine), FULL, NAMES, x)
    return reduce(log(FULL, exact))


@pytest.fixture(scope="module")
def stiff():
    return measured()


@pytest.fixture(scope="module")
def soft():
    return measured(base=0.1)


def column_chord(campaign, pull, axis):
    parts = (campaign.find(pull, f"{where} {axis}") for where in ("foot", "middle", "top"))
    return chord(*parts, (0.03, 0.21, 0.46))


@pytest.mark.parametrize(("pull", "axis"), [("top x", "x"), ("top y", "y"), ("sideways", "x"), ("jack", "y")])
def test_chord_is_blind_to_the_base_joint(stiff, soft, pull, axis):
    hard, loose = column_chord(stiff, pull, axis), column_chord(soft, pull, axis)
    moved = soft.find(pull, f"top {axis}").value / stiff.find(pull, f"top {axis}").value
    assert moved > 2.0  # the base matters to the readings themselves
    assert loose.value == pytest.approx(hard.value, rel=0.01)


def test_twist_pair_is_blind_to_the_base_joint(stiff, soft):
    def twist(c):
        head, foot = (
            tuple(c.find("sideways", f"bar {where} {side}") for side in ("right", "left"))
            for where in ("head", "foot")
        )
        return twist_pair(head, foot, (0.3, 0.3))

    assert twist(soft).value == pytest.approx(twist(stiff).value, rel=0.01)
    assert twist(stiff).unit == "rad"


def test_foot_ratio_sees_the_base_joint(stiff, soft):
    found = foot_ratio(soft.find("top y", "foot y"), stiff.find("top y", "foot y"))
    assert found.value > 5.0


def test_chord_carries_the_scatter_of_three_readings():
    def reading(gauge, value):
        return [
            Reading(pull="p", gauge=gauge, load=100.0, loaded=(value + d) * UM, set_up=str(i))
            for i, d in enumerate((-1.0, 0.0, 1.0))
        ]

    instrument = Instrument(u_load=0.0, u_angle=0.0)
    # Of one size: scatter that grows with the reading is then the same in all, and the pooled one is what each has.
    m = reduce(
        [r for g, v in (("a", 20.0), ("b", -20.0), ("c", 20.0)) for r in reading(g, v)], instrument
    ).measured
    found = chord(*m, (0.0, 0.5, 1.0))
    assert found.value == pytest.approx((-20.0 - 20.0) * UM)
    # Each mean has 1/sqrt(3) µm; the chord has factors 1, -1/2, -1/2.
    assert found.u == pytest.approx(UM / math.sqrt(3) * math.sqrt(1.5))


def single(value, u, load=100.0):
    """A value with a standard uncertainty of its own."""
    base = reduce([Reading(pull="p", gauge="g", load=load, loaded=value)]).measured[0]
    return replace(base, uncertainty=combine([Contribution(name="all", u=u)]))


def test_ratio_of_fieller():
    """The ends of Fieller's interval are the R at which after - R before is t standard uncertainties from zero."""
    after, before = single(30 * UM, 2 * UM), single(50 * UM, 3 * UM)
    found = ratio(after, before)
    assert found.value == pytest.approx(0.6)
    for R in (found.low, found.high):
        z = (30 - R * 50) / math.hypot(2.0, R * 3.0)
        assert abs(z) == pytest.approx(1.959963985, rel=1e-9)


def test_ratio_on_nothing_is_open():
    found = ratio(single(30 * UM, 2 * UM), single(2 * UM, 3 * UM))
    assert not found.bounded
    assert math.isinf(ratio(single(30 * UM, UM), single(0.0, UM)).high)


def test_the_same_weight_cancels():
    after = reduce(
        [Reading(pull="p", gauge="g", load=100.0, loaded=300 * UM)], Instrument(u_load=0.1)
    ).measured[0]
    before = reduce(
        [Reading(pull="p", gauge="g", load=100.0, loaded=500 * UM)], Instrument(u_load=0.1)
    ).measured[0]
    assert ratio(after, before).u < 0.01
    assert ratio(after, before, same_load=False).u == pytest.approx(0.6 * 0.1 * math.sqrt(2), rel=0.02)


def test_readings_under_different_loads_are_refused(stiff):
    with pytest.raises(ReadingsError, match="different loads"):
        chord(
            stiff.find("top x", "foot x"),
            stiff.find("sideways", "middle x"),
            stiff.find("top x", "top x"),
            (0, 1, 2),
        )
    with pytest.raises(ReadingsError, match="rise from foot to top"):
        chord(*(stiff.find("top x", f"{w} x") for w in ("foot", "middle", "top")), (0.0, 2.0, 1.0))
    m = stiff.find("top x", "foot x")
    with pytest.raises(ReadingsError, match="distance above 0"):
        twist_pair((m, m), (m, m), (0.3, 0.0))
