"""Certified data sets of NIST StRD (files in `data`, public domain) and published lines."""

import numpy as np
import pytest
from certified_data import DATA, read_anova
from scipy.optimize import least_squares

from strongback.errors import NotConvergedError
from strongback.evidence.anova import anova, components, pooled
from strongback.evidence.lines import line, line_errors_in_both


def digits(found: float, certified: float) -> float:
    """Matching decimal digits: the log relative error of NIST."""
    return 15.0 if found == certified else -np.log10(abs(found - certified) / abs(certified))


@pytest.mark.parametrize(
    ("name", "least"),
    # Of SmLs07 (13 constant digits) the doubles themselves hold no more than this many digits of the answer.
    [("SiRstv", 12), ("AtmWtAg", 8), ("SmLs01", 13), ("SmLs04", 8.5), ("SmLs07", 2)],
)
def test_anova_against_nist(name, least):
    """NIST StRD, analysis of variance."""
    certified, groups = read_anova(name)
    between, mean_between, F, within, mean_within, _, residual = certified
    table = anova(groups)
    assert digits(table.between, between) >= least
    assert digits(table.between / table.between_degrees, mean_between) >= least
    assert digits(table.F, F) >= least
    assert digits(table.within, within) >= least
    assert digits(table.within / table.within_degrees, mean_within) >= least
    assert digits(table.residual, residual) >= least


def test_norris():
    """NIST StRD, linear least squares, Norris."""
    rows = [r.split() for r in (DATA / "Norris.dat").read_text().splitlines()[60:] if r.strip()]
    y, x = np.array(rows, dtype=float).T
    fit = line(x, y)
    assert digits(fit.intercept, -0.262323073774029) > 11
    assert digits(fit.slope, 1.00211681802045) > 13
    assert digits(fit.u_intercept, 0.232818234301152) > 11
    assert digits(fit.u_slope, 0.429796848199937e-3) > 11
    assert digits(fit.residual, 0.884796396144373) > 11


X = np.array([0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
Y = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
WX = np.array([1000.0, 1000.0, 500.0, 800.0, 200.0, 80.0, 60.0, 20.0, 1.8, 1.0])
WY = np.array([1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0])


def test_weights_in_y_only():
    """Pearson's data with York's weights for y: 6.1001093, -0.6108130 (published widely), the rest by the normal
    equations."""
    fit = line(X, Y, WY)
    assert fit.intercept == pytest.approx(6.10010932, rel=1e-8)
    assert fit.slope == pytest.approx(-0.61081296, rel=1e-8)
    assert fit.u_intercept == pytest.approx(0.20466269, rel=1e-7)
    assert fit.u_slope == pytest.approx(0.03008745, rel=1e-7)
    assert fit.chi_squared == pytest.approx(34.345207, rel=1e-7)


def test_errors_in_both_variables():
    """Pearson's data with York's weights: 5.47991022 and -0.480533407 (York 1966; Reed 1989; Neri et al. 1989)."""
    fit = line_errors_in_both(X, Y, WX, WY)
    assert fit.intercept == pytest.approx(5.47991022, rel=1e-8)
    assert fit.slope == pytest.approx(-0.480533407, rel=1e-8)
    assert fit.chi_squared == pytest.approx(11.86635, rel=1e-6)
    # York et al. 2004, Table II (from memory): 0.29193 and 0.05798.
    assert fit.u_intercept == pytest.approx(0.292, abs=5e-3)
    assert fit.u_slope == pytest.approx(0.058, abs=1e-3)


def test_errors_in_both_minimise_the_distance():
    """The line minimises sum (y - a - b x)² / (1/wy + b²/wx), found here by another route."""
    fit = line_errors_in_both(X, Y, WX, WY)
    direct = least_squares(
        lambda p: (Y - p[0] - p[1] * X) / np.sqrt(1 / WY + p[1] ** 2 / WX),
        [5.0, -0.5],
        xtol=1e-15,
        ftol=1e-15,
    )
    np.testing.assert_allclose([fit.intercept, fit.slope], direct.x, rtol=1e-7)


def test_a_line_that_does_not_settle_says_so():
    with pytest.raises(NotConvergedError, match="did not settle"):
        line_errors_in_both(X, Y, WX, WY, iterations=1)


def test_one_value_of_x_makes_no_line():
    with pytest.raises(ValueError, match="two different values"):
        line([1.0, 1.0], [2.0, 3.0])


def test_components_of_variance_are_found_again():
    """Invented scatter: 1.2 between set-ups, 0.7 within; 400 series of three set-ups with three repeats."""
    rng = np.random.default_rng(5)
    tables = [
        anova([(rng.normal(0, 1.2) + rng.normal(0, 0.7, 3)).tolist() for _ in range(3)]) for _ in range(400)
    ]
    within, between = components(pooled(tables))
    assert within == pytest.approx(0.7, rel=0.03)
    assert between == pytest.approx(1.2, rel=0.06)


def test_no_groups_no_analysis():
    assert pooled([]) is None
    with pytest.raises(ValueError, match="two or more groups"):
        anova([[1.0, 2.0]])
