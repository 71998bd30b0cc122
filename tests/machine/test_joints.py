"""Starting stiffness of joints: published constants, elementary statics, ranges in order."""

from __future__ import annotations

import numpy as np
import pytest

from strongback.errors import MachineError
from strongback.machine.joints import (
    FINISHES,
    Bolt,
    bolt_stiffness,
    bolted_face,
    clamped_stiffness,
    contact_stiffness,
    parting_load,
    rubber_foot,
    screw_foot,
    slideway,
    spindle,
)
from strongback.machine.joints.contact import slide_stiffness
from strongback.machine.joints.slideway import SlidePad

KGF_CM2 = 98066.5
FOUR = tuple(Bolt(at=(x, y), diameter=8e-3, preload=10e3) for x in (-0.04, 0.04) for y in (-0.05, 0.05))


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
    wide = [slide_stiffness(w)[0] for w in (0.04, 0.08, 0.15, 0.25, 0.35)]
    assert np.all(np.diff(wide) < 0)


@pytest.mark.parametrize(
    "made",
    [
        bolted_face(FOUR, 12e-3, (0.12, 0.14)),
        slideway(
            (SlidePad(at=(-0.03, 0.0), size=(0.02, 0.1)), SlidePad(at=(0.03, 0.0), size=(0.02, 0.1))),
            along=(1e7, 1e8),
        ),
        spindle(0.1),
        rubber_foot(0.04, 0.02),
        screw_foot(8e-3, 0.03),
    ],
    ids=["bolted", "slideway", "spindle", "rubber", "screw"],
)
def test_ranges_hold_their_middle_and_name_a_source(made):
    for low, middle, high in zip(made.low, made.middle, made.high, strict=True):
        assert low <= middle <= high
    assert made.source
    assert "N/m" in repr(made)


def test_bolted_face_grows_with_the_bolt_circle_and_the_preload():
    base = bolted_face(FOUR, 12e-3, (0.12, 0.14))
    wider = tuple(
        Bolt(at=(b.at[0] * 1.2, b.at[1] * 1.2), diameter=b.diameter, preload=b.preload) for b in FOUR
    )
    assert bolted_face(wider, 12e-3, (0.12, 0.14)).low[3] > base.low[3]
    harder = tuple(Bolt(at=b.at, diameter=b.diameter, preload=4 * b.preload) for b in FOUR)
    # p^(1-m) with m = 0.5: four times the pressure is twice the stiffness
    assert bolted_face(harder, 12e-3, (0.12, 0.14)).low[2] == pytest.approx(2 * base.low[2])


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


def test_whole_footprint_as_a_rectangle():
    """k b h³/12 for a rectangle of contact springs, elementary."""
    found = bolted_face(FOUR, 0.5, (0.12, 0.14), finish="scraped fine")  # cones cover the whole face
    k = contact_stiffness(40e3 / (0.12 * 0.14), 0.3, 0.5)
    assert found.high[3] >= k * 0.12 * 0.14**3 / 12 * (1 - 1e-12)
    assert found.high[2] == pytest.approx(k * 0.12 * 0.14, rel=1e-9)


def test_spindle_on_two_springs():
    """Lateral give at the nose against the lever by hand: bearing 1 at 0, bearing 2 at -span, load at +a."""
    span, a, k1, k2, force = 0.1, 0.06, 40e6, 20e6, 100.0
    made = spindle(span, front=(k1, k1), rear=(k2, k2), axial=(1e7, 1e7))
    arm = a - made.at[2]
    through_joint = force / made.middle[0] + force * arm**2 / made.middle[3]
    r1, r2 = force * (span + a) / span, -force * a / span
    by_hand = r1 / k1 + (r1 / k1 - r2 / k2) / span * a
    assert through_joint == pytest.approx(by_hand, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: bolted_face((), 0.01, (0.1, 0.1)), "without bolts"),
        (lambda: bolted_face(FOUR, 0.0, (0.1, 0.1)), "plate thickness"),
        (lambda: bolted_face(FOUR, 0.01, (0.05, 0.05)), "outside the footprint"),
        (lambda: bolted_face(FOUR, 0.01, (0.2, 0.2), finish="polished"), 'unknown finish "polished"'),
        (lambda: slideway(()), "without pads"),
        (lambda: slide_stiffness(0.5), "beyond the table"),
        (lambda: spindle(-1.0), "bearing span"),
        (lambda: spindle(0.1, front=(2e7, 1e7)), "lowest first"),
        (lambda: rubber_foot(0.04, 0.0), "height"),
        (lambda: contact_stiffness(1e6, 0.3, 1.5), "exponent m"),
    ],
)
def test_impossible_dimensions(call, message):
    with pytest.raises(MachineError, match=message):
        call()
