"""A bar cast from the trial batch: its modulus by three-point bend and by tap, its air by weight.

Bend: the mid-span deflection of a Timoshenko beam, w = F L³/(48 E I) + F L/(4 k G A), with the part of the reading that
the supports themselves give taken off. Tap: first free-free bending frequency, E = 0.9465 (m f²/b)(L³/t³) T1, the
formula of ASTM E1876 for rectangular bars (from memory; checked in the tests against the exact roots of a free-free
beam).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from strongback.answer import Telling
from strongback.errors import MixError
from strongback.remedies.fill._checks import above_zero, not_negative, within
from strongback.remedies.fill.voids import Estimate

__all__ = [
    "Bar",
    "BarModulus",
    "bend_deflection",
    "bend_modulus",
    "combine",
    "density",
    "frequency_of_bar",
    "tap_modulus",
    "timoshenko_factor",
]

SHEAR_FACTOR = 5.0 / 6.0  # of a rectangle, Poisson's ratio zero; Cowper, J. Appl. Mech. 33 (1966) 335


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A rectangular test bar.

    Parameters
    ----------
    width, thickness, length : float
        Thickness along the force or the tap [m].
    mass : float, optional
        [kg]
    u_thickness : float
        Standard uncertainty of the thickness; E goes with its cube [m].
    """

    width: float
    thickness: float
    length: float
    mass: float | None = None
    u_thickness: float = 0.1e-3

    def __post_init__(self) -> None:
        for name in ("width", "thickness", "length"):
            value = above_zero(f"test bar: {name}", getattr(self, name), "m")
            if not 1e-3 <= value <= 3.0:
                raise MixError(
                    f"test bar: {name} = {value * 1e3:g} mm is not the size of a bar", hint="check the unit"
                )
        if self.length < 2.0 * self.thickness:
            raise MixError(
                f"test bar {self.length * 1e3:g} mm long and {self.thickness * 1e3:g} mm thick is a block, not a bar",
                hint="cast it at least ten times as long as it is thick",
            )

    @property
    def I(self) -> float:  # noqa: E743
        """Second moment of area [m⁴]."""
        return self.width * self.thickness**3 / 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BarModulus:
    """Young's modulus from one test [Pa], with its standard uncertainty.

    Parameters
    ----------
    method : {"bend", "tap"}
    E, u : float
        [Pa]
    notes : tuple of str
    """

    ONLY: ClassVar[Telling] = (
        ("method", "method"),
        ("E_Pa", "E"),
        ("u_Pa", "u"),
        ("notes", "notes"),
    )

    method: str
    E: float
    u: float
    notes: tuple[str, ...] = ()


def bend_deflection(bar: Bar, span: float, force: float, E: float, nu: float = 0.25) -> float:
    """Deflection under a force at mid-span, bending and shear [m].

    Examples
    --------
    >>> bar = Bar(width=25e-3, thickness=25e-3, length=300e-3)
    >>> round(bend_deflection(bar, 250e-3, 50.0, 13e9) * 1e6, 1)
    39.6
    """
    shear = force * span / (4.0 * SHEAR_FACTOR * E / (2.0 * (1.0 + nu)) * bar.width * bar.thickness)
    return force * span**3 / (48.0 * E * bar.I) + shear


def bend_modulus(
    bar: Bar,
    span: float,
    forces: Sequence[float],
    deflections: Sequence[float],
    *,
    supports: float = 0.0,
    nu: float = 0.25,
    resolution: float = 1e-6,
) -> BarModulus:
    """Young's modulus from three-point bend readings.

    Parameters
    ----------
    bar : Bar
    span : float
        Between the supports [m].
    forces, deflections : sequence of float
        Pairs at mid-span [N, m].
    supports : float
        What supports and stand give under the same force: read it with a thick steel bar in place [m/N].
    nu : float
        Of the mix; enters the shear part only.
    resolution : float
        Step of the gauge [m].

    Returns
    -------
    BarModulus

    Raises
    ------
    MixError
        If lengths, forces or readings contradict each other.

    Examples
    --------
    >>> bar = Bar(width=25e-3, thickness=25e-3, length=300e-3)
    >>> round(bend_modulus(bar, 250e-3, [50.0], [38.5e-6]).E / 1e9, 1)
    13.4
    """
    above_zero("span", span, "m")
    not_negative("give of the supports", supports, "m/N")
    if span > bar.length:
        raise MixError(f"span {span * 1e3:g} mm is longer than the bar, {bar.length * 1e3:g} mm")
    if len(forces) != len(deflections) or len(forces) == 0:
        raise MixError("bend test: forces and deflections differ in number")
    F, w = np.asarray(forces, dtype=float), np.asarray(deflections, dtype=float)
    if not (np.all(np.isfinite(F)) and np.all(np.abs(F) <= 1e6) and np.all(np.abs(w) <= 0.1) and np.any(F)):
        raise MixError(
            "bend test: forces or readings are beyond what a bar on a bench can see", hint="check the units"
        )
    own = w - supports * F
    slope = float(F @ own / (F @ F))  # a line through the origin: zero was read without load
    if slope <= 0.0:
        raise MixError(
            "bend test: the bar moves against the force, or the supports give more than the reading"
        )
    bending = span**3 / (48.0 * bar.I)
    shear = span / (4.0 * SHEAR_FACTOR / (2.0 * (1.0 + nu)) * bar.width * bar.thickness)
    E = (bending + shear) / slope
    rest = own - slope * F
    n = len(F)
    scatter = float(rest @ rest) / (n - 1) if n > 1 else 0.0
    reading = math.sqrt(2.0) * resolution / math.sqrt(12.0)  # a difference of two readings
    u_slope = math.sqrt(max(scatter, reading**2) / float(F @ F))
    u = E * math.hypot(u_slope / slope, 3.0 * bar.u_thickness / bar.thickness)
    return BarModulus(
        method="bend", E=E, u=u, notes=_bend_notes(supports, slope, F, w, shear / (bending + shear))
    )


def _bend_notes(supports: float, slope: float, F: np.ndarray, w: np.ndarray, shear: float) -> tuple[str, ...]:
    notes = [f"shear takes {shear:.1%} of the deflection"]
    if supports == 0.0:
        notes.append(
            "the give of the supports is not taken off: E reads low; measure it with a thick steel bar"
        )
    else:
        notes.append(f"the supports give {supports / (supports + slope):.0%} of the reading")
    if float(np.abs(w).max()) < 10e-6:
        notes.append("largest reading below 10 µm: use a longer span or more force")
    if len(F) == 1:
        notes.append("no repeats")
    return tuple(notes)


def timoshenko_factor(thickness: float, length: float, nu: float) -> float:
    """Correction T1 of the tap formula for thickness and Poisson's ratio [-] (ASTM E1876, from memory)."""
    r2 = (thickness / length) ** 2
    first = 1.0 + 6.585 * (1.0 + 0.0752 * nu + 0.8109 * nu**2) * r2 - 0.868 * r2**2
    upper = 8.340 * (1.0 + 0.2023 * nu + 2.173 * nu**2) * r2**2
    return first - upper / (1.0 + 6.338 * (1.0 + 0.1408 * nu + 1.536 * nu**2) * r2)


def tap_modulus(bar: Bar, frequency: float, *, nu: float = 0.25, u_frequency: float = 1.0) -> BarModulus:
    """Young's modulus from the first free-free bending frequency.

    Parameters
    ----------
    bar : Bar
        With its mass; hung or laid at 22.4 % of its length from each end, tapped in the middle.
    frequency : float
        [Hz]
    nu : float
        Enters the correction only.
    u_frequency : float
        Standard uncertainty [Hz].

    Returns
    -------
    BarModulus

    Raises
    ------
    MixError
        If the bar was not weighed.
    """
    above_zero("tap frequency", frequency, "Hz")
    if bar.mass is None:
        raise MixError("tap test: the mass of the bar is missing", hint="weigh the bar; E goes with its mass")
    above_zero("mass of the bar", bar.mass, "kg")
    within("Poisson's ratio", nu, 0.0, 0.45)
    T1 = timoshenko_factor(bar.thickness, bar.length, nu)
    E = 0.9465 * bar.mass * frequency**2 / bar.width * (bar.length / bar.thickness) ** 3 * T1
    u = E * math.hypot(2.0 * u_frequency / frequency, 3.0 * bar.u_thickness / bar.thickness)
    note = "small strains at some hundred hertz: resin reads a few per cent stiffer than under a slow load"
    return BarModulus(method="tap", E=E, u=u, notes=(note,))


def frequency_of_bar(bar: Bar, E: float, *, nu: float = 0.25) -> float:
    """First free-free bending frequency to expect [Hz].

    Examples
    --------
    >>> mass = 2150.0 * 25e-3 * 25e-3 * 300e-3
    >>> round(frequency_of_bar(Bar(width=25e-3, thickness=25e-3, length=300e-3, mass=mass), 13e9))
    686
    """
    assert bar.mass is not None
    unit = tap_modulus(bar, 1.0, nu=nu).E
    return math.sqrt(E / unit)


def density(bar: Bar, u_volume: float = 0.01) -> tuple[float, float]:
    """Density of a bar and its standard uncertainty [kg/m³]."""
    if bar.mass is None:
        raise MixError("the mass of the test bar is missing", hint="weigh it")
    value = above_zero("mass of the bar", bar.mass, "kg") / (bar.width * bar.thickness * bar.length)
    return value, value * u_volume


def combine(tests: Sequence[BarModulus]) -> Estimate:
    """One modulus from several bars or methods: the mean weighted by uncertainty, widened where they disagree.

    Parameters
    ----------
    tests : sequence of BarModulus

    Returns
    -------
    Estimate
        [Pa]. Where the tests scatter more than their uncertainties allow, the latter are raised by the ratio of Birge
        (Phys. Rev. 40, 1932, 207).
    """
    if not tests:
        raise MixError("no test bar")
    E = np.array([t.E for t in tests])
    w = 1.0 / np.array([t.u for t in tests]) ** 2
    mean = float(w @ E / w.sum())
    u = 1.0 / math.sqrt(float(w.sum()))
    n = len(tests)
    if n > 1:
        u *= max(1.0, math.sqrt(float(w @ (E - mean) ** 2) / (n - 1)))
    return Estimate(value=mean, u=u, dof=math.inf if n == 1 else float(n - 1), repeats=n)
