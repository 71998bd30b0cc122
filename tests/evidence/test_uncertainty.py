"""Uncertainty against the worked examples of JCGM 100:2008 (the GUM)."""

import math

import numpy as np
import pytest

from strongback.evidence.lines import line
from strongback.evidence.uncertainty import (
    Contribution,
    combine,
    effective_degrees,
    propagate,
    rectangular,
    resolution,
    student,
    triangular,
    type_a,
)

# fmt: off
TEMPERATURES = [
    96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
    100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
]
# fmt: on


def test_twenty_temperatures():
    """JCGM 100:2008, 4.4.3 and Table 1 (from memory): 100.145 °C, s = 1.489 °C, of the mean 0.333 °C."""
    mean, c = type_a(TEMPERATURES)
    assert mean == pytest.approx(100.145, abs=5e-4)
    assert c.u * math.sqrt(20) == pytest.approx(1.489, abs=5e-4)
    assert c.u == pytest.approx(0.333, abs=5e-4)
    assert c.degrees == 19


def test_one_reading_has_no_scatter():
    with pytest.raises(ValueError, match="two or more"):
        type_a([1.0])


def test_shapes_of_ignorance():
    """JCGM 100:2008, 4.3.7, 4.3.9 and F.2.2.1."""
    assert rectangular(1.0) == pytest.approx(1 / math.sqrt(3), rel=1e-12)
    assert triangular(1.0) == pytest.approx(0.40824829, rel=1e-8)
    assert resolution(0.01e-3) == pytest.approx(2.88675135e-6, rel=1e-8)


def test_effective_degrees_of_freedom():
    """JCGM 100:2008, G.4.1 (inputs from memory): u_c = 1.03 %, 19 degrees, U95 = 2.2 %."""
    found = combine(
        Contribution(name=n, u=u, degrees=d) for n, u, d in [("a", 0.25, 9), ("b", 0.57, 4), ("c", 0.82, 14)]
    )
    assert found.u == pytest.approx(1.0295, abs=1e-4)
    assert found.degrees == pytest.approx(18.9987423, rel=1e-8)
    assert student(19) == pytest.approx(2.09, abs=5e-3)
    assert found.half_width() == pytest.approx(2.2, abs=0.05)


def test_end_gauge():
    """JCGM 100:2008, H.1: u_c = 32 nm, 16 degrees of freedom, U99 = 93 nm."""
    d_squares = effective_degrees([(5.8, 24), (3.9, 5), (6.7, 8)])
    assert d_squares == pytest.approx(25.6, rel=0.01)  # the GUM carries unrounded inputs
    assert math.hypot(5.8, 3.9, 6.7) == pytest.approx(9.7, abs=0.05)
    found = combine(
        Contribution(name=n, u=u, degrees=d)
        for n, u, d in [
            ("standard", 25.0, 18),
            ("difference", 9.7, 25.6),
            ("difference of expansion", 2.9, 50),
            ("difference of temperature", 16.6, 2),
        ]
    )
    assert found.u == pytest.approx(32.0, abs=0.5)
    assert int(found.degrees) == 16
    assert student(16, 0.99) == pytest.approx(2.92, abs=5e-3)
    assert student(16, 0.99) * 32.0 == pytest.approx(93.0, abs=0.5)


def test_resistance_and_reactance():
    """JCGM 100:2008, H.2, Table H.3: correlated means of voltage, current and phase."""
    V = [5.007, 4.994, 5.005, 4.990, 4.999]
    current = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3]
    phase = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]
    data = np.array([V, current, phase])

    def impedance(inputs):
        v, i, phi = inputs
        return np.array([v / i * np.cos(phi), v / i * np.sin(phi), v / i])

    results, covariance = propagate(impedance, data.mean(axis=1), np.cov(data) / 5)
    u = np.sqrt(np.diag(covariance))
    np.testing.assert_allclose(results, [127.732, 219.847, 254.260], atol=6e-4)
    # The GUM prints 0.071, 0.295 and 0.236, from inputs rounded before they are combined.
    np.testing.assert_allclose(u, [0.071, 0.295, 0.236], rtol=0.006)
    correlation = covariance / np.outer(u, u)
    assert correlation[0, 1] == pytest.approx(-0.588, abs=2e-3)  # Table H.3, from memory
    assert correlation[0, 2] == pytest.approx(-0.485, abs=2e-3)
    assert correlation[1, 2] == pytest.approx(0.993, abs=2e-3)


def test_calibration_of_a_thermometer():
    """JCGM 100:2008, H.3.4: line through the corrections of a thermometer."""
    t = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511])
    b = np.array([-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160])
    fit = line(t - 20.0, b)
    assert fit.intercept == pytest.approx(-0.1712, abs=5e-5)
    assert fit.u_intercept == pytest.approx(0.0029, abs=5e-5)
    assert fit.slope == pytest.approx(0.00218, abs=5e-6)
    assert fit.u_slope == pytest.approx(0.00067, abs=5e-6)
    assert fit.correlation == pytest.approx(-0.930, abs=5e-4)
    assert fit.residual == pytest.approx(0.0035, abs=5e-5)


@pytest.mark.parametrize(
    ("degrees", "level", "factor"),
    [
        (2, 0.95, 4.30),
        (4, 0.95, 2.78),
        (5, 0.95, 2.57),
        (9, 0.95, 2.26),
        (2, 0.9545, 4.53),
        (4, 0.9545, 2.87),
        (5, 0.9545, 2.65),
        (9, 0.9545, 2.32),
        (math.inf, 0.95, 1.96),
    ],
)
def test_students_factor(degrees, level, factor):
    """JCGM 100:2008, Table G.2."""
    assert student(degrees, level) == pytest.approx(factor, abs=5.1e-3)


def test_known_contributions_have_no_bound_on_degrees():
    found = combine([Contribution(name="a", u=3.0), Contribution(name="b", u=4.0)])
    assert found.u == 5.0
    assert found.degrees == math.inf
    assert found.interval(10.0)[1] == pytest.approx(10 + 1.959963985 * 5)
    assert "a 3" in repr(found)
