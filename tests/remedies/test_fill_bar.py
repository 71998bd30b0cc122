"""Test bars: bend, tap, weight."""

import math

import numpy as np
import pytest

from strongback.errors import MixError
from strongback.remedies.fill.bar import (
    Bar,
    BarModulus,
    bend_deflection,
    bend_modulus,
    combine,
    density,
    frequency_of_bar,
    tap_modulus,
    timoshenko_factor,
)

BAR = Bar(width=25e-3, thickness=25e-3, length=300e-3, mass=2150 * 0.025**2 * 0.3)


def test_bend_worked_by_hand():
    """25 x 25 bar, span 250, 50 N, 13 GPa: 38.5 µm of bending; worked by hand from F L³/(48 E I). Shear adds 3 %."""
    bending = 50.0 * 0.25**3 / (48 * 13e9 * BAR.I)
    assert bending * 1e6 == pytest.approx(38.5, rel=0.005)
    whole = bend_deflection(BAR, 0.25, 50.0, 13e9, nu=0.25)
    shear = 50.0 * 0.25 / (4 * (5 / 6) * (13e9 / 2.5) * 0.025**2)
    assert whole == pytest.approx(bending + shear, rel=1e-12)


def test_bend_round_trip_with_supports_that_give():
    forces = np.array([10.0, 20.0, 30.0, 40.0, 50.0])
    read = np.array([bend_deflection(BAR, 0.25, f, 13e9) for f in forces]) + 0.1e-6 * forces
    right = bend_modulus(BAR, 0.25, forces, read, supports=0.1e-6)
    assert right.E == pytest.approx(13e9, rel=1e-9)
    neglected = bend_modulus(BAR, 0.25, forces, read)
    assert neglected.E < 0.9 * 13e9
    assert any("not taken off" in note for note in neglected.notes)


def test_bend_uncertainty_covers_the_truth():
    rng = np.random.default_rng(3)
    hits = 0
    forces = np.linspace(10, 60, 6)
    for _ in range(300):
        thickness = 25e-3 + 0.1e-3 * rng.standard_normal()
        true = Bar(width=25e-3, thickness=thickness, length=0.3)
        read = [bend_deflection(true, 0.25, f, 12e9) + 0.7e-6 * rng.standard_normal() for f in forces]
        found = bend_modulus(BAR, 0.25, forces, read)
        hits += abs(found.E - 12e9) < 1.96 * found.u
    assert 0.91 < hits / 300 < 0.99


def test_tap_worked_by_hand():
    """300 mm bar, 13 GPa, 2150 kg/m³: 702 Hz by the exact root 4.7300 of a slender free-free beam (Blevins 1979,
    Table 8-1: 4.730040744862697)."""
    slender = 4.730040744862697**2 / (2 * math.pi * 0.3**2) * math.sqrt(13e9 * BAR.I / (2150 * 0.025**2))
    assert slender == pytest.approx(702, rel=0.005)
    assert frequency_of_bar(BAR, 13e9) < slender  # shear and rotary inertia lower it


def test_tap_formula_meets_the_exact_root_of_a_slender_bar():
    """E = 0.9465 m f² L³/(b t³) against cos x cosh x = 1 (Blevins Table 8-1), t/L = 1/200."""
    bar = Bar(width=20e-3, thickness=2e-3, length=0.4, mass=2000 * 20e-3 * 2e-3 * 0.4)
    f = 4.730040744862697**2 / (2 * math.pi * 0.4**2) * math.sqrt(10e9 * bar.I / (2000 * 20e-3 * 2e-3))
    assert tap_modulus(bar, f).E == pytest.approx(10e9, rel=3e-4)
    # The printed constant 0.9465 against the exact 48 pi^2 / root^4:
    assert 48 * math.pi**2 / 4.730040744862697**4 == pytest.approx(0.9465, rel=1e-4)


def test_correction_factor_against_a_timoshenko_beam():
    """T1 against the first free-free root of a Timoshenko beam solved here from its frequency determinant."""
    from scipy.optimize import brentq

    L, t, nu, E, rho = 0.3, 0.03, 0.25, 13e9, 2150.0
    G, kappa = E / (2 * (1 + nu)), 10 * (1 + nu) / (12 + 11 * nu)  # Cowper 1966
    A, I = t, t**3 / 12

    def determinant(omega):
        # Shapes exp(s x) of E I s^4 + rho I w^2 (1 + E/kG) s^2 + ... = 0 for deflection and rotation.
        a, b = rho * omega**2 / (kappa * G), rho * omega**2 / E
        c = rho * A * omega**2 / (E * I)
        s2 = np.roots([1.0, a + b, a * b - c])
        s = np.concatenate([np.sqrt(s2 + 0j), -np.sqrt(s2 + 0j)])
        turn = (s**2 + a) / s  # rotation for unit deflection
        rows = []
        for x in (-L / 2, L / 2):
            e = np.exp(s * x)
            rows += [turn * s * e, (s - turn) * e]  # moment and shear are zero
        M = np.array(rows)
        d = np.linalg.det(M / np.abs(M).max(axis=1, keepdims=True))
        return d

    guess = 4.730040744862697**2 / L**2 * math.sqrt(E * I / (rho * A))
    grid = np.linspace(0.85, 1.0, 301) * guess
    values = [determinant(w) for w in grid]
    part = np.real if np.abs(np.real(values)).max() > np.abs(np.imag(values)).max() else np.imag
    signs = np.sign(part(values))
    at = int(np.flatnonzero(signs[:-1] != signs[1:])[0])
    omega = brentq(lambda w: float(part(determinant(w))), grid[at], grid[at + 1])
    assert (guess / omega) ** 2 == pytest.approx(timoshenko_factor(t, L, nu), rel=2e-3)


def test_density_and_combination():
    assert density(BAR)[0] == pytest.approx(2150.0, rel=1e-12)
    one = BarModulus(method="bend", E=12e9, u=0.5e9)
    two = BarModulus(method="tap", E=13e9, u=0.5e9)
    agreed = combine([one, two])
    assert agreed.value == pytest.approx(12.5e9)
    assert agreed.u == pytest.approx(0.5e9)  # widened: they differ by more than their uncertainties
    assert combine([one]).u == pytest.approx(0.5e9)
    wide = combine([one, BarModulus(method="bend", E=15e9, u=0.5e9)])
    assert wide.u == pytest.approx(1.5e9)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: Bar(width=0.0, thickness=1e-2, length=0.1), "width"),
        (lambda: Bar(width=0.02, thickness=0.1, length=0.1), "a block, not a bar"),
        (lambda: bend_modulus(BAR, 0.4, [1.0], [1e-6]), "longer than the bar"),
        (lambda: bend_modulus(BAR, 0.25, [1.0], []), "differ in number"),
        (lambda: bend_modulus(BAR, 0.25, [50.0], [-1e-6]), "against the force"),
        (lambda: bend_modulus(BAR, 0.25, [50.0], [3e-5], supports=1e-6), "supports give more"),
        (lambda: tap_modulus(Bar(width=0.02, thickness=0.02, length=0.3), 700.0), "mass of the bar"),
        (lambda: tap_modulus(BAR, 0.0), "tap frequency"),
        (lambda: density(Bar(width=0.02, thickness=0.02, length=0.3)), "mass of the test bar"),
        (lambda: combine([]), "no test bar"),
    ],
)
def test_refusals(call, message):
    with pytest.raises(MixError, match=message):
        call()
