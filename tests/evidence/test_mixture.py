"""Kernels of the mixture against closed forms, quadrature and another minimiser. All numbers invented."""

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq, least_squares, minimize_scalar
from scipy.stats import multivariate_normal, norm

from strongback.evidence.mixture.blend import quantiles, sides, weights
from strongback.evidence.mixture.discrepancy import unknown_discrepancy
from strongback.evidence.mixture.examine import Alternative, examine
from strongback.evidence.mixture.laplace import Prior, fitted, foretold, predicted
from strongback.evidence.two_part import two_parts

UM = 1e-6
PULL = np.array([0, 0, 0, 1, 1, 1])
M, N, SLOTS = 6, 3, 4  # two slots of a pull that is off, one of the model's own


def table(rng, own=0.0):
    """Six readings under two pulls of three springs, in metres."""
    R = np.zeros((M, SLOTS, 1 + N))
    R[:, 0] = UM * rng.uniform(5.0, 30.0, (M, 1 + N))
    R[:, 1:3] = 0.3 * UM * rng.normal(size=(M, 2, 1 + N))
    R[:, 3] = own * UM * rng.normal(size=(M, 1 + N))
    return R


def prior(correlation=0.0):
    u = np.array([0.6, 0.3, 0.1])
    C = np.outer(u, u) * (np.eye(N) + correlation * (1 - np.eye(N)))
    return Prior(factor=np.linalg.cholesky(C), u_load=0.01, pull=PULL)


def unknowns(p):
    return N + 2 + p.pulls * (SLOTS - 2)


@pytest.mark.parametrize("own", [0.0, 1.0])
def test_derivatives(own):
    rng = np.random.default_rng(1)
    p = prior(0.4)
    R, z = table(rng, own)[None], rng.normal(size=(1, unknowns(p)))
    _, J = predicted(R, p, z)
    for k in range(z.shape[1]):
        step = np.zeros_like(z)
        step[0, k] = 1e-5
        slope = (predicted(R, p, z + step)[0] - predicted(R, p, z - step)[0]) / 2e-5
        np.testing.assert_allclose(J[0, :, k], slope[0], atol=1e-9 * UM + 1e-8 * np.abs(slope).max())


def test_models_side_by_side_against_another_minimiser():
    rng = np.random.default_rng(2)
    p, u = prior(0.3), 0.5 * UM
    R = np.stack([table(rng, own) for own in (0.0, 1.0, 3.0)])
    data = predicted(R[:1], p, rng.normal(size=(1, unknowns(p))))[0][0] + u * rng.normal(size=M)
    found = fitted(R, p, data, np.full(M, u**2))
    for k in range(3):

        def residuals(z, k=k):
            return np.concatenate([(data - predicted(R[k : k + 1], p, z[None])[0][0]) / u, z])

        other = least_squares(residuals, np.zeros(unknowns(p)), xtol=1e-14, ftol=1e-14, gtol=1e-14)
        assert found.total[k] == pytest.approx(2 * other.cost, rel=1e-5)
        np.testing.assert_allclose(found.x[k], p.factor @ other.x[:N], atol=2e-3)
        information = np.linalg.inv(other.jac.T @ other.jac)[:N, :N]
        np.testing.assert_allclose(
            found.covariance(p, np.full(M, u**2), k),
            p.factor @ information @ p.factor.T,
            rtol=0.02,
            atol=1e-5,
        )


def linear():
    """No spring that gives: only the slots of pulls and the model's own, so that all is Gaussian but for the load."""
    rng = np.random.default_rng(3)
    R = np.zeros((M, SLOTS, 1 + N))
    R[:, :, 0] = UM * rng.normal(size=(M, SLOTS)) * np.array([20.0, 0.5, 0.8, 3.0])
    p = Prior(factor=prior().factor, u_load=1e-9, pull=PULL)
    spread = np.zeros((M, 5))
    for pull in range(2):
        rows = pull == PULL
        spread[rows, 2 * pull : 2 * pull + 2] = R[rows][:, 1:3, 0]
    spread[:, 4] = R[:, 3, 0]
    return R, p, spread, R[:, 0, 0] + spread @ rng.normal(size=5)


def test_evidence_of_a_gaussian_model_is_exact():
    R, p, spread, data = linear()
    variance = (np.arange(1, M + 1) * 0.2 * UM) ** 2
    exact = multivariate_normal(R[:, 0, 0], spread @ spread.T + np.diag(variance)).logpdf(data)
    constant = -0.5 * M * math.log(2 * math.pi)
    assert fitted(R[None], p, data, variance).evidence[0] == pytest.approx(exact - constant, abs=1e-6)
    assert foretold(R[None], p, data, variance)[0] == pytest.approx(exact - constant, abs=1e-6)


def test_evidence_of_one_spring_against_quadrature():
    """y = a + c exp(-x): ln Z by Laplace beside the integral over x."""
    p = Prior(factor=np.array([[0.5]]), u_load=1e-9, pull=np.zeros(2, dtype=int))
    R = np.zeros((1, 2, 2, 2))
    R[0, :, 0] = UM * np.array([[3.0, 10.0], [1.0, 20.0]])
    data, u = UM * np.array([12.0, 24.0]), 1.0 * UM

    def density(x):
        y = R[0, :, 0, 0] + R[0, :, 0, 1] * math.exp(-x)
        return norm.pdf(x, scale=0.5) * math.exp(-0.5 * (((data - y) / u) ** 2).sum())

    whole = quad(density, -2.0, 2.0, epsabs=0, epsrel=1e-9, points=[0.0])[0]
    found = fitted(R, p, data, np.full(2, u**2)).evidence[0] + 2 * math.log(u)
    assert found == pytest.approx(math.log(whole), abs=0.01)


def test_a_soft_spring_has_an_interval_with_two_sides():
    """Ends of the profile against those where the sum of squares of one spring rises by width squared."""
    p = Prior(factor=np.array([[1.1]]), u_load=1e-9, pull=np.zeros(1, dtype=int))
    R = np.zeros((1, 1, 2, 2))
    R[0, 0, 0] = UM * np.array([0.0, 4.0])
    data, u = np.array([3.0 * UM]), 1.0 * UM

    def S(x):
        return float(((data[0] - 4.0 * UM * math.exp(-x)) / u) ** 2 + (x / 1.1) ** 2)

    best = minimize_scalar(S, bounds=(-3, 3), method="bounded", options={"xatol": 1e-12}).x
    ends = [brentq(lambda x: S(x) - S(best) - 4.0, best, best + way * 6.0) for way in (-1.0, 1.0)]
    found = fitted(R, p, data, np.array([u**2]))
    sd = np.sqrt(found.covariance(p, np.array([u**2]), 0)).reshape(1, 1)
    left, right = sides(R, p, data, np.array([[u**2]]), found, sd, np.array([0]), 2.0)[0, 0]
    assert found.x[0, 0] == pytest.approx(best, abs=1e-3)
    assert best - 2.0 * left == pytest.approx(ends[0], abs=0.06)
    assert best + 2.0 * right == pytest.approx(ends[1], abs=0.06)
    assert right > 1.15 * left


def test_quantiles_of_a_mixture_against_its_distribution():
    w, c, s = np.array([0.7, 0.3]), np.array([[0.0], [2.0]]), np.array([[1.0], [0.5]])
    levels = np.array([0.025, 0.5, 0.975])
    for level, q in zip(levels, quantiles(w, c, s, s, levels)[0], strict=True):
        assert w @ norm.cdf(q, c[:, 0], s[:, 0]) == pytest.approx(level, abs=1e-9)


def test_weights_survive_large_evidence():
    np.testing.assert_allclose(
        weights(np.array([1e4, 1e4 + 1.0]), np.array([1.0, 1.0])), [1 / (1 + math.e), math.e / (1 + math.e)]
    )


def test_an_unknown_discrepancy_is_found_in_its_size():
    """Readings 5 µm off for no reason, against 0.5 µm of scatter."""
    rng = np.random.default_rng(5)
    p, R = prior(), np.concatenate([table(rng) for _ in range(4)])
    p = Prior(factor=p.factor, u_load=0.01, pull=np.repeat(np.arange(8), 3))
    variance = np.full(24, (0.5 * UM) ** 2)
    clean = R[:, 0].sum(axis=1)
    off = unknown_discrepancy(
        R[None], p, clean + rng.normal(0, 5.0 * UM, 24), variance, np.zeros((1, N + 2 + 16))
    )
    still = unknown_discrepancy(
        R[None], p, clean + rng.normal(0, 0.5 * UM, 24), variance, np.zeros((1, N + 2 + 16))
    )
    size = math.hypot(off.constant, off.share * float(np.abs(clean).mean()))
    assert 3.0 * UM < size < 8.0 * UM
    assert math.hypot(still.constant, still.share * float(np.abs(clean).mean())) < 1.0 * UM


def many():
    """24 readings of three springs."""
    rng = np.random.default_rng(6)
    R = np.concatenate([table(rng) for _ in range(4)])
    p = Prior(factor=prior().factor, u_load=0.01, pull=np.repeat(np.arange(8), 3))
    return R, p, np.full(24, (0.5 * UM) ** 2), rng


def examined(R, p, data, variance, alternatives):
    return examine(
        R, [], alternatives, np.array([0.025]), p, data, variance, width=2.0, degrees=48.0, least=0.75
    )


def test_the_alternative_that_was_true_wins():
    R, p, variance, rng = many()
    signs = [Alternative(kind=0, rows=np.array([i]), table=-R[[i]]) for i in range(24)]
    data = predicted(R[None], p, np.zeros((1, N + 18)))[0][0] + 0.5 * UM * rng.normal(size=24)
    clean = examined(R, p, data, variance, signs)
    assert clean.stated > 0.9
    assert clean.probability > 0.01
    data[7] *= -1.0
    found = examined(R, p, data, variance, signs)
    assert found.order[0] == 7
    assert found.faults > 0.99
    assert found.probability < 1e-6
    assert found.then[0] > 0.01
    # What the sign has spoilt is put right: nearly the numbers of the clean readings.
    np.testing.assert_allclose(found.blend.median[:N], clean.blend.median[:N], atol=1e-3)


def test_an_unlisted_fault_leaves_the_unknown():
    R, p, variance, rng = many()
    data = R[:, 0].sum(axis=1) + 8.0 * UM * rng.normal(size=24)
    found = examined(R, p, data, variance, [Alternative(kind=0, rows=np.array([0]), table=-R[[0]])])
    assert found.unknown > 0.99
    assert 4.0 * UM < math.hypot(found.constant, found.share * float(np.abs(data).mean())) < 13.0 * UM


def test_what_rests_on_one_reading_is_seen():
    R, p, variance, _ = many()
    R[:, 0, 1] = 0.0
    R[3, 0, 1] = 50.0 * UM  # the first spring moves one reading only
    found = examined(R, p, R[:, 0].sum(axis=1), variance, [])
    assert found.blend.learned[0] > 0.95
    assert found.alone[0] == pytest.approx(0.0, abs=1e-6)
    assert found.alone[1] > 0.5


def test_scatter_is_shared_out_as_it_was_made():
    rng = np.random.default_rng(7)
    y = UM * rng.uniform(1.0, 100.0, 200)
    s2 = (1.0 * UM) ** 2 + (0.04 * y) ** 2
    found = two_parts(y, s2 * rng.chisquare(2, 200), np.full(200, 2.0))
    assert found.constant == pytest.approx(1.0 * UM, rel=0.25)
    assert found.share == pytest.approx(0.04, rel=0.1)
    pooled = float(np.mean(s2))
    np.testing.assert_allclose(found.ratio, s2 / pooled, rtol=0.3)
    assert float(np.mean(found.ratio)) == pytest.approx(1.0, rel=1e-9)


def test_a_series_alone_keeps_its_pooled_scatter():
    one = two_parts(np.array([30 * UM]), np.array([2.0 * UM**2]), np.array([2.0]))
    assert one.ratio.tolist() == [1.0]
    assert two_parts(np.array([UM, UM]), np.zeros(2), np.zeros(2)).ratio.tolist() == [1.0, 1.0]
