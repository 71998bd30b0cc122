"""Modulus against days and temperature of cure.

Degree of cure a: da/dt = (k1 + k2 a^m)(1 - a)^n, the autocatalytic form of M. R. Kamal, Polym. Eng. Sci. 14 (1974) 231,
with both rates following Arrhenius. Defaults: m = 1, n = 2 (m + n = 2.5 to 3: Barral et al., J. Appl. Polym. Sci. 56,
1995, 1029), activation energy 57 kJ/mol (55 to 60: Thermochim. Acta 447, 2006, 167), k1/k2 = 0.02 (assumed, no source).

Modulus: nothing below the gel point, then straight with the degree: E = E_final (a - a_gel)/(1 - a_gel), a_gel = 0.58
(Flory's 1/sqrt(3) for a two-ended resin with a four-ended hardener). A stated model, fitted to the user's own bars: it
does not know the hardener, and a cold cure may stop short of it until it is warmed.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import cumulative_simpson
from scipy.optimize import least_squares

from strongback.errors import MixError, NotConvergedError
from strongback.remedies.fill._checks import above_zero, within
from strongback.remedies.fill.interval import coverage_factor
from strongback.remedies.fill.stage import Stage

__all__ = [
    "GAS",
    "REFERENCE",
    "CureFit",
    "CureReading",
    "Kinetics",
    "Stage",
    "arrhenius_ratio",
    "degree",
    "equivalent_time",
    "fit_cure",
    "from_pot_life",
    "modulus_share",
    "time_to_degree",
]

Array = NDArray[np.float64]
GAS = 8.31446261815324  # J/(mol K), exact since 2019
REFERENCE = 293.15  # K
GEL = 0.58
# Degree at the end of the pot life; assumed, no source. With it a resin of 40 min gels in a thin layer within about five
# hours at 20 degC, as data sheets of such resins say (from memory); the cup of the data sheet also heats itself.
POT_LIFE_DEGREE = 0.03


@dataclass(frozen=True, slots=True, kw_only=True)
class Kinetics:
    """Rate of cure.

    Parameters
    ----------
    k2 : float
        Autocatalytic rate at 20 °C [1/s].
    ratio : float
        k1 / k2 [-].
    m, n : float
        Orders [-].
    activation : float
        [J/mol]
    """

    k2: float
    ratio: float = 0.02
    m: float = 1.0
    n: float = 2.0
    activation: float = 57e3

    def rate(self, a: Array, temperature: Array | float) -> Array:
        """da/dt [1/s] at degree `a` and temperature [K]."""
        left = np.clip(1.0 - a, 0.0, 1.0)
        k = self.k2 * arrhenius_ratio(self.activation, temperature, REFERENCE)
        return np.asarray(k * (self.ratio + np.maximum(a, 0.0) ** self.m) * left**self.n)


@dataclass(frozen=True, slots=True, kw_only=True)
class CureReading:
    """A test bar measured some time after mixing: E with its standard uncertainty [Pa], and what it went through."""

    E: float
    u: float
    history: tuple[Stage, ...]


def arrhenius_ratio(activation: float, temperature: Array | float, reference: float) -> Array:
    """Rate at a temperature over that at a reference [-]; activation energy [J/mol], temperatures [K].

    Examples
    --------
    >>> round(float(arrhenius_ratio(57e3, 303.15, 293.15)), 4)
    2.1628
    """
    return np.asarray(
        np.exp(activation / GAS * (1.0 / reference - 1.0 / np.asarray(temperature, dtype=float)))
    )


@functools.lru_cache(maxsize=64)
def _table(ratio: float, m: float, n: float) -> tuple[Array, Array]:
    """Degree and k2 t at which it is reached: the integral of da / ((r + a^m)(1 - a)^n) over x = -ln(1 - a)."""
    x = np.linspace(0.0, 16.0, 64001)
    a = -np.expm1(-x)
    slope = np.exp((n - 1.0) * x) / (ratio + a**m)
    reached = cumulative_simpson(slope, x=x, initial=0.0)
    for array in (a, reached):
        array.setflags(write=False)
    return a, reached


def time_to_degree(kinetics: Kinetics, a: float, temperature: float = REFERENCE) -> float:
    """Time to reach a degree of cure at a constant temperature [s].

    Examples
    --------
    >>> hours = time_to_degree(Kinetics(k2=0.5 / 3600, ratio=0.02, m=1, n=1, activation=57e3), 0.5) / 3600
    >>> round(hours, 4)
    7.7475
    """
    within("degree of cure", a, 0.0, 0.9999)
    table_a, reached = _table(kinetics.ratio, kinetics.m, kinetics.n)
    x = -math.log1p(-a)
    at_reference = float(np.interp(x, -np.log1p(-table_a), reached)) / kinetics.k2
    return at_reference / float(arrhenius_ratio(kinetics.activation, temperature, REFERENCE))


def equivalent_time(kinetics: Kinetics, history: Sequence[Stage]) -> float:
    """Time at 20 °C that cures as far as a history does [s]."""
    return float(
        sum(
            s.duration * float(arrhenius_ratio(kinetics.activation, s.temperature, REFERENCE))
            for s in history
        )
    )


def degree(kinetics: Kinetics, history: Sequence[Stage]) -> float:
    """Degree of cure after a history [-]."""
    return float(_degree_at(kinetics, np.array([equivalent_time(kinetics, history)]))[0])


def _degree_at(kinetics: Kinetics, reference_time: Array) -> Array:
    a, reached = _table(kinetics.ratio, kinetics.m, kinetics.n)
    return np.asarray(np.interp(kinetics.k2 * reference_time, reached, a))


def modulus_share(a: Array | float) -> Array:
    """E over its final value from the degree of cure [-]."""
    return np.clip((np.asarray(a, dtype=float) - GEL) / (1.0 - GEL), 0.0, 1.0)


def from_pot_life(pot_life: float, temperature: float = 296.15) -> Kinetics:
    """Kinetics whose degree reaches 0.03 at the end of the pot life.

    Parameters
    ----------
    pot_life : float
        Of a thin layer, that does not heat itself [s].
    temperature : float
        At which the data sheet states it [K].

    Returns
    -------
    Kinetics
        An order of magnitude, to be replaced by a fit.
    """
    above_zero("pot life", pot_life, "s")
    unit = Kinetics(k2=1.0)
    return Kinetics(k2=time_to_degree(unit, POT_LIFE_DEGREE, temperature) / pot_life)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CureFit:
    """Modulus against cure, fitted to bars.

    Parameters
    ----------
    kinetics : Kinetics
    E_final : float
        [Pa]
    interval : tuple of float
        95 % interval of E_final [Pa].
    covariance : ndarray, shape (2, 2)
        Of ln E_final and ln k2.
    dof : float
    chi2 : float
        Weighted sum of squares of the readings alone.
    readings : tuple of CureReading
    warnings : tuple of str
    """

    kinetics: Kinetics
    E_final: float
    interval: tuple[float, float]
    covariance: Array
    dof: float
    chi2: float
    readings: tuple[CureReading, ...]
    warnings: tuple[str, ...]

    def expected(self, history: Sequence[Stage]) -> tuple[float, float, float]:
        """Modulus after a history with its 95 % interval: value, low, high [Pa]."""

        def ln_E(step: float) -> float:
            k2 = self.kinetics.k2 * math.exp(step)
            share = float(modulus_share(degree(_with(self.kinetics, k2), history)))
            return math.log(max(share, 1e-9) * self.E_final)

        value = ln_E(0.0)
        slope = np.array([1.0, (ln_E(1e-4) - ln_E(-1e-4)) / 2e-4])
        half = coverage_factor(self.dof) * math.sqrt(max(float(slope @ self.covariance @ slope), 0.0))
        return math.exp(value), math.exp(value - half), math.exp(value + half)

    def judge(self, reading: CureReading) -> str:
        """What a bar measured early says, in one sentence."""
        value, low, high = self.expected(reading.history)
        share = value / self.E_final
        margin = 1.96 * reading.u
        if low - margin <= reading.E <= high + margin:
            word = "as expected"
        else:
            word = "softer than expected" if reading.E < low else "stiffer than expected"
        return (
            f"{reading.E / 1e9:.1f} GPa is {word} at this age: {value / 1e9:.1f} GPa ({low / 1e9:.1f} to "
            f"{high / 1e9:.1f}), {share:.0%} of the final {self.E_final / 1e9:.1f} GPa"
        )


def _with(kinetics: Kinetics, k2: float) -> Kinetics:
    return Kinetics(k2=k2, ratio=kinetics.ratio, m=kinetics.m, n=kinetics.n, activation=kinetics.activation)


def fit_cure(
    readings: Sequence[CureReading],
    start: Kinetics,
    *,
    rate_factor: float = 3.0,
    final: tuple[float, float] | None = None,
) -> CureFit:
    """Final modulus and rate of cure from bars measured at different ages.

    Parameters
    ----------
    readings : sequence of CureReading
    start : Kinetics
        Rate expected beforehand, for instance by `from_pot_life`.
    rate_factor : float
        The true rate is expected within this factor of it, either way, in 95 of 100 cases.
    final : tuple of float, optional
        Modulus expected beforehand and the standard deviation of its logarithm [Pa, -].

    Returns
    -------
    CureFit
        Weighted least squares in ln E_final and ln k2 with those priors; the uncertainties of the readings are raised
        where they scatter more than stated.

    Raises
    ------
    MixError
        If there is no reading, or one is not above zero.
    NotConvergedError
        If the fit does not settle.
    """
    if not readings:
        raise MixError("no test bar to fit the cure to", hint="measure a bar at two or more ages")
    for reading in readings:
        above_zero("modulus of a test bar", reading.E, "Pa")
        above_zero("uncertainty of a test bar", reading.u, "Pa")
    E = np.array([r.E for r in readings])
    u = np.array([r.u for r in readings])
    times = np.array([equivalent_time(start, r.history) for r in readings])
    prior_rate = math.log(rate_factor) / 1.959963984540054

    def misfit(x: Array) -> Array:
        share = modulus_share(_degree_at(_with(start, start.k2 * math.exp(x[1])), times))
        rows = [(math.exp(x[0]) * share - E) / u, [x[1] / prior_rate]]
        if final is not None:
            rows.append([(x[0] - math.log(final[0])) / final[1]])
        return np.concatenate(rows)

    first = np.array([math.log(final[0] if final else float(E.max())), _first_rate(times, start)])
    found = least_squares(misfit, first, method="lm", xtol=1e-12, ftol=1e-12)
    if found.status <= 0:
        raise NotConvergedError("the cure curve did not settle", hint="check ages and moduli of the bars")
    return _summary(found.x, found.jac, found.fun, list(readings), start, times, prior_rate)


def _first_rate(times: Array, start: Kinetics) -> float:
    """A start at which every bar has gelled, so that the fit has a slope to follow."""
    gelled = time_to_degree(start, 0.7)
    return max(0.0, math.log(gelled / float(times.min()))) if float(times.min()) > 0.0 else 0.0


def _summary(
    x: Array,
    jac: Array,
    rows: Array,
    readings: list[CureReading],
    start: Kinetics,
    times: Array,
    prior_rate: float,
) -> CureFit:
    n = len(readings)
    chi2 = float(rows[:n] @ rows[:n])
    free = n - 2
    scale = max(1.0, chi2 / free) if free > 0 else 1.0
    # Readings that scatter more than stated are weakened; the priors are not.
    normal = jac[:n].T @ jac[:n] / scale + jac[n:].T @ jac[n:]
    covariance: Array = np.asarray(np.linalg.pinv(normal), dtype=np.float64)
    dof = float(free) if scale > 1.0 else math.inf
    E_final = math.exp(float(x[0]))
    half = coverage_factor(dof) * math.sqrt(float(covariance[0, 0]))
    kinetics = _with(start, start.k2 * math.exp(float(x[1])))
    return CureFit(
        kinetics=kinetics,
        E_final=E_final,
        interval=(E_final * math.exp(-half), E_final * math.exp(half)),
        covariance=covariance,
        dof=dof,
        chi2=chi2,
        readings=tuple(readings),
        warnings=_warnings(n, times, kinetics, float(x[1]), prior_rate, chi2, free),
    )


def _warnings(
    n: int, times: Array, kinetics: Kinetics, step: float, prior: float, chi2: float, free: int
) -> tuple[str, ...]:
    found = []
    if n < 3:
        found.append(f"{n} reading(s): the interval leans on the rate expected beforehand")
    last = float(modulus_share(_degree_at(kinetics, times)).max())
    if last < 0.8:
        found.append(f"the oldest bar has reached {last:.0%} of its final modulus: measure again later")
    if abs(step) > 1.96 * prior:
        found.append(
            "the cure runs far from the rate expected beforehand: check mixing ratio and temperature"
        )
    if free > 0 and chi2 / free > 4.0:
        found.append("the bars scatter more than their stated uncertainty, which is raised accordingly")
    return tuple(found)
