"""The fit against certified data, another minimiser and brute force."""

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

from strongback.errors import NotConvergedError
from strongback.evidence.fit import Problem, fit, profile, skewness
from strongback.evidence.identify import identify

# fmt: off
MISRA_X = np.array([77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0])
MISRA_Y = np.array([10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.4, 75.47, 81.78])
# fmt: on


def misra(b):
    decay = np.exp(-b[1] * 1e-4 * MISRA_X)
    return b[0] * (1 - decay), np.column_stack([1 - decay, b[0] * 1e-4 * MISRA_X * decay])


def problem(model, data, u, n, *, prior=0.0, prior_u=1e6, reach=1e6, inverse=False):
    return Problem(
        model=model,
        data=np.asarray(data, dtype=float),
        u=np.broadcast_to(np.asarray(u, dtype=float), (len(data),)).copy(),
        prior=np.broadcast_to(np.asarray(prior, dtype=float), (n,)).copy(),
        prior_u=np.full(n, float(prior_u)),
        low=np.full(n, -float(reach)),
        high=np.full(n, float(reach)),
        inverse=np.full(n, inverse),
    )


@pytest.mark.parametrize("start", [(500.0, 1.0), (250.0, 5.0)])
def test_misra1a(start):
    """NIST StRD nonlinear regression, Misra1a, from both certified starts (b2 here in 1e-4)."""
    u = 1e-6
    found = fit(problem(misra, MISRA_Y, u, 2, prior_u=1e9), np.array(start))
    scale = math.sqrt(found.chi_squared / 12)
    assert found.x[0] == pytest.approx(238.94212918, rel=1e-8)
    assert found.x[1] == pytest.approx(5.5015643181, rel=1e-8)
    assert found.u[0] * scale == pytest.approx(2.7070075241, rel=1e-6)
    assert found.u[1] * scale == pytest.approx(0.072668688436, rel=1e-6)
    assert found.chi_squared * u**2 == pytest.approx(
        0.12455138894, rel=1e-8
    )  # certified residual sum of squares


def danwood(b):
    x = np.array([1.309, 1.471, 1.490, 1.565, 1.611, 1.680])
    power = x ** b[1]
    return b[0] * power, np.column_stack([power, b[0] * power * np.log(x)])


def mgh09(b):
    x = np.array([4.0, 2.0, 1.0, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625])
    top, bottom = x * x + x * b[1], x * x + x * b[2] + b[3]
    slope = -b[0] * top / bottom**2
    return b[0] * top / bottom, np.column_stack([top / bottom, b[0] * x / bottom, slope * x, slope])


def boxbod(b):
    x = np.array([1.0, 2.0, 3.0, 5.0, 7.0, 10.0])
    decay = np.exp(-b[1] * x)
    return b[0] * (1 - decay), np.column_stack([1 - decay, b[0] * x * decay])


def rat42(b):
    x = np.array([9.0, 14.0, 21.0, 28.0, 42.0, 57.0, 63.0, 70.0, 79.0])
    decay = np.exp(b[1] - b[2] * x)
    slope = -b[0] * decay / (1 + decay) ** 2
    return b[0] / (1 + decay), np.column_stack([1 / (1 + decay), slope, -slope * x])


DANWOOD_Y = [2.138, 3.421, 3.597, 4.340, 4.882, 5.660]
MGH09_Y = [0.1957, 0.1947, 0.1735, 0.1600, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246]
BOXBOD_Y = [109.0, 149.0, 149.0, 191.0, 213.0, 224.0]
RAT42_Y = [8.93, 10.80, 18.59, 22.33, 39.35, 56.11, 61.73, 64.62, 67.08]
DANWOOD_B = [0.76886226176, 3.8604055871]
MGH09_B = [0.19280693458, 0.19128232873, 0.12305650693, 0.13606233068]
BOXBOD_B = [213.80940889, 0.54723748542]
RAT42_B = [72.462237576, 2.6180768402, 0.067359200066]


@pytest.mark.parametrize(
    ("model", "data", "start", "certified", "squares"),
    [
        (danwood, DANWOOD_Y, (1.0, 5.0), DANWOOD_B, 4.3173084083e-3),
        (danwood, DANWOOD_Y, (0.7, 4.0), DANWOOD_B, 4.3173084083e-3),
        (mgh09, MGH09_Y, (0.25, 0.39, 0.415, 0.39), MGH09_B, 3.0750560385e-4),
        (boxbod, BOXBOD_Y, (100.0, 0.75), BOXBOD_B, 1.1680088766e3),
        (rat42, RAT42_Y, (100.0, 1.0, 0.1), RAT42_B, 8.0565229338),
        (rat42, RAT42_Y, (75.0, 2.5, 0.07), RAT42_B, 8.0565229338),
    ],
    ids=["DanWood far", "DanWood near", "MGH09 near", "BoxBOD near", "Rat42 far", "Rat42 near"],
)
def test_certified_regressions_to_1e_8_of_their_parameters(model, data, start, certified, squares):
    """NIST StRD nonlinear regression; scatter as large as that of the residuals, so that a fit could stop at its shadow."""
    u = math.sqrt(squares / len(data))
    found = fit(problem(model, data, u, len(certified), prior_u=1e9), np.array(start))
    np.testing.assert_allclose(found.x, certified, rtol=1e-8)
    assert found.chi_squared * u**2 == pytest.approx(squares, rel=1e-9)


def springs(x):
    """Three springs in series read at three places."""
    A = np.array([[3.0, 0.0, 1.0], [1.0, 2.0, 0.0], [4.0, 2.0, 1.0], [0.5, 0.1, 3.0]])
    parts = A * np.exp(-np.asarray(x))
    return parts.sum(axis=1), -parts


def test_sum_of_compliances_settles_at_once():
    exact, _ = springs([0.5, -1.0, 0.3])
    found = fit(problem(springs, exact, 1e-6, 3, prior_u=1.1, inverse=True, reach=9.0))
    np.testing.assert_allclose(found.x, [0.5, -1.0, 0.3], atol=1e-8)
    assert found.evaluations <= 3


def test_agrees_with_another_minimiser():
    rng = np.random.default_rng(2)
    data = springs([0.5, -1.0, 0.3])[0] + rng.normal(0, 0.3, 4)
    p = problem(springs, data, 0.3, 3, prior_u=0.6, inverse=True, reach=9.0)

    def residuals(x):
        return np.concatenate([(springs(x)[0] - data) / 0.3, x / 0.6])

    other = least_squares(residuals, np.zeros(3), xtol=1e-14, ftol=1e-14, gtol=1e-14)
    found = fit(p)
    np.testing.assert_allclose(found.x, other.x, atol=1e-8)
    np.testing.assert_allclose(found.covariance, np.linalg.inv(other.jac.T @ other.jac), rtol=1e-3)
    assert found.total == pytest.approx(2 * other.cost, rel=1e-8)


def test_bounds_hold_and_are_named():
    exact, _ = springs([2.0, 0.0, 0.0])
    found = fit(problem(springs, exact, 1e-3, 3, prior_u=1.1, inverse=True, reach=1.0))
    assert found.x[0] == pytest.approx(1.0)
    assert found.at_bound.tolist() == [True, False, False]


def brute_profile(data, u, prior_u, index, width, best):
    """Ends of the interval by minimising on a fine grid with another minimiser."""

    def least(value):
        def residuals(rest):
            x = np.insert(rest, index, value)
            return np.concatenate([(springs(x)[0] - data) / u, x / prior_u])

        return 2 * least_squares(residuals, np.delete(best, index), xtol=1e-12).cost

    floor = least(best[index])
    grid = best[index] + np.linspace(-4.0, 4.0, 1601)
    inside = [v for v in grid if least(v) - floor <= width**2]
    return inside[0], inside[-1]


@pytest.mark.slow
def test_profile_against_brute_force():
    """A reading that leaves a spring nearly rigid: the interval is far from symmetric."""
    data = springs([0.5, 2.5, 0.3])[0]
    p = problem(springs, data, 0.25, 3, prior_u=1.1, inverse=True, reach=9.0)
    found = fit(p)
    assert skewness(p, found, 1.96)[1] > 0.15
    low, high = profile(p, found, 1, 1.96)
    expected = brute_profile(data, 0.25, 1.1, 1, 1.96, found.x)
    assert low == pytest.approx(expected[0], abs=0.02)
    assert high == pytest.approx(expected[1], abs=0.02)
    assert high - found.x[1] > 1.2 * (found.x[1] - low)


def test_a_straight_line_has_a_parabola():
    rng = np.random.default_rng(3)
    A = rng.normal(size=(6, 2))
    p = problem(lambda x: (A @ x, A), A @ [1.0, 2.0], 0.1, 2)
    found = fit(p)
    assert skewness(p, found, 2.0).max() < 1e-6
    low, high = profile(p, found, 0, 2.0)
    assert high - low == pytest.approx(4.0 * found.u[0], rel=1e-3)


def test_an_interval_without_end_stops_at_the_bound():
    """No reading feels the second parameter and nothing is known of it."""
    p = problem(lambda x: (x[:1], np.array([[1.0, 0.0]])), [1.0], 0.1, 2, prior_u=1e5, reach=3.0)
    found = fit(p)
    assert profile(p, found, 1, 2.0) == (-3.0, 3.0)


def test_held_parameters_stay():
    exact, _ = springs([0.5, -1.0, 0.3])
    found = fit(
        problem(springs, exact, 1e-3, 3, prior_u=1.1, inverse=True, reach=9.0),
        np.array([0.5, 0.0, 0.3]),
        free=np.array([False, True, False]),
    )
    assert found.x[[0, 2]].tolist() == [0.5, 0.3]
    assert found.x[1] == pytest.approx(-1.0, abs=1e-4)
    assert found.u[0] == 0.0


def test_a_model_that_never_settles_is_an_error():
    """A derivative of the right sign but a thousand times too large: each step is a thousandth of what it should be."""
    with pytest.raises(NotConvergedError, match="did not settle"):
        fit(problem(lambda x: (x.copy(), np.array([[1e3]])), [5.0], 1.0, 1, prior_u=1e9))


# --- identifiability ---


def test_twins_are_named_and_have_no_number():
    S = np.array([[10.0, 10.0, 3.0], [20.0, 20.0, -5.0], [5.0, 5.0, 8.0]])
    found = identify(S, np.array([1.1, 1.1, 1.1]))
    assert found.groups("cannot be separated") == (((0, 1), pytest.approx(1.0)),)
    assert found.determined.tolist() == [False, False, True]
    assert found.weak[0].singular == pytest.approx(0.0, abs=1e-12)
    assert sorted(i for i, _ in found.weak[0].weights) == [0, 1]


def test_learned_fraction_is_the_fall_of_the_variance():
    S = np.array([[2.0, 0.0], [0.0, 0.5]])
    found = identify(S, np.array([1.0, 1.0]))
    np.testing.assert_allclose(found.learned, [4 / 5, 0.25 / 1.25])
    np.testing.assert_allclose(found.singular, [2.0, 0.5])


def test_nearly_parallel_is_weak():
    angle = math.acos(0.97)
    S = 30.0 * np.array([[1.0, math.cos(angle)], [0.0, math.sin(angle)]])
    found = identify(S, np.array([1.0, 1.0]))
    assert found.pairs[0].verdict == "weakly separated"
    assert found.pairs[0].cosine == pytest.approx(0.97)
    assert found.determined.all()


def test_more_unknowns_than_readings():
    found = identify(np.array([[5.0, 0.1, 0.0]]), np.ones(3))
    assert found.determined.tolist() == [True, False, False]
    assert len(found.weak) == 2


def test_a_model_that_bends_the_other_way_is_still_brought_down():
    """Rosenbrock's valley: the stand-in leads uphill at once, and the box around the place brings it to (1, 1)."""

    def valley(x):
        return np.array([10.0 * (x[1] - x[0] ** 2), 1.0 - x[0]]), np.array(
            [[-20.0 * x[0], 10.0], [-1.0, 0.0]]
        )

    found = fit(problem(valley, [0.0, 0.0], 1.0, 2, prior_u=1e6), np.array([-1.2, 1.0]))
    assert found.x == pytest.approx([1.0, 1.0], abs=1e-8)
    bent = fit(problem(valley, [0.0, 0.0], 1.0, 2, prior_u=1e6, inverse=True), np.array([-1.2, 1.0]))
    assert bent.x == pytest.approx([1.0, 1.0], abs=1e-8)


def test_errors_that_data_share_are_generalised_least_squares():
    """Against the closed form (A' V⁻¹ A + P⁻¹)⁻¹ A' V⁻¹ y (JCGM 102; any textbook of linear models)."""
    rng = np.random.default_rng(4)
    A, y, u = rng.normal(size=(12, 3)), rng.normal(size=12), rng.uniform(0.5, 2.0, 12)
    Q = rng.normal(size=(12, 2))
    p = np.full(3, 10.0)
    problem = Problem(
        model=lambda x: (A @ x, A),
        data=y,
        u=u,
        prior=np.zeros(3),
        prior_u=p,
        low=np.full(3, -100.0),
        high=np.full(3, 100.0),
        inverse=np.zeros(3, dtype=bool),
        shared=Q,
    )
    V = np.diag(u**2) + Q @ Q.T
    covariance = np.linalg.inv(A.T @ np.linalg.solve(V, A) + np.diag(p**-2.0))
    x = covariance @ A.T @ np.linalg.solve(V, y)
    found = fit(problem)
    assert found.x == pytest.approx(x, rel=1e-8, abs=1e-10)
    assert found.covariance == pytest.approx(covariance, rel=1e-9)
    r = y - A @ x
    assert found.chi_squared == pytest.approx(r @ np.linalg.solve(V, r), rel=1e-8)
