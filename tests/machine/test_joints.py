"""Contact of faces and preloaded bolts: published constants and elementary statics."""

from __future__ import annotations

import numpy as np
import pytest

from strongback.errors import MachineError
from strongback.machine.joints import (
    FINISHES,
    bolt_stiffness,
    clamped_stiffness,
    contact_stiffness,
    parting_load,
)
from strongback.machine.joints.contact import slide_stiffness

KGF_CM2 = 98066.5


def test_scraped_iron_under_ten_kgf():
    """Back after Levina and Ostrovskii, in Ito, Modular Design for Machine Tools, 2008, Table 6-2: 2067 N/mm³."""
    assert contact_stiffness(10 * KGF_CM2, 0.3, 0.5) == pytest.approx(2067.42335e9, rel=1e-6)


@pytest.mark.parametrize(
    ("finish", "normal", "shear"),
    [
        ("scraped fine", (0.3, 0.5), (0.39, 0.65)),  # 20 to 25 spots, 3 to 8 µm deep
        ("scraped", (0.8, 1.0), (1.0, 1.3)),  # 15 to 18 spots
        ("ground", (0.6, 0.7), (0.8, 0.9)),  # ground on ground, m between 0.4 and 0.5
    ],
)
def test_constants_of_faces(finish, normal, shear):
    """Ito, Modular Design for Machine Tools, 2008, Tables 6-2 and 6-10 [µm/(kgf/cm²)^m]."""
    assert (FINISHES[finish].C, FINISHES[finish].Ct) == (normal, shear)
    assert 0.4 <= FINISHES[finish].m <= 0.5


def test_slideway_constant():
    """Levina, in Ito 2008, Table 6-7: 1.0 µm cm²/kgf is 98.07 N/mm³; vertical ways are 30 to 40 % softer."""
    assert slide_stiffness(0.08) == pytest.approx((98.0665e9, 98.0665e9))
    soft, stiff = slide_stiffness(0.08, vertical=True)
    assert (98.0665e9 / stiff, 98.0665e9 / soft) == pytest.approx((1.3, 1.4))
    held = slide_stiffness(0.08, locked=True)  # above 3 to 4 kgf/cm² 40 to 50 % less compliant
    assert (98.0665e9 / held[1], 98.0665e9 / held[0]) == pytest.approx((0.5, 0.6))
    wide = [slide_stiffness(w)[0] for w in (0.04, 0.08, 0.15, 0.25, 0.35)]
    assert np.all(np.diff(wide) < 0)


def test_plates_clamped_by_a_bolt():
    """Shigley, Mechanical Engineering Design, Eq. 8-22 (formula from memory): 1 133 793.08 N/mm for M6, grip 20 mm."""
    assert clamped_stiffness(210e9, 6e-3, 20e-3) == pytest.approx(1133793.08e3, rel=1e-8)


def test_plates_clamped_by_a_bolt_are_two_cones_in_series():
    """The integral of dz / E A(z) that the equation solves: cones of 30 degrees from 1.5 d, less the hole of d."""
    d, grip, E = 8e-3, 25e-3, 70e9
    z = (np.arange(20000) + 0.5) / 20000 * grip / 2.0
    area = np.pi / 4.0 * ((1.5 * d + 2.0 * z * 0.5774) ** 2 - d**2)
    give = 2.0 * np.sum(1.0 / area) * (z[1] - z[0]) / E
    assert clamped_stiffness(E, d, grip) == pytest.approx(1.0 / give, rel=1e-5)


def test_faces_part_later_than_at_the_preload():
    """Until then the plates give back what they were pressed: the bolt takes the share kb / (kb + km) only."""
    bolt, plates = bolt_stiffness(210e9, 36.6e-6, 24e-3), clamped_stiffness(70e9, 8e-3, 24e-3)
    parts = parting_load(12e3, bolt, plates)
    stretch = parts / (bolt + plates)  # of bolt and plates alike while the faces touch
    assert 12e3 - plates * stretch == pytest.approx(0.0, abs=1e-6)
    assert 12e3 < parts < 24e3
    with pytest.raises(MachineError, match="preload = 0 N"):
        parting_load(0.0, bolt, plates)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: slide_stiffness(0.5), "beyond the table"),
        (lambda: contact_stiffness(1e6, 0.3, 1.5), "exponent m"),
        (lambda: contact_stiffness(0.0, 0.3, 0.5), "pressure = 0 Pa"),
    ],
)
def test_impossible_dimensions(call, message):
    with pytest.raises(MachineError, match=message):
        call()
