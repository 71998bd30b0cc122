"""The second statics itself, against closed forms: it judges the package, so it is judged first."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from flint import arb_mat
from machines import cantilever, small_mill
from oracle import drawn, exact

from strongback.machine.contact import OneSided, Play
from strongback.machine.values import GROUND, RIGID, Block, Joint, Machine, Member, Place, Pull, Span, Support
from strongback.section.values import stiffness_from_constants

TIP = (0.0, 0.0, 1.0)
FOOT = (0.0, 0.0, 0.0)


def bar(**changed):
    constants = {"EA": 1e8, "EIx": 2e5, "EIy": 1e5, "GJ": 100.0, "EGamma": 40.0, "kGAx": 2e7, "kGAy": 3e7}
    return stiffness_from_constants(name=changed.pop("name", "bar"), **constants | changed)


def tool(section, *, force=(0.0, 0.0, 0.0), couple=(0.0, 0.0, 0.0), ends=("held", "free")):
    pull = Pull(name="p", part="column", at=TIP, force=force, couple=couple)
    return exact.solve(cantilever(section, 1.0, ends=ends, pulls=(pull,))).tool[:, 0]


def test_timoshenko_cantilever():
    """w = F L³ / 3EI + F L / kGA and F L / EA, common handbook forms."""
    found = tool(bar(), force=(10.0, 20.0, 30.0))
    assert found[:3] == pytest.approx([10 / 3e5 + 10 / 2e7, 20 / 6e5 + 20 / 3e7, 30 / 1e8], rel=1e-14)
    assert found[3:5] == pytest.approx([-20 / 4e5, 10 / 2e5], rel=1e-14)


def test_unsymmetric_bending_and_shear_centre():
    """Two planes coupled by EIxy; a force beside the shear centre (0.03, 0) twists by F e L / GJ where warping is free."""
    section = bar(EIxy=3e4, EGamma=0.0, shear_centre=(0.03, 0.0))
    found = tool(section, force=(0.0, 20.0, 0.0), ends=("free", "free"))
    EI = np.array([[2e5, -3e4], [-3e4, 1e5]])
    bent = np.linalg.solve(EI, [-20.0, 0.0])  # Mx = -F (L - s)
    assert found[0] == pytest.approx(bent[1] / 3, rel=1e-14)
    assert found[1] == pytest.approx(-bent[0] / 3 + 20 / 3e7 + 20 * 0.03**2 / 100, rel=1e-14)
    assert found[5] == pytest.approx(-20 * 0.03 / 100, rel=1e-14)


@pytest.mark.parametrize("GD", [30.0, 100.0, 1e10])
def test_vlasov_cantilever_with_secondary_shear(GD):
    """GJ rs' + GD (rs' - f) = T, EGamma f'' + GD (rs' - f) = 0, f(0) = f'(L) = 0: f = T/GJ (1 - cosh k(L-s)/cosh kL), k² =
    GJ GD / ((GJ + GD) EGamma), so rs(L) = T L / GJ (1 - q tanh(kL) / kL), q = GD / (GJ + GD): by hand; for GD to infinity
    V. Z. Vlasov's (Thin-walled elastic beams, 1961; from memory)."""
    GJ, EGamma, T = 100.0, 40.0, 10.0
    section = bar(shear_compliance=np.diag([1 / 2e7, 1 / 3e7, 1 / GD]))
    k = math.sqrt(GJ * GD / ((GJ + GD) * EGamma))
    twist = T / GJ * (1 - GD / (GJ + GD) * math.tanh(k) / k)
    assert tool(section, couple=(0.0, 0.0, T))[5] == pytest.approx(twist, rel=1e-13)


def test_released_warping_has_no_secondary_torque():
    """Shear compliance alone decides, also where it is coupled with the secondary torque: F L C[0, 0]."""
    C = np.array([[5e-8, 0.0, 4e-7], [0.0, 3.3e-8, 0.0], [4e-7, 0.0, 1e-5]])
    section = bar(EGamma=0.0, EIx=1e15, EIy=1e15, kGAx=1 / C[0, 0], shear_compliance=C)
    found = tool(section, force=(1e3, 0.0, 0.0), ends=("free", "free"))
    assert found[0] == pytest.approx(1e3 * C[0, 0] + 1e3 / 3e15, rel=1e-12)


def halves(second: str, section=None) -> Machine:
    """A cantilever in two rigidly joined halves, the second drawn in the same sense or from the other end."""
    section = section or bar()
    middle = (0.0, 0.0, 0.5)
    a, b, ends = (middle, TIP, ("joined", "free")) if second == "same" else (TIP, middle, ("free", "joined"))
    half = (Span(section="bar", length=0.5),)
    return Machine(
        name="halves",
        sections=(("bar", section),),
        members=(
            Member(
                name="A", start=FOOT, end=middle, x_axis=(1.0, 0.0, 0.0), spans=half, ends=("held", "joined")
            ),
            Member(name="B", start=a, end=b, x_axis=(1.0, 0.0, 0.0), spans=half, ends=ends),
        ),
        joints=(Joint(name="seam", parts=("A", "B"), at=middle, stiffness=(RIGID,) * 6),),
        supports=(Support(name="base", part="A", at=FOOT, stiffness=(RIGID,) * 6),),
        tool=Place(part="B", at=TIP),
        work=Place(part=GROUND, at=TIP),
        pulls=(Pull(name="p", part="B", at=TIP, force=(1.0, 2.0, 3.0), couple=(4.0, 5.0, 6.0)),),
    )


@pytest.mark.parametrize("second", ["same", "reversed"])
def test_two_halves_are_one(second):
    whole = tool(bar(), force=(1.0, 2.0, 3.0), couple=(4.0, 5.0, 6.0))
    assert exact.solve(halves(second)).tool[:, 0] == pytest.approx(whole, rel=1e-14)


def spans(EGamma: float) -> float:
    """Twist of the tip of an open length on a short one whose warping constant is given."""
    one = cantilever(
        bar(),
        1.0,
        ends=("free", "free"),
        pulls=(Pull(name="p", part="column", at=TIP, couple=(0.0, 0.0, 10.0)),),
    )
    short = bar(name="short", GJ=1e5, EGamma=EGamma)
    member = replace(
        one.members[0], spans=(Span(section="short", length=0.3), Span(section="bar", length=0.7))
    )
    return float(
        exact.solve(replace(one, members=(member,), sections=(*one.sections, ("short", short)))).tool[5, 0]
    )


def test_a_neighbour_that_does_not_warp_holds_the_section_plane():
    """Without warping the short length is a clamp for the other (closed form above); a little warping changes a little."""
    k = math.sqrt(100.0 * 1e10 / ((100.0 + 1e10) * 40.0))
    clamped = 10 / 1e5 * 0.3 + 10 / 100 * (0.7 - 1e10 / (100 + 1e10) * math.tanh(0.7 * k) / k)
    assert spans(0.0) == pytest.approx(clamped, rel=1e-12)
    gaps = [abs(spans(EGamma) / clamped - 1) for EGamma in (1e0, 1e-1, 1e-2, 1e-3)]
    assert gaps == sorted(gaps, reverse=True)
    assert gaps[-1] < 2e-3


def test_balance_of_the_whole():
    """Forces of the ground and the pull have no resultant and no moment."""
    machine = small_mill()
    truth = exact.solve(machine)
    for k, pull in enumerate(machine.pulls):
        force, couple = (np.zeros(3), np.zeros(3))
        if pull.against == GROUND:
            force, couple = np.array(pull.force), pull.couple + np.cross(pull.at, pull.force)
        for support, wrench in zip(machine.supports, truth.reactions[:, :, k], strict=True):
            force, couple = force + wrench[:3], couple + wrench[3:] + np.cross(support.at, wrench[:3])
        assert np.abs(force).max() < 1e-12 * 100
        assert np.abs(couple).max() < 1e-12 * 100


@pytest.mark.parametrize("seed", range(20))
def test_the_matrix_of_a_section_is_what_its_constants_say(seed):
    """Inverse of the matrix from the constants, term by term: the compliance at the centroid and at the shear centre."""
    for _, s in drawn.machine(seed).sections:
        if s.EGamma == 0.0:
            continue
        C = np.linalg.inv(np.array(s.matrix))
        (xc, yc), ys = s.centroid, s.shear_centre[1]
        axial = np.zeros(8)
        axial[[2, 3, 4]] = 1.0, yc, -xc  # a force N through the centroid
        side = np.zeros(8)
        side[[0, 5]] = 1.0, -ys  # a force Vx through the shear centre
        plane = np.linalg.inv([[s.EIx, -s.EIxy], [-s.EIxy, s.EIy]])
        assert axial @ C @ axial == pytest.approx(1 / s.EA, rel=1e-9)
        assert side @ C @ side == pytest.approx(1 / s.kGAx, rel=1e-9)
        assert C[3:5, 3:5] == pytest.approx(plane, rel=1e-9)
        assert C[5, 5] == pytest.approx(1 / s.GJ, rel=1e-9)
        assert C[7, 7] == pytest.approx(1 / s.EGamma, rel=1e-9)


def test_a_mechanism_has_no_answer():
    machine = small_mill()
    loose = replace(machine.joints[1], stiffness=(0.0, *machine.joints[1].stiffness[1:]))
    with pytest.raises(exact.UndeterminedError):
        exact.solve(replace(machine, joints=(machine.joints[0], loose)))


def two_springs(force: float) -> tuple[Machine, Pull]:
    guide = (1e6, RIGID, RIGID, RIGID, RIGID, RIGID)
    machine = Machine(
        name="block",
        sections=(),
        members=(),
        blocks=(Block(name="slide", at=FOOT),),
        supports=(
            Support(name="first", part="slide", at=FOOT, stiffness=guide),
            Support(name="second", part="slide", at=FOOT, stiffness=(3e6, 0.0, 0.0, 0.0, 0.0, 0.0)),
        ),
        tool=Place(part="slide", at=FOOT),
        work=Place(part=GROUND, at=FOOT),
    )
    return machine, Pull(name="push", part="slide", at=FOOT, force=(force, 0.0, 0.0))


@pytest.mark.parametrize(
    ("force", "laws", "moved"),
    [
        (20.0, {"second": OneSided()}, 20 / 1e6),  # tension: the first alone
        (-20.0, {"second": OneSided()}, -20 / 4e6),
        (20.0, {"second": OneSided(preload=12.0)}, 8 / 1e6),  # its preload is used up at 16 N in all
        (15.0, {"second": OneSided(preload=12.0)}, 15 / 4e6),
        (2.0, {"second": Play(gap=5e-6)}, 2e-6),  # within the gap
        (20.0, {"second": Play(gap=5e-6)}, (20 + 3 * 2.5) / 4e6),
        (60.0, {"first": OneSided(preload=10.0), "second": OneSided(preload=10.0, sign=-1)}, 50 / 3e6),
    ],
)
def test_states_by_hand(force, laws, moved):
    found = exact.states(*two_springs(force), {(name, 0): law for name, law in laws.items()})
    assert len(found) == 1
    assert found[0][0][0] == pytest.approx(moved, rel=1e-14)


def test_nothing_left_to_hold():
    laws = {(name, 0): OneSided() for name in ("first", "second")}
    assert exact.states(*two_springs(20.0), laws) == []


def test_precision_is_enough_for_hilbert():
    """What the answers rest on: balls hold the truth. Inverse of the Hilbert matrix of order 12 has whole numbers."""
    exact.ctx.prec, before = 256, exact.ctx.prec
    inverse = arb_mat.hilbert(12, 12).inv()
    exact.ctx.prec = before
    assert float(inverse[11, 11].mid()) == pytest.approx(math.comb(23, 12) ** 2 * 12**2 / 23, rel=1e-14)
