"""Cutting force and stability against closed forms and published examples; the source stands in each test."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from machines import small_mill

from strongback.errors import InputError, LimitError, MaterialError
from strongback.machine.part.make import parts_of
from strongback.machine.values import PointMass
from strongback.vibration.cutting.force import (
    drilling_force,
    milling_force,
    turning_force,
    work_material,
)
from strongback.vibration.cutting.lobes import Cutter, cutter, lobes, turning_limit
from strongback.vibration.cutting.periodic import multipliers
from strongback.vibration.cutting.tool import machine_lobes, machine_multipliers
from strongback.vibration.model import dynamics

MASSES = (
    PointMass(name="head", part="arm", at=(0.0, 0.2, 0.35), mass=6.0, inertia=(0.02, 0.03, 0.01)),
    PointMass(name="table", part="bed", at=(0.0, 0.1, 0.05), mass=9.0, inertia=(0.1, 0.1, 0.1)),
)


def mode(f, fn, z, k):
    r = f / fn
    return 1.0 / (k * (1.0 - r**2 + 2j * z * r))


def test_force_of_turning():
    """F = b h^(1-m) k with b = a/sin kappa, h = f sin kappa; k 1160 N/mm², m 0.26: 731.968 N, 1.46394 kW at 120 m/min."""
    chip = turning_force(
        work_material("grey iron GG25"), depth=2e-3, feed=0.2e-3, lead_angle=math.radians(60.0)
    )
    assert chip.force == pytest.approx(731.968206, rel=1e-9)
    assert chip.power(120.0 / 60.0) == pytest.approx(1463.93641, rel=1e-8)


def test_force_of_milling():
    """phi = acos(1 - 2 ae/D), h = 2 f ae/(D phi): 0.0467345 mm and 221.226 N with 780 N/mm², 0.23 (from memory)."""
    chip = milling_force(
        work_material("aluminium AlMgSi1"), diameter=20e-3, width=8e-3, depth=3e-3, feed=0.08e-3
    )
    assert chip.thickness == pytest.approx(0.046734485990300625e-3, rel=1e-9)
    assert chip.force == pytest.approx(221.226276, rel=1e-8)


def test_force_of_drilling():
    """The area of a chip is D f / 4 whatever the point; at h = 1 mm the force is k times that."""
    own = work_material("steel St50")
    chip = drilling_force(own, diameter=10e-3, feed=2e-3, point=math.pi)
    assert chip.force == pytest.approx(own.specific_force * 10e-3 * 2e-3 / 4.0)


def test_one_direction():
    """2 k z (1 + z) / (K cos² theta) at f sqrt(1 + 2 z): 7.318784 mm, 252.98221 Hz (parameters of Altintas, Manufacturing
    Automation, 2nd ed. 2012, p. 131, as given in a public teaching repository)."""
    f = np.linspace(245.0, 260.0, 2000001)
    G = math.cos(math.radians(30.0)) ** 2 * mode(f, 250.0, 0.012, 226e6)
    assert 1e3 * turning_limit(G, 1e9) == pytest.approx(7.318784, rel=1e-6)
    assert f[np.argmin(G.real)] == pytest.approx(252.98221, rel=1e-6)


def test_two_inclined_modes():
    """The same source with a second mode: 7.184977 mm at 252.98 Hz."""
    f = np.linspace(100.0, 400.0, 2000001)
    G = math.cos(math.radians(30.0)) ** 2 * mode(f, 250.0, 0.012, 226e6)
    G = G + math.cos(math.radians(45.0)) ** 2 * mode(f, 150.0, 0.010, 213e6)
    assert 1e3 * turning_limit(G, 1e9) == pytest.approx(7.184977, rel=1e-6)
    assert f[np.argmin(G.real)] == pytest.approx(252.98, rel=1e-4)


SLOT = Cutter(teeth=2, tangential=600e6, radial=1.0 / 3.0, start=0.0, end=math.pi)
K_SLOT = 0.03993 * (2.0 * math.pi * 922.0) ** 2


def least(found):
    k = found.least
    return [1e3 * found.depth[k], found.frequency[k], *(60.0 * found.speeds(i)[k] for i in range(3))]


def test_slot_zeroth_order():
    """Tool of Insperger & Stepan 2004, flexible along x only; own computation by the formulas of Altintas & Budak 1995."""
    f = np.linspace(900.0, 980.0, 800001)
    G = np.zeros((len(f), 2, 2), dtype=complex)
    G[:, 0, 0] = mode(f, 922.0, 0.011, K_SLOT)
    assert least(lobes(G, f, SLOT)) == pytest.approx([0.298054, 932.091, 37200.8, 15963.5, 10162.1], rel=1e-4)


def test_two_modes_each_way_half_immersion_down():
    """Parameters of a public teaching repository (leekunhwee/Dynamics), shapes 1; own computation, zeroth order."""
    f = np.linspace(1300.0, 1600.0, 200001)
    G = np.zeros((len(f), 2, 2), dtype=complex)
    for fn, z, k in (
        (456.780432115313, 0.111705399393456, 7933097.18),
        (1448.88914030656, 0.0170370095790783, 14691778.44),
    ):
        G[:, 0, 0] += mode(f, fn, z, k)
    for fn, z, k in (
        (516.51818914797, 0.0245796327, 9374613.81),
        (1408.44814086966, 0.0313576019, 12406389.71),
    ):
        G[:, 1, 1] += mode(f, fn, z, k)
    cut = cutter(teeth=2, immersion=0.5, tangential=1319.4e6, radial=0.5978475064423222, up=False)
    assert least(lobes(G, f, cut)) == pytest.approx([0.957104, 1440.27, 73708.1, 27239.9, 16707.1], rel=1e-4)


def test_half_immersion_up():
    """Example of Altintas & Budak 1995, parameters from memory; own computation, zeroth order."""
    f = np.linspace(500.0, 900.0, 400001)
    G = np.zeros((len(f), 2, 2), dtype=complex)
    G[:, 0, 0], G[:, 1, 1] = mode(f, 603.0, 0.039, 5.59e6), mode(f, 666.0, 0.035, 5.715e6)
    cut = cutter(teeth=3, immersion=0.5, tangential=600e6, radial=0.07)
    assert least(lobes(G, f, cut)) == pytest.approx([1.086829, 632.977, 24315.9, 8325.2, 5022.37], rel=1e-4)


def test_multipliers_of_a_slot():
    """Parameters of Insperger & Stepan 2004; by Chebyshev collocation with 50 and 60 points and by semi-discretisation,
    extrapolated, computed apart."""
    found = multipliers(
        np.array([922.0]),
        np.array([0.011]),
        np.array([[1.0 / math.sqrt(0.03993), 0.0]]),
        SLOT,
        5000.0 / 60.0,
        1e-3 * np.array([0.2, 0.5, 0.7, 1.0]),
    )
    assert found == pytest.approx([0.81974278, 1.07397559, 1.22155614, 1.40647353], rel=1e-6)


def test_where_turning_averages_out_both_agree():
    """Eight teeth in a slot: the multiplier is 1 at the depth of zeroth order, which is stable below and not above."""
    cut = cutter(teeth=8, immersion=1.0, tangential=600e6)
    f, z, k = np.array([600.0, 700.0]), np.array([0.03, 0.03]), np.array([6e6, 7e6])
    lines = np.linspace(400.0, 1500.0, 20001)
    G = np.zeros((len(lines), 2, 2), dtype=complex)
    for i in range(2):
        G[:, i, i] = mode(lines, f[i], z[i], k[i])
    found = lobes(G, lines, cut)
    shapes = np.diag(2.0 * np.pi * f / np.sqrt(k))
    for speed in (20.0, 37.0, 55.0, 80.0):
        depth = float(found.limit(np.array([speed]))[0])
        low, high = multipliers(f, z, shapes, cut, speed, np.array([0.98 * depth, 1.02 * depth]))
        assert low < 1.0 < high, speed


def test_a_limit_is_read_at_a_speed():
    """At the speed of a lobe's lowest point the limit is the least depth, and nowhere is it less."""
    f = np.linspace(900.0, 1100.0, 20001)
    G = np.zeros((len(f), 2, 2), dtype=complex)
    G[:, 0, 0] = mode(f, 922.0, 0.011, K_SLOT)
    found = lobes(G, f, SLOT)
    depth = found.limit(np.concatenate([[15963.5 / 60.0], np.linspace(60.0, 400.0, 60)]))
    assert 1e3 * depth[0] == pytest.approx(0.298054, rel=1e-4)
    assert np.all(depth >= depth[0] * (1.0 - 1e-6))


def test_up_and_down_milling_differ_at_low_immersion():
    """What zeroth order cannot tell (Insperger, Mann, Stepan & Bayly, Int. J. Mach. Tools Manuf. 43 (2003) 25: for one
    mode along the feed): the limit depths differ at the same speed."""
    shape = np.array([[1.0 / math.sqrt(0.03993), 0.0]])
    found = []
    for up in (True, False):
        cut = cutter(teeth=2, immersion=0.05, tangential=600e6, radial=1.0 / 3.0, up=up)
        found.append(
            multipliers(np.array([922.0]), np.array([0.011]), shape, cut, 12000.0 / 60.0, np.array([2e-3]))[0]
        )
    assert abs(found[0] - found[1]) > 0.02


def test_near_no_depth_only_the_mode_decays():
    """exp(-z w T), the free decay over a tooth period."""
    found = multipliers(
        np.array([922.0]), np.array([0.011]), np.array([[5.0, 0.0]]), SLOT, 250.0, np.array([1e-12])
    )
    assert found[0] == pytest.approx(math.exp(-0.011 * 2.0 * math.pi * 922.0 / 500.0), rel=1e-6)


@pytest.mark.parametrize(("teeth", "immersion"), [(4, 1.0), (3, 0.8)])
def test_many_teeth_in_the_cut(teeth, immersion):
    """More points change nothing; x and y give."""
    f, z = np.array([600.0, 700.0]), np.array([0.03, 0.03])
    shapes, cut = (
        np.array([[3.0, 0.5], [-0.3, 4.0]]),
        cutter(teeth=teeth, immersion=immersion, tangential=600e6),
    )
    depths = 1e-3 * np.array([0.3, 2.0])
    one = multipliers(f, z, shapes, cut, 120.0, depths)
    two = multipliers(f, z, shapes, cut, 120.0, depths, points=40)
    assert one == pytest.approx(two, rel=1e-6)


def test_what_makes_no_sense_is_refused():
    with pytest.raises(MaterialError, match="no work material"):
        work_material("cheese")
    with pytest.raises(InputError, match="immersion = 2"):
        cutter(teeth=2, immersion=2.0, tangential=600e6)
    with pytest.raises(InputError, match="above the diameter"):
        milling_force(work_material("steel St50"), diameter=1e-2, width=2e-2, depth=1e-3, feed=1e-4)
    with pytest.raises(LimitError, match="zeroth order"):
        multipliers(np.array([922.0]), np.array([0.01]), np.array([[5.0, 0.0]]), SLOT, 10.0, np.array([1e-3]))


def test_a_machine_has_a_limit_of_its_own():
    """Twice the loss in every joint doubles the least depth of one mode (2 k z (1 + z)); of two close ones that drive
    each other it gains less. Both methods meet at a slot of many teeth."""
    machine = replace(small_mill(), masses=MASSES)
    model = dynamics(machine, parts_of(machine))
    cut = cutter(teeth=8, immersion=1.0, tangential=800e6)
    one, two = (machine_lobes(model, cut, joints=loss) for loss in (0.03, 0.06))
    ratio = two.depth[two.least] / one.depth[one.least]
    assert 1.2 < ratio < 2.1
    speed = 80.0  # all twelve modes within twenty oscillations of a cut
    depth = float(two.limit(np.array([speed]))[0])
    low, high = machine_multipliers(model, cut, speed, np.array([0.95 * depth, 1.05 * depth]))
    assert low < 1.0 < high
