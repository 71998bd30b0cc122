"""Reduction of readings; all data invented."""

import math

import numpy as np
import pytest
from certified_data import read_anova
from scipy.stats import f_oneway, linregress

from strongback.evidence.readings import Instrument, Reading, state_differences
from strongback.evidence.reduce import reduce
from strongback.evidence.uncertainty import student

UM = 1e-6


def row(value, *, load=100.0, pull="side", gauge="top", **more):
    return Reading(pull=pull, gauge=gauge, load=load, loaded=value * UM, **more)


def log(rng, *, truth=40.0, set_ups=3, repeats=3, between=1.2, within=0.7, gauge="top", step=0.0, load=100.0):
    rows = []
    for s in range(set_ups):
        shift = rng.normal(0.0, between)
        for r in range(repeats):
            value = truth + shift + rng.normal(0.0, within)
            value = round(value / step) * step if step else value
            rows.append(row(value, gauge=gauge, load=load, set_up=str(s), repeat=r, row=len(rows) + 2))
    return rows


def test_drift_is_taken_off_and_named():
    readings = [
        Reading(
            pull="side",
            gauge="top",
            load=100.0,
            zero_before=2 * UM,
            loaded=45 * UM,
            zero_after=8 * UM,
            repeat=i,
        )
        for i in range(3)
    ]
    m = reduce(readings).measured[0]
    assert m.value == pytest.approx(40 * UM)
    assert m.closure == pytest.approx(6 * UM)
    drift = {c.name: c.u for c in m.uncertainty.contributions}["drift"]
    assert drift == pytest.approx(3 * UM / math.sqrt(3))  # half-width 3 µm, rectangular
    assert any("zero moves" in flag for flag in m.flags)


def test_scatter_of_one_series_is_the_certified_analysis():
    """NIST StRD SiRstv: set-ups in place of instruments; 196 ohm taken as 196 µm."""
    certified, groups = read_anova("SiRstv")
    rows = [row(v, set_up=str(i), repeat=j) for i, group in enumerate(groups) for j, v in enumerate(group)]
    campaign = reduce(rows, Instrument(u_load=0.0, u_angle=0.0, resolution=0.01 * UM))
    _, mean_between, F, _, mean_within, _, residual = certified
    assert campaign.scatter.reading / UM == pytest.approx(residual, rel=1e-9)
    assert campaign.scatter.set_up / UM == pytest.approx(
        math.sqrt((mean_between - mean_within) / 5), rel=1e-6
    )
    assert mean_between / mean_within == pytest.approx(F)
    assert campaign.scatter.reading_degrees == 20
    # The mean of k balanced set-ups has the variance of their mean square over all readings.
    assert (campaign.measured[0].uncertainty.u / UM) ** 2 == pytest.approx(mean_between / 25, rel=1e-6)


def test_analysis_agrees_with_scipy():
    rng = np.random.default_rng(1)
    rows = log(rng, set_ups=4, repeats=5)
    campaign = reduce(rows)
    groups = [[r.value / UM for r in rows if r.set_up == str(s)] for s in range(4)]
    F = f_oneway(*groups).statistic
    scatter = campaign.scatter
    assert 1 + 5 * (scatter.set_up / scatter.reading) ** 2 == pytest.approx(F, rel=1e-9)


def coverage(set_ups, repeats, campaigns=2000, **more):
    """How often the interval of the only series covers the truth of 40 µm."""
    rng = np.random.default_rng(7)
    instrument = Instrument(u_load=0.0, u_angle=0.0, resolution=0.1 * UM, **more)
    hits = 0
    for _ in range(campaigns):
        m = reduce(log(rng, set_ups=set_ups, repeats=repeats), instrument).measured[0]
        low, high = m.uncertainty.interval(m.value)
        hits += low <= 40 * UM <= high
    return hits / campaigns


def test_three_repeats_in_three_set_ups_cover():
    """A new set-up for each repeat restores the 95 %: Student's interval is exact here."""
    assert 0.935 <= coverage(3, 1) <= 0.965


def test_repeats_within_set_ups_cover_too():
    """Balanced set-ups with repeats, where the scatter of set-ups must not be lost."""
    assert coverage(4, 3) >= 0.93


def test_one_set_up_would_not_cover_without_the_assumed_scatter():
    """Set-up scatter 1.2 µm, reading scatter 0.7 µm: repeats in one set-up alone cover about 70 %."""
    assert coverage(1, 3, campaigns=1000, set_up=1e-12) < 0.8
    assert coverage(1, 3, campaigns=1000, set_up=1.2 * UM) > 0.93


def test_one_set_up_is_flagged_and_its_scatter_assumed():
    m = reduce(log(np.random.default_rng(2), set_ups=1)).measured[0]
    assert any("one set-up only" in flag for flag in m.flags)
    assert "set-up scatter (assumed)" in [c.name for c in m.uncertainty.contributions]


def test_one_reading_only():
    m = reduce([row(40.0)]).measured[0]
    assert m.value == pytest.approx(40 * UM)
    assert any("no repeats" in flag for flag in m.flags)
    # Resolution of loaded reading and mean of two zeros, and the assumed set-up scatter of 1 µm.
    expected = math.hypot(
        1 * UM, UM / math.sqrt(12) * math.sqrt(1.5), 0.005 * 40 * UM, 40 * UM * 0.5 * math.radians(1) ** 2
    )
    assert m.uncertainty.u == pytest.approx(expected, rel=1e-9)


def test_all_repeats_equal_keep_the_resolution():
    m = reduce([row(3.0, set_up=str(i)) for i in range(4)]).measured[0]
    assert any("all repeats equal" in flag for flag in m.flags)
    assert any("below 5 steps" in flag for flag in m.flags)
    assert m.uncertainty.u >= UM / math.sqrt(12)


def test_loads_are_brought_to_the_largest():
    rows = [row(0.4 * F, load=F, repeat=i) for F in (25.0, 50.0, 75.0, 100.0) for i in range(3)]
    m = reduce(rows).measured[0]
    assert m.load == 100.0
    assert m.value == pytest.approx(40 * UM)
    assert m.compliance == pytest.approx(0.4 * UM)
    assert m.linearity.change == pytest.approx(0.0, abs=1e-12)
    assert not m.linearity.clear


def test_a_staircase_that_stiffens_is_flagged():
    rng = np.random.default_rng(3)
    rows = [
        row(0.4 * F * (1 - 0.002 * F) + rng.normal(0, 0.2), load=F, repeat=i, set_up=s)
        for F in (25.0, 50.0, 75.0, 100.0)
        for i in range(3)
        for s in "ab"
    ]
    m = reduce(rows).measured[0]
    # Compliance 0.4 (1 - 0.002 F): 0.38 at 25 N, 0.32 at 100 N.
    assert m.linearity.change == pytest.approx(0.32 / 0.38 - 1, abs=3 * m.linearity.u)
    assert m.linearity.clear
    assert any("stiffens with load" in flag for flag in m.flags)


def test_slope_of_compliance_is_a_weighted_regression():
    """One set-up, equal loads squared taken as weights: compare with a regression on rows repeated by weight."""
    loads, values = [10.0, 20.0, 30.0], [4.1, 7.7, 12.6]
    m = reduce([row(v, load=F) for F, v in zip(loads, values, strict=True)]).measured[0]
    x = np.repeat(loads, [1, 4, 9])
    y = np.repeat(np.divide(values, loads), [1, 4, 9])
    fit = linregress(x, y)
    at = fit.intercept + fit.slope * np.array([10.0, 30.0])
    assert m.linearity.change == pytest.approx(at[1] / at[0] - 1, rel=1e-9)


def test_loop_width_from_branches():
    rows = [
        row(20.0 + (3.0 if b == "down" else 0.0), load=50.0, branch=b, repeat=i)
        for b in ("up", "down")
        for i in range(2)
    ]
    assert reduce(rows).measured[0].loop_width == pytest.approx(3 * UM)


def test_loop_width_from_both_directions():
    rows = [
        Reading(pull="side", gauge="top", load=s * 100.0, loaded=s * 40 * UM, zero_after=(0.5 + s * 2.0) * UM)
        for s in (1, -1)
    ]
    m = reduce(rows).measured[0]
    assert m.loop_width == pytest.approx(2 * UM)
    assert m.closure == pytest.approx(0.5 * UM)


def test_one_direction_cannot_tell_the_loop_from_drift():
    assert reduce([row(20.0)]).measured[0].loop_width is None


def test_zero_load_is_set_aside_and_the_rest_used():
    campaign = reduce([row(20.0, row=2), row(20.0, load=0.0, row=3)])
    assert campaign.set_aside[0].rows == (3,)
    assert "load is zero" in campaign.set_aside[0].reason
    assert campaign.measured[0].repeats == 1


def test_contradictory_signs_are_set_aside_together():
    campaign = reduce([row(20.0, row=2), row(-21.0, row=3, repeat=2), row(9.0, gauge="foot", row=4)])
    assert [m.gauge for m in campaign.measured] == ["foot"]
    assert campaign.set_aside[0].rows == (2, 3)
    assert "contradictory signs" in campaign.set_aside[0].reason


def test_copied_rows_count_once():
    campaign = reduce([row(20.0, row=2), row(20.0, row=3)])
    assert campaign.measured[0].repeats == 1
    assert "same row as row 2" in campaign.set_aside[0].reason


def test_the_same_number_twice_with_other_readings_is_said():
    campaign = reduce([row(20.0, row=2), row(23.0, row=3)])
    assert campaign.measured[0].repeats == 2
    assert "taken as two repeats" in campaign.warnings[0]


def test_a_restless_series_is_named():
    rng = np.random.default_rng(4)
    rows = [r for g in "abcdef" for r in log(rng, gauge=g, within=0.4)]
    rows += log(rng, gauge="loose", within=6.0, repeats=5)
    campaign = reduce(rows)
    restless = [m.gauge for m in campaign.measured if any("scatters more" in f for f in m.flags)]
    assert restless == ["loose"]


def test_a_slanting_cord_is_flagged():
    m = reduce([row(20.0, angle=math.radians(10.0))]).measured[0]
    assert any("17% of the force pulls across" in flag for flag in m.flags)


def test_states_that_differ_are_named_by_field():
    locked = (("gib", "locked"), ("quill", "0 mm"))
    loose = (("gib", "loose"), ("quill", "0 mm"), ("table", "left"))
    before, after = reduce([row(20.0, state=locked)]), reduce([row(18.0, state=loose)])
    found = state_differences(before.measured, after.measured)
    assert [str(d) for d in found] == [
        'state "gib" differs: locked before, loose after',
        'state "table" differs: not noted before, left after',
    ]


def test_states_mixed_within_a_data_set_are_a_warning():
    campaign = reduce([row(20.0, state=(("gib", "a"),)), row(20.0, state=(("gib", "b"),))])
    assert 'state "gib" differs within the data set: a, b' in campaign.warnings
    assert len(campaign.measured) == 2


def test_load_is_common_to_all_readings():
    m = reduce([row(40.0)], Instrument(u_load=0.02)).measured[0]
    common = [c for c in m.uncertainty.contributions if c.common]
    assert [c.name for c in common] == ["load"]
    assert common[0].u == pytest.approx(0.8 * UM)
    assert m.own_u == pytest.approx(math.sqrt(m.uncertainty.u**2 - common[0].u ** 2))


def test_pooling_lends_degrees_of_freedom():
    """Ten series of three set-ups: the interval rests on twenty degrees of freedom, not on two."""
    rng = np.random.default_rng(6)
    rows = [r for g in "abcdefghij" for r in log(rng, gauge=g, repeats=1)]
    m = reduce(rows, Instrument(u_load=0.0, u_angle=0.0)).measured[0]
    assert m.uncertainty.degrees == pytest.approx(20.0)
    assert m.uncertainty.half_width() / m.uncertainty.u == pytest.approx(student(20))


@pytest.mark.parametrize("slip", [1e3, 1e9])
def test_a_load_with_too_many_zeros_spoils_no_other_series(slip):
    """Beside it the other set-ups are read at next to no load: they say nothing of the scatter of set-ups."""
    rng = np.random.default_rng(4)
    good = log(rng, repeats=1, set_ups=4)
    bad = [
        row(40.0 + d, gauge="foot", set_up=str(i), load=100.0 * (slip if i == 1 else 1.0))
        for i, d in enumerate((-1.0, 0.0, 1.0))
    ]
    alone, both = reduce(good).scatter, reduce([*good, *bad]).scatter
    assert (both.set_up, both.set_up_degrees) == (alone.set_up, alone.set_up_degrees)
    assert both.set_up == pytest.approx(np.std([r.loaded for r in good], ddof=1))
