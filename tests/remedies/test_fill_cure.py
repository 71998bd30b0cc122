"""Cure: kinetics, modulus against age, and the fit to bars."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from strongback.errors import MixError
from strongback.remedies.fill.cure import (
    REFERENCE,
    CureReading,
    Kinetics,
    Stage,
    arrhenius_ratio,
    degree,
    fit_cure,
    from_pot_life,
    modulus_share,
    time_to_degree,
)

DAY = 86400.0
FIRST_ORDER = Kinetics(k2=0.5 / 3600, ratio=0.02, m=1.0, n=1.0)
TRUE = Kinetics(k2=0.8 / 3600)


def test_arrhenius_between_20_and_30_degrees():
    """57 kJ/mol, as published for the primary amine-epoxy reaction (Thermochim. Acta 447, 2006, 167)."""
    assert float(arrhenius_ratio(57e3, 303.15, 293.15)) == pytest.approx(2.16284416, rel=1e-7)


def test_autocatalytic_closed_form():
    """m = n = 1: t = ln[(k1 + k2 a)/(k1 (1 - a))]/(k1 + k2) (Kamal form): 7.7475367 h at a = 0.5."""
    assert time_to_degree(FIRST_ORDER, 0.5) / 3600 == pytest.approx(7.7475367, rel=1e-7)
    for a in (0.1, 0.3, 0.9, 0.99):
        k1, k2 = 0.01, 0.5
        exact = math.log((k1 + k2 * a) / (k1 * (1 - a))) / (k1 + k2)
        assert time_to_degree(FIRST_ORDER, a) / 3600 == pytest.approx(exact, rel=1e-6)


def test_degree_against_an_ordinary_integrator():
    """Second route: scipy's adaptive integration of da/dt through two temperatures."""
    history = [Stage(duration=8 * 3600, temperature=291.15), Stage(duration=5 * 3600, temperature=318.15)]
    a = 0.0
    for stage in history:
        run = solve_ivp(
            lambda t, y, T=stage.temperature: TRUE.rate(y, T), (0, stage.duration), [a], rtol=1e-9, atol=1e-11
        )
        a = float(run.y[0, -1])
    assert degree(TRUE, history) == pytest.approx(a, rel=1e-5)


def test_order_of_stages_does_not_matter_and_warmth_hurries():
    cold, warm = Stage(duration=DAY, temperature=288.15), Stage(duration=DAY, temperature=308.15)
    assert degree(TRUE, [cold, warm]) == pytest.approx(degree(TRUE, [warm, cold]), rel=1e-12)
    assert degree(TRUE, [cold]) < degree(TRUE, [warm])


def test_modulus_begins_at_gel_and_ends_at_one():
    assert float(modulus_share(0.3)) == 0.0
    assert float(modulus_share(0.58)) == 0.0
    assert float(modulus_share(1.0)) == pytest.approx(1.0)
    assert np.all(np.diff(modulus_share(np.linspace(0.6, 1, 9))) > 0.0)


def test_pot_life_sets_the_rate():
    slow, fast = from_pot_life(3600.0), from_pot_life(1800.0)
    assert fast.k2 == pytest.approx(2 * slow.k2)
    assert time_to_degree(slow, 0.03, 296.15) == pytest.approx(3600.0, rel=1e-9)


def test_a_resin_of_forty_minutes_gels_in_a_few_hours():
    """Data sheets of room-temperature resins, from memory: a plausibility band."""
    assert 3.0 < time_to_degree(from_pot_life(2400.0), 0.58) / 3600 < 8.0


def bars(E, kinetics, days, u, rng=None, temperature=294.15):
    found = []
    for d in days:
        history = (Stage(duration=d * DAY, temperature=temperature),)
        value = E * float(modulus_share(degree(kinetics, history)))
        if rng is not None:
            value *= 1 + u * rng.standard_normal()
        found.append(CureReading(E=value, u=u * value, history=history))
    return found


def test_exact_bars_give_the_truth_back():
    found = fit_cure(bars(13e9, TRUE, [0.5, 1, 2, 4, 7], 0.001), Kinetics(k2=0.5 / 3600), rate_factor=100.0)
    assert found.E_final == pytest.approx(13e9, rel=1e-3)
    assert found.kinetics.k2 == pytest.approx(TRUE.k2, rel=1e-2)


def test_interval_of_the_final_modulus_covers_the_truth():
    rng = np.random.default_rng(7)
    hits = 0
    for _ in range(200):
        readings = bars(13e9, TRUE, [0.7, 1, 2, 3], 0.04, rng)
        found = fit_cure(readings, Kinetics(k2=0.6 / 3600), rate_factor=3.0)
        hits += found.interval[0] <= 13e9 <= found.interval[1]
    assert 0.90 <= hits / 200 <= 0.99


def test_an_early_bar_is_judged():
    fit = fit_cure(bars(13e9, TRUE, [1, 2, 4, 7], 0.02), Kinetics(k2=0.6 / 3600))
    early = bars(13e9, TRUE, [0.6], 0.03)[0]
    assert early.E < 0.9 * 13e9
    assert "as expected" in fit.judge(early)
    soft = CureReading(E=0.6 * early.E, u=0.03 * early.E, history=early.history)
    assert "softer than expected" in fit.judge(soft)
    stiff = CureReading(E=2.0 * early.E, u=0.03 * early.E, history=early.history)
    assert "stiffer than expected" in fit.judge(stiff)


def test_later_bars_narrow_the_interval():
    def width(days):
        low, high = fit_cure(bars(13e9, TRUE, days, 0.04), Kinetics(k2=0.6 / 3600)).interval
        return high / low

    assert width([0.6]) > width([0.6, 1.0]) > width([0.6, 1.0, 3.0, 7.0])


def test_a_prior_on_the_final_modulus_is_used():
    one = bars(13e9, TRUE, [0.6], 0.04)
    free = fit_cure(one, Kinetics(k2=0.6 / 3600))
    held = fit_cure(one, Kinetics(k2=0.6 / 3600), final=(13e9, 0.05))
    assert held.interval[1] / held.interval[0] < free.interval[1] / free.interval[0]
    assert any("1 reading" in w for w in free.warnings)


def test_scatter_beyond_the_stated_uncertainty_widens():
    readings = bars(13e9, TRUE, [1, 2, 3, 4, 5, 7], 0.01)
    shaken = [
        CureReading(E=r.E * (1 + s), u=r.u, history=r.history)
        for r, s in zip(readings, (0.1, -0.1, 0.1, -0.1, 0.1, -0.1), strict=True)
    ]
    calm, rough = (fit_cure(r, Kinetics(k2=0.8 / 3600)) for r in (readings, shaken))
    assert rough.interval[1] - rough.interval[0] > 5 * (calm.interval[1] - calm.interval[0])
    assert any("scatter more" in w for w in rough.warnings)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: Stage(duration=-DAY, temperature=REFERENCE), "cure time -1 d must not be negative"),
        (lambda: Stage(duration=DAY, temperature=20.0), "cure temperature"),
        (lambda: fit_cure([], TRUE), "no test bar"),
        (lambda: fit_cure([CureReading(E=-1.0, u=1.0, history=())], TRUE), "modulus of a test bar"),
        (lambda: fit_cure([CureReading(E=1e9, u=0.0, history=())], TRUE), "uncertainty of a test bar"),
        (lambda: from_pot_life(0.0), "pot life"),
    ],
)
def test_refusals(call, message):
    with pytest.raises(MixError, match=message):
        call()


def test_default_kinetics_against_their_closed_form():
    """Kamal with m = 1, n = 2, k1/k2 = 0.02, by partial fractions:
    (1 + r)² k2 t = ln((r + a)/r) - ln(1 - a) + (1 + r) a/(1 - a)."""
    r, k2 = 0.02, 1e-4
    for a in (0.03, 0.2, 0.5, 0.8, 0.99, 0.9999):
        exact = (math.log((r + a) / r) - math.log1p(-a) + (1 + r) * a / (1 - a)) / ((1 + r) ** 2 * k2)
        assert time_to_degree(Kinetics(k2=k2), a) == pytest.approx(exact, rel=3e-6)
    warm = math.exp(57e3 / 8.31446261815324 * (1 / 293.15 - 1 / 313.15))
    assert time_to_degree(Kinetics(k2=k2), 0.5, 313.15) * warm == pytest.approx(
        time_to_degree(Kinetics(k2=k2), 0.5), rel=1e-12
    )


def test_degrees_that_are_never_reached_are_refused():
    with pytest.raises(MixError, match="degree of cure"):
        time_to_degree(TRUE, 0.99995)


def test_rate_is_the_formula():
    """(k1 + k2 a^m)(1 - a)^n, nothing once all is cured; m and n unlike one and each other."""
    odd = Kinetics(k2=2e-4, ratio=0.05, m=1.5, n=2.5)
    a = np.array([0.0, 0.3, 0.6])
    expected = 2e-4 * (0.05 + np.array([0.0, 0.3**1.5, 0.6**1.5])) * (1 - a) ** 2.5
    np.testing.assert_allclose(odd.rate(a, REFERENCE), expected, rtol=1e-12)
    assert odd.rate(np.array([1.0, 1.2, -0.1]), REFERENCE).tolist() == pytest.approx([0.0, 0.0, 1e-5 * 1.0])
    run = solve_ivp(lambda t, y: odd.rate(y, REFERENCE), (0, 2 * DAY), [0.0], rtol=1e-10, atol=1e-13)
    stage = [Stage(duration=2 * DAY, temperature=REFERENCE)]
    assert degree(odd, stage) == pytest.approx(run.y[0, -1], rel=1e-6)


def test_bars_that_are_fully_cured_say_nothing_of_the_rate():
    """What is known of the rate is then the prior alone: a factor of three in 95 of 100 cases, ln 3/1.96; and E_final is
    the weighted mean, with the standard uncertainty of a mean of two."""
    old = (Stage(duration=4000 * DAY, temperature=REFERENCE),)
    bars = [CureReading(E=20e9, u=1e9, history=old), CureReading(E=22e9, u=1e9, history=old)]
    for given, factor in (({}, 3.0), ({"rate_factor": 2.0}, 2.0)):
        found = fit_cure(bars, TRUE, **given)
        assert math.sqrt(found.covariance[1, 1]) == pytest.approx(math.log(factor) / 1.959964, rel=1e-3)
        assert found.E_final == pytest.approx(21e9, rel=1e-3)
        assert math.sqrt(found.covariance[0, 0]) == pytest.approx(1 / 21 / math.sqrt(2), rel=1e-2)
        assert found.chi2 == pytest.approx(2.0, rel=1e-2)  # one standard uncertainty off, each
        value, low, high = found.expected(old)
        assert value == pytest.approx(found.E_final, rel=1e-2)
        assert math.log(high / low) == pytest.approx(2 * 1.959964 / 21 / math.sqrt(2), rel=2e-2)


def test_interval_of_a_young_bar_follows_from_the_rate():
    """To first order: variance of ln E from those of ln E_final and ln k2 with d ln E/d ln k2 = rate t/(a - a_gel), from
    the kinetics themselves."""
    times = [3 * DAY, 10 * DAY, 60 * DAY]
    bars = []
    for t in times:
        stage = (Stage(duration=t, temperature=REFERENCE),)
        E = 30e9 * float(modulus_share(degree(TRUE, stage)))
        bars.append(CureReading(E=E, u=0.05 * E, history=stage))
    found = fit_cure(bars, TRUE)
    age = 2.5 * DAY
    young = (Stage(duration=age, temperature=REFERENCE),)
    a = degree(found.kinetics, young)
    slope = float(found.kinetics.rate(np.array(a), REFERENCE)) * age / (a - 0.58)
    s = np.array([1.0, slope])
    value, low, high = found.expected(young)
    assert value == pytest.approx(30e9 * (a - 0.58) / 0.42, rel=1e-6)
    assert math.log(high / value) == pytest.approx(math.log(value / low), rel=1e-9)
    assert math.log(high / value) == pytest.approx(1.959964 * math.sqrt(s @ found.covariance @ s), rel=1e-3)
    half = (high - value) + 1.96 * 1e8
    for E, word in (
        (value, "as expected"),
        (value + 0.99 * half, "as expected"),
        (value + 1.01 * half, "stiffer than expected"),
        (low - 0.99 * 1.96e8, "as expected"),
        (low - 1.01 * 1.96e8, "softer than expected"),
    ):
        said = found.judge(CureReading(E=E, u=1e8, history=young))
        assert f"{E / 1e9:.1f} GPa is {word} at this age: {value / 1e9:.1f} GPa" in said
        assert f"({low / 1e9:.1f} to {high / 1e9:.1f}), {value / 30e9:.0%} of the final 30.0 GPa" in said


def test_what_the_fit_warns_of():
    """Few bars, bars too young, a rate far from the one expected, and scatter: each by itself, at its threshold."""

    def bar(days, share=1.0, u=0.02, k2=TRUE.k2):
        stage = (Stage(duration=days * DAY, temperature=REFERENCE),)
        E = 30e9 * float(modulus_share(degree(Kinetics(k2=k2), stage)))
        return CureReading(E=E * share, u=u * E, history=stage)

    assert fit_cure([bar(5), bar(20), bar(60)], TRUE).warnings == ()
    assert "2 reading(s)" in fit_cure([bar(5), bar(60)], TRUE).warnings[0]
    (young,) = fit_cure([bar(0.35), bar(0.4), bar(0.5)], TRUE).warnings
    assert young.startswith("the oldest bar has reached")
    slow = TRUE.k2 / 5
    far = fit_cure([bar(2, k2=slow), bar(5, k2=slow), bar(60, k2=slow)], TRUE, rate_factor=2.0).warnings
    assert any(text.startswith("the cure runs far from the rate") for text in far)
    near = fit_cure([bar(2, k2=slow), bar(5, k2=slow), bar(60, k2=slow)], TRUE, rate_factor=8.0).warnings
    assert near == ()
    loose = fit_cure([bar(20, 0.9), bar(40, 1.1), bar(60, 0.9), bar(90, 1.1)], TRUE)
    assert any("scatter more" in text for text in loose.warnings)
    assert loose.dof == 2
    scale = loose.chi2 / 2
    tight = fit_cure([bar(20), bar(40), bar(60), bar(90)], TRUE)
    assert loose.covariance[0, 0] / tight.covariance[0, 0] == pytest.approx(scale, rel=0.3)
