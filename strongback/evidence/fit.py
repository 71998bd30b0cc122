"""Bounded weighted least squares with priors: the numerical core, which knows no machine.

Minimised is  S(x) = (y - m(x))' V⁻¹ (y - m(x)) + |(x - x0) / p|²  over low <= x <= high, with y the data, x0 and p what is
known beforehand, and V = diag(u²) + Q Q' the covariance of the data: u are their own standard uncertainties, every column
of Q is an error that moves several of them together.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.stats import chi2 as chi_squared_law

from strongback.errors import NotConvergedError

__all__ = ["Fit", "Model", "Problem", "fit", "profile", "skewness"]

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Model = Callable[[Array], tuple[Array, Array]]
Residuals = Callable[[Array], tuple[Array, Array]]
MOST_ROUNDS = 120
MOST_STEPS = 200
MOST_FAILURES = 20
NEARER = 0.4  # of a step that led uphill, for the next from the same place
WIDE = 10.0  # a prior as wide as this says nothing of the size of a parameter
SETTLED = 1e-9  # of a parameter: what is left of the way when a fit stops
QUIET = 1e-10  # of the sum of squares: a step that changes less is judged by its length, since rounding hides its fall
HIDDEN = 1e-13  # the same of a step within the stand-in
SHRINKING = 0.9  # of the shortest step so far: below that a fit still gets nearer
MOST_IDLE = 3
PROFILED = 1e-8  # of a parameter: how near the others follow one that is profiled
ENDS = 3e-3  # of its half width: how near the end of a profiled interval is found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Problem:
    """What is to be fitted.

    Parameters
    ----------
    model : callable
        Predictions (m,) and their derivatives (m, n) from parameters (n,).
    data, u : ndarray, shape (m,)
    prior, prior_u : ndarray, shape (n,)
        ``inf`` in `prior_u` where nothing is known.
    low, high : ndarray, shape (n,)
    inverse : ndarray of bool, shape (n,)
        Parameters x that act nearly as exp(-x): logarithms of stiffnesses.
    value : callable, optional
        Predictions alone, where they are cheaper without their derivatives.
    longest : float
        Step in one round of the parameters that are not `inverse`.
    shared : ndarray, shape (m, c), optional
        Columns of errors that data share, each of one standard deviation.
    """

    model: Model
    data: Array
    u: Array
    prior: Array
    prior_u: Array
    low: Array
    high: Array
    inverse: Mask
    value: Callable[[Array], Array] | None = None
    longest: float = np.inf
    shared: Array | None = None
    _whitening: Array | None = field(init=False, repr=False, default=None)

    def __post_init__(self) -> None:
        if self.shared is not None and self.shared.shape[1]:
            scaled = self.shared / self.u[:, None]
            factor = np.linalg.cholesky(np.eye(len(self.u)) + scaled @ scaled.T)
            object.__setattr__(self, "_whitening", np.linalg.inv(factor))

    def weighted(self, deviations: Array) -> Array:
        """Deviations of the data (m, ...) turned into independent ones of variance 1."""
        own = (deviations.T / self.u).T
        return own if self._whitening is None else np.asarray(self._whitening @ own)

    def tried(self, x: Array) -> tuple[Array, Array | None]:
        """Predictions (m,), and their derivatives where they come without a second evaluation."""
        return self.model(x) if self.value is None else (self.value(x), None)

    def total(self, x: Array, predicted: Array) -> float:
        """The sum of squares S."""
        data = self.weighted(predicted - self.data)
        prior = (x - self.prior) / self.prior_u
        return float(data @ data + prior @ prior)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """Result of a fit.

    Parameters
    ----------
    x : ndarray, shape (n,)
    covariance : ndarray, shape (n, n)
        Of `x`, from the weights as given.
    predicted : ndarray, shape (m,)
    jacobian : ndarray, shape (m, n)
        Derivatives of the predictions.
    sensitivity : ndarray, shape (m, n)
        The same for data made independent and of variance 1.
    chi_squared : float
        Data alone.
    total : float
        With the priors.
    at_bound : ndarray of bool, shape (n,)
    evaluations : int
    """

    x: Array
    covariance: Array
    predicted: Array
    jacobian: Array
    sensitivity: Array
    chi_squared: float
    total: float
    at_bound: Mask
    evaluations: int

    @property
    def u(self) -> Array:
        """Standard uncertainties, (n,)."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))

    @property
    def correlation(self) -> Array:
        """(n, n)"""
        return np.asarray(self.covariance / np.outer(self.u, self.u))

    @property
    def probability(self) -> float:
        """How often residuals with the priors would be this large or larger if all is as assumed.

        With priors on all parameters S has as many degrees of freedom as there are data.
        """
        return float(chi_squared_law.sf(self.total, len(self.predicted)))


def _around(problem: Problem, x0: Array, predicted: Array, J: Array) -> Residuals:
    """Weighted residuals of the problem with its model replaced near x0.

    A reading is a sum of compliances, each the inverse of a stiffness, as long as the forces have one way only: linear
    in exp(-x). The stand-in is linear in that for the parameters marked `inverse`, linear in the others, and has the
    value and the derivatives of the model at x0.
    """

    weighted_J, known = problem.weighted(J), np.diag(1.0 / problem.prior_u)
    weighted_rest = problem.weighted(predicted - problem.data)

    def residuals(x: Array) -> tuple[Array, Array]:
        d = x - x0
        decay = np.exp(-np.where(problem.inverse, d, 0.0))
        s = np.where(problem.inverse, 1.0 - decay, d)
        slope = np.where(problem.inverse, decay, 1.0)
        r = np.concatenate([weighted_rest + weighted_J @ s, (x - problem.prior) / problem.prior_u])
        return r, np.vstack([weighted_J * slope, known])

    return residuals


def _least(residuals: Residuals, x: Array, low: Array, high: Array, free: Mask, size: Array) -> Array:
    """Levenberg-Marquardt steps, kept within the bounds by projection, until they are nothing beside `size` (n,)."""
    r, J = residuals(x)
    damping, before = 1e-4, np.inf
    for _ in range(MOST_STEPS):
        gradient = J.T @ r
        m = free & ~((x <= low) & (gradient > 0.0)) & ~((x >= high) & (gradient < 0.0))
        if not m.any():
            return x
        A, square = J[:, m].T @ J[:, m], float(r @ r)
        fall, flat = 0.0, False
        while damping < 1e12:
            new = x.copy()
            new[m] -= np.linalg.solve(A + damping * np.diag(np.diag(A)), gradient[m])
            new = np.clip(new, low, high)
            r_new, J_new = residuals(new)
            fall = square - float(r_new @ r_new)
            flat = abs(float(gradient @ (new - x))) < HIDDEN * square  # rounding hides the fall
            if fall >= 0.0 or flat:
                break
            damping *= 5.0
        moved = float(np.max(np.abs(new - x) / size))
        if (flat and moved > 0.5 * before) or (fall < 0.0 and not flat):
            return x
        x, r, J, before = new, r_new, J_new, moved
        damping = max(0.1 * damping, 1e-12)
        if moved < SETTLED * 0.1:
            return x
    return x


def fit(
    problem: Problem, start: Array | None = None, *, free: Mask | None = None, enough: float = 0.0
) -> Fit:
    """Minimise.

    The model is evaluated, replaced by its stand-in there, that one minimised, and so on until nothing moves: the result
    is a minimum of the problem itself, found with few evaluations of the model. Where a step leads uphill the stand-in is
    minimised anew within a smaller box around the place (a trust region).

    Parameters
    ----------
    problem : Problem
    start : ndarray, shape (n,), optional
        Default: the prior.
    free : ndarray of bool, shape (n,), optional
        Parameters that may move; the others keep their start and have no uncertainty.
    enough : float
        Relative fall of the sum of squares in one round below which the fit may stop, where only that sum is wanted.

    Returns
    -------
    Fit

    Raises
    ------
    NotConvergedError
    """
    x = np.clip(np.array(problem.prior if start is None else start, dtype=float), problem.low, problem.high)
    moving = np.ones(len(x), dtype=bool) if free is None else free
    predicted, J = problem.model(x)
    total, evaluations, last = problem.total(x, predicted), 1, np.zeros_like(x)
    scale = np.where(problem.prior_u < WIDE, problem.prior_u, np.maximum(np.abs(x), 1.0))
    reach, failures, nearest, idle = np.inf, 0, np.inf, 0
    before = 0.0
    for _ in range(MOST_ROUNDS):
        low, high = (np.maximum(problem.low, x - reach * scale), np.minimum(problem.high, x + reach * scale))
        size = _sizes(problem, x)
        step = _least(_around(problem, x, predicted, J), x, low, high, moving, size) - x
        step = np.where(problem.inverse, step, np.clip(step, -problem.longest, problem.longest))
        quiet = _quiet(problem, step, J, total)
        far = float(np.max(np.abs(step) / size))
        nearest, idle = (far, 0) if not quiet or far < SHRINKING * nearest else (nearest, idle + 1)
        rate = min(far / before, 0.99) if before else 0.0  # steps shrink so from round to round
        if far < SETTLED * (1.0 - rate) or idle > MOST_IDLE:
            return _fit(problem, x, predicted, J, moving, evaluations)
        step, before = _relaxed(step, last), far
        tried, J_new = problem.tried(x + step)
        new_total = problem.total(x + step, tried)
        evaluations += 1
        if (
            not quiet and new_total > total * (1.0 + 1e-12) + 1e-12
        ):  # the stand-in does not hold so far: nearer
            failures, reach = failures + 1, NEARER * float(np.max(np.abs(step) / scale))
            if failures > MOST_FAILURES:  # no way down: settled to rounding
                return _fit(problem, x, predicted, J, moving, evaluations)
            continue
        stalled = enough > 0.0 and failures == 0 and total - new_total < enough * total
        x, total, last, reach, failures = x + step, new_total, step, 3.0 * reach, 0
        predicted, J = problem.model(x) if J_new is None else (tried, J_new)
        if stalled:
            return _fit(problem, x, predicted, J, moving, evaluations)
    raise NotConvergedError(
        f"the fit did not settle in {MOST_ROUNDS} rounds",
        hint="look at the comparison of readings with the starting machine first",
    )


def _relaxed(step: Array, last: Array) -> Array:
    """A step that turns back against the last one, shortened as a swing about the minimum asks for."""
    size = float(np.linalg.norm(last))
    if size == 0.0 or float(step @ last) >= -0.5 * size * float(np.linalg.norm(step)):
        return step
    return step / (1.0 + min(float(np.linalg.norm(step)) / size, 1.0))


def _sizes(problem: Problem, x: Array) -> Array:
    """What a step of each parameter is small beside: 1 for a logarithm, else its value, or what is known of it (n,)."""
    known = np.where(problem.prior_u < WIDE, problem.prior_u, 0.0)
    return np.asarray(np.maximum(np.where(problem.inverse, 1.0, np.maximum(np.abs(x), known)), 1e-300))


def _quiet(problem: Problem, step: Array, J: Array, total: float) -> bool:
    """Whether a step changes the sum of squares by less than rounding lets one see."""
    data = problem.weighted(J @ step)
    prior = step / problem.prior_u
    return float(data @ data + prior @ prior) < QUIET * total


def _fit(problem: Problem, x: Array, predicted: Array, J: Array, moving: Mask, evaluations: int) -> Fit:
    sensitivity = problem.weighted(J)
    information = sensitivity.T @ sensitivity + np.diag(problem.prior_u**-2.0)
    covariance = np.zeros_like(information)
    covariance[np.ix_(moving, moving)] = np.linalg.pinv(information[np.ix_(moving, moving)], hermitian=True)
    span = problem.high - problem.low
    residual = problem.weighted(predicted - problem.data)
    return Fit(
        x=x,
        covariance=covariance,
        predicted=predicted,
        jacobian=J,
        sensitivity=sensitivity,
        chi_squared=float(residual @ residual),
        total=problem.total(x, predicted),
        at_bound=moving & ((x - problem.low < 1e-6 * span) | (problem.high - x < 1e-6 * span)),
        evaluations=evaluations,
    )


def skewness(problem: Problem, found: Fit, width: float) -> Array:
    """How far the sum of squares is from the parabola that the covariance stands for.

    Parameters
    ----------
    problem : Problem
    found : Fit
    width : float
        In standard uncertainties.

    Returns
    -------
    ndarray, shape (n,)
        Largest relative error of the parabola at ± `width`, for each parameter with the others following.
    """
    residuals = _around(problem, found.x, found.predicted, found.jacobian)
    error = np.zeros(len(found.x))
    for i, u in enumerate(found.u):
        if u == 0.0:
            continue
        step = found.covariance[:, i] / u * width
        for sign in (1.0, -1.0):
            r, _ = residuals(np.clip(found.x + sign * step, problem.low, problem.high))
            error[i] = max(error[i], abs((r @ r - found.total) / width**2 - 1.0))
    return error


def profile(problem: Problem, found: Fit, index: int, width: float) -> tuple[float, float]:
    """Interval within which the sum of squares, at its least over all other parameters, rises by `width` squared.

    The model is replaced by its stand-in at the fit, which is exact where compliances add.

    Parameters
    ----------
    problem : Problem
    found : Fit
    index : int
    width : float
        Student's factor.

    Returns
    -------
    low, high : float
        A bound of the problem where the rise is never reached.
    """
    residuals = _around(problem, found.x, found.predicted, found.jacobian)
    free = np.ones(len(found.x), dtype=bool)
    free[index] = False
    direction = found.covariance[:, index] / found.covariance[index, index]

    last, size = found.x, PROFILED / SETTLED * _sizes(problem, found.x)

    @functools.cache  # the search starts where the last one ended: asked twice it must not answer twice
    def rise(value: float) -> float:
        nonlocal last
        start = np.clip(last + direction * (value - last[index]), problem.low, problem.high)
        start[index] = value
        last = _least(residuals, start, problem.low, problem.high, free, size)
        r, _ = residuals(last)
        return float(r @ r) - found.total - width**2

    start, step = float(found.x[index]), width * float(found.u[index])
    return (
        _crossing(rise, start, -step, float(problem.low[index])),
        _crossing(rise, start, step, float(problem.high[index])),
    )


def _crossing(rise: Callable[[float], float], start: float, step: float, bound: float) -> float:
    """Where the rise changes its sign between a start and a bound; the bound where it does not."""
    inner, outer = start, start + 0.5 * step
    while abs(outer - start) < abs(bound - start):
        if rise(outer) > 0.0:
            return float(brentq(rise, inner, outer, xtol=ENDS * abs(step)))
        inner, outer = outer, outer + (outer - start)
    if rise(bound) <= 0.0:
        return bound
    return float(brentq(rise, inner, bound, xtol=ENDS * abs(step)))
